package ledger

import (
	"fmt"
	"reflect"
	"testing"

	"rung/internal/record"
)

// twins returns a house with two systems and an outdoor unit for each.
func twins() *script {
	s := &script{}
	s.add(record.PropertyAdded{Property: house, Name: "Mill house"})
	for _, n := range []string{"1", "2"} {
		s.add(record.SystemAdded{System: record.SystemID("S" + n), Number: n, Kind: "split-air-conditioner"})
	}
	s.add(record.UnitAdded{Unit: "U1", System: "S1", Kind: "outdoor-unit", Place: "north side, left"})
	s.add(record.UnitAdded{Unit: "U2", System: "S2", Kind: "outdoor-unit", Place: "north side, right"})
	return s
}

// found appends a finding about a link of a system.
func (s *script) found(system record.SystemID, link, place, how string) record.EntryID {
	return s.add(record.LinkFound{System: system, Link: link, Place: place, How: how})
}

// told returns the state of a chain in one line: p for proved, l for label.
func told(p *Property, system record.SystemID) string {
	text := ""
	for _, c := range p.Chains() {
		for _, l := range c.Links {
			f, known := l.Value()
			if c.System.System != system || !known {
				continue
			}
			sort := "l"
			if l.Proved() {
				sort = "p"
			}
			text += fmt.Sprintf("%s=%s:%s ", l.Kind, p.PlaceOf(f.LinkFound), sort)
		}
	}
	return text
}

func TestChain(t *testing.T) {
	s := twins()
	if got := told(s.fold(), "S1"); got != "outdoor-unit=north side, left:l " {
		t.Errorf("as entered: %s", got)
	}
	s.found("S1", record.LinkBreaker, "10-12", record.ByLabel)
	s.found("S1", record.LinkBreaker, "14-16", "breaker-dead")
	s.found("S1", record.LinkBreaker, "18-20", record.ByLabel) // a label does not undo a test
	back := s.found("S1", record.LinkBreaker, "22-24", "breaker-dead")
	if got := told(s.fold(), "S1"); got != "outdoor-unit=north side, left:l breaker=22-24:p " {
		t.Errorf("a later test: %s", got)
	}
	s.add(record.EntryWithdrawn{Entry: back})
	if got := told(s.fold(), "S1"); got != "outdoor-unit=north side, left:l breaker=14-16:p " {
		t.Errorf("taken back: %s", got)
	}
	s.add(record.UnitAdded{Unit: "U1", System: "S1", Kind: "outdoor-unit", Place: "by the shed"})
	s.add(record.LinkFound{System: "S2", Link: record.LinkOutdoorUnit, Place: "north side, left", Unit: "U1", How: "call-started"})
	if got := told(s.fold(), "S2"); got != "outdoor-unit=by the shed:p " {
		t.Errorf("a unit that was entered anew: %s", got)
	}
	s.found("elsewhere", record.LinkBreaker, "2-4", record.ByLabel)
	if p := s.fold(); len(p.Loose) != 1 {
		t.Errorf("loose %v, want the finding about a system that is not here", p.Loose)
	}
}

func TestConflicts(t *testing.T) {
	const outdoor, breaker = record.LinkOutdoorUnit, record.LinkBreaker
	for name, x := range map[string]struct {
		enter func(s *script)
		want  []Conflict
	}{
		"none": {func(s *script) {
			s.found("S1", outdoor, "North side LEFT", "call-started") // the same unit in other words
			s.found("S1", breaker, "14-16", record.ByLabel)
			s.found("S1", breaker, "Breaker 14 / 16", "breaker-dead")
			s.found("S2", breaker, "10-12", record.ByLabel)
		}, nil},
		"crossed": {func(s *script) {
			s.found("S1", outdoor, "north side, right", "call-started")
			s.add(record.LinkFound{System: "S2", Link: outdoor, Unit: "U1", How: "call-started"})
		}, []Conflict{{Crossed, outdoor, []record.SystemID{"S1", "S2"}}}},
		"half of a crossing": {func(s *script) {
			s.found("S1", outdoor, "north side, right", "call-started")
		}, []Conflict{{Shared, outdoor, []record.SystemID{"S1", "S2"}}, {LabelDiffers, outdoor, []record.SystemID{"S1"}}}},
		"crossed and mended": {func(s *script) {
			s.found("S1", outdoor, "north side, right", "call-started")
			s.found("S2", outdoor, "north side, left", "call-started")
			s.found("S1", outdoor, "north side, left", "call-started")
			s.found("S2", outdoor, "north side, right", "call-started")
		}, nil},
		"one breaker twice": {func(s *script) {
			s.found("S1", breaker, "14-16", record.ByLabel)
			s.found("S2", breaker, "14/16", record.ByLabel)
		}, []Conflict{{Shared, breaker, []record.SystemID{"S1", "S2"}}}},
		"more words": {func(s *script) {
			s.found("S1", breaker, "14", record.ByLabel)
			s.found("S1", breaker, "14-16", "breaker-dead")
			s.found("S1", outdoor, "north side, left, by the gate", "call-started")
		}, nil},
		"other words": {func(s *script) {
			s.found("S1", breaker, "1", record.ByLabel)
			s.found("S1", breaker, "14-16", "breaker-dead")
		}, []Conflict{{LabelDiffers, breaker, []record.SystemID{"S1"}}}},
		"belied label": {func(s *script) {
			s.found("S1", breaker, "14-16", record.ByLabel)
			s.found("S1", breaker, "18-20", "breaker-dead")
		}, []Conflict{{LabelDiffers, breaker, []record.SystemID{"S1"}}}},
	} {
		s := twins()
		x.enter(s)
		if got := Conflicts(s.fold().Chains()); !reflect.DeepEqual(got, x.want) {
			t.Errorf("%s: conflicts %+v, want %+v", name, got, x.want)
		}
	}
}

