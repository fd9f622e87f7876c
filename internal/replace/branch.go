package replace

import (
	"rung/internal/quantity"
)

// BranchNeed is a branch circuit of one hermetic compressor with the motors
// and heaters beside it. Zero fields are not known.
type BranchNeed struct {
	RatedLoad    quantity.Current // of the compressor
	Selection    quantity.Current // branch-circuit selection current, if marked
	LockedRotor  quantity.Current
	Others       []quantity.Current // full-load amps of fans and other loads
	PlateMinimum quantity.Current   // minimum circuit ampacity marked on the unit
	PlateMost    quantity.Current   // maximum fuse or breaker marked on the unit
	Breaker      quantity.Current   // that is there now
	AWG          int                // that is there now
	Terminals    int                // 60 or 75 °C, the lowest marking at either end; 0 counts as 60
	Insulation   int                // 60, 75 or 90 °C; 0 counts as Terminals
	Cable        bool               // non-metallic sheathed cable: 60 °C at the end
	Solid        bool
	Ambient      quantity.Temperature // around the conductors; 0 counts as 30 °C
	Length       quantity.Length      // one way
	Supply       quantity.Voltage     // nominal; 0 counts as 240 V
}

// Ampacity is what the rules ask of a branch circuit, before the plate is asked.
type Ampacity struct {
	Minimum     quantity.Current // of the conductors
	FirstLimit  quantity.Current // of fuse or breaker, 175 % of the compressor
	FirstDevice quantity.Current // the standard size at or below it
	MostLimit   quantity.Current // 225 %, if the first does not let it start
	MostDevice  quantity.Current
}

// Factors of article 440.
//
// published: NEC 2011 and 2023, 440.32 and 440.33 (125 % of the largest, the
// rest added), 440.22(A) (175 %, 225 % if it does not start), 440.22(B) (a group
// adds the other loads), as worked in public code columns.
const (
	conductorFactor = 1.25
	firstFactor     = 1.75
	mostFactor      = 2.25
)

// standardSizes of fuses and breakers.
//
// published: NEC 240.6(A), as quoted in public code columns.
var standardSizes = []quantity.Current{15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200}

// DeviceDown returns the standard size at or below limit, 15 A at least.
//
// published: NEC 440.22(A): rounded down, and no smaller than 15 A needed.
func DeviceDown(limit quantity.Current) (quantity.Current, error) {
	if err := quantity.CheckRange("replace.DeviceDown", "limit", float64(limit), 0, 224, "A"); err != nil {
		return 0, err
	}
	size := standardSizes[0]
	for _, s := range standardSizes {
		if s <= limit+1e-9 {
			size = s
		}
	}
	return size, nil
}

// DeviceUp returns the standard size at or above least: for loads whose device
// may be the next size up, as that of electric heat.
func DeviceUp(least quantity.Current) (quantity.Current, error) {
	if err := quantity.CheckRange("replace.DeviceUp", "current", float64(least), 0, 200, "A"); err != nil {
		return 0, err
	}
	for _, s := range standardSizes {
		if s >= least-1e-9 {
			return s, nil
		}
	}
	panic("replace: standard sizes end below their range")
}

// BranchCircuit returns what article 440 asks of a branch circuit for a
// compressor of rated load amps rla, or of its branch-circuit selection current
// if that is larger, with other loads.
//
// Valid for 0.5 to 80 A and others up to 60 A each; outside it returns a
// *quantity.RangeError. A marked minimum ampacity or maximum protection wins
// over the result, and so does local code.
func BranchCircuit(rla, selection quantity.Current, others []quantity.Current) (Ampacity, error) {
	const op = "replace.BranchCircuit"
	if err := quantity.CheckRange(op, "rated load amps", float64(rla), 0.5, 80, "A"); err != nil {
		return Ampacity{}, err
	}
	if err := quantity.CheckRange(op, "branch selection amps", float64(selection), 0, 80, "A"); err != nil {
		return Ampacity{}, err
	}
	base := max(rla, selection)
	largest, sum := base, base
	for _, x := range others {
		if err := quantity.CheckRange(op, "other loads", float64(x), 0, 60, "A"); err != nil {
			return Ampacity{}, err
		}
		largest, sum = max(largest, x), sum+x
	}
	rest := sum - base
	a := Ampacity{Minimum: sum + largest*(conductorFactor-1), FirstLimit: base*firstFactor + rest, MostLimit: base*mostFactor + rest}
	var err error
	if a.FirstDevice, err = DeviceDown(a.FirstLimit); err != nil {
		return Ampacity{}, err
	}
	a.MostDevice, err = DeviceDown(a.MostLimit)
	return a, err
}

