package diagnosis

import (
	"rung/internal/fieldtest"
	"rung/internal/quantity"
)

// World is what the engine reasons over: one system on one day. The engine
// tests itself on made-up worlds; Open makes the world of a real system.
//
// All methods are pure: the same arguments give the same answer for the life of the World.
type World interface {
	// Hypotheses returns the listed causes: exactly one without faults, and with
	// every pair also each of its faults alone. Ids are unique.
	Hypotheses() []Hypothesis
	// Subsystems returns the subsystems in which something unlisted may be wrong.
	Subsystems() []Subsystem
	Repairs() []Repair
	Checks() []Check
	// Points returns every point that can be read, each at one demand.
	Points() []Point
	// SetupStates returns the states that checks and repairs may need.
	SetupStates() []SetupState
	// Predict writes to out what the points at demand d show under hypothesis h
	// in particle n, in the order of Points. Particle n has the same nuisance draws
	// under every hypothesis, and each fault the same severity draw alone and in a pair.
	Predict(h, n int, d Demand, out []Outcome)
	// Severity returns the severity draw of hypothesis h in particle n, between 0
	// and 1, or NaN if it has none.
	Severity(h, n int) float64
}

// Muter is a World that knows readings which must not speak for some causes.
// The engine takes back whatever such readings, taken together, would raise the hypotheses by.
type Muter interface {
	Mutes(readings []Reading) []Mute
}

// Mute names readings (by index into the slice given) that may lower, but
// never raise, the odds of the hypotheses (by id) against all others.
type Mute struct {
	Readings   []int
	Hypotheses []string
	Warning    Warning
}

// GateOpener is a World that knows what to read for the charge gate.
type GateOpener interface {
	// Opens returns the points that would do away with a reason, given what the
	// present readings show.
	Opens(r ChargeReason, readings []Reading) []Ref
}

// Checker is a World that knows physical laws which readings together may break.
type Checker interface {
	Contradictions(readings []Reading) []Warning
}

// Hypothesis is one possible cause.
type Hypothesis struct {
	ID string
	// Faults present under it: none for healthy, one, or a listed pair, the one that
	// brought the other about first.
	Faults []Fault
	// Together says that it is right to begin with either of a pair: neither brought the
	// other about, or the second has to be mended before anything else can be done.
	Together  bool
	Subsystem string
	// Prior is relative; the engine normalises over all hypotheses and subsystems.
	Prior float64
	// Duty is the probability that an intermittent fault acts at the time of a
	// reading; 0 means always.
	Duty float64
	// Charge says that it is a matter of the amount of refrigerant, so that the charge gate holds for it.
	Charge bool
}

// Fault is a fault with the repair that cures it.
type Fault struct {
	ID     string
	Repair string
}

// Subsystem is a part of the system with the prior of an unlisted cause in it.
type Subsystem struct {
	ID    string
	Prior float64 // relative to the priors of the hypotheses
}

// SafetyClass grades the danger of a step.
type SafetyClass int

// The safety classes: practice: own grading.
const (
	S0 SafetyClass = iota // none
	S1                    // isolated, or 24 V
	S2                    // covered 120/240 V
	S3                    // open live panel: arc and shock
	S4                    // refrigerant under pressure
	S5                    // fuel gas, carbon monoxide, combustion
	S6                    // licensed electrician or maker's data
)

// Licence is what the law or the shop asks of the person besides the danger.
type Licence string

// The licences.
const (
	NoLicence          Licence = ""
	RefrigerantLicence Licence = "refrigerant"
	ElectricianLicence Licence = "electrician"
	GasLicence         Licence = "gas"
)

// Check is something to measure or observe.
type Check struct {
	ID      string
	Minutes float64
	Safety  SafetyClass
	Needs   []Need
	// PerPoint says that each point is a purchase of its own at Minutes; otherwise
	// one purchase reads all points of the check at a demand.
	PerPoint bool
	Licence  Licence
}

// Need is a setup state that must hold or must not hold.
type Need struct {
	State string
	On    bool
}

// SetupState is something to be switched, opened or connected, with its minutes.
type SetupState struct {
	ID      string
	On, Off float64 // minutes to bring about and to take back
}

// Point is one thing to be read at one demand.
type Point struct {
	Ref
	Dim quantity.Dimension
	// Words are the possible words; empty for a meter.
	Words []string
	// Degrees holds the words in order where they are degrees of one thing, as
	// indices into Words: the eye takes one for the next rather than for another.
	Degrees []int
	// Subsystem is where an unlisted cause would show in this point; "" if the
	// point answers to the whole system.
	Subsystem string

	// Meter says how well a number is read and predicted; of no account with words.
	Meter fieldtest.Meter

	// Slow says that an unsettled reading of it can mislead.
	Slow bool
	// Sensed says that it is seen, heard or felt; such observations err more often.
	Sensed bool
	// Wrong is the share of its readings that are wrong, where that was learned; 0: that of the settings.
	Wrong float64
}

// Repair is a repair.
type Repair struct {
	ID      string
	Minutes float64
	// WrongMinutes is the price of doing it in vain, beyond its minutes.
	WrongMinutes float64
	// Fix is the probability that it cures the faults it is for.
	Fix      float64
	Safety   SafetyClass
	Licence  Licence
	Needs    []Need
	Invasive bool // recovery, compressor, coil, board: two readings and 80 % asked
	Charge   bool // changes the charge: the charge gate holds
	// AskWhy says that the part seldom fails by itself.
	AskWhy bool
	// Induces lists the faults (by id) that it leaves behind where it is done without
	// care; those that are no hypothesis by themselves are passed over.
	Induces []string
}
