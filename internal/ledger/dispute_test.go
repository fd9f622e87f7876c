package ledger

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"rung/internal/record"
)

// by appends an event written on a device.
func (s *script) by(device string, event record.Event) record.EntryID {
	id := s.add(event)
	s.envelopes[len(s.envelopes)-1].Device = device
	return id
}

// amps records the fan amperes of the unit on a device.
func (s *script) amps(device, text string) record.EntryID {
	return s.by(device, record.NameplateRecorded{Unit: "U", Values: map[string]record.PlateValue{"fan-amps": {AsRead: record.AsRead{Text: text, Unit: "A"}}}})
}

// settle records on a device that an entry stands over others.
func (s *script) settle(device string, stands record.EntryID, over ...record.EntryID) record.EntryID {
	return s.by(device, record.StatementSettled{About: record.AboutPlate, Unit: "U", Field: "fan-amps", Stands: stands, Over: over})
}

// amperes tells what stands and what is in dispute.
func amperes(p *Property) string {
	u, _, _ := p.Unit("U")
	text := u.Plate["fan-amps"].Text
	for _, d := range u.Disputes {
		for _, x := range d.Statements {
			text += fmt.Sprintf(" %s:%s", x.Stamp.Device, x.Value)
		}
	}
	return text
}

func TestDisputes(t *testing.T) {
	for name, x := range map[string]struct {
		enter func(s *script)
		want  string
	}{
		"one corrects himself":  {func(s *script) { s.amps("a", "8"); s.amps("a", "9") }, "9"},
		"two agree":             {func(s *script) { s.amps("a", "9"); s.amps("b", "9.0") }, "9.0"},
		"two differ":            {func(s *script) { s.amps("a", "8"); s.amps("b", "9") }, "9 a:8 A b:9 A"},
		"the last of each":      {func(s *script) { s.amps("a", "8"); s.amps("b", "9"); s.amps("a", "7") }, "7 b:9 A a:7 A"},
		"one makes it unknown":  {func(s *script) { s.amps("a", "8"); s.amps("b", "") }, " a:8 A b:A"},
		"a knowing correction":  {func(s *script) { a := s.amps("a", "8"); b := s.amps("b", "9"); s.settle("b", b, a) }, "9"},
		"settled for the first": {func(s *script) { a := s.amps("a", "8"); b := s.amps("b", "9"); s.settle("c", a, a, b) }, "8"},
		"settled by the loser":  {func(s *script) { a := s.amps("a", "8"); b := s.amps("b", "9"); s.settle("b", a, a, b) }, "8"},
		"one more came later": {func(s *script) {
			a := s.amps("a", "8")
			b := s.amps("b", "9")
			s.settle("c", a, a, b)
			s.amps("d", "7")
		}, "7 a:8 A d:7 A"},
		"he had said more": {func(s *script) {
			a := s.amps("a", "8")
			b := s.amps("b", "9")
			s.amps("b", "10")
			s.settle("c", a, a, b)
		}, "8 b:10 A a:8 A"},
		"what stands is missing": {func(s *script) { a := s.amps("a", "8"); b := s.amps("b", "9"); s.settle("c", "Z", a, b) }, "9 a:8 A b:9 A"},
		"what stands is withdrawn": {func(s *script) {
			a, b := s.amps("a", "8"), s.amps("b", "9")
			s.settle("c", a, a, b)
			s.add(record.EntryWithdrawn{Entry: a})
		}, "9"},
		"settled twice, differently": {func(s *script) {
			a, b := s.amps("a", "8"), s.amps("b", "9")
			s.settle("c", a, a, b)
			s.settle("d", b, a, b)
		}, "9 a:8 A b:9 A"},
		"and settled for good": {func(s *script) {
			a, b := s.amps("a", "8"), s.amps("b", "9")
			c, d := s.settle("c", a, a, b), s.settle("d", b, a, b)
			s.settle("a", a, c, d)
		}, "8"},
		"a settlement taken back": {func(s *script) {
			a, b := s.amps("a", "8"), s.amps("b", "9")
			c := s.settle("c", a, a, b)
			s.add(record.EntryWithdrawn{Entry: c})
		}, "9 a:8 A b:9 A"},
		"two that overrule each other": {func(s *script) {
			a, b := s.amps("a", "8"), s.amps("b", "9")
			n := len(s.envelopes)
			next := record.EntryID(strings.Repeat("0", 24) + fmt.Sprintf("%02d", n+2))
			c := s.settle("c", a, a, b, next)
			s.settle("d", b, a, b, c)
		}, "9"},
	} {
		s := opened()
		x.enter(s)
		if got := amperes(s.fold()); got != x.want {
			t.Errorf("%s: %q, want %q", name, got, x.want)
		}
	}
	s := opened()
	s.by("a", record.StatementSettled{About: record.AboutPlate, Unit: "none", Field: "fan-amps"})
	s.by("a", record.StatementSettled{About: "of-a-later-program"})
	if p := s.fold(); len(p.Loose) != 2 {
		t.Errorf("loose: %v", p.Loose)
	}
}