// BranchAnswer is a branch circuit worked out, each step explained.
type BranchAnswer struct {
	Rule       Ampacity
	Minimum    quantity.Current // that holds: of the plate, else of the rule
	Protection quantity.Current // the most that may protect it: of the plate, else of the rule
	Conductor  ConductorSize    // the thinnest that carries Minimum
	Ampacity   quantity.Current // of it, terminals and air counted
	Running    *Drop            // nil if the length is not known
	Starting   *Drop            // nil if the locked rotor amps are not known either
	Steps      []Sentence
	Findings   []Step // on breaker and conductor that are there, and on the drop
}

// Limits of voltage drop.
//
// practice: aim under 3 % running (an informational note of NEC 210.19 says the
// same); 10 % and more at the start is too much.
const (
	runningDrop  = 0.03
	startingDrop = 0.10
)

// Branch works out a branch circuit: the plate first, then the rules.
//
// An error is a *quantity.RangeError.
func Branch(n BranchNeed) (BranchAnswer, error) {
	n.assume()
	rule, err := BranchCircuit(n.RatedLoad, n.Selection, n.Others)
	if err != nil {
		return BranchAnswer{}, err
	}
	for _, c := range []struct {
		name  string
		value quantity.Current
	}{{"plate minimum", n.PlateMinimum}, {"plate maximum", n.PlateMost}, {"breaker", n.Breaker}} {
		if err := quantity.CheckRange("replace.Branch", c.name, float64(c.value), 0, 200, "A"); err != nil {
			return BranchAnswer{}, err
		}
	}
	a := BranchAnswer{Rule: rule, Minimum: rule.Minimum, Protection: rule.MostDevice}
	a.explainMinimum(n)
	a.explainProtection(n)
	if err := a.size(n); err != nil {
		return BranchAnswer{}, err
	}
	if err := a.drops(n); err != nil {
		return BranchAnswer{}, err
	}
	if err := a.present(n); err != nil {
		return BranchAnswer{}, err
	}
	a.Steps = append(a.Steps, say("branch-code-wins"))
	return a, nil
}

// assume fills in what was left open on the safe side.
func (n *BranchNeed) assume() {
	if n.Terminals == 0 {
		n.Terminals = 60
	}
	if n.Cable {
		n.Terminals = min(n.Terminals, 60)
		n.Insulation = max(n.Insulation, 90)
	}
	if n.Insulation == 0 {
		n.Insulation = n.Terminals
	}
	if n.Supply == 0 {
		n.Supply = 240
	}
}

func (n *BranchNeed) base() quantity.Current { return max(n.RatedLoad, n.Selection) }

func (n *BranchNeed) rest() quantity.Current {
	var sum quantity.Current
	for _, x := range n.Others {
		sum += x
	}
	return sum
}

func (a *BranchAnswer) explainMinimum(n BranchNeed) {
	if n.Selection > n.RatedLoad {
		a.Steps = append(a.Steps, say("branch-selection", amps("selection", n.Selection), amps("rated", n.RatedLoad)))
	}
	for _, x := range n.Others {
		if x > n.base() {
			a.Steps = append(a.Steps, say("branch-other-larger", amps("other", x)))
			break
		}
	}
	a.Steps = append(a.Steps, say("branch-minimum", amps("rated", n.base()), amps("rest", n.rest()), amps("minimum", a.Rule.Minimum)))
	if n.PlateMinimum > 0 {
		a.Minimum = n.PlateMinimum
		a.Steps = append(a.Steps, say("branch-minimum-plate", amps("plate", n.PlateMinimum)))
	}
}

