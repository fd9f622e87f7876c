package visit

import (
	"context"
	"errors"
	"math/rand/v2"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
)

// shop is a service over a journal in memory, with a clock that moves a second
// at every look and ids from a fixed seed.
type shop struct {
	*Service
	t           testing.TB
	log         *memlog.Log
	taughtCalls int
}

func newShop(t testing.TB) *shop {
	t.Helper()
	log := memlog.New(ledger.Summary())
	return &shop{Service: newService(t, log, 1), t: t, log: log}
}

func newService(t testing.TB, log journal.Log, seed byte) *Service {
	t.Helper()
	var mu sync.Mutex
	now := time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC)
	clock := func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		now = now.Add(time.Second)
		return now
	}
	s, err := New(Config{Log: log, Now: clock, IDs: journal.NewIDSource(clock, rand.NewChaCha8([32]byte{seed})), Device: "phone"})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// by returns a new form of Ada's.
func (s *shop) by() By { return By{Author: "Ada", Form: s.NewForm()} }

// must fails the test on an error.
func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func (s *shop) ok(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// house enters a property with a system and an outdoor unit.
func (s *shop) house() (record.PropertyID, record.SystemID, record.UnitID) {
	s.t.Helper()
	ctx := context.Background()
	p := must(s.AddProperty(ctx, s.by(), PropertyInput{Name: "Mill house", Address: "1 Mill Road", Elevation: "250"}))(s.t)
	sys := must(s.AddSystem(ctx, s.by(), p, SystemInput{Number: "2", Name: "upstairs"}))(s.t)
	u := must(s.AddUnit(ctx, s.by(), sys, UnitInput{Kind: "outdoor-unit", Place: "north side"}))(s.t)
	return p, sys, u
}

// call opens a visit at the house.
func (s *shop) call() (record.VisitID, record.UnitID) {
	s.t.Helper()
	_, sys, u := s.house()
	v := must(s.OpenVisit(context.Background(), s.by(), sys, OpenInput{
		Words: "upstairs stays warm", Complaint: "not-cooling", Who: record.Person{Name: "Ada", Refrigerant: true},
	}))(s.t)
	return v, u
}

// entries returns the number of entries in the journal.
func (s *shop) entries() int {
	s.t.Helper()
	all, _, err := s.log.Since(context.Background(), journal.Start, 1_000_000)
	if err != nil {
		s.t.Fatal(err)
	}
	return len(all)
}

// wants fails the test unless err is an *Error of the kind whose text contains
// every part.
func wants(t testing.TB, err error, kind Kind, parts ...string) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) || e.Kind != kind {
		t.Errorf("error %v, want one of kind %s", err, kind)
		return
	}
	for _, part := range parts {
		if !strings.Contains(e.Error(), part) {
			t.Errorf("error %q does not say %q", e, part)
		}
	}
}

func TestHouse(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	id, sys, u := s.house()
	p, system, unit, err := s.Unit(ctx, u)
	if err != nil || p.Property != id || system.System != sys || unit.Place != "north side" || p.Elevation.Text != "250" || p.Elevation.Unit != "ft" {
		t.Errorf("Unit = %+v, %+v, %+v, %v", p, system, unit, err)
	}
	for find, want := range map[string]int{"": 1, "mill": 1, " ROAD": 1, "nowhere": 0} {
		if got, err := s.Properties(ctx, find); err != nil || len(got) != want {
			t.Errorf("Properties(%q) = %v, %v, want %d", find, got, err, want)
		}
	}
	if _, err := s.AddProperty(ctx, s.by(), PropertyInput{Name: "The mill", Replaces: id}); err != nil {
		t.Error(err)
	}
	if _, err := s.AddSystem(ctx, s.by(), id, SystemInput{Name: "attic", Replaces: sys}); err != nil {
		t.Error(err)
	}
	if _, err := s.AddUnit(ctx, s.by(), sys, UnitInput{Kind: "outdoor-unit", Label: "2", Replaces: u}); err != nil {
		t.Error(err)
	}
	p, _ = s.Property(ctx, id)
	if p.Name != "The mill" || len(p.Systems) != 1 || p.Systems[0].Name != "attic" || p.Systems[0].Units[0].Label != "2" {
		t.Errorf("after replacing the details: %+v", p)
	}
}

