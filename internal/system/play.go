package system

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
	"rung/internal/relay"
)

// Action moves a contact of the thermostat or a switch at a moment.
type Action struct {
	At     time.Duration
	Device string
	Closed bool
}

// Settled is how long the power has been on before the time of a play begins:
// boards have woken, and nothing moves any more.
const Settled = time.Minute

// tick is how often the heat side is looked at.
const tick = time.Second

// Play is a system in motion, at one moment.
type Play struct {
	*System
	machine    *relay.Machine
	net        *circuit.Net
	quantities []float64
	targets    []float64 // of quantities, as they were after so many
	happened   int       // steps of the trace and changes of flags
	flags      []bool
	marks      []mark    // of flags, as they change
	works      []bool    // of System.watched, after the first steps of the trace
	watts      []float64 // of the loads among them
	steps      int       // that works knows
}

// mark is a change of a flag, before the step of the trace with the given number.
type mark struct {
	at   time.Duration
	step int
	flag int
	is   bool
}

// Play lets time pass from Settled before zero until the given time, with the
// actions made as they are due, in their order.
func (s *System) Play(until time.Duration, actions ...Action) (*Play, error) {
	return s.Watch(until, func(*Play) {}, actions...)
}

// Watch is Play with somebody who looks on: see is called at the end of every
// second from zero on in which something changed, and at the very end. What see
// is shown moves on afterwards: it must be read there and then.
func (s *System) Watch(until time.Duration, see func(*Play), actions ...Action) (*Play, error) {
	return s.Attend(until, see, func(*Play) {}, actions...)
}

// Attend is Watch with a glance, too, at the end of every second from zero on:
// for what changes without anything happening.
func (s *System) Attend(until time.Duration, see, glance func(*Play), actions ...Action) (*Play, error) {
	p := &Play{System: s, net: s.net.Clone(), quantities: make([]float64, len(s.quantities)),
		targets: make([]float64, len(s.quantities)), happened: -1, flags: make([]bool, len(s.flags)),
		works: make([]bool, len(s.watched)), watts: make([]float64, len(s.watched)), steps: -1}
	w := s.wiring
	w.Nets = []*circuit.Net{p.net}
	var err error
	if p.machine, err = relay.New(w); err != nil {
		return nil, fmt.Errorf("system %s: %w", s.ID, err)
	}
	if err := p.machine.Reset(); err != nil {
		return nil, fmt.Errorf("system %s: %w", s.ID, err)
	}
	for i := range s.quantities {
		p.quantities[i] = s.quantities[i].Rest
	}
	stirred, seen := true, -1
	for now := time.Duration(0); ; {
		if stirred { // what the last look has moved may move more
			if err := p.heat(0); err != nil {
				return nil, err
			}
		}
		for len(actions) > 0 && actions[0].At+Settled <= now {
			if err := p.act(actions[0]); err != nil {
				return nil, err
			}
			actions = actions[1:]
		}
		if happened := len(p.machine.Trace()) + len(p.marks); now >= Settled && (happened != seen || now >= until+Settled) {
			seen = happened
			see(p)
		}
		if now >= Settled {
			glance(p)
		}
		if now >= until+Settled {
			return p, nil
		}
		next := min(now+tick, until+Settled)
		if len(actions) > 0 {
			next = min(next, max(now, actions[0].At+Settled))
		}
		if err := p.machine.Run(next); err != nil {
			return nil, fmt.Errorf("system %s: %w", s.ID, err)
		}
		steps, marks := len(p.machine.Trace()), len(p.marks)
		if err := p.heat(next - now); err != nil {
			return nil, err
		}
		stirred = steps != len(p.machine.Trace()) || marks != len(p.marks)
		now = next
	}
}

// Call returns the actions of a call that begins and ends; what would close
// only after its end does not.
func (s *System) Call(id string, from, to time.Duration) ([]Action, error) {
	for _, c := range s.Calls {
		if c.ID != id {
			continue
		}
		var list []Action
		for i, v := range c.Closes {
			list = append(list, Action{from + time.Duration(c.After[i]*float64(time.Second)), v, true})
		}
		slices.SortStableFunc(list, func(a, b Action) int { return cmp.Compare(a.At, b.At) })
		list = slices.DeleteFunc(list, func(a Action) bool { return a.At >= to })
		for _, v := range c.Closes {
			list = append(list, Action{to, v, false})
		}
		return list, nil
	}
	return nil, fmt.Errorf("system %s: no call %s", s.ID, id)
}

