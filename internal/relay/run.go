package relay

import (
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

const (
	// maxSteps bounds the steps of one Run: far more than any sequence has.
	maxSteps = 400
	// A coil that pulls in this often within chatterTime is chattering.
	chatterPulls = 4               // practice: a relay that works pulls in once per call
	chatterTime  = 2 * time.Second // practice: far above the time of an armature
)

// Run lets time pass until the given time since Reset, and does what falls due.
func (m *Machine) Run(until time.Duration) error {
	for range maxSteps {
		act, at := m.next()
		if at > until {
			m.pass(until)
			return nil
		}
		m.pass(at)
		m.trace.begin(m.now, act)
		m.act(act)
		if act.Device.Kind == ControllerKind {
			m.lookController(act.Device.Index) // a mode may move no contact
		}
		if err := m.settle(); err != nil {
			return err
		}
	}
	m.unsettled = true
	return nil
}

// next returns what falls due first; of events at the same time, the one of the
// device that comes first in the wiring.
func (m *Machine) next() (c Cause, at time.Duration) {
	at = never
	try := func(due time.Duration, t Trigger, k Kind, i int) {
		if due < at {
			at, c = due, Cause{t, Device{k, i}}
		}
	}
	for i := range m.switches {
		try(m.switches[i].due, Supplied, SwitchKind, i)
	}
	for i := range m.coils {
		try(m.coils[i].armature, Magnet, CoilKind, i)
		try(m.coils[i].contacts, Timer, CoilKind, i)
	}
	for i := range m.fuses {
		try(m.fuses[i].due, Overheated, FuseKind, i)
	}
	for i := range m.overloads {
		t := Overheated
		if m.overloads[i].tripped {
			t = Cooled
		}
		try(m.overloads[i].due, t, OverloadKind, i)
	}
	for i := range m.drives {
		try(m.drives[i].due, RunUp, DriveKind, i)
	}
	for i := range m.controllers {
		try(m.controllers[i].supplyDue, Supplied, ControllerKind, i)
		try(m.controllers[i].due, Program, ControllerKind, i)
	}
	return c, at
}

// pass lets the heat of fuses and overloads follow the present currents.
func (m *Machine) pass(until time.Duration) {
	dt := until - m.now
	if dt <= 0 {
		return
	}
	for i := range m.fuses {
		if f := &m.fuses[i]; f.x > 0 || f.heat > 0 {
			f.heat = m.Wiring.Fuses[i].Curve.after(f.heat, f.x, dt.Seconds())
		}
	}
	for i := range m.overloads {
		if o := &m.overloads[i]; o.x > 0 || o.heat > 0 {
			o.heat = m.Wiring.Overloads[i].Thermal.after(o.heat, o.x, !o.tripped, dt)
		}
	}
	m.now = until
}

// act does what has fallen due.
func (m *Machine) act(c Cause) {
	i := c.Device.Index
	switch c.Device.Kind {
	case SwitchKind:
		s := &m.switches[i]
		s.powered, s.due = !s.powered, never
		m.throw(i)
	case CoilKind:
		if c.By == Timer {
			m.coils[i].contacts = never
			m.moveContacts(i, m.coils[i].up)
			return
		}
		m.moveArmature(i)
	case FuseKind:
		m.fuses[i].blown, m.fuses[i].x, m.fuses[i].due = true, 0, never
		m.trace.note(Change{Event: Blown, Device: c.Device})
		for _, p := range m.Wiring.Fuses[i].Contacts {
			m.move(c.Device, p, false)
		}
	case OverloadKind:
		o, w := &m.overloads[i], &m.Wiring.Overloads[i]
		o.tripped, o.due = !o.tripped, never
		event := Restored
		if o.tripped {
			event = Tripped
		}
		m.trace.note(Change{Event: event, Device: c.Device})
		m.move(c.Device, w.Contact, faulty(!o.tripped, w.Fault))
	case DriveKind:
		d := &m.drives[i]
		d.starting, d.due = false, never
		d.motion = circuit.AtRest // the balance of torque decides
		m.dirty[m.Wiring.Drives[i].Motor.Net] = true
	case ControllerKind:
		m.actController(c)
	}
}

// moveArmature lets a coil pull in or drop out, or finds it chattering.
func (m *Machine) moveArmature(i int) {
	c, w := &m.coils[i], &m.Wiring.Coils[i]
	d := Device{CoilKind, i}
	c.armature = never
	if c.up {
		c.up = false
		m.setCoil(w, w.Inrush)
		m.trace.note(Change{Event: DroppedOut, Device: d})
		m.follow(i, w.OffDelay)
		return
	}
	if c.since == never || m.now-c.since > chatterTime {
		c.since, c.pulls = m.now, 0
	}
	c.pulls++
	if c.pulls >= chatterPulls {
		c.chattering = true
		m.trace.note(Change{Event: Chattering, Device: d})
		return
	}
	c.up = true
	m.setCoil(w, w.Sealed)
	m.trace.note(Change{Event: PulledIn, Device: d})
	delay := w.OnDelay
	if wait := c.lockedUntil - m.now; wait > delay {
		delay = wait
	}
	m.follow(i, delay)
}

// follow moves the contacts of a coil after its armature, at once or later.
func (m *Machine) follow(i int, delay time.Duration) {
	c := &m.coils[i]
	if delay <= 0 {
		c.contacts = never
		m.moveContacts(i, c.up)
		return
	}
	c.contacts = m.now + delay
}

func (m *Machine) moveContacts(i int, operated bool) {
	c, w := &m.coils[i], &m.Wiring.Coils[i]
	if c.closed && !operated {
		c.lockedUntil = m.now + w.LockOut
	}
	c.closed = operated
	for _, k := range w.Contacts {
		m.move(Device{CoilKind, i}, k.Place, faulty(operated != k.NormallyClosed, k.Fault))
	}
}

// settle solves the networks that changed and looks at every device, until
// nothing more happens at this instant; then it closes the step.
func (m *Machine) settle() error {
	const rounds = 8 // a motor that stops changes its network once more; the rest waits for its time
	for range rounds {
		solved := false
		for k := range m.dirty {
			if m.dirty[k] {
				m.dirty[k] = false
				solved = true
				if err := m.solve(k); err != nil {
					return err
				}
			}
		}
		if !solved {
			break
		}
		m.look()
	}
	m.trace.end()
	return nil
}

// solve solves network k, with the motors that are not starting in balance with
// their loads.
func (m *Machine) solve(k int) error {
	n := m.Wiring.Nets[k]
	list, which := m.turning[k][:0], m.turns[k][:0]
	for i := range m.Wiring.Drives {
		d, s := &m.Wiring.Drives[i], &m.drives[i]
		if d.Motor.Net != k || s.starting || s.motion == circuit.AtRest && !m.justRunUp(i) {
			continue
		}
		list = append(list, circuit.Drive{Motor: d.Motor.Branch, Load: d.Load, Rated: d.Rated, Motion: s.motion})
		which = append(which, i)
	}
	m.turning[k], m.turns[k] = list, which
	if len(list) == 0 {
		return n.Solve()
	}
	if err := n.Run(list); err != nil {
		return err
	}
	for j, i := range which {
		m.moved(i, list[j].Motion)
	}
	return nil
}

// justRunUp tells whether the open step is the end of drive i's start.
func (m *Machine) justRunUp(i int) bool {
	c := m.trace.steps[len(m.trace.steps)-1].Cause
	return c.By == RunUp && c.Device == Device{DriveKind, i}
}

// moved takes over what a motor does now.
func (m *Machine) moved(i int, now circuit.Motion) {
	s := &m.drives[i]
	if s.motion == now {
		return
	}
	event := [...]Event{circuit.AtRest: Stopped, circuit.Turning: Running, circuit.Stalled: Stalled}[now]
	s.motion = now
	m.trace.note(Change{Event: event, Device: Device{DriveKind, i}, Value: m.driveAmps(i)})
}

func (m *Machine) driveAmps(i int) float64 {
	p := m.Wiring.Drives[i].Motor
	return float64(circuit.Amps(m.Wiring.Nets[p.Net].Current(p.Branch)))
}

// look compares every device with the voltages and currents as they are now.
func (m *Machine) look() {
	for i := range m.switches {
		m.lookSupply(i)
	}
	for i := range m.coils {
		m.lookCoil(i)
	}
	for i := range m.fuses {
		f, w := &m.fuses[i], &m.Wiring.Fuses[i]
		if !f.blown {
			f.x = 0
			for _, p := range w.Contacts {
				f.x = max(f.x, m.amps(p)/float64(w.Rating))
			}
			f.due = m.later(w.Curve.opens(f.heat, f.x))
		}
	}
	for i := range m.overloads {
		o, w := &m.overloads[i], &m.Wiring.Overloads[i]
		if o.tripped {
			o.x = 0
			o.due = m.later(w.Thermal.closes(o.heat))
			continue
		}
		o.x = m.amps(w.Contact) / float64(w.Rating)
		o.due = m.later(w.Thermal.opens(o.heat, o.x))
	}
	for i := range m.drives {
		m.lookDrive(i)
	}
	for i := range m.loads {
		w := &m.Wiring.Loads[i]
		v := m.volts(w.Probe)
		m.loads[i] = m.noteVoltage(m.loads[i], v >= w.On, Device{LoadKind, i}, v)
	}
	for i := range m.controllers {
		m.lookController(i)
	}
}

func (m *Machine) lookSupply(i int) {
	s, w := &m.switches[i], m.Wiring.Switches[i].Supply
	if w == nil {
		return
	}
	enough := m.volts(w.Probe) >= w.Least
	switch {
	case enough == s.powered:
		s.due = never
	case s.due == never && enough:
		s.due = m.now + w.Returns
	case s.due == never:
		s.due = m.now + w.Loses
	}
}

func (m *Machine) lookCoil(i int) {
	c, w := &m.coils[i], &m.Wiring.Coils[i]
	if w.SenseOnly {
		c.volts = m.volts(w.Probe)
	} else {
		c.volts = m.across(w.Place)
	}
	c.energised = m.noteVoltage(c.energised, c.volts >= w.DropOut && c.volts > 0, Device{CoilKind, i}, c.volts)
	if c.chattering && c.volts < w.DropOut {
		c.chattering = false
	}
	wants := !w.Jammed && !c.chattering && (c.up && c.volts < w.DropOut || !c.up && c.volts >= w.PullIn)
	switch {
	case !wants:
		c.armature = never
	case c.armature == never && w.Operate > 0:
		c.armature = m.now + w.Operate
	case c.armature == never:
		c.armature = m.now + OperateTime
	}
}

// lookDrive starts a motor that has got voltage, and stops one that has lost it.
func (m *Machine) lookDrive(i int) {
	s, w := &m.drives[i], &m.Wiring.Drives[i]
	n := m.Wiring.Nets[w.Motor.Net]
	d := Device{DriveKind, i}
	v := n.MotorVolts(w.Motor.Branch)
	live := v >= circuit.Energised*w.Rated
	idle := !s.starting && s.motion == circuit.AtRest
	switch {
	case live && idle:
		s.starting, s.due = true, m.now+StartTime
		if w.Start > 0 {
			s.due = m.now + w.Start
		}
		m.trace.note(Change{Event: Energised, Device: d, Value: float64(v)})
		m.trace.note(Change{Event: Started, Device: d, Value: m.driveAmps(i)})
	case !live && s.starting:
		s.starting, s.due = false, never
		m.trace.note(Change{Event: Stopped, Device: d})
	case !live && s.motion != circuit.AtRest:
		s.motion = circuit.AtRest
		n.SetSlip(w.Motor.Branch, 1)
		m.dirty[w.Motor.Net] = true
		m.trace.note(Change{Event: Stopped, Device: d})
	}
}

// noteVoltage tells of a device that got or lost its voltage, and returns now.
func (m *Machine) noteVoltage(before, now bool, d Device, v quantity.Voltage) bool {
	if now != before {
		event := Dead
		if now {
			event = Energised
		}
		m.trace.note(Change{Event: event, Device: d, Value: float64(v)})
	}
	return now
}

func (m *Machine) later(d time.Duration) time.Duration {
	if d == never || d > never-m.now {
		return never
	}
	return m.now + d
}

func (m *Machine) volts(p Probe) quantity.Voltage {
	return circuit.Volts(m.Wiring.Nets[p.Net].Voltage(p.A, p.B))
}

func (m *Machine) across(p Place) quantity.Voltage {
	n := m.Wiring.Nets[p.Net]
	return circuit.Volts(n.Voltage(n.Terminals(p.Branch)))
}

func (m *Machine) amps(p Place) float64 {
	return float64(circuit.Amps(m.Wiring.Nets[p.Net].Current(p.Branch)))
}