// A disconnect is proved on an outdoor unit. When the control wires are changed
// over, what was proved further down counts no more.
func TestProofOnAnotherUnit(t *testing.T) {
	s := twins()
	s.found("S1", record.LinkOutdoorUnit, "north side, right", "call-started")
	s.found("S1", record.LinkDisconnect, "B", "pulled-stopped")
	s.found("S1", record.LinkBreaker, "14-16", "breaker-dead")
	all := "outdoor-unit=north side, right:p disconnect=B:p breaker=14-16:p "
	if got := told(s.fold(), "S1"); got != all {
		t.Errorf("before: %s", got)
	}
	s.found("S1", record.LinkOutdoorUnit, "north side, left", "call-started")
	p := s.fold()
	if got := told(p, "S1"); got != "outdoor-unit=north side, left:p " || !p.Chains()[0].Links[2].Stale || !p.Chains()[0].Links[3].Stale {
		t.Errorf("wires changed over: %s", got)
	}
	s.found("S1", record.LinkDisconnect, "A", "pulled-stopped")
	if got := told(s.fold(), "S1"); got != "outdoor-unit=north side, left:p disconnect=A:p " {
		t.Errorf("disconnect proved anew: %s", got)
	}
	s.found("S1", record.LinkBreaker, "18-20", "breaker-dead")
	if got := told(s.fold(), "S1"); got != "outdoor-unit=north side, left:p disconnect=A:p breaker=18-20:p " {
		t.Errorf("breaker proved anew: %s", got)
	}
	s = twins()
	s.found("S1", record.LinkOutdoorUnit, "north side, right", "call-started")
	s.found("S1", record.LinkDisconnect, "B", "pulled-stopped")
	s.found("S1", record.LinkBreaker, "14-16", "breaker-dead")
	changed := s.found("S1", record.LinkOutdoorUnit, "north side, left", "call-started")
	s.add(record.EntryWithdrawn{Entry: changed})
	if got := told(s.fold(), "S1"); got != all {
		t.Errorf("taken back: %s", got)
	}
}

// A place that is the beginning of another is still another unit.
func TestPlaceThatBeginsAnother(t *testing.T) {
	s := twins()
	s.add(record.UnitAdded{Unit: "U1", System: "S1", Kind: "outdoor-unit", Place: "north side"})
	s.found("S1", record.LinkOutdoorUnit, "north side, right", "call-started")
	s.found("S2", record.LinkOutdoorUnit, "north side", "call-started")
	if got := Conflicts(s.fold().Chains()); len(got) != 1 || got[0].Kind != Crossed {
		t.Errorf("conflicts %+v, want the two crossed", got)
	}
}

// Two units that are said to stand in one place are not taken for one.
func TestOnePlaceOfTwoUnits(t *testing.T) {
	s := twins()
	s.add(record.UnitAdded{Unit: "A1", System: "S1", Kind: "air-handler", Place: "attic"})
	s.add(record.UnitAdded{Unit: "A2", System: "S2", Kind: "furnace", Place: "attic"})
	if got := Conflicts(s.fold().Chains()); got != nil {
		t.Errorf("conflicts %+v", got)
	}
}