func (p *Play) act(a Action) error {
	d, ok := p.moving[a.Device]
	if !ok || d.Kind != relay.SwitchKind {
		return fmt.Errorf("system %s: %s is nothing that is moved", p.ID, a.Device)
	}
	return p.machine.Set(relay.Setting{Switch: d.Index, Closed: a.Closed})
}

// drift moves the quantities on by dt, each towards where it goes.
func (p *Play) drift(dt time.Duration) {
	happened := len(p.machine.Trace()) + len(p.marks)
	for i := range p.System.quantities {
		q := &p.System.quantities[i]
		if q.creep || happened != p.happened {
			p.targets[i] = p.target(q)
		}
		target, decay := p.targets[i], q.decay
		if dt != tick {
			decay = math.Exp(-dt.Seconds() / q.Lag)
		}
		p.quantities[i] = target + (p.quantities[i]-target)*decay
	}
	p.happened = happened
}

// target returns where a quantity goes as things stand.
func (p *Play) target(q *quantityRule) float64 {
	target := q.Rest
	for k, add := range q.adds {
		if !p.all(add) {
			continue
		}
		by := 1.0
		if i := q.by[k]; i >= 0 {
			p.watching(i)
			by = p.watts[i]
		}
		target += q.Adds[k].Value * by
	}
	return target
}

// heat moves the heat side on by dt and tells limits and boards.
func (p *Play) heat(dt time.Duration) error {
	if dt > 0 {
		p.drift(dt)
	}
	for i := range p.System.flags {
		f := &p.System.flags[i]
		is := p.all(f.lights)
		if p.flags[i] {
			is = p.all(f.holds)
		}
		is = f.fixed == "always" || is && f.fixed != "never"
		if is != p.flags[i] {
			p.flags[i] = is
			p.marks = append(p.marks, mark{p.machine.Now() - Settled, len(p.machine.Trace()), i, is})
		}
	}
	for _, e := range p.System.eased {
		load := e.light
		if p.all(e.when) {
			load = e.full
		}
		if err := p.machine.SetLoad(e.drive, load); err != nil {
			return err
		}
	}
	for _, l := range p.System.limits {
		if err := p.machine.Sense(l.limit, p.quantities[l.quantity]); err != nil {
			return err
		}
	}
	for _, t := range p.System.told {
		if err := p.machine.Tell(t.board, t.input, p.holds(t.is)); err != nil {
			return err
		}
	}
	return nil
}

func (p *Play) all(list []condition) bool {
	for _, c := range list {
		if !p.holds(c) {
			return false
		}
	}
	return true
}

func (p *Play) holds(c condition) bool {
	var is bool
	switch {
	case c.figure != "":
		is = c.is
	case c.flag >= 0:
		is = p.flags[c.flag]
	case c.quantity >= 0 && c.above:
		is = p.quantities[c.quantity] >= c.value
	case c.quantity >= 0:
		is = p.quantities[c.quantity] <= c.value
	case c.volts:
		is = (p.voltsAt(c.device) >= c.value) == c.above
	case c.moves:
		closed, _ := p.Conducts(c.device)
		is = closed == c.above
	default:
		is = p.watching(c.watched)
	}
	return is != c.not
}

// watching is Works of a device of System.watched, looked up anew only after
// something has happened.
func (p *Play) watching(i int) bool {
	if steps := len(p.machine.Trace()); steps != p.steps {
		p.steps = steps
		for k, id := range p.watched {
			p.works[k] = p.Works(id)
			p.watts[k] = p.drawn(id)
		}
	}
	return p.works[i]
}

// drawn returns what a load turns into heat, W; zero for what is none.
func (p *Play) drawn(id string) float64 {
	d, ok := p.moving[id]
	if !ok || d.Kind != relay.LoadKind {
		return 0
	}
	return float64(p.net.Power(p.branch[id]))
}

// Works tells whether a load draws about the current it is made for, a coil has
// pulled in, or a motor turns.
func (p *Play) Works(id string) bool {
	d, ok := p.moving[id]
	if !ok {
		return false
	}
	switch d.Kind {
	case relay.LoadKind:
		l := &p.wiring.Loads[d.Index]
		amps := circuit.Amps(p.net.Current(p.branch[id]))
		return float64(amps)*p.nominal[id] >= float64(l.On)
	case relay.CoilKind:
		return p.machine.PulledIn(d.Index)
	case relay.DriveKind:
		return p.machine.Motion(d.Index) == circuit.Turning
	}
	return false
}

// Closed tells whether a contact, switch, limit or fuse conducts.
func (p *Play) Closed(id string) bool {
	b, ok := p.branch[id]
	return ok && p.net.Is(b, circuit.SwitchBranch) && p.net.Closed(b)
}

