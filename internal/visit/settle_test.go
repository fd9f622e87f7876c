package visit

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"rung/internal/diagnosis"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
)

// silent is a reasoner that has nothing to say.
type silent struct{}

func (silent) Advise(diagnosis.Case) (diagnosis.Advice, error) {
	return diagnosis.Advice{Verdict: diagnosis.VerdictCheck}, nil
}

func (silent) Card(diagnosis.Case, diagnosis.Ref) ([]diagnosis.Expectation, error) {
	return []diagnosis.Expectation{{Cause: "healthy", NotReadableShare: 1}}, nil
}

// twoPhones returns two phones with a journal each.
func twoPhones(t *testing.T) (ada, ben *shop) {
	t.Helper()
	start := time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC)
	make := func(device string, seed byte) *shop {
		now := start
		clock := func() time.Time { now = now.Add(time.Second); return now }
		log := memlog.New(ledger.Summary())
		s, err := New(Config{Log: log, Now: clock, IDs: journal.NewIDSource(clock, rand.NewChaCha8([32]byte{seed})), Device: device,
			Open: func(Situation) (Reasoner, error) { return silent{}, nil }})
		if err != nil {
			t.Fatal(err)
		}
		return &shop{Service: s, t: t, log: log}
	}
	return make("ada's phone", 1), make("ben's phone", 2)
}