func (a *BranchAnswer) explainProtection(n BranchNeed) {
	r := a.Rule
	a.Steps = append(a.Steps,
		say("branch-first", amps("rated", n.base()), amps("rest", n.rest()), amps("limit", r.FirstLimit), amps("device", r.FirstDevice)),
		say("branch-most", amps("limit", r.MostLimit), amps("device", r.MostDevice)))
	if n.PlateMost > 0 {
		a.Protection = n.PlateMost
		a.Steps = append(a.Steps, say("branch-most-plate", amps("plate", n.PlateMost)))
	}
}

// size finds the thinnest conductor.
func (a *BranchAnswer) size(n BranchNeed) error {
	for _, c := range conductors {
		carries, err := c.carries(n)
		if err != nil {
			return err
		}
		if carries >= a.Minimum-1e-9 && carries > 0 {
			a.Conductor, a.Ampacity = c, carries
			a.Steps = append(a.Steps, say("branch-conductor", count("awg", c.AWG), amps("carries", carries), amps("minimum", a.Minimum), count("terminals", n.Terminals)))
			if n.Cable {
				a.Steps = append(a.Steps, say("branch-cable"))
			}
			return nil
		}
	}
	last := conductors[len(conductors)-1]
	most, err := last.carries(n)
	if err != nil {
		return err
	}
	return &quantity.RangeError{Op: "replace.Branch", Name: "minimum ampacity", Value: float64(a.Minimum), Min: 0, Max: float64(most), Unit: "A"}
}

// carries returns the ampacity of c: the column of its insulation corrected by
// the air, and no more than the column of the terminals.
func (c ConductorSize) carries(n BranchNeed) (quantity.Current, error) {
	insulation, err := column(n.Insulation)
	if err != nil {
		return 0, err
	}
	terminals, err := column(n.Terminals)
	if err != nil {
		return 0, err
	}
	factor := 1.0
	if n.Ambient != 0 {
		if factor, err = AmbientFactor(n.Ambient, n.Insulation); err != nil {
			return 0, err
		}
	}
	return min(c.Amps[insulation]*quantity.Current(factor), c.Amps[terminals]), nil
}

// drops works out the voltage drop of the conductor that is there, or of the
// thinnest that carries the load.
func (a *BranchAnswer) drops(n BranchNeed) error {
	if n.Length == 0 {
		a.Steps = append(a.Steps, say("branch-drop-unknown"))
		return nil
	}
	c := a.Conductor
	if n.AWG != 0 {
		var err error
		if c, err = ConductorOf(n.AWG); err != nil {
			return err
		}
	}
	drop := func(i quantity.Current) (*Drop, error) {
		d, err := VoltageDrop(c.OhmsPerMetre(n.Solid), n.Length, i, n.Supply)
		return &d, err
	}
	running, err := drop(n.RatedLoad + n.rest())
	if err != nil {
		return err
	}
	a.Running = running
	a.Steps = append(a.Steps, say("branch-drop", count("awg", c.AWG), volts("drop", running.Volts), share("part", float64(running.Part)), amps("current", n.RatedLoad+n.rest())))
	if running.Part > runningDrop {
		a.Findings = append(a.Findings, Step{Sentence: say("branch-drop-much", share("part", float64(running.Part)))})
	}
	if n.LockedRotor == 0 {
		return nil
	}
	if a.Starting, err = drop(n.LockedRotor); err != nil {
		return err
	}
	a.Steps = append(a.Steps, say("branch-drop-start", volts("drop", a.Starting.Volts), share("part", float64(a.Starting.Part)), amps("current", n.LockedRotor)))
	if a.Starting.Part > startingDrop {
		a.Findings = append(a.Findings, Step{Sentence: say("branch-drop-start-much", share("part", float64(a.Starting.Part)))})
	}
	return nil
}

