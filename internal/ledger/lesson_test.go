package ledger

import (
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/record"
)

// later puts the last entry of a script at a time after the start, entered by whom
// on which device.
func (s *script) later(after time.Duration, author, device string) {
	e := &s.envelopes[len(s.envelopes)-1]
	e.Author, e.Device = author, device
	e.Time = journal.TimeOf(start.Add(after))
}

// TestLessonSteps: a check takes the time since the entry before of the same
// person on the same device; what was entered later, or for another, tells none.
func TestLessonSteps(t *testing.T) {
	s := &script{}
	s.add(record.PropertyAdded{Property: house, Name: "Mill house"})
	s.add(record.SystemAdded{System: "S", Kind: "split-air-conditioner"})
	s.add(record.UnitAdded{Unit: "U", System: "S", Kind: "outdoor-unit"})
	s.add(record.NameplateRecorded{Unit: "U", Values: map[string]record.PlateValue{MadeField: {AsRead: record.AsRead{Text: "2009-04"}}}})
	s.add(record.VisitOpened{Visit: "V", System: "S", Complaint: "not-cooling", Who: record.Person{Name: "Ada", Role: "mechanic"}})
	s.later(10*time.Minute, "Ada", "phone")
	read := func(after time.Duration, author, device, check, point, text string, change func(*record.ReadingTaken)) {
		r := record.ReadingTaken{Visit: "V", Check: check, Point: point, Demand: "cool", AsRead: record.AsRead{Text: text, Unit: "°F"}}
		if author == "Ben" {
			r.Role = "apprentice"
		}
		if change != nil {
			change(&r)
		}
		s.add(r)
		s.later(after, author, device)
	}
	read(14*time.Minute, "Ada", "phone", "delta-t-air", "return", "76", nil)
	read(14*time.Minute+time.Second, "Ada", "phone", "delta-t-air", "supply", "58", nil)
	read(20*time.Minute, "Ben", "tablet", "esp-total", "static", "0.7", nil)
	read(26*time.Minute, "Ben", "tablet", "look-listen", "blower", "running", nil)
	noon := start
	read(30*time.Minute, "Ada", "phone", "a-fan", "amps", "1", func(r *record.ReadingTaken) { r.At = &noon })
	read(33*time.Minute, "Ada", "phone", "a-fan", "amps", "1.2", func(r *record.ReadingTaken) { r.By = "Ben" })
	read(35*time.Minute, "Ada", "phone", "delta-t-air", "supply", "61", nil)
	s.add(record.RepairDone{Visit: "V", Repair: "replace-run-capacitor"})
	s.later(65*time.Minute, "Ada", "phone")
	s.add(record.VisitClosed{Visit: "V", Outcome: "fixed"})
	s.later(70*time.Minute, "Ada", "phone")

	list := s.fold().Lessons()
	if len(list) != 1 {
		t.Fatalf("there are %d lessons", len(list))
	}
	l := list[0]
	want := []Step{
		{Check: "delta-t-air", Points: 2, By: "Ada", Role: "mechanic", Seconds: 240},
		{Check: "esp-total", Points: 1, By: "Ben", Role: "apprentice"},
		{Check: "look-listen", Points: 1, By: "Ben", Role: "apprentice", Seconds: 360},
		{Check: "a-fan", Points: 1, By: "Ada", Role: "mechanic"},
		{Check: "a-fan", Points: 1, By: "Ada", Role: "mechanic"},
		{Check: "delta-t-air", Points: 1, By: "Ada", Role: "mechanic", Seconds: 120},
		{Repair: "replace-run-capacitor", By: "Ada", Role: "mechanic", Seconds: 1800},
	}
	if !reflect.DeepEqual(l.Steps, want) {
		t.Errorf("the steps are\n%+v, want\n%+v", l.Steps, want)
	}
	if len(l.Read) != 2 || l.Read[1].First.Text != "58" || l.Read[1].Second.Text != "61" || l.Read[0].Check != "a-fan" {
		t.Errorf("read again: %+v", l.Read)
	}
	if !l.Unnamed || l.Weight != 0 || l.Proved || l.Made["outdoor-unit"] != "2009-04" || l.Renewed != nil || l.Complaint != "not-cooling" {
		t.Errorf("the lesson is %+v", l)
	}
	random := rand.New(rand.NewPCG(1, 3))
	for range 20 {
		random.Shuffle(len(s.envelopes), func(i, j int) { s.envelopes[i], s.envelopes[j] = s.envelopes[j], s.envelopes[i] })
		if got := s.fold().Lessons(); !reflect.DeepEqual(got, list) {
			t.Fatalf("in another order %+v, want %+v", got, list)
		}
	}
}

// TestLessonsOfProofs: a proof that held and was called back for stands as such;
// a part mended before is renewed.
func TestLessonsOfProofs(t *testing.T) {
	s := mended(holds)
	s.at(20, record.VisitOpened{Visit: "V2", System: "S"})
	s.at(20, record.RepairDone{Visit: "V2", Repair: "replace-run-capacitor", Cause: "fan-cap-open"})
	s.at(20, record.VisitClosed{Visit: "V2", Outcome: "fixed"})
	list := s.fold().Lessons()
	if len(list) != 2 {
		t.Fatalf("there are %d lessons", len(list))
	}
	if a := list[0]; !a.Proved || !a.CalledBack || a.Weight != 0 || a.Cause != "" || a.Unnamed {
		t.Errorf("the first is %+v", a)
	}
	if b := list[1]; b.Proved || b.CalledBack || b.Weight != unproved || b.Cause != "fan-cap-open" || b.Renewed == nil {
		t.Errorf("the second is %+v", b)
	}
	if got := mended(holds).fold().Lessons(); len(got) != 1 || got[0].Weight != 1 || got[0].Cause != "herm-cap-weak" {
		t.Errorf("a closure gives %+v", got)
	}
}

// TestSince: a topic counts from when it, or all, was set aside last; off only by its own.
func TestSince(t *testing.T) {
	at := func(hours int) Stamp { return Stamp{At: start.Add(time.Duration(hours) * time.Hour)} }
	shop := Shop{SetAsides: []SetAside{
		{record.LearningSetAside{What: "age", Off: true}, at(1)}, {record.LearningSetAside{What: "minutes"}, at(2)}, {record.LearningSetAside{}, at(3)},
	}}
	if since, off := shop.Since("age"); !since.Equal(at(3).At) || off {
		t.Errorf("age counts from %v, off %v", since, off)
	}
	shop.SetAsides = shop.SetAsides[:2]
	if since, off := shop.Since("age"); !since.Equal(at(1).At) || !off {
		t.Errorf("age counts from %v, off %v", since, off)
	}
	if since, off := shop.Since("season"); !since.IsZero() || off {
		t.Errorf("season counts from %v, off %v", since, off)
	}
}
