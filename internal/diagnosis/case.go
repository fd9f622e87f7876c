package diagnosis

import (
	"rung/internal/quantity"
)

// Demand is what the thermostat asks for while a reading is taken.
type Demand string

// The demands.
const (
	Off  Demand = "off"
	Cool Demand = "cool"
	Heat Demand = "heat"
	Fan  Demand = "fan"
)

// Ref names one thing that can be read: a point of a check at a demand, for
// example gauge-pressures/suction/cool.
type Ref struct {
	Check  string
	Point  string
	Demand Demand
}

// Before orders refs by check, point and demand.
func (r Ref) Before(s Ref) bool {
	switch {
	case r.Check != s.Check:
		return r.Check < s.Check
	case r.Point != s.Point:
		return r.Point < s.Point
	}
	return r.Demand < s.Demand
}

// OutcomeKind says which field of an Outcome counts.
type OutcomeKind int

// The kinds of outcome.
const (
	// IsValue: a number in SI units of the point's dimension.
	IsValue OutcomeKind = iota
	// IsWord: an index into the point's words.
	IsWord
	// IsNotReadable: the point exists but shows nothing there and then: no
	// capacitance under load while the motor stands. This is evidence; "could not do"
	// is not, and belongs into Case.Refused.
	IsNotReadable
)

// Outcome is what a point shows, read or predicted.
type Outcome struct {
	Kind  OutcomeKind
	Value float64 // SI, if Kind is IsValue
	Word  int     // index into Point.Words, if Kind is IsWord
}

// Value returns the outcome of a meter.
func Value(v float64) Outcome { return Outcome{Kind: IsValue, Value: v} }

// Word returns the outcome "word number i of the point".
func Word(i int) Outcome { return Outcome{Kind: IsWord, Word: i} }

// NotReadable returns the outcome of a point that shows nothing.
func NotReadable() Outcome { return Outcome{Kind: IsNotReadable} }

// Reading is one thing that was read.
type Reading struct {
	ID string // the caller's name for it, returned in advice; may be empty
	Ref
	Outcome
	// Epoch is the number of repairs that had been done when it was taken: 0
	// before the first repair.
	Epoch int
	// Seq orders the readings of a visit in time. Among repeats of one ref in
	// one epoch the highest stands and the others are not counted as independent:
	// if the repeat agrees, the reading is trusted more.
	// The weights of evidence in Advice are told in this order. It has no other effect.
	Seq int
	// Unsettled says that the system had not run long enough for a settled
	// reading. Such a reading is held against a wider kernel.
	Unsettled bool
	// Spread is an extra standard deviation in SI units for a reading whose taker
	// doubts it; 0 for none.
	Spread float64
	// Drop takes the reading out of account while it stays on record.
	Drop bool
}

// Refusal is a point that could not be read in an epoch ("could not do"). It
// says nothing about the causes; the point is not proposed again in that epoch.
type Refusal struct {
	Ref
	Epoch int
}

// Role is the standing of the person at the unit.
type Role string

// The roles.
const (
	Mechanic   Role = "mechanic"
	Apprentice Role = "apprentice"
)

// Person says what the person at the unit may do. The zero Person is an
// unaccompanied helper who may do the least.
type Person struct {
	Role        Role
	Supervised  bool // a mechanic stands beside the apprentice
	Refrigerant bool // may open the refrigerant circuit and put gauges on
	Gas         bool // may work on gas and combustion
	Electrician bool // may do what needs a licensed electrician
}

// Hazard is a danger found on site. Some stop all work.
type Hazard string

// The hazards known. HazardGasSmell, HazardCarbonMonoxide, HazardFire and
// HazardRefrigerantFlammable stop every proposal; HazardWaterNearLive bars all work on live parts.
const (
	HazardGasSmell             Hazard = "gas-smell"
	HazardCarbonMonoxide       Hazard = "carbon-monoxide"
	HazardFire                 Hazard = "smoke-or-burning"
	HazardRefrigerantFlammable Hazard = "flammable-refrigerant-leak"
	HazardWaterNearLive        Hazard = "water-near-live-parts"
)

// ChargeFacts is what decides whether the refrigerant charge may be judged.
// The zero value knows nothing, so nothing is judged.
type ChargeFacts struct {
	// Outdoor is the outdoor air temperature, 0 if not known.
	Outdoor quantity.Temperature
	// RefrigerantKnown: from the plate or proven by pressures, not guessed.
	RefrigerantKnown bool
	// MeteringKnown: fixed orifice or thermostatic valve, known.
	MeteringKnown bool
	// ReturnWetBulbKnown is needed with a fixed orifice.
	ReturnWetBulbKnown bool
	FixedOrifice       bool
	// AirflowKnown: measured or proven within limits, not assumed.
	AirflowKnown bool
	// FilterAndCoilsClean: filter, indoor and outdoor coil were seen clean.
	FilterAndCoilsClean bool
	// Settled: ran steadily long enough (15 min) before the readings.
	Settled bool
	// CompressorPumping: running, and the pressures parted.
	CompressorPumping bool
	// NoLiquid: the pressure at rest is below saturation at the colder air, so no
	// liquid is left. This needs no judging of the charge in any weather.
	NoLiquid bool
}

// Case is everything that happened on the visit so far. Advice is computed from
// it afresh each time, so taking back a reading is leaving it out.
type Case struct {
	Readings []Reading
	Refused  []Refusal
	// Repairs lists the ids of the repairs done, in order: Repairs[i] opened
	// epoch i+1.
	Repairs []string
	// Setup lists the setup states that hold now ("gauges-on", "power-off").
	Setup   []string
	Person  Person
	Hazards []Hazard
	// Charge holds what was established for the charge gate besides the readings.
	Charge ChargeFacts
}

// Epoch returns the current epoch: the number of repairs done.
func (c Case) Epoch() int { return len(c.Repairs) }
