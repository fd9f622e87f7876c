package replace

import (
	"math"

	"rung/internal/quantity"
)

// MotorKind is how a fan motor is driven.
type MotorKind string

// The kinds; empty is not known.
const (
	PSC             MotorKind = "psc"
	ConstantTorque  MotorKind = "constant-torque"
	ConstantAirflow MotorKind = "constant-airflow"
)

// Electronic says whether the motor has a module with a program.
func (k MotorKind) Electronic() bool { return k == ConstantTorque || k == ConstantAirflow }

// Rotation is the sense of rotation, seen from the end of the leads.
type Rotation string

// The senses; empty is not known.
const (
	Clockwise        Rotation = "clockwise"
	CounterClockwise Rotation = "counter-clockwise"
	Reversible       Rotation = "reversible"
)

// Shaft is which way the shaft points when mounted.
type Shaft string

// The ways; empty is not known or, of a new motor, not stated.
const (
	ShaftUp         Shaft = "shaft-up"
	ShaftDown       Shaft = "shaft-down"
	ShaftHorizontal Shaft = "shaft-horizontal"
	ShaftAny        Shaft = "shaft-any"
)

// MotorLabel is the plate of a fan motor, and its size.
type MotorLabel struct {
	Name       string
	Part       string // the maker's part number, of a motor with a module
	Kind       MotorKind
	Power      quantity.Power // shaft
	Speed      float64        // revolutions per second, full load, highest speed
	LowVolts   quantity.Voltage
	HighVolts  quantity.Voltage // 208-230: both; else equal
	FullLoad   quantity.Current
	Rotation   Rotation
	ShaftSize  quantity.Length // diameter
	ShaftReach quantity.Length // length
	Frame      string          // "48", "48Y"
	Speeds     int             // taps
	Cap        quantity.Capacitance
	CapVolts   quantity.Voltage
	Weather    bool // totally enclosed, for outdoors
	Mounting   Shaft
	// Replaces lists part numbers that the maker states this one replaces.
	Replaces []string
	// Programmable: a universal replacement for motors with a module, which is
	// set up to the old one's flow or torque by its own instructions.
	Programmable bool
}

// MotorNeed is what is to be replaced.
type MotorNeed struct {
	Old     MotorLabel
	Outdoor bool             // condenser fan
	Plate   quantity.Current // full-load amps of this motor on the plate of the unit; 0: not known
	Supply  quantity.Voltage // nominal; 0: not known
	Speeds  int              // taps in use, of a blower
	// SharedCapacitor: the old motor ran on the fan section of a dual can.
	SharedCapacitor bool
}

// MotorAnswer is an answer with the capacitors that go with the motors.
type MotorAnswer struct {
	Answer
	// Capacitors holds, by place in the list of candidates, the run capacitor
	// that the new motor wants.
	Capacitors map[int]CapacitorNeed
}

// Limits for the choice of a fan motor.
//
// practice: common acceptance of the trade, no single source.
const (
	sameRating = 0.03 // of horsepower and shaft size: 1/4 is printed 0.25
	ampsOver   = 0.10 // over the unit's plate
	ampsUnder  = 0.10 // under the old motor
	voltsOff   = 0.10 // a motor runs at ±10 % of its rated volts
)

// Poles returns the number of poles of a motor that turns at speed (1/s) at
// full load on a supply of f, 0 if no number of poles gives it.
//
// The slip of a fan motor at full load lies between 1 and 25 %; where two
// numbers of poles would do, the less slip counts.
//
// published: synchronous speed = 2f/poles, any text on machines.
// practice: the limits of slip, from plates of 1075, 825, 1625 and 3450 rpm.
func Poles(speed float64, f quantity.Frequency) int {
	for _, poles := range []int{12, 10, 8, 6, 4, 2} {
		synchronous := 2 * float64(f) / float64(poles)
		if slip := 1 - speed/synchronous; 0.01 <= slip && slip < 0.25 {
			return poles
		}
	}
	return 0
}

// Motor says which of the motors on the truck can take the place of a
// condenser fan motor or a blower motor, best first.
//
// A motor with a module is replaced by the maker's part or by a universal one
// that is programmed by its own instructions; nothing else is proposed.
//
// An error is a *quantity.RangeError.
func Motor(n MotorNeed, truck []MotorLabel) (MotorAnswer, error) {
	const op = "replace.Motor"
	o := n.Old
	for _, c := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"power", float64(o.Power), 0, 1600, "W"},
		{"speed", o.Speed, 0, 62, "1/s"},
		{"amps", float64(o.FullLoad), 0, 20, "A"},
		{"plate amps", float64(n.Plate), 0, 20, "A"},
		{"supply", float64(n.Supply), 0, 480, "V"},
		{"shaft diameter", float64(o.ShaftSize), 0, 0.05, "m"},
		{"shaft length", float64(o.ShaftReach), 0, 0.5, "m"},
	} {
		if err := quantity.CheckRange(op, c.name, c.value, c.lo, c.hi, c.unit); err != nil {
			return MotorAnswer{}, err
		}
	}
	a := MotorAnswer{Capacitors: map[int]CapacitorNeed{}}
	for i := range truck {
		c := n.judge(i, truck[i])
		a.take(c)
		if c.Grade != Refused && truck[i].Cap > 0 {
			a.Capacitors[i] = CapacitorNeed{Plate: CapacitorLabel{Capacitance: truck[i].Cap, Volts: truck[i].CapVolts}}
		}
	}
	a.sort()
	a.Buy = n.buy()
	a.Steps = n.steps()
	return a, nil
}