// meet brings two journals together.
func meet(t *testing.T, a, b *shop) {
	t.Helper()
	for _, x := range [][2]*shop{{a, b}, {b, a}} {
		all, _, err := x[0].log.Since(t.Context(), journal.Start, 1_000_000)
		if err == nil {
			err = x[1].log.Append(t.Context(), all)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// settleInput settles a dispute for its n-th statement.
func settleInput(d ledger.Dispute, n int) SettleInput {
	in := SettleInput{About: d.About, Visit: d.Visit, Unit: d.Unit, Field: d.Field, Stands: d.Statements[n].Stamp.Entry}
	for _, x := range d.Statements {
		in.Seen = append(in.Seen, x.Entry)
	}
	return in
}

// TestTwoOnOneVisit: both work on one visit without signal. All readings count,
// what differs is shown on both phones and settled on one.
func TestTwoOnOneVisit(t *testing.T) {
	ctx := context.Background()
	ada, ben := twoPhones(t)
	v, u := ada.call()
	ada.ok(ada.RecordPlate(ctx, ada.by(), u, map[string]string{"fan-amps": "1.1"}))
	meet(t, ada, ben)

	// Ben corrects what he sees: no dispute.
	ben.ok(ben.RecordPlate(ctx, ben.by(), u, map[string]string{"fan-amps": "1.2"}))
	meet(t, ada, ben)
	if _, _, unit, _ := ada.Unit(ctx, u); len(unit.Disputes) != 0 || unit.Plate["fan-amps"].Text != "1.2" {
		t.Fatalf("a correction: %+v", unit.Disputes)
	}

	ada.read(v, "cap-bench herm off 4.90")
	ben.read(v, "cap-bench fan off 5.0")
	ada.ok(ada.RecordPlate(ctx, ada.by(), u, map[string]string{"rated-load-amps": "14.1", "fan-amps": "1.2"}))
	ben.ok(ben.RecordPlate(ctx, ben.by(), u, map[string]string{"rated-load-amps": "16"}))
	part := func(in string) *PartInput {
		return &PartInput{Unit: u, Part: "run-capacitor", Out: "45+5 µF", In: in, Why: "heat"}
	}
	must(ada.RecordRepair(ctx, ada.by(), v, RepairInput{Repair: "replace-run-capacitor", Part: part("45+5 µF 440 V")}))(t)
	benRepair := must(ben.RecordRepair(ctx, ben.by(), v, RepairInput{Repair: "replace-run-capacitor", Part: part("45+5 µF 370 V")}))(t)
	ada.ok(ada.Close(ctx, ada.by(), v, CloseInput{Outcome: "returning"}))
	ben.ok(ben.Close(ctx, ben.by(), v, CloseInput{Outcome: "handed-over"}))
	meet(t, ada, ben)

	for _, s := range []*shop{ada, ben} {
		here := must(s.Visit(ctx, v))(t)
		_, _, unit, err := s.Unit(ctx, u)
		s.ok(err)
		if n := len(here.Visit.Counting()); n != 2 {
			t.Errorf("%d readings count, want both", n)
		}
		if len(here.Visit.Disputes) != 2 || len(unit.Disputes) != 1 || unit.Disputes[0].Field != "rated-load-amps" {
			t.Fatalf("disputes: %+v, %+v", here.Visit.Disputes, unit.Disputes)
		}
	}
	here := must(ada.Visit(ctx, v))(t)
	p := here.Property.Property
	_, _, unit, _ := ada.Unit(ctx, u)
	// Saving the form of the plate as it is settles nothing.
	ada.ok(ada.RecordPlate(ctx, ada.by(), u, map[string]string{"rated-load-amps": unit.Plate["rated-load-amps"].Text}))
	_, _, unit, _ = ada.Unit(ctx, u)
	if len(unit.Disputes) != 1 {
		t.Fatal("the plate saved as it is settled a dispute")
	}

	wants(t, ada.Settle(ctx, ada.by(), p, SettleInput{About: record.AboutPlate, Unit: u, Field: "fan-amps", Seen: []record.EntryID{"A", "B"}}), Conflict)
	bad := settleInput(unit.Disputes[0], 0)
	bad.Stands = "none of them"
	wants(t, ada.Settle(ctx, ada.by(), p, bad), Invalid)
	wants(t, ada.Settle(ctx, By{Form: ada.NewForm()}, p, settleInput(unit.Disputes[0], 0)), Denied)

	want := unit.Disputes[0].Statements[0].Value
	repairs := here.Visit.Disputes[0]
	stays := slices.IndexFunc(repairs.Statements, func(x ledger.Statement) bool { return x.Stamp.Entry == benRepair })
	for _, in := range []SettleInput{settleInput(unit.Disputes[0], 0), settleInput(repairs, stays), settleInput(here.Visit.Disputes[1], 0)} {
		by := ada.by()
		ada.ok(ada.Settle(ctx, by, p, in))
		before := ada.entries()
		ada.ok(ada.Settle(ctx, by, p, in)) // sent twice
		if ada.entries() != before {
			t.Errorf("%s settled twice by one form", in.About)
		}
	}
	meet(t, ada, ben)
	here = must(ben.Visit(ctx, v))(t)
	_, _, unit, _ = ben.Unit(ctx, u)
	if len(here.Visit.Disputes)+len(unit.Disputes) != 0 {
		t.Errorf("left: %+v, %+v", here.Visit.Disputes, unit.Disputes)
	}
	if got := unit.Plate["rated-load-amps"]; got.Text+" "+got.Unit != want {
		t.Errorf("%v stands, want %s", got, want)
	}
	if r := here.Visit.Repairs; len(r) != 1 || r[0].Stamp.Entry != benRepair || len(here.Visit.Parts) != 1 || here.Visit.Parts[0].In != "45+5 µF 370 V" {
		t.Errorf("repairs %+v, parts %+v", r, here.Visit.Parts)
	}
}

// TestBothRepairsTrue: two repairs side by side may both have been done, and one
// more in sight of them is no dispute.
func TestBothRepairsTrue(t *testing.T) {
	ctx := context.Background()
	ada, ben := twoPhones(t)
	v, _ := ada.call()
	meet(t, ada, ben)
	must(ada.RecordRepair(ctx, ada.by(), v, RepairInput{Repair: "replace-run-capacitor"}))(t)
	must(ben.RecordRepair(ctx, ben.by(), v, RepairInput{Repair: "replace-contactor"}))(t)
	meet(t, ada, ben)
	here := must(ben.Visit(ctx, v))(t)
	in := settleInput(here.Visit.Disputes[0], 0)
	in.Stands, in.All = "", true
	ben.ok(ben.Settle(ctx, ben.by(), here.Property.Property, in))
	meet(t, ada, ben)
	must(ada.RecordRepair(ctx, ada.by(), v, RepairInput{Repair: OtherRepair, Note: "cleaned"}))(t)
	meet(t, ada, ben)
	if here = must(ben.Visit(ctx, v))(t); len(here.Visit.Disputes) != 0 || len(here.Visit.Repairs) != 3 {
		t.Errorf("%+v, %d repairs", here.Visit.Disputes, len(here.Visit.Repairs))
	}
}

// TestClockFarAhead: an entry from a phone whose date is days off raises nobody's
// clock, and hides no other that is a little ahead.
func TestClockFarAhead(t *testing.T) {
	ctx := context.Background()
	ada, _ := twoPhones(t)
	p, _, u := ada.house()
	now := time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC)
	hour, days := journal.TimeOf(now.Add(time.Hour)), journal.TimeOf(now.AddDate(0, 0, 3))
	for i, at := range []journal.Time{days, hour} {
		e := journal.Envelope{ID: journal.ID{15: byte(i + 1)}, Stream: p.Stream(), Device: "ben's phone", Author: "Ben", Time: at}
		ada.ok(ada.log.Append(ctx, []journal.Envelope{record.Encode(e, record.NoteLeft{Unit: u, Text: "from ahead"})}))
	}
	by := ada.by()
	ada.ok(ada.RecordPlate(ctx, by, u, map[string]string{"fan-amps": "1.1"}))
	list, err := ada.log.Stream(ctx, p.Stream())
	ada.ok(err)
	i := slices.IndexFunc(list, func(e journal.Envelope) bool { return e.ID.String() == by.Form })
	if i != len(list)-2 || list[i-1].Time != hour || list[i+1].Time != days {
		t.Errorf("the new entry is number %d of %d, at %v", i+1, len(list), list[i].Time)
	}
}
