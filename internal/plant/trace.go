package plant

import (
	"slices"
	"time"

	"rung/internal/quantity"
	"rung/internal/relay"
)

// EventKind is one kind of step in the sequence of operation: the events of
// package relay under their names ("closed", "pulled-in", "started" ...), and
// the ones here.
type EventKind string

// What a plant adds to the events of package relay.
const (
	DisplayDead     EventKind = "display-dead"      // the thermostat has no power
	StatSilent      EventKind = "thermostat-silent" // it does not call although it is meant to
	CircuitOpen     EventKind = "circuit-open"      // the device that holds most of the call's voltage, V
	CoilWeak        EventKind = "coil-weak"         // too little to pull in, V
	Steady          EventKind = "steady"            // refrigerant side; suction, gauge Pa
	Unsteady        EventKind = "unsteady"          // no state holds; about this suction, gauge Pa
	NoCirculation   EventKind = "no-circulation"    // the compressor turns, pressures are equal
	CoilFreezes     EventKind = "coil-freezes"      // surface of the indoor coil, K
	LiquidReturns   EventKind = "liquid-returns"    // much liquid in the suction gas, share
	PressureClimbs  EventKind = "pressure-climbs"   // head goes to the limit, gauge Pa
	PumpedDown      EventKind = "pumped-down"       // suction goes to the limit, gauge Pa
	WindingOverheat EventKind = "winding-overheats" // K
)

// Event is one step of the sequence of operation.
type Event struct {
	At      time.Duration // from the call
	Kind    EventKind
	Device  string             // id in Wiring.Devices of what changed; empty where there is none
	Trigger string             // what began it, in the words of package relay: "command", "magnet" ...
	By      string             // device that began it
	Dim     quantity.Dimension // of Value
	Value   float64            // SI; 0 where there is none
}

// Trace returns the sequence of operation in the order of time. It holds until
// the solver's next Solve.
func (st *State) Trace() []Event {
	s := st.solver
	list := append([]Event(nil), s.notes...)
	for _, step := range s.seq.Trace() {
		by := s.seq.Wiring.ID(step.Cause.Device)
		if step.Cause.By == relay.PowerUp {
			by = ""
		}
		for _, c := range step.Changes {
			e := Event{At: step.At, Kind: EventKind(c.Event.String()), Device: s.seq.Wiring.ID(c.Device),
				Trigger: step.Cause.By.String(), By: by, Value: c.Value}
			switch c.Event {
			case relay.Closed, relay.Opened:
				e.Device = s.p.frame.device[place{side(c.Place.Net), c.Place.Branch}]
			case relay.Energised:
				e.Dim = quantity.DimVoltage
			case relay.Running: // the sequence knows the rated load only
				e.Dim = quantity.DimCurrent
				e.Value = s.amps(s.nets[Running][s.p.frame.place[e.Device].side], e.Device)
			case relay.Started, relay.Stalled:
				e.Dim = quantity.DimCurrent
			}
			list = append(list, e)
		}
	}
	slices.SortStableFunc(list, func(a, b Event) int { return int(a.At - b.At) })
	return list
}