// Conducts tells whether a device lets current through; ok is false if there is
// none of that name.
func (p *Play) Conducts(id string) (conducts, ok bool) {
	b, ok := p.branch[id]
	if !ok {
		return false, false
	}
	if p.net.Is(b, circuit.SwitchBranch) {
		return p.net.Closed(b), true
	}
	return !p.cut[id], true
}

// Phasor returns the voltage of a point to the cabinet.
func (p *Play) Phasor(point string) (complex128, bool) {
	n, ok := p.node[point]
	if !ok {
		return 0, false
	}
	return p.net.At(n), true
}

// Mode returns the mode of a board.
func (p *Play) Mode(board string) Mode {
	for _, b := range p.Boards {
		if b.ID == board {
			return b.Modes[p.machine.Mode(p.moving[board].Index)]
		}
	}
	return Mode{}
}

// Time returns the moment of the play, from the beginning of the calls.
func (p *Play) Time() time.Duration { return p.machine.Now() - Settled }

// Alive tells whether a board has its supply.
func (p *Play) Alive(board string) bool {
	d, ok := p.moving[board]
	return ok && d.Kind == relay.ControllerKind && p.machine.Alive(d.Index)
}

// Quantity returns something of the heat side, in its own unit.
func (p *Play) Quantity(name string) (float64, bool) {
	for i, q := range p.Quantities {
		if q.Name == name {
			return p.quantities[i], true
		}
	}
	return 0, false
}

// Flag tells a yes or no of the heat side.
func (p *Play) Flag(name string) bool {
	for i, f := range p.Flags {
		if f.Name == name {
			return p.flags[i]
		}
	}
	return false
}

// Holds tells whether a condition holds that the description has read.
func (p *Play) Holds(is Condition) bool {
	c := is.c
	switch {
	case c.figure != "":
		c.is = p.known[c.figure] >= c.value == c.above
	case c.device != "" && !c.volts && !c.moves:
		return p.Works(c.device) != c.not
	}
	return p.holds(c)
}

// Capacitance returns what a capacitance meter shows of a capacitor with its
// leads off; ok is false of any other device.
func (p *Play) Capacitance(id string) (c quantity.Capacitance, ok bool) {
	v, ok := p.Device(id)
	if !ok || v.Kind != Capacitor {
		return 0, false
	}
	uF, err := number(v.Values, "uf", 0)
	return quantity.Capacitance(uF * 1e-6), err == nil
}

// Volts returns what a voltmeter of the input resistance r shows between two
// points. An unknown point is an error.
func (p *Play) Volts(a, b string, r quantity.Resistance) (quantity.Voltage, error) {
	na, ok1 := p.node[a]
	nb, ok2 := p.node[b]
	if !ok1 || !ok2 {
		return 0, fmt.Errorf("system %s: no points %s and %s", p.ID, a, b)
	}
	return p.net.Meter(na, nb, r), nil
}

// Amps returns the current through a device, as a clamp reads it; through a
// motor that of its common lead, through a transformer that of the secondary.
func (p *Play) Amps(id string) (quantity.Current, error) {
	b, ok := p.branch[id]
	if !ok {
		return 0, fmt.Errorf("system %s: no device %s", p.ID, id)
	}
	if v, _ := p.Device(id); v.Kind == Transformer {
		_, secondary := p.net.TransformerCurrents(b)
		return circuit.Amps(secondary), nil
	}
	return circuit.Amps(p.net.Current(b)), nil
}

// Ohms returns what an ohmmeter shows between two points of a dead system; a
// *circuit.LiveError where there is voltage.
func (p *Play) Ohms(a, b string) (quantity.Resistance, error) {
	na, ok1 := p.node[a]
	nb, ok2 := p.node[b]
	if !ok1 || !ok2 {
		return 0, fmt.Errorf("system %s: no points %s and %s", p.ID, a, b)
	}
	return p.net.Ohms(na, nb)
}

// Resistance returns what an ohmmeter shows of a load, a coil, a conductor or a
// contact with its leads off. Other kinds of device are an error.
func (p *Play) Resistance(id string) (quantity.Resistance, error) {
	v, ok := p.Device(id)
	if !ok {
		return 0, fmt.Errorf("system %s: no device %s", p.ID, id)
	}
	var z complex128
	var err error
	switch v.Kind {
	case Switch, Thermostat, Limit, Fuse, Breaker, Overload, Contact:
		if !p.Closed(id) {
			return circuit.Open, nil
		}
		z, err = zOf(&v, "ohms", joint)
	case Load:
		z, err = loadImpedance(&v)
	case Coil:
		z, err = zOf(&v, "sealed", 0)
	case Conductor:
		z, err = zOf(&v, "ohms", 0)
	default:
		return 0, fmt.Errorf("system %s: %s is no part that is measured alone", p.ID, id)
	}
	return quantity.Resistance(real(z)), err
}