func (n MotorNeed) judge(i int, l MotorLabel) Choice {
	c := Choice{Parts: []int{i}}
	if n.Old.Kind.Electronic() || l.Kind.Electronic() {
		n.judgeModule(&c, l)
		return c
	}
	n.judgePower(&c, l)
	n.judgeSpeed(&c, l)
	n.judgeVolts(&c, l)
	n.judgeAmps(&c, l)
	n.judgeShaft(&c, l)
	n.judgePlace(&c, l)
	switch {
	case l.Cap == 0:
		c.note(slight, say("motor-cap-unread"))
	case n.Old.Cap > 0 && math.Abs(float64(l.Cap/n.Old.Cap)-1) <= sameValue:
		c.good(say("motor-cap-same", microfarads("cap", l.Cap)))
	case n.SharedCapacitor:
		c.note(2*slight, say("motor-cap-own", microfarads("cap", l.Cap)), "capacitor-charge")
	default:
		c.note(slight, say("motor-cap-new", microfarads("cap", l.Cap)), "capacitor-charge")
	}
	return c
}

// judgeModule refuses to guess at a program.
func (n MotorNeed) judgeModule(c *Choice, l MotorLabel) {
	same := n.Old.Part != "" && l.Part == n.Old.Part
	for _, p := range l.Replaces {
		same = same || n.Old.Part != "" && p == n.Old.Part
	}
	switch {
	case same:
		c.good(say("motor-module-part", given("part", n.Old.Part)))
		c.watch(0, say("motor-module-wait"), "prove-dead", "capacitor-charge")
	case !n.Old.Kind.Electronic() && n.Old.Kind != "":
		c.refuse(say("motor-module-for-psc"))
	case l.Programmable && n.Old.Kind == l.Kind:
		c.good(say("motor-module-universal"))
		c.note(makeshift, say("motor-module-program"), "prove-dead", "capacitor-charge")
	default:
		c.refuse(say("motor-module-guess"))
	}
}

func (n MotorNeed) judgePower(c *Choice, l MotorLabel) {
	old := n.Old.Power
	switch r := float64(l.Power/old) - 1; {
	case old == 0:
		c.refuse(say("motor-power-unknown"))
	case l.Power == 0:
		c.refuse(say("motor-label-unread"))
	case math.Abs(r) <= sameRating:
		c.good(say("motor-power", horses("power", l.Power)))
	case r < 0:
		c.refuse(say("motor-power-low", horses("have", l.Power), horses("need", old)))
	case r <= 0.55: // practice: one size up, 1/4 to 1/3 hp or 1/3 to 1/2 hp
		c.note(3*slight, say("motor-power-high", horses("have", l.Power), horses("need", old)))
	default:
		c.refuse(say("motor-power-much", horses("have", l.Power), horses("need", old)))
	}
}

func (n MotorNeed) judgeSpeed(c *Choice, l MotorLabel) {
	const f = 60 // Hz, North American supply
	have, need := Poles(l.Speed, f), Poles(n.Old.Speed, f)
	switch {
	case need == 0:
		c.refuse(say("motor-speed-unknown"))
	case have != need:
		c.refuse(say("motor-speed", amount("have", quantity.DimRotation, quantity.Ratio(l.Speed)), amount("need", quantity.DimRotation, quantity.Ratio(n.Old.Speed))))
	default:
		c.good(say("motor-speed-same", count("poles", need)))
	}
	if l.Speeds > 0 && l.Speeds < n.Speeds {
		c.refuse(say("motor-speeds-few", count("have", l.Speeds), count("need", n.Speeds)))
	} else if n.Speeds > 0 && l.Speeds > n.Speeds {
		c.watch(0, say("motor-speeds-more"), "prove-dead")
	}
}

func (n MotorNeed) judgeVolts(c *Choice, l MotorLabel) {
	supply := n.Supply
	if supply == 0 {
		supply = n.Old.HighVolts
	}
	switch {
	case supply == 0 || l.HighVolts == 0:
		c.refuse(say("motor-volts-unknown"))
	case float64(supply) < float64(l.LowVolts)*(1-voltsOff) || float64(supply) > float64(l.HighVolts)*(1+voltsOff):
		c.refuse(say("motor-volts", volts("have", l.HighVolts), volts("need", supply)))
	default:
		c.good(say("motor-volts-same", volts("have", l.HighVolts)))
	}
}

