package visit

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"
	"time"

	"rung/internal/fault"
	"rung/internal/journal"
	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/record"
)

// teach puts n calls into the journal, each of a house of its own, that were
// closed as fixed for a cause on a day, proved or not.
func (s *shop) teach(n int, cause string, day time.Time, proved bool) {
	s.t.Helper()
	for i := range n {
		s.taughtCalls++
		house := record.PropertyID(s.NewForm())
		k := uint64(0)
		add := func(event record.Event) record.EntryID {
			k++
			e := journal.Envelope{Stream: house.Stream(), Device: "other", Author: "Ben", Time: journal.TimeOf(day.Add(time.Duration(k) * time.Second))}
			binary.BigEndian.PutUint64(e.ID[:8], uint64(s.taughtCalls)<<8|uint64(i))
			binary.BigEndian.PutUint64(e.ID[8:], k)
			s.ok(s.log.Append(s.t.Context(), []journal.Envelope{record.Encode(e, event)}))
			return record.EntryID(e.ID.String())
		}
		system, visit := record.SystemID("S"+s.NewForm()), record.VisitID("V"+s.NewForm())
		add(record.PropertyAdded{Property: house, Name: "Taught"})
		add(record.SystemAdded{System: system, Kind: SplitAirConditioner})
		add(record.VisitOpened{Visit: visit, System: system})
		repair := add(record.RepairDone{Visit: visit, Repair: "replace-run-capacitor", Cause: cause})
		if proved {
			add(record.ProofTaken{Visit: visit, Mode: "cool", Before: &record.AsRead{Text: "6"}, After: &record.AsRead{Text: "19"}, Holds: true, AfterRepair: repair})
		}
		add(record.VisitClosed{Visit: visit, Outcome: "fixed"})
	}
}

// longAgo is a day from which calls count at the clock of these tests, tooLate one
// from which they do not count yet.
var longAgo, tooLate = time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC), time.Date(2026, 6, 20, 9, 0, 0, 0, time.UTC)

// odds returns the probability of every cause before any reading, listed down to
// the least.
func (s *shop) odds(v record.VisitID) map[string]float64 {
	s.t.Helper()
	all := map[string]float64{}
	for _, c := range must(s.Advise(s.t.Context(), v))(s.t).Raw.Causes {
		all[c.ID] = c.Probability
	}
	return all
}

// TestLearnedOdds: twenty proved calls move the odds before any reading as the
// formula says; what is too late, called back for or unknown does not.
func TestLearnedOdds(t *testing.T) {
	const a, b = "herm-cap-open", "contactor-coil-open"
	before := newShop(t)
	plain := before.odds(before.ready("not-cooling"))
	s := newShop(t)
	s.teach(20, a, longAgo, true)
	s.teach(7, b, tooLate, true)
	s.teach(3, "of-a-later-program", longAgo, true)
	moved := s.odds(s.ready("not-cooling"))

	full, _ := plant.Nameplate{}.Complete()
	list := s.faults().Fits(full.Has)
	total := 0.0
	var fa, fb *fault.Fault
	for _, f := range list {
		total += f.Weight
		switch f.ID {
		case a:
			fa = f
		case b:
			fb = f
		}
	}
	alpha := float64(len(list))
	// The 20 calls stand beside α·w/W; both causes lose the same elsewhere.
	want := (alpha*fa.Weight/total + 20) / (alpha * fa.Weight / total)
	got := (moved[a] / moved[b]) / (plain[a] / plain[b])
	if math.Abs(got-want) > 1e-3*want {
		t.Errorf("20 proved calls of %s move its odds against %s (weight %v) by %v, want %v", a, b, fb.Weight, got, want)
	}
}