func TestMistakes(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	v, u := s.call()
	_, sys, _, _ := s.Unit(ctx, u)
	before := s.entries()
	surroundings := func(name, text string) error {
		return s.RecordSurroundings(ctx, s.by(), v, SurroundingsInput{Values: map[string]string{name: text}})
	}
	_, noName := s.AddProperty(ctx, s.by(), PropertyInput{})
	_, tooHigh := s.AddProperty(ctx, s.by(), PropertyInput{Name: "x", Elevation: "30000 ft"})
	_, noAuthor := s.AddProperty(ctx, By{Form: s.NewForm()}, PropertyInput{Name: "x"})
	_, noForm := s.AddProperty(ctx, By{Author: "Ada"}, PropertyInput{Name: "x"})
	_, noKind := s.AddUnit(ctx, s.by(), sys.System, UnitInput{})
	_, noSystem := s.AddUnit(ctx, s.by(), "elsewhere", UnitInput{Kind: "outdoor-unit"})
	_, boiler := s.AddSystem(ctx, s.by(), must(s.Visit(ctx, v))(t).Property.Property, SystemInput{Kind: "boiler"})
	_, noComplaint := s.OpenVisit(ctx, s.by(), sys.System, OpenInput{Who: record.Person{Name: "Ada"}})
	_, noVisit := s.Visit(ctx, "elsewhere")
	_, noDay := s.AddTask(ctx, s.by(), v, TaskInput{What: "x", Due: "next week"})
	for _, c := range []struct {
		err   error
		kind  Kind
		parts []string
	}{
		{noName, Invalid, []string{"name"}},
		{tooHigh, OutOfRange, []string{"30000 ft", "17000 ft"}},
		{noAuthor, Denied, nil},
		{noForm, Invalid, nil},
		{noKind, Invalid, nil},
		{noSystem, NotFound, []string{"system"}},
		{boiler, Invalid, nil},
		{noComplaint, Invalid, nil},
		{noVisit, NotFound, []string{"visit"}},
		{noDay, Invalid, []string{`"next week"`, "2027-05-01"}},
		{surroundings("outdoor-dry-bulb", "9500"), OutOfRange, []string{"9500 °F", "135 °F"}},
		{surroundings("outdoor-dry-bulb", "warm"), Invalid, []string{`"warm"`, "not a number"}},
		{surroundings("outdoor-dry-bulb", "95 psig"), Invalid, []string{`"95 psig"`, "°F"}},
		{surroundings("outdoor-dry-bulb", "95 furlong"), Invalid, []string{`"95 furlong"`}},
		{surroundings("humidity", "50"), Invalid, nil},
		{surroundings("outdoor-dry-bulb", ""), Invalid, []string{"Nothing"}},
		{s.NoteHazard(ctx, s.by(), v, "boredom", false), Invalid, nil},
		{s.LeaveNote(ctx, s.by(), v, NoteInput{Text: " "}), Invalid, nil},
		{s.LeaveNote(ctx, s.by(), v, NoteInput{Unit: "elsewhere", Text: "x"}), NotFound, nil},
		{s.FinishTask(ctx, s.by(), "elsewhere", "", false), NotFound, nil},
		{s.Recommend(ctx, s.by(), v, "", "clean the coil", "", "perhaps"), Invalid, nil},
		{s.Withdraw(ctx, s.by(), v, "elsewhere", ""), NotFound, nil},
		{s.Withdraw(ctx, s.by(), v, record.EntryID(v), ""), Denied, []string{"Close it"}},
	} {
		wants(t, c.err, c.kind, c.parts...)
	}
	if after := s.entries(); after != before {
		t.Errorf("%d entries were written by refused forms", after-before)
	}
}

func TestWetBulb(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	v, _ := s.call()
	put := func(values map[string]string) error {
		return s.RecordSurroundings(ctx, s.by(), v, SurroundingsInput{Values: values})
	}
	wants(t, put(map[string]string{"return-dry-bulb": "65", "return-wet-bulb": "78 F"}), OutOfRange, "78 °F", "65 °F")
	s.ok(put(map[string]string{"return-dry-bulb": "78", "outdoor-dry-bulb": "35 C"}))
	wants(t, put(map[string]string{"return-wet-bulb": "30 C"}), OutOfRange, "30 °C", "78 °F")
	s.ok(put(map[string]string{"return-wet-bulb": "65.0"}))
	here, err := s.Visit(ctx, v)
	if err != nil || here.Visit.Surroundings["return-wet-bulb"].Text != "65.0" || here.Visit.Surroundings["outdoor-dry-bulb"].Unit != "°C" {
		t.Errorf("%+v, %v: digits and unit must stay as typed", here.Visit.Surroundings, err)
	}
}

