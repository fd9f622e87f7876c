package relay

import (
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

// Place is a branch in one of the networks of a Wiring.
type Place struct {
	Net    int // index in Wiring.Nets
	Branch circuit.Branch
}

// Probe is a pair of nodes in one network, where a voltage is felt.
type Probe struct {
	Net  int
	A, B circuit.Node
}

// Wiring is the devices of a system and the networks they are part of.
// Contacts are switch branches, coils impedance branches, motors motor branches.
type Wiring struct {
	Nets      []*circuit.Net
	Switches  []Switch
	Limits    []Limit
	Coils     []Coil
	Fuses     []Fuse
	Overloads []Overload
	Drives    []Drive
	Loads     []Load

	Controllers []Controller
}

// Switch is a contact moved from outside by Machine.Set: a thermostat's R-Y,
// a float switch, a disconnect. It starts open unless NormallyClosed.
type Switch struct {
	ID             string
	Contact        Place
	NormallyClosed bool
	Fault          ContactFault
	// Supply, if not nil, is the voltage the switch needs to stay closed: the
	// electronics of a thermostat.
	Supply *Supply
}

// Supply is the voltage that electronics need.
type Supply struct {
	Probe   Probe
	Least   quantity.Voltage
	Loses   time.Duration // it lives this long below Least
	Returns time.Duration // and takes this long to come back
}

// Limit is a contact that a pressure or a temperature opens: high- and
// low-pressure switches, high limits, a freeze stat. Machine.Sense tells it the
// value, in any unit that its own values are in.
type Limit struct {
	ID          string
	Contact     Place
	Opens       float64 // opens at and beyond this value
	Closes      float64 // closes again at and before this value; on the other side of Opens
	ManualReset bool    // stays open until Machine.ResetLimit
	Fault       ContactFault
}

// onRise tells whether a rising value opens l.
func (l *Limit) onRise() bool { return l.Opens > l.Closes }

// ContactFault is what is wrong with a contact.
type ContactFault uint8

const (
	Sound  ContactFault = iota
	Welded              // never opens
	Burnt               // never closes
)

// Contact is one contact of a coil.
type Contact struct {
	Place          Place
	NormallyClosed bool
	Fault          ContactFault
}

// Coil is a magnet with an armature and contacts (contactor, relay, potential
// relay), or electronics that act like one (time delay).
type Coil struct {
	ID string
	// Place is the coil as an impedance branch, with its impedance before and
	// after the armature has moved. A coil with SenseOnly draws nothing and
	// feels the voltage at Probe.
	Place          Place
	Inrush, Sealed complex128 // ohm
	SenseOnly      bool
	Probe          Probe

	PullIn, DropOut quantity.Voltage
	Operate         time.Duration // from voltage to movement; 0 means OperateTime
	Contacts        []Contact
	OnDelay         time.Duration // contacts follow the armature this much later
	OffDelay        time.Duration // and fall back this much later
	LockOut         time.Duration // after falling back, contacts stay so for at least this long
	Jammed          bool          // the armature does not move
}

// OperateTime is how long an armature takes to move.
const OperateTime = 20 * time.Millisecond // practice: a small alternating-current contactor

// Fuse is a fuse or breaker: it opens all its contacts when one of them has
// carried too much current for too long.
type Fuse struct {
	ID       string
	Contacts []Place
	Rating   quantity.Current
	Curve    Curve
	Blown    bool // from the start
}

// Overload is a thermal protector in series with what it protects. It opens
// when it is hot and closes again when it has cooled.
type Overload struct {
	ID      string
	Contact Place
	Rating  quantity.Current // of the protected motor at load
	Thermal Thermal
	// Warm is how hot it is at the start: 0 cold, 1 at the point of opening.
	Warm  quantity.Ratio
	Fault ContactFault
}

// Drive is a motor with its load.
type Drive struct {
	ID    string
	Motor Place
	Load  circuit.Load
	Rated quantity.Voltage
	// Start is how long the motor draws its starting current; 0 means StartTime.
	Start time.Duration
}

// StartTime is how long a healthy small motor takes to come up to speed.
const StartTime = 500 * time.Millisecond // practice: "the first half second of every start"

// Load is anything else whose being energised is worth telling: a heater, an
// igniter, a valve.
type Load struct {
	ID    string
	Probe Probe
	On    quantity.Voltage // energised at and above this
}

// Kind is a kind of device.
type Kind uint8

const (
	SwitchKind Kind = iota
	LimitKind
	CoilKind
	FuseKind
	OverloadKind
	DriveKind
	LoadKind
	ControllerKind
)

// Device names a device of a Wiring: its kind and its index there.
type Device struct {
	Kind  Kind
	Index int
}

// ID returns the ID of a device.
func (w *Wiring) ID(d Device) string {
	switch d.Kind {
	case SwitchKind:
		return w.Switches[d.Index].ID
	case LimitKind:
		return w.Limits[d.Index].ID
	case CoilKind:
		return w.Coils[d.Index].ID
	case FuseKind:
		return w.Fuses[d.Index].ID
	case OverloadKind:
		return w.Overloads[d.Index].ID
	case DriveKind:
		return w.Drives[d.Index].ID
	case ControllerKind:
		return w.Controllers[d.Index].ID
	}
	return w.Loads[d.Index].ID
}
