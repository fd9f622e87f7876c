package ledger

import (
	"encoding/binary"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/record"
)

// at appends an event on a day after the start.
func (s *script) at(day int, event record.Event) record.EntryID {
	id := s.add(event)
	s.envelopes[len(s.envelopes)-1].Time = journal.TimeOf(start.AddDate(0, 0, day).Add(time.Duration(len(s.envelopes)) * time.Minute))
	return id
}

// mended closes visit V as fixed on day 0, after a repair and a proof.
func mended(proofs ...record.ProofTaken) *script {
	s := opened()
	repair := s.add(record.RepairDone{Visit: "V", Repair: "replace-run-capacitor", Cause: "herm-cap-weak"})
	for _, p := range proofs {
		p.Visit, p.AfterRepair = "V", repair
		s.add(p)
	}
	s.add(record.VisitClosed{Visit: "V", Outcome: "fixed"})
	return s
}

var (
	holds  = record.ProofTaken{Mode: "cool", Check: "delta-t-air", Before: &record.AsRead{Text: "6"}, After: &record.AsRead{Text: "19"}, Holds: true}
	fails  = record.ProofTaken{Mode: "fan", After: &record.AsRead{Text: "silent"}}
	cold   = record.ProofTaken{Mode: "cool", Before: holds.Before, After: holds.After, Holds: true, Limited: "cool outdoors"}
	blind  = record.ProofTaken{Mode: "cool", After: holds.After, Holds: true}
	summer = record.ProofTaken{Mode: "heat", After: holds.After, Holds: true, Limited: "hot outdoors"}
)

// TestClosures: what is not proved never counts whole, and what was not fixed
// does not count at all.
func TestClosures(t *testing.T) {
	callback := func(day int, repaired bool) *script {
		s := mended(holds)
		s.at(day, record.VisitOpened{Visit: "V2", System: "S"})
		if repaired {
			s.at(day, record.RepairDone{Visit: "V2", Repair: "replace-contactor"})
		}
		return s
	}
	advised := opened()
	advised.add(record.AdviceShown{Visit: "V", Advice: record.Advice{Verdict: "repair", Causes: []record.Odds{{Cause: "herm-cap-weak", Percent: 99}}}})
	advised.add(record.RepairDone{Visit: "V", Repair: "replace-run-capacitor"})
	advised.add(record.VisitClosed{Visit: "V", Outcome: "fixed"})
	accepted := opened()
	accepted.add(record.CauseAccepted{Visit: "V", Cause: "herm-cap-weak"})
	repair := accepted.add(record.RepairDone{Visit: "V", Repair: "replace-run-capacitor"})
	accepted.add(record.CauseAccepted{Visit: "V", Cause: "contactor-stuck", AfterRepair: repair})
	accepted.add(record.VisitClosed{Visit: "V", Outcome: "fixed"})
	declined := mended(holds)
	declined.add(record.VisitClosed{Visit: "V", Outcome: "declined"})
	reopened := mended(holds)
	reopened.add(record.EntryWithdrawn{Visit: "V", Entry: record.EntryID(reopened.envelopes[len(reopened.envelopes)-1].ID.String())})
	for name, c := range map[string]struct {
		s    *script
		want float64 // weight; 0: no closure
	}{
		"proved":                       {mended(holds), 1},
		"proved, heating only started": {mended(holds, summer), 1},
		"no proof":                     {mended(), 0.5},
		"one line fails":               {mended(holds, fails), 0.5},
		"limited by weather":           {mended(cold), 0.5},
		"nothing read before":          {mended(blind), 0.5},
		"not closed":                   {opened(), 0},
		"closed another way":           {declined, 0},
		"closing taken back":           {reopened, 0},
		"only advised":                 {advised, 0},
		"accepted before the repair":   {accepted, 0.5},
		"repaired again after 29 days": {callback(29, true), 0},
		"seen again after 29 days":     {callback(29, false), 1},
		"repaired again after 32 days": {callback(32, true), 1},
	} {
		got := 0.0
		for _, x := range c.s.fold().Closures() {
			got += x.Weight
			if x.Cause != "herm-cap-weak" {
				t.Errorf("%s: the cause is %q", name, x.Cause)
			}
		}
		if got != c.want {
			t.Errorf("%s counts %v, want %v", name, got, c.want)
		}
	}
}

// TestClosuresInAnyOrder: entries that come in otherwise teach the same.
func TestClosuresInAnyOrder(t *testing.T) {
	s := mended(holds, summer)
	s.at(40, record.VisitOpened{Visit: "V2", System: "S"})
	want := s.fold().Closures()
	random := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		random.Shuffle(len(s.envelopes), func(i, j int) { s.envelopes[i], s.envelopes[j] = s.envelopes[j], s.envelopes[i] })
		if got := s.fold().Closures(); !reflect.DeepEqual(got, want) {
			t.Fatalf("in another order %+v, want %+v", got, want)
		}
	}
}

func TestFoldShop(t *testing.T) {
	entry := func(n uint64, event record.Event) journal.Envelope {
		e := journal.Envelope{Stream: record.ShopStream, Device: "office", Author: "Ada", Time: journal.TimeOf(start.Add(time.Duration(n) * time.Hour))}
		binary.BigEndian.PutUint64(e.ID[8:], n)
		return record.Encode(e, event)
	}
	first, second := entry(1, record.LearningSetAside{Why: "a"}), entry(2, record.LearningSetAside{Why: "b"})
	back := entry(3, record.EntryWithdrawn{Entry: record.EntryID(second.ID.String())})
	if list := FoldShop([]journal.Envelope{second, first}).SetAsides; len(list) != 2 || list[1].Why != "b" || list[1].Stamp.Author != "Ada" {
		t.Errorf("set aside twice gives %+v", list)
	}
	if list := FoldShop([]journal.Envelope{back, second, first, first}).SetAsides; len(list) != 1 || list[0].Why != "a" {
		t.Errorf("taken back once gives %+v", list)
	}
	early, late := entry(0, record.ClosuresCounted{Counts: map[string]float64{"a": 1}}), entry(4, record.ClosuresCounted{Counts: map[string]float64{"a": 2}})
	if list := FoldShop([]journal.Envelope{late, first, early}).Counted; len(list) != 1 || list[0].Counts["a"] != 2 {
		t.Errorf("counted before and after setting aside gives %+v", list)
	}
}
