package relay

import (
	"fmt"
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

// Machine is a Wiring in motion.
//
// The values of its Wiring (pull-in volts, faults of contacts, loads ...) and
// of its networks may be changed before Reset. Machine and networks are for one
// goroutine.
type Machine struct {
	Wiring Wiring

	now         time.Duration
	switches    []switchState
	limits      []limitState
	coils       []coilState
	fuses       []fuseState
	overloads   []overloadState
	drives      []driveState
	loads       []bool // energised
	controllers []controllerState
	dirty       []bool // per network: values changed since its solution
	turning     [][]circuit.Drive
	turns       [][]int // drive of each entry of turning
	trace       trace
	unsettled   bool
}

type switchState struct {
	commanded, powered, closed bool
	due                        time.Duration // of a change of powered
}

type limitState struct{ closed bool }

type coilState struct {
	up, chattering, energised bool
	closed                    bool // contacts in their operated position
	volts                     quantity.Voltage
	armature, contacts        time.Duration // due
	lockedUntil               time.Duration
	since                     time.Duration // of the first of pulls
	pulls                     int
}

type fuseState struct {
	blown bool
	heat  float64
	x     float64 // present multiple of the rating
	due   time.Duration
}

type overloadState struct {
	tripped bool
	heat, x float64
	due     time.Duration
}

type driveState struct {
	starting bool
	motion   circuit.Motion
	due      time.Duration // end of the start
}

// New returns a Machine for a copy of w, which shares the networks. A device
// that names a network or a branch of the wrong kind is an error.
func New(w Wiring) (*Machine, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	w.Switches = append([]Switch(nil), w.Switches...)
	w.Limits = append([]Limit(nil), w.Limits...)
	w.Coils = append([]Coil(nil), w.Coils...)
	for i := range w.Coils {
		w.Coils[i].Contacts = append([]Contact(nil), w.Coils[i].Contacts...)
	}
	w.Fuses = append([]Fuse(nil), w.Fuses...)
	w.Overloads = append([]Overload(nil), w.Overloads...)
	w.Drives = append([]Drive(nil), w.Drives...)
	w.Loads = append([]Load(nil), w.Loads...)
	w.Controllers = append([]Controller(nil), w.Controllers...)
	return &Machine{
		Wiring:      w,
		switches:    make([]switchState, len(w.Switches)),
		limits:      make([]limitState, len(w.Limits)),
		coils:       make([]coilState, len(w.Coils)),
		fuses:       make([]fuseState, len(w.Fuses)),
		overloads:   make([]overloadState, len(w.Overloads)),
		drives:      make([]driveState, len(w.Drives)),
		loads:       make([]bool, len(w.Loads)),
		controllers: make([]controllerState, len(w.Controllers)),
		dirty:       make([]bool, len(w.Nets)),
		turning:     make([][]circuit.Drive, len(w.Nets)),
		turns:       make([][]int, len(w.Nets)),
	}, nil
}

func (w *Wiring) check() error {
	var err error
	want := func(id string, p Place, k circuit.Kind) {
		switch {
		case err != nil:
		case p.Net < 0 || p.Net >= len(w.Nets):
			err = fmt.Errorf("relay: %q: no network %d", id, p.Net)
		case !w.Nets[p.Net].Is(p.Branch, k):
			err = fmt.Errorf("relay: %q: branch %d of network %d is no %v", id, p.Branch, p.Net, k)
		}
	}
	for _, d := range w.Switches {
		want(d.ID, d.Contact, circuit.SwitchBranch)
	}
	for _, d := range w.Limits {
		want(d.ID, d.Contact, circuit.SwitchBranch)
		if err == nil && d.Opens == d.Closes {
			err = fmt.Errorf("relay: %q opens and closes at the same value", d.ID)
		}
	}
	for _, d := range w.Coils {
		if !d.SenseOnly {
			want(d.ID, d.Place, circuit.ImpedanceBranch)
		}
		for _, c := range d.Contacts {
			want(d.ID, c.Place, circuit.SwitchBranch)
		}
		if err == nil && !(d.DropOut <= d.PullIn) {
			err = fmt.Errorf("relay: %q drops out above its pull-in", d.ID)
		}
	}
	for _, d := range w.Fuses {
		for _, p := range d.Contacts {
			want(d.ID, p, circuit.SwitchBranch)
		}
	}
	for _, d := range w.Overloads {
		want(d.ID, d.Contact, circuit.SwitchBranch)
	}
	for _, d := range w.Drives {
		want(d.ID, d.Motor, circuit.MotorBranch)
	}
	if bad := w.checkControllers(want); err == nil {
		err = bad
	}
	return err
}

// Reset puts everything at rest: commands as at the start, armatures down,
// motors standing, fuses as their Blown says, overloads as warm as they say,
// and the trace empty. Time begins at zero. What the voltages do then is
// worked out by the next Run.
func (m *Machine) Reset() error {
	m.now, m.unsettled = 0, false
	m.trace.reset()
	w := &m.Wiring
	for i := range w.Switches {
		s := &w.Switches[i]
		m.switches[i] = switchState{commanded: s.NormallyClosed, powered: true, closed: faulty(s.NormallyClosed, s.Fault), due: never}
		m.put(s.Contact, m.switches[i].closed)
	}
	for i := range w.Limits {
		m.limits[i] = limitState{closed: true}
		m.put(w.Limits[i].Contact, faulty(true, w.Limits[i].Fault))
	}
	for i := range w.Coils {
		c := &w.Coils[i]
		m.coils[i] = coilState{armature: never, contacts: never, lockedUntil: -1, since: never}
		m.setCoil(c, c.Inrush)
		for _, k := range c.Contacts {
			m.put(k.Place, faulty(k.NormallyClosed, k.Fault))
		}
	}
	for i := range w.Fuses {
		m.fuses[i] = fuseState{blown: w.Fuses[i].Blown, due: never}
		for _, p := range w.Fuses[i].Contacts {
			m.put(p, !w.Fuses[i].Blown)
		}
	}
	for i := range w.Overloads {
		m.overloads[i] = overloadState{heat: float64(w.Overloads[i].Warm), due: never}
		m.put(w.Overloads[i].Contact, faulty(true, w.Overloads[i].Fault))
	}
	for i := range w.Drives {
		m.drives[i] = driveState{due: never}
		d := w.Drives[i].Motor
		w.Nets[d.Net].SetSlip(d.Branch, 1)
	}
	clear(m.loads)
	for i := range m.dirty {
		m.dirty[i] = true
	}
	m.trace.begin(0, Cause{By: PowerUp})
	for i := range w.Controllers {
		m.resetController(i)
	}
	return m.settle()
}

// faulty returns the position that a contact with a fault really has.
func faulty(closed bool, f ContactFault) bool {
	return f == Welded || closed && f != Burnt
}

// put moves a contact and tells whether it moved.
func (m *Machine) put(p Place, closed bool) bool {
	n := m.Wiring.Nets[p.Net]
	if n.Closed(p.Branch) == closed {
		return false
	}
	n.SetClosed(p.Branch, closed)
	m.dirty[p.Net] = true
	return true
}

// move is put with a note in the trace.
func (m *Machine) move(d Device, p Place, closed bool) {
	if !m.put(p, closed) {
		return
	}
	event := Opened
	if closed {
		event = Closed
	}
	m.trace.note(Change{Event: event, Device: d, Place: p})
}

func (m *Machine) setCoil(c *Coil, z complex128) {
	if !c.SenseOnly {
		m.Wiring.Nets[c.Place.Net].SetImpedance(c.Place.Branch, z)
		m.dirty[c.Place.Net] = true
	}
}

// Setting is a position of a switch.
type Setting struct {
	Switch int // index in Wiring.Switches
	Closed bool
}

// Set moves switches together, as a thermostat closes R-Y and R-G at once. The
// cause of the step is the first of them.
func (m *Machine) Set(list ...Setting) error {
	if len(list) == 0 {
		return nil
	}
	m.calm()
	m.trace.begin(m.now, Cause{Command, Device{SwitchKind, list[0].Switch}})
	for _, s := range list {
		m.switches[s.Switch].commanded = s.Closed
		m.throw(s.Switch)
	}
	return m.settle()
}

// throw brings the contact of a switch to the position its state asks for.
func (m *Machine) throw(i int) {
	s, w := &m.switches[i], &m.Wiring.Switches[i]
	s.closed = faulty(s.commanded && s.powered, w.Fault)
	m.move(Device{SwitchKind, i}, w.Contact, s.closed)
}

// Sense tells a limit its present value.
func (m *Machine) Sense(limit int, value float64) error {
	l := &m.Wiring.Limits[limit]
	sign := 1.0
	if !l.onRise() {
		sign = -1
	}
	closed := m.limits[limit].closed
	switch {
	case sign*value >= sign*l.Opens:
		closed = false
	case sign*value <= sign*l.Closes && !l.ManualReset:
		closed = true
	}
	return m.setLimit(limit, closed)
}

// ResetLimit presses the button of a limit with manual reset.
func (m *Machine) ResetLimit(limit int) error { return m.setLimit(limit, true) }

func (m *Machine) setLimit(i int, closed bool) error {
	if m.limits[i].closed == closed {
		return nil
	}
	m.limits[i].closed = closed
	l := &m.Wiring.Limits[i]
	d := Device{LimitKind, i}
	m.calm()
	m.trace.begin(m.now, Cause{Sensed, d})
	m.move(d, l.Contact, faulty(closed, l.Fault))
	return m.settle()
}

// SetLoad gives a motor another load from now on: a compressor that goes to
// another stage. Reset leaves it so.
func (m *Machine) SetLoad(drive int, load circuit.Load) error {
	d := &m.Wiring.Drives[drive]
	if d.Load == load {
		return nil
	}
	d.Load = load
	m.dirty[d.Motor.Net] = true
	m.trace.begin(m.now, Cause{Sensed, Device{DriveKind, drive}})
	return m.settle()
}

// calm lets chattering coils try again after something outside has changed.
func (m *Machine) calm() {
	for i := range m.coils {
		c := &m.coils[i]
		c.pulls, c.since, c.chattering = 0, never, false
	}
}

// Now returns the time since Reset.
func (m *Machine) Now() time.Duration { return m.now }

// Trace returns the steps since Reset; valid until the next Reset.
func (m *Machine) Trace() []Step { return m.trace.steps }

// Unsettled tells that a run was cut short because it had too many steps.
func (m *Machine) Unsettled() bool { return m.unsettled }

// CoilVolts returns the voltage at a coil.
func (m *Machine) CoilVolts(coil int) quantity.Voltage { return m.coils[coil].volts }

// PulledIn tells whether the armature of a coil is in.
func (m *Machine) PulledIn(coil int) bool { return m.coils[coil].up }

// Chattering tells whether a coil pulls in and drops out again and again. Its
// contacts then count as open.
func (m *Machine) Chattering(coil int) bool { return m.coils[coil].chattering }

// Blown tells whether a fuse is blown or a breaker has tripped.
func (m *Machine) Blown(fuse int) bool { return m.fuses[fuse].blown }

// Tripped tells whether an overload is open.
func (m *Machine) Tripped(overload int) bool { return m.overloads[overload].tripped }

// Motion returns what a motor does; one that is still starting is Stalled.
func (m *Machine) Motion(drive int) circuit.Motion {
	if m.drives[drive].starting {
		return circuit.Stalled
	}
	return m.drives[drive].motion
}

// Starting tells whether a motor still draws its starting current.
func (m *Machine) Starting(drive int) bool { return m.drives[drive].starting }

// Energised tells whether a load has its voltage.
func (m *Machine) Energised(load int) bool { return m.loads[load] }