// Event is one change that a play saw, from the time zero on.
type Event struct {
	At    time.Duration
	What  relay.Event
	Label string  // of the device, board or flag
	ID    string  // of it
	Mode  string  // of a board that entered one
	Value float64 // V or A, as relay.Change has it

	motor bool
}

// Events returns what happened from time zero on, in order.
func (p *Play) Events() []Event {
	var list []Event
	marks := p.marks
	flush := func(step int) {
		for len(marks) > 0 && marks[0].step <= step {
			if m := marks[0]; m.at >= 0 {
				what := relay.Unseen
				if m.is {
					what = relay.Seen
				}
				list = append(list, Event{At: m.at, What: what, Label: p.Flags[m.flag].Label, ID: p.Flags[m.flag].Name})
			}
			marks = marks[1:]
		}
	}
	for k, step := range p.machine.Trace() {
		at := step.At - Settled
		flush(k)
		if at < 0 {
			continue
		}
		for _, c := range step.Changes {
			if c.Event == relay.Seen || c.Event == relay.Unseen {
				continue // the flag behind it is told itself
			}
			list = append(list, p.event(at, c))
		}
	}
	flush(math.MaxInt)
	return list
}

func (p *Play) event(at time.Duration, c relay.Change) Event {
	e := Event{At: at, What: c.Event, ID: p.wiring.ID(c.Device), Value: c.Value}
	if c.Event == relay.Closed || c.Event == relay.Opened {
		e.ID = p.net.BranchName(c.Place.Branch)
	}
	if v, ok := p.Device(e.ID); ok {
		e.Label, e.motor = v.Label, v.Kind == Motor
	}
	for _, b := range p.Boards {
		if b.ID == e.ID {
			e.Label = b.Label
			if c.Event == relay.Entered {
				e.Mode = b.Modes[int(c.Value)].Label
			}
		}
	}
	return e
}

// Milestone is one step of the written sequence, and when it was reached.
type Milestone struct {
	Step    string
	At      time.Duration
	Reached bool
}

// Milestones returns the written sequence of the first call with the time at
// which each step was reached: each no earlier than the one before. After the
// first that was not, none is.
func (p *Play) Milestones() []Milestone { return p.MilestonesOf(p.Calls[0].ID) }

// MilestonesOf is Milestones for the written sequence of a call.
func (p *Play) MilestonesOf(call string) []Milestone {
	var list []Milestone
	events := p.Events()
	from := time.Duration(0)
	for _, s := range p.SequenceOf(call) {
		m := Milestone{Step: s}
		if len(list) == 0 || list[len(list)-1].Reached {
			for i, e := range events {
				if e.At >= from && e.is(s) {
					m.Reached, m.At, from = true, e.At, e.At
					events = events[i+1:]
					break
				}
			}
		}
		list = append(list, m)
	}
	return list
}

// is tells whether the event is the step of a written sequence.
func (e *Event) is(step string) bool {
	id, word, moves := strings.Cut(step, ":")
	if moves {
		return e.ID == id && (word == "closed" && e.What == relay.Closed || word == "open" && e.What == relay.Opened)
	}
	name, not := strings.CutPrefix(step, "!")
	if e.ID != name {
		return false
	}
	if not {
		return e.What == relay.Dead || e.What == relay.Stopped || e.What == relay.DroppedOut || e.What == relay.Unseen
	}
	return e.What == relay.Energised && !e.motor || e.What == relay.Running || e.What == relay.PulledIn || e.What == relay.Seen
}

// StoppedAt returns the first step of the first call that was not reached;
// empty if all were.
func (p *Play) StoppedAt() string { return p.StoppedIn(p.Calls[0].ID) }

// StoppedIn is StoppedAt for the written sequence of a call.
func (p *Play) StoppedIn(call string) string {
	for _, m := range p.MilestonesOf(call) {
		if !m.Reached {
			return m.Step
		}
	}
	return ""
}

// voltsAt returns the voltage at a load, V.
func (p *Play) voltsAt(id string) float64 {
	l := &p.wiring.Loads[p.moving[id].Index]
	return float64(circuit.Volts(p.net.At(l.Probe.A) - p.net.At(l.Probe.B)))
}