// The same form sent twice is one entry; with other values it is refused.
func TestFormTwice(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	v, _ := s.call()
	by := s.by()
	note := NoteInput{Text: "filter changed"}
	s.ok(s.LeaveNote(ctx, by, v, note))
	n := s.entries()
	s.ok(s.LeaveNote(ctx, by, v, note))
	if s.entries() != n {
		t.Error("the same form twice wrote two entries")
	}
	note.Text = "filter not changed"
	wants(t, s.LeaveNote(ctx, by, v, note), Conflict)
	wants(t, s.NoteHazard(ctx, by, v, "gas-smell", false), Conflict)
	p := By{Author: "Ada", Form: s.NewForm()}
	a := must(s.AddProperty(ctx, p, PropertyInput{Name: "x"}))(t)
	b := must(s.AddProperty(ctx, p, PropertyInput{Name: "x"}))(t)
	if a != b {
		t.Errorf("one form made two properties: %s and %s", a, b)
	}
	if _, err := s.AddProperty(ctx, p, PropertyInput{Name: "y"}); err == nil {
		t.Error("the form took another name")
	}
}

// Many copies of the same form at once, as an impatient thumb makes them, over
// two services on one journal.
func TestFormAtOnce(t *testing.T) {
	s := newShop(t)
	v, _ := s.call()
	other := newService(t, s.log, 2)
	by := s.by()
	n := s.entries()
	var all sync.WaitGroup
	for i := range 20 {
		service := s.Service
		if i%2 == 1 {
			service = other
		}
		all.Go(func() {
			if err := service.LeaveNote(context.Background(), by, v, NoteInput{Text: "filter changed"}); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if got := s.entries() - n; got != 1 {
		t.Errorf("%d entries, want 1", got)
	}
}

// What an entry of a later clock said is not lost, and ours sorts after it.
func TestClockFollowsTheRecord(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	v, _ := s.call()
	here := must(s.Visit(ctx, v))(t)
	ahead := record.Encode(journal.Envelope{ID: journal.ID{1}, Stream: here.Property.Property.Stream(), Device: "other",
		Author: "Ben", Time: here.Property.Last + journal.Time(time.Hour.Milliseconds()<<16)},
		record.TaskAdded{Task: "T", What: "from a fast clock"})
	if err := s.log.Append(ctx, []journal.Envelope{ahead}); err != nil {
		t.Fatal(err)
	}
	s.ok(s.FinishTask(ctx, s.by(), "T", "", false))
	p := must(s.Property(ctx, here.Property.Property))(t)
	if task, _ := p.Task("T"); task.Done == nil || task.Done.Stamp.At.Before(task.Added.At) {
		t.Errorf("task %+v", task)
	}
}

func TestTasksAndUndo(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	v, _ := s.call()
	task := must(s.AddTask(ctx, s.by(), v, TaskInput{What: "judge the charge", Due: "2027-05-01", Warmer: "65"}))(t)
	if list, err := s.Tasks(ctx); err != nil || len(list) != 1 || list[0].Warmer.Unit != "°F" || list[0].Place != "Mill house" {
		t.Errorf("Tasks = %+v, %v", list, err)
	}
	done := s.by()
	s.ok(s.FinishTask(ctx, done, task, "", false))
	if list, _ := s.Tasks(ctx); len(list) != 0 {
		t.Errorf("Tasks = %+v after it was done", list)
	}
	s.ok(s.Withdraw(ctx, s.by(), v, record.EntryID(done.Form), "too early"))
	if list, _ := s.Tasks(ctx); len(list) != 1 {
		t.Error("taking back the finishing did not reopen the task")
	}
	if open, err := s.OpenVisits(ctx); err != nil || len(open) != 1 || open[0].Visit != v {
		t.Errorf("OpenVisits = %+v, %v", open, err)
	}
}

func TestChoicesAreComplete(t *testing.T) {
	s := newShop(t)
	for name, list := range map[string][]Choice{
		"complaints": s.Complaints(""), "unit kinds": s.UnitKinds(), "hazards": s.Hazards(),
		"refusals": s.RefusalReasons(), "outcomes": s.Outcomes(),
	} {
		seen := map[string]bool{}
		for _, c := range list {
			if c.ID == "" || c.Name == "" || seen[c.ID] {
				t.Errorf("%s: bad choice %+v", name, c)
			}
			seen[c.ID] = true
		}
		if len(list) < 3 {
			t.Errorf("%s: only %v", name, list)
		}
	}
	for _, kind := range []string{"hazard"} {
		for _, a := range answers()[kind] {
			if a.do.EN == "" || a.do.ES == "" {
				t.Errorf("%s does not say what to do", a.id)
			}
		}
	}
	for _, f := range s.Surroundings() {
		a := surrounding(f.ID)
		if !(mustSI(a.low, a.dim) < mustSI(a.high, a.dim)) {
			t.Errorf("%s: limits %s to %s", f.ID, a.low, a.high)
		}
	}
	if !reflect.DeepEqual(English.choice("hazard", "unheard-of"), Choice{"unheard-of", "unheard-of"}) {
		t.Error("an unknown id must stand for itself")
	}
}