func (n MotorNeed) judgeAmps(c *Choice, l MotorLabel) {
	plate := n.Plate
	if plate == 0 {
		plate = n.Old.FullLoad
	}
	switch r := float64(l.FullLoad/plate) - 1; {
	case plate == 0:
		c.note(slight, say("motor-amps-unknown"))
	case l.FullLoad == 0:
		c.refuse(say("motor-label-unread"))
	case r > ampsOver:
		c.refuse(say("motor-amps-high", amps("have", l.FullLoad), amps("plate", plate)))
	case r > 0:
		c.note(slight, say("motor-amps-over", amps("have", l.FullLoad), amps("plate", plate)))
	case n.Old.FullLoad > 0 && float64(l.FullLoad/n.Old.FullLoad) < 1-ampsUnder:
		c.note(slight, say("motor-amps-under", amps("have", l.FullLoad), amps("old", n.Old.FullLoad)))
	default:
		c.good(say("motor-amps", amps("have", l.FullLoad), amps("plate", plate)))
	}
}

func (n MotorNeed) judgeShaft(c *Choice, l MotorLabel) {
	o := n.Old
	switch {
	case o.Rotation == "" || o.Rotation == Reversible:
		c.note(slight, say("motor-rotation-look"), "moving-fan")
	case l.Rotation == Reversible:
		c.watch(0, say("motor-rotation-set", word("need", string(o.Rotation))), "moving-fan")
	case l.Rotation == "":
		c.note(slight, say("motor-rotation-look"), "moving-fan")
	case l.Rotation != o.Rotation:
		c.refuse(say("motor-rotation", word("have", string(l.Rotation)), word("need", string(o.Rotation))))
	}
	switch {
	case o.ShaftSize == 0 || l.ShaftSize == 0:
		c.note(slight, say("motor-shaft-measure"))
	case math.Abs(float64(l.ShaftSize/o.ShaftSize)-1) > sameRating:
		c.refuse(say("motor-shaft-size", length("have", l.ShaftSize), length("need", o.ShaftSize)))
	}
	switch {
	case o.ShaftReach == 0 || l.ShaftReach == 0:
	case l.ShaftReach < o.ShaftReach-1e-9:
		c.refuse(say("motor-shaft-short", length("have", l.ShaftReach), length("need", o.ShaftReach)))
	case l.ShaftReach > o.ShaftReach*1.02:
		c.note(slight, say("motor-shaft-long", length("have", l.ShaftReach), length("need", o.ShaftReach)))
	}
	switch {
	case o.Frame == "" || l.Frame == "" || o.Frame == l.Frame:
	default:
		c.note(2*slight, say("motor-frame", given("have", l.Frame), given("need", o.Frame)))
	}
}

// judgePlace looks at rain and at the way the shaft points.
func (n MotorNeed) judgePlace(c *Choice, l MotorLabel) {
	if n.Outdoor && !l.Weather {
		c.refuse(say("motor-weather"))
	}
	switch {
	case n.Old.Mounting == "" || n.Old.Mounting == ShaftAny || l.Mounting == n.Old.Mounting:
	case l.Mounting == ShaftAny:
		c.watch(0, say("motor-drain-holes", word("way", string(n.Old.Mounting))))
	case l.Mounting == "":
		c.note(slight, say("motor-mounting-look", word("way", string(n.Old.Mounting))))
	default:
		c.refuse(say("motor-mounting", word("have", string(l.Mounting)), word("need", string(n.Old.Mounting))))
	}
}

func (n MotorNeed) buy() []Sentence {
	o := n.Old
	if o.Kind.Electronic() {
		if o.Part != "" {
			return []Sentence{say("motor-buy-part", given("part", o.Part))}
		}
		return []Sentence{say("motor-buy-module")}
	}
	if o.Power == 0 || o.Speed == 0 {
		return []Sentence{say("motor-buy-read")}
	}
	return []Sentence{say("motor-buy", horses("power", o.Power), amount("speed", quantity.DimRotation, quantity.Ratio(o.Speed)), volts("volts", max(o.HighVolts, n.Supply)))}
}

func (n MotorNeed) steps() []Step {
	steps := []Step{{say("motor-step-off"), []string{"prove-dead", "capacitor-charge"}}}
	if n.Outdoor {
		steps = append(steps, Step{say("motor-step-blade"), []string{"moving-fan"}})
	} else {
		steps = append(steps, Step{say("motor-step-wheel"), []string{"prove-dead"}})
	}
	if n.Old.Kind.Electronic() {
		steps = append(steps, Step{say("motor-step-module"), []string{"prove-dead"}})
	} else {
		steps = append(steps, Step{say("motor-step-capacitor"), []string{"capacitor-charge"}})
	}
	return append(steps,
		Step{say("motor-step-turn"), []string{"moving-fan"}},
		Step{say("motor-step-amps"), []string{"covered-line", "moving-fan"}},
	)
}