func TestVisitDisputes(t *testing.T) {
	s := opened()
	a := s.by("a", record.RepairDone{Visit: "V", Repair: "replace-run-capacitor"})
	s.by("a", record.RepairDone{Visit: "V", Repair: "replace-contactor"})
	v, _ := s.fold().Visit("V")
	if len(v.Disputes) != 0 || len(v.Repairs) != 2 {
		t.Errorf("two repairs by one: %v", v.Disputes)
	}
	b := s.by("b", record.RepairDone{Visit: "V", Repair: "replace-run-capacitor"})
	s.by("a", record.VisitClosed{Visit: "V", Outcome: "fixed"})
	s.by("b", record.VisitClosed{Visit: "V", Outcome: "fixed", Note: "all well"})
	if v, _ = s.fold().Visit("V"); len(v.Disputes) != 1 || len(v.Disputes[0].Statements) != 3 {
		t.Errorf("a repair by another, closed alike: %v", v.Disputes)
	}
	if s.fold().RepairStatements("V")[2].Entry != b {
		t.Errorf("repairs: %v", s.fold().RepairStatements("V"))
	}
	c := s.by("c", record.VisitClosed{Visit: "V", Outcome: "returning"})
	if v, _ = s.fold().Visit("V"); len(v.Disputes) != 2 || v.Closed.Outcome != "returning" {
		t.Errorf("closed differently: %v, %v", v.Disputes, v.Closed)
	}
	repairs := v.Disputes[0]
	settled := record.StatementSettled{About: record.AboutRepair, Visit: "V"}
	for _, x := range repairs.Statements {
		settled.Over = append(settled.Over, x.Entry)
	}
	s.by("b", settled)
	s.by("b", record.StatementSettled{About: record.AboutClosing, Visit: "V", Stands: v.Disputes[1].Statements[0].Entry, Over: []record.EntryID{v.Disputes[1].Statements[0].Entry, v.Disputes[1].Statements[1].Entry, c}})
	if v, _ = s.fold().Visit("V"); len(v.Disputes) != 0 || v.Closed.Outcome != "fixed" || len(v.Repairs) != 3 {
		t.Errorf("settled: %v, %v", v.Disputes, v.Closed)
	}
	s.add(record.EntryWithdrawn{Entry: a})
	if v, _ = s.fold().Visit("V"); len(v.Repairs) != 2 {
		t.Errorf("%d repairs", len(v.Repairs))
	}
}

// The fold is the same in whatever order the entries of a dispute arrive.
func TestDisputesInAnyOrder(t *testing.T) {
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 3))
		s := opened()
		var ids []record.EntryID
		for range 12 {
			device := string(rune('a' + r.IntN(4)))
			if len(ids) > 1 && r.IntN(3) == 0 {
				pick := func() record.EntryID { return ids[r.IntN(len(ids))] }
				ids = append(ids, s.settle(device, pick(), pick(), pick()))
			} else {
				ids = append(ids, s.amps(device, fmt.Sprint(r.IntN(4))))
			}
		}
		want := s.fold()
		r.Shuffle(len(s.envelopes), func(i, j int) { s.envelopes[i], s.envelopes[j] = s.envelopes[j], s.envelopes[i] })
		if got := s.fold(); !reflect.DeepEqual(got, want) {
			t.Fatalf("seed %d: %s, want %s", seed, amperes(got), amperes(want))
		}
	}
}
