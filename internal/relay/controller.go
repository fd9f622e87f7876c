package relay

import (
	"fmt"
	"slices"
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

// Controller is electronics that work through a program: the board of a
// furnace, a defrost control, a relay panel with a priority. Its contacts are
// those of its mode, and it goes from mode to mode as its inputs and its
// timers say.
type Controller struct {
	ID      string
	Supply  *Supply // what it lives on; nil if it needs nothing. Dead it is in mode 0 with every output off
	Inputs  []Input
	Outputs []Output
	Program []Mode // it begins in mode 0
	Stuck   bool   // it lives and does not move from mode 0
}

// Input is what a controller looks at: the voltage at a pair of nodes, or with
// Told what Machine.Tell says: a flame, a temperature reached.
type Input struct {
	Name  string
	Told  bool
	Probe Probe
	Least quantity.Voltage // true at and above this
}

// Output is the contacts that a controller moves together.
type Output struct {
	Name     string
	Contacts []Contact
}

// Mode is a state of a program.
type Mode struct {
	Name string
	On   []int // outputs that are on
	Next []Transition
}

// Transition leads to another mode once all its conditions have held for a
// while in the present one. Of several that are due together the first counts.
type Transition struct {
	To    int // mode
	After time.Duration
	If    []Condition
}

// Condition is an input in a position.
type Condition struct {
	Input int
	Is    bool
}

type controllerState struct {
	alive     bool
	supplyDue time.Duration // of a change of alive
	mode      int
	told      []bool
	held      []time.Duration // per transition of the mode: since when its conditions hold, or never
	due       time.Duration   // of a transition
	next      int             // the transition that is due
}

func (w *Wiring) checkControllers(want func(id string, p Place, k circuit.Kind)) error {
	for _, d := range w.Controllers {
		for _, o := range d.Outputs {
			for _, c := range o.Contacts {
				want(d.ID, c.Place, circuit.SwitchBranch)
			}
		}
		if len(d.Program) == 0 {
			return fmt.Errorf("relay: %q has no program", d.ID)
		}
		for _, mode := range d.Program {
			for _, o := range mode.On {
				if o < 0 || o >= len(d.Outputs) {
					return fmt.Errorf("relay: %q: mode %s has no output %d", d.ID, mode.Name, o)
				}
			}
			for _, t := range mode.Next {
				if t.To < 0 || t.To >= len(d.Program) {
					return fmt.Errorf("relay: %q: mode %s leads to no mode %d", d.ID, mode.Name, t.To)
				}
				for _, c := range t.If {
					if c.Input < 0 || c.Input >= len(d.Inputs) {
						return fmt.Errorf("relay: %q: mode %s asks for no input %d", d.ID, mode.Name, c.Input)
					}
				}
			}
		}
	}
	return nil
}

// resetController puts a controller at rest: dead, as before the power came.
func (m *Machine) resetController(i int) {
	s, w := &m.controllers[i], &m.Wiring.Controllers[i]
	s.alive, s.supplyDue = w.Supply == nil, never
	s.told = append(s.told[:0], make([]bool, len(w.Inputs))...)
	for _, o := range w.Outputs {
		for _, k := range o.Contacts {
			m.put(k.Place, faulty(k.NormallyClosed, k.Fault))
		}
	}
	m.enter(i, 0)
}

// enter begins a mode: its outputs, and no transition's time counted yet.
func (m *Machine) enter(i, mode int) {
	s, w := &m.controllers[i], &m.Wiring.Controllers[i]
	s.mode, s.due = mode, never
	s.held = s.held[:0]
	for range w.Program[mode].Next {
		s.held = append(s.held, never)
	}
	for o := range w.Outputs {
		on := s.alive && slices.Contains(w.Program[mode].On, o)
		for _, k := range w.Outputs[o].Contacts {
			m.move(Device{ControllerKind, i}, k.Place, faulty(on != k.NormallyClosed, k.Fault))
		}
	}
}

// actController does what has fallen due of a controller: its supply has come or
// gone for long enough, or a transition.
func (m *Machine) actController(c Cause) {
	i := c.Device.Index
	s, w := &m.controllers[i], &m.Wiring.Controllers[i]
	if c.By == Supplied {
		s.alive, s.supplyDue = !s.alive, never
		event := Died
		if s.alive {
			event = Woke
		}
		m.trace.note(Change{Event: event, Device: c.Device})
		m.enter(i, 0)
		return
	}
	to := w.Program[s.mode].Next[s.next].To
	m.trace.note(Change{Event: Entered, Device: c.Device, Value: float64(to)})
	m.enter(i, to)
}

// lookController finds when its next transition falls due.
func (m *Machine) lookController(i int) {
	s, w := &m.controllers[i], &m.Wiring.Controllers[i]
	if w.Supply != nil {
		enough := m.volts(w.Supply.Probe) >= w.Supply.Least
		switch {
		case enough == s.alive:
			s.supplyDue = never
		case s.supplyDue == never && enough:
			s.supplyDue = m.now + w.Supply.Returns
		case s.supplyDue == never:
			s.supplyDue = m.now + w.Supply.Loses
		}
	}
	s.due = never
	if !s.alive || w.Stuck {
		return
	}
	for k := range w.Program[s.mode].Next {
		t := &w.Program[s.mode].Next[k]
		if !m.holds(i, t) {
			s.held[k] = never
			continue
		}
		if s.held[k] == never {
			s.held[k] = m.now
		}
		if due := s.held[k] + t.After; due < s.due {
			s.due, s.next = due, k
		}
	}
}

// holds tells whether all conditions of a transition hold now.
func (m *Machine) holds(i int, t *Transition) bool {
	for _, c := range t.If {
		if m.Sees(i, c.Input) != c.Is {
			return false
		}
	}
	return true
}

// Sees tells what a controller sees at one of its inputs.
func (m *Machine) Sees(controller, input int) bool {
	w := &m.Wiring.Controllers[controller].Inputs[input]
	if w.Told {
		return m.controllers[controller].told[input]
	}
	return m.volts(w.Probe) >= w.Least
}

// Tell says what a controller's input that is told sees from now on.
func (m *Machine) Tell(controller, input int, is bool) error {
	s := &m.controllers[controller]
	if s.told[input] == is {
		return nil
	}
	s.told[input] = is
	d := Device{ControllerKind, controller}
	m.trace.begin(m.now, Cause{Sensed, d})
	event := Unseen
	if is {
		event = Seen
	}
	m.trace.note(Change{Event: event, Device: d, Value: float64(input)})
	m.look()
	return m.settle()
}

// Mode returns the mode of a controller: its index in the program.
func (m *Machine) Mode(controller int) int { return m.controllers[controller].mode }

// Alive tells whether a controller has its supply.
func (m *Machine) Alive(controller int) bool { return m.controllers[controller].alive }
