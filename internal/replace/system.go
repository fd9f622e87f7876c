package replace

import (
	"fmt"
	"slices"
)

// SourceID names a control transformer.
type SourceID string

// LoadID names a load that the thermostat controls.
type LoadID string

// The loads.
const (
	Compressor     LoadID = "compressor"
	Compressor2    LoadID = "compressor-second-stage"
	Blower         LoadID = "blower"
	Heat           LoadID = "heat"
	HeatSecond     LoadID = "heat-second-stage"
	Auxiliary      LoadID = "auxiliary-heat"
	EmergencyRelay LoadID = "emergency-relay"
	ReversingValve LoadID = "reversing-valve"
	Humidifier     LoadID = "humidifier"
)

// Control is the kind of control circuit.
type Control string

// The kinds of control. Only the first can be planned.
const (
	LowVoltage    Control = "24-volt"
	LineVoltage   Control = "line-voltage"
	Millivolt     Control = "millivolt"
	Communicating Control = "communicating"
)

// Source is a control transformer.
type Source struct {
	ID SourceID
	// Common says whether its common can be reached at the equipment: that of
	// a boiler with two T terminals often cannot.
	Common bool
}

// Load is a load and the transformer that feeds it. Its other side lies on that
// transformer's common.
type Load struct {
	ID     LoadID
	Source SourceID
}

// System is what the thermostat controls.
type System struct {
	Control      Control // empty: 24 V
	Sources      []Source
	Loads        []Load
	HeatPump     bool
	ValveInHeat  bool // the reversing valve is energised in heating
	FanWithHeat  bool // the thermostat must call the blower with heat, as for electric heat without its own relay
	BackupFossil bool // the auxiliary heat is a furnace: never together with the heat pump
}

// Load returns the load with an id.
func (s System) Load(id LoadID) (Load, bool) {
	for _, l := range s.Loads {
		if l.ID == id {
			return l, true
		}
	}
	return Load{}, false
}

func (s System) has(id LoadID) bool {
	_, ok := s.Load(id)
	return ok
}

func (s System) source(id SourceID) (Source, bool) {
	for _, x := range s.Sources {
		if x.ID == id {
			return x, true
		}
	}
	return Source{}, false
}

// InputError says that what was told of a system or a base contradicts itself.
type InputError struct{ Subject, Reason string }

func (e *InputError) Error() string { return fmt.Sprintf("replace: %s: %s", e.Subject, e.Reason) }

func (s System) check() error {
	wrong := func(subject, format string, args ...any) error {
		return &InputError{subject, fmt.Sprintf(format, args...)}
	}
	if len(s.Sources) == 0 || len(s.Sources) > 2 {
		return wrong("system", "%d transformers, want one or two", len(s.Sources))
	}
	seen := map[LoadID]bool{}
	for _, l := range s.Loads {
		switch _, known := s.source(l.Source); {
		case seen[l.ID]:
			return wrong(string(l.ID), "told twice")
		case !known:
			return wrong(string(l.ID), "its transformer %q is not one of the system", l.Source)
		}
		seen[l.ID] = true
	}
	switch {
	case s.HeatPump && !s.has(Compressor):
		return wrong("system", "a heat pump has a compressor")
	case s.HeatPump && !s.has(ReversingValve):
		return wrong("system", "a heat pump has a reversing valve")
	case s.HeatPump && s.has(Heat):
		return wrong("system", "heat beside a heat pump is auxiliary heat")
	case !s.HeatPump && (s.has(ReversingValve) || s.has(Auxiliary) || s.has(EmergencyRelay)):
		return wrong("system", "reversing valve, auxiliary and emergency heat belong to a heat pump")
	case s.BackupFossil && !s.has(Auxiliary):
		return wrong("system", "a furnace beside a heat pump is its auxiliary heat")
	case s.has(Compressor2) && !s.has(Compressor), s.has(HeatSecond) && !s.has(Heat):
		return wrong("system", "a second stage without a first")
	}
	return nil
}

// Calls returns the calls that the system can answer.
func (s System) Calls() []Call {
	var list []Call
	for _, c := range Calls() {
		if must, _ := s.Expected(c); c == Off || len(must) > 0 {
			if s.answers(c) {
				list = append(list, c)
			}
		}
	}
	return list
}

// answers leaves out calls for stages that the system does not have.
func (s System) answers(c Call) bool {
	switch c {
	case CoolLow:
		return s.has(Compressor)
	case CoolHigh:
		return s.has(Compressor2)
	case HeatLow:
		return s.HeatPump || s.has(Heat)
	case HeatHigh:
		return s.HeatPump && s.has(Compressor2) || s.has(HeatSecond)
	case HeatBackup, HeatEmergency:
		return s.HeatPump && (s.has(Auxiliary) || c == HeatEmergency && s.has(EmergencyRelay))
	case FanOnly:
		return s.has(Blower)
	case Moisten:
		return s.has(Humidifier)
	}
	return true
}

// Expected returns the loads that a call must energise, and those that it may.
// All others must stay dead.
func (s System) Expected(c Call) (must, may []LoadID) {
	want := func(ids ...LoadID) {
		for _, id := range ids {
			if s.has(id) && !slices.Contains(must, id) {
				must = append(must, id)
			}
		}
	}
	switch c {
	case FanOnly:
		want(Blower)
	case CoolLow, CoolHigh:
		want(Compressor, Blower)
		if !s.ValveInHeat {
			want(ReversingValve)
		}
		if c == CoolHigh {
			want(Compressor2)
		}
	case HeatLow, HeatHigh:
		s.expectHeat(c, want)
	case HeatBackup:
		if s.BackupFossil {
			want(Auxiliary)
			return must, s.valveInHeat()
		}
		want(Compressor, Compressor2, Blower, Auxiliary)
		if s.ValveInHeat {
			want(ReversingValve)
		}
	case HeatEmergency:
		if s.has(EmergencyRelay) {
			want(EmergencyRelay)
			may = append(may, Auxiliary)
		} else {
			want(Auxiliary)
		}
		if !s.BackupFossil {
			want(Blower)
		}
		may = append(may, s.valveInHeat()...)
	case Moisten:
		want(Humidifier)
	}
	return must, may
}

func (s System) expectHeat(c Call, want func(...LoadID)) {
	if !s.HeatPump {
		want(Heat)
		if s.FanWithHeat {
			want(Blower)
		}
		if c == HeatHigh {
			want(HeatSecond)
		}
		return
	}
	want(Compressor, Blower)
	if s.ValveInHeat {
		want(ReversingValve)
	}
	if c == HeatHigh {
		want(Compressor2)
	}
}

func (s System) valveInHeat() []LoadID {
	if s.ValveInHeat {
		return []LoadID{ReversingValve}
	}
	return nil
}

// feeds returns the transformer of the loads that a base feeds from one of its
// power terminals, and whether they all have the same.
func (s System) feeds(heat bool, carried func(LoadID) bool) (id SourceID, one bool) {
	for _, l := range s.Loads {
		if fedByHeat(l.ID) != heat || l.ID == Humidifier || !carried(l.ID) {
			continue
		}
		if id != "" && l.Source != id {
			return "", false
		}
		id = l.Source
	}
	return id, true
}

// fedByHeat says whether a load is fed from Rh where a base has Rc and Rh.
func fedByHeat(id LoadID) bool {
	switch id {
	case Heat, HeatSecond, Auxiliary, EmergencyRelay, Humidifier:
		return true
	}
	return false
}