// present judges breaker and conductor that are there.
func (a *BranchAnswer) present(n BranchNeed) error {
	find := func(s Sentence, cautions ...string) { a.Findings = append(a.Findings, Step{s, cautions}) }
	switch {
	case n.Breaker == 0:
	case n.Breaker > a.Protection:
		find(say("branch-breaker-large", amps("breaker", n.Breaker), amps("most", a.Protection)), "breaker-reset")
	case n.Breaker < a.Minimum-1e-9:
		find(say("branch-breaker-small", amps("breaker", n.Breaker), amps("minimum", a.Minimum)), "breaker-reset")
	default:
		find(say("branch-breaker-good", amps("breaker", n.Breaker)))
	}
	if n.AWG == 0 {
		return nil
	}
	c, err := ConductorOf(n.AWG)
	if err != nil {
		return err
	}
	carries, err := c.carries(n)
	if err != nil {
		return err
	}
	if carries < a.Minimum-1e-9 {
		find(say("branch-conductor-thin", count("awg", n.AWG), amps("carries", carries), amps("minimum", a.Minimum)), "prove-dead")
	} else {
		find(say("branch-conductor-good", count("awg", n.AWG), amps("carries", carries)))
	}
	return nil
}

// ElectricHeat returns load, minimum ampacity and the device of a circuit of
// electric heat with its blower.
//
// Valid for 0.1 to 30 kW, 100 to 260 V, blowers up to 15 A and results up to
// 200 A; outside it returns a *quantity.RangeError.
//
// memory: NEC 424.4(B), 125 % of heater and blower; 240.6(A), next size up.
func ElectricHeat(heater quantity.Power, v quantity.Voltage, blower quantity.Current) (load, least, device quantity.Current, err error) {
	const op = "replace.ElectricHeat"
	for _, c := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"heater", float64(heater), 100, 30000, "W"},
		{"voltage", float64(v), 100, 260, "V"},
		{"blower", float64(blower), 0, 15, "A"},
	} {
		if err := quantity.CheckRange(op, c.name, c.value, c.lo, c.hi, c.unit); err != nil {
			return 0, 0, 0, err
		}
	}
	load = quantity.Current(float64(heater)/float64(v)) + blower
	least = load * conductorFactor
	device, err = DeviceUp(least)
	return load, least, device, err
}

// VoltageWindow returns the volts at which a motor marked for low to high may
// run, a fraction tolerance below and above.
//
// practice: ±10 % of the rating, as makers of motors state.
func VoltageWindow(low, high quantity.Voltage, tolerance quantity.Ratio) (least, most quantity.Voltage, err error) {
	const op = "replace.VoltageWindow"
	if err := quantity.CheckRange(op, "low voltage", float64(low), 5, 600, "V"); err != nil {
		return 0, 0, err
	}
	if err := quantity.CheckRange(op, "high voltage", float64(high), float64(low), 600, "V"); err != nil {
		return 0, 0, err
	}
	if err := quantity.CheckRange(op, "tolerance", float64(tolerance), 0, 0.2, "of the rating"); err != nil {
		return 0, 0, err
	}
	return low * quantity.Voltage(1-tolerance), high * quantity.Voltage(1+tolerance), nil
}

// PowerAndCurrent completes power drawn, current and apparent power of a
// single-phase load from its power factor and one of power and current; the
// other is zero.
//
// published: P = U·I·cos φ, any text on alternating current.
func PowerAndCurrent(v quantity.Voltage, pf quantity.Ratio, p quantity.Power, i quantity.Current) (quantity.Power, quantity.Current, error) {
	const op = "replace.PowerAndCurrent"
	for _, c := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"voltage", float64(v), 5, 600, "V"},
		{"power factor", float64(pf), 0.05, 1, "1"},
		{"power", float64(p), 0, 1e5, "W"},
		{"current", float64(i), 0, 400, "A"},
	} {
		if err := quantity.CheckRange(op, c.name, c.value, c.lo, c.hi, c.unit); err != nil {
			return 0, 0, err
		}
	}
	if p == 0 {
		return quantity.Power(float64(v) * float64(i) * float64(pf)), i, nil
	}
	return p, quantity.Current(float64(p) / (float64(v) * float64(pf))), nil
}