// TestLearned: the page counts what is proved, says what waits, and can be set
// aside and brought back.
func TestLearned(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	s.teach(4, "herm-cap-open", longAgo, true)
	s.teach(3, "herm-cap-open", longAgo, false)
	s.teach(2, "contactor-coil-open", tooLate, true)
	line := func() (Learned, LearnedLine) {
		l := must(s.Learned(ctx, ""))(t)
		sum := 0.0
		for _, x := range l.Sides[0].Lines {
			sum += x.Now
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("the shares add up to %v", sum)
		}
		for _, x := range l.Sides[0].Lines {
			if x.Cause == "herm-cap-open" {
				return l, x
			}
		}
		t.Fatal("no line of the capacitor")
		return l, LearnedLine{}
	}
	l, x := line()
	if x.Closures != 5.5 || x.Now <= x.Base || l.Waiting != 2 || l.Sides[0].Closures != 5.5 || l.Sides[0].Lines[0] != x {
		t.Errorf("4 proved and 3 unproved calls give %+v of %+v", x, l)
	}
	if err := s.SetLearningAside(ctx, s.by(), "", false, " "); err == nil {
		t.Error("set aside without a reason")
	}
	by := s.by()
	s.ok(s.SetLearningAside(ctx, by, "", false, "other equipment"))
	s.ok(s.SetLearningAside(ctx, by, "", false, "other equipment"))
	l, x = line()
	if x.Closures != 0 || math.Abs(x.Now-x.Base) > 1e-12 || l.Aside == nil || l.Aside.Why != "other equipment" || l.Waiting != 0 {
		t.Errorf("set aside, there are %+v of %+v", x, l)
	}
	if v := s.ready("not-cooling"); must(s.learntOn(ctx, dayOf(must(s.Visit(ctx, v))(t).Visit.Opened.At)))(t).sum.closures(false)["herm-cap-open"] != 0 {
		t.Error("a visit still counts what was set aside")
	}
	s.ok(s.CountAgain(ctx, s.by(), l.Aside.Stamp.Entry))
	if l, x = line(); x.Closures != 5.5 || l.Aside != nil {
		t.Errorf("taken back, there are %+v of %+v", x, l)
	}
	var told *Error
	if err := s.CountAgain(ctx, s.by(), "01ARZ3NDEKTSV4RRFFQ69G5FAV"); !errors.As(err, &told) || told.Kind != NotFound {
		t.Errorf("taking back what is not there gives %v", err)
	}
	for _, k := range s.SystemKinds() {
		l := must(s.Learned(ctx, k.ID))(t)
		for _, side := range l.Sides {
			if len(side.Lines) == 0 || side.Stands != float64(len(side.Lines)) {
				t.Errorf("%s, %s: %d causes", k.ID, side.Name, len(side.Lines))
			}
		}
	}
}

// TestSharedCounts: a phone that holds few calls goes by the counts of the shop,
// from the day after they were given; who holds as many goes by its own.
func TestSharedCounts(t *testing.T) {
	s := newShop(t)
	s.teach(4, "herm-cap-open", longAgo, true)
	s.ok(s.ShareCounts(t.Context(), s.by()))
	phone := taught{shop: must(s.learn(t.Context()))(t).shop}
	now := s.now()
	on := func(t taught, day time.Time) float64 {
		return s.learntFrom(t, day).sum.closures(false)["herm-cap-open"]
	}
	if n := on(phone, now.AddDate(0, 0, 1)); n != 4 {
		t.Errorf("the phone counts %v, want the 4 of the shop", n)
	}
	if n := on(phone, now.AddDate(0, 0, -1)); n != 0 {
		t.Errorf("the day before the phone counts %v", n)
	}
	s.teach(1, "herm-cap-open", longAgo, true)
	if n := on(must(s.learn(t.Context()))(t), now); n != 5 {
		t.Errorf("with a call of more the office counts %v, want its own 5", n)
	}
	if old := (taught{shop: ledger.Shop{Counted: []ledger.Counted{{ClosuresCounted: record.ClosuresCounted{Counts: map[string]float64{"herm-cap-open": 3}}}}}}); on(old, now) != 3 {
		t.Errorf("counts of an earlier program are %v, want 3", on(old, now))
	}
	s.ok(s.SetLearningAside(t.Context(), s.by(), topicCauses, false, "other equipment"))
	phone.shop = must(s.learn(t.Context()))(t).shop
	if l := s.learntFrom(phone, now.AddDate(0, 0, 1)); l.sum.closures(false)["herm-cap-open"] != 0 || l.sum.at(topicProofs).Count != 0 {
		t.Errorf("set aside since, the phone counts %v", l.sum)
	}
}

// TestHappened: a repair of the last weeks speaks for what it leaves behind, one
// of the last year for the same cause; one of another system for nothing.
func TestHappened(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	v := s.ready("not-cooling")
	here := must(s.Visit(ctx, v))(t)
	must(s.RecordRepair(ctx, s.by(), v, RepairInput{Repair: "replace-run-capacitor", Cause: "herm-cap-open"}))(t)
	p := must(s.Property(ctx, here.Property.Property))(t)
	first, _ := p.Visit(v)
	again := *first
	again.Visit, again.Repairs = "V2", nil
	for _, c := range []struct {
		days         int
		again, below bool
	}{{10, true, true}, {100, true, false}, {400, false, false}} {
		again.Opened.At = first.Opened.At.AddDate(0, 0, c.days)
		factors := map[string]float64{}
		for _, h := range happened(Here{Property: p, System: here.System, Visit: &again}, s.faults(), English) {
			factors[h.fault] = h.factor
		}
		k, _ := s.faults().Repair("replace-run-capacitor")
		if len(k.Induces) == 0 {
			t.Fatal("the repair leaves nothing behind")
		}
		if got := factors["herm-cap-open"] == againFactor; got != c.again {
			t.Errorf("after %d days the cause has the factors %v", c.days, factors)
		}
		if got := factors[k.Induces[0]] == behindFactor; got != c.below {
			t.Errorf("after %d days what is left behind has the factors %v", c.days, factors)
		}
	}
	again.System = "another"
	if list := happened(Here{Property: p, System: here.System, Visit: &again}, s.faults(), English); len(list) > 0 {
		t.Errorf("on another system there are %+v", list)
	}
}
