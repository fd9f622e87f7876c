package fieldtest

import (
	"math"
	"slices"

	"rung/internal/fault"
	"rung/internal/plant"
	"rung/internal/quantity"
)

// Power says whether a check is done with the power on.
type Power string

// The powers.
const (
	PowerOn     Power = "on"
	PowerOff    Power = "off"
	PowerEither Power = "either"
)

// Check is something to measure or observe: one purchase of minutes, one or
// more points to read.
type Check struct {
	ID         string
	Name       fault.Text
	Measures   fault.Text
	Where      fault.Text
	Instrument fault.Text // "none" where nothing is needed
	// Minutes is the time of the check itself, without the states it needs.
	Minutes float64
	// PerPoint says that each point costs Minutes by itself.
	PerPoint  bool
	Power     Power
	Needs     []string // set-up states that must hold
	Without   []string // set-up states that must not hold
	Safety    string   // safety class
	Licence   string   // refrigerant, electrician or empty
	Subsystem string   // group of faults in which an unlisted cause would show
	Steps     []Step
	Points    []Point
}

// Step is one sentence of how, with the cautions shown at it.
type Step struct {
	Text     fault.Text
	Cautions []string
}

// Phase is when a point is read.
type Phase string

// The phases.
const (
	Standing Phase = "standing" // nothing has to run, and nothing has to settle
	AtStart  Phase = "at-start" // in the first instants of a call
	Settled  Phase = "settled"  // when the call has done what it does
)

// Point is one thing to be read.
type Point struct {
	ID        string
	Name      fault.Text
	Alone     bool            // its name says enough without that of its check
	Main      bool            // what the check is about, of several points: the one meant where none is named
	When      plant.Equipment // the point exists only with it
	Dim       quantity.Dimension
	Unit      string // symbol of the trade unit it is usually read in
	Words     []string
	WordsES   []string
	Degrees   []string // the words in order, where they are degrees of one thing; else empty
	Demands   []plant.Demand
	Phase     Phase
	Settle    float64 // minutes of running before it counts
	Subsystem string
	Meter     Meter
	Beyond    fault.Text // what to tell when a reading cannot be real
	Reads     string     // kind and arguments, as in the data; empty where only described systems have the point
	Wiring    string     // how it is read on a described system, as in the data; empty if on none
	// WiringDemands are the demands at which it is read there.
	WiringDemands []plant.Demand

	read   reader
	wiring []way
}

// Meter says how well a number is read and predicted, in SI.
type Meter struct {
	// Accuracy is the limit of error of the instrument: fixed part and share
	// of the reading.
	Accuracy, AccuracyRatio float64
	Resolution              float64
	// Discrepancy is the standard deviation by which the model misses.
	Discrepancy, DiscrepancyRatio float64
	// Low and High bound what a reading can be.
	Low, High float64
	// OpenAtTop: at High and above the meter shows OL; it is entered as High.
	OpenAtTop bool
}

// Limit returns the limit of error of the instrument at a reading, in SI: it
// may be off by as much either way, any amount alike.
func (m *Meter) Limit(value float64) float64 {
	return m.Accuracy + m.AccuracyRatio*math.Abs(value)
}

// Instrument returns the standard deviation of what the instrument itself
// shows at a value: its limit of error and its resolution together.
//
// published: JCGM 100:2008, 4.3.7: a limit of error a is a rectangular
// distribution of variance a²/3, one digit of resolution d has d²/12.
func (m *Meter) Instrument(value float64) float64 {
	limit := m.Limit(value)
	return math.Sqrt(limit*limit/3 + m.Resolution*m.Resolution/12)
}

// Sigma returns the standard deviation of a reading round a prediction of the
// given value: instrument and model together.
func (m *Meter) Sigma(value float64) float64 {
	limit, ratio := m.Limit(value), m.DiscrepancyRatio*value
	return math.Sqrt(limit*limit/3 + m.Resolution*m.Resolution/12 + m.Discrepancy*m.Discrepancy + ratio*ratio)
}

// HeatSource is the burner or the strips. No plant has it, so a point that
// needs it is never predicted: it is looked at, and kept with the record.
const HeatSource plant.Equipment = "heat-source"

// Applies reports whether a plant with this equipment has the point.
func (p *Point) Applies(has func(plant.Equipment) bool) bool {
	return p.read != nil && (p.When == "" || has(p.When))
}

// At reports whether the point can be read on a plant at the demand d.
func (p *Point) At(d plant.Demand) bool { return slices.Contains(p.Demands, d) }

// AtAll reports whether the point can be read at the demand d on any system.
func (p *Point) AtAll(d plant.Demand) bool { return p.At(d) || slices.Contains(p.WiringDemands, d) }

// Word returns the index of a word of the point.
func (p *Point) Word(word string) (int, bool) {
	for i, w := range p.Words {
		if w == word {
			return i, true
		}
	}
	return 0, false
}

// ImpossibleError says that a reading cannot be real.
type ImpossibleError struct {
	Check, Point string
	Range        quantity.RangeError // in SI
	Dim          quantity.Dimension
	Unit         string     // trade unit of the point
	Advice       fault.Text // what it means and what to do
}

func (e *ImpossibleError) Error() string {
	return e.Check + " " + e.Point + ": " + e.Range.Error() + ": " + e.Advice.EN
}

// Unwrap returns the range.
func (e *ImpossibleError) Unwrap() error { return &e.Range }

// Credible refuses a reading, in SI, that cannot be real, with an
// *ImpossibleError.
func (c *Check) Credible(p *Point, value float64) error {
	if p.Meter.Low <= value && value <= p.Meter.High {
		return nil
	}
	return &ImpossibleError{Check: c.ID, Point: p.ID, Dim: p.Dim, Unit: p.Unit, Advice: p.Beyond,
		Range: quantity.RangeError{Op: "reading", Name: p.Name.EN, Value: value, Min: p.Meter.Low, Max: p.Meter.High, Unit: "SI " + string(p.Dim)}}
}

// Setup is a state that a check needs, with the minutes to bring it about and
// to undo it.
type Setup struct {
	ID            string
	Name          fault.Text
	Minutes, Undo float64
	Excludes      []string
	Licence       string
	Cautions      []string
	Step          fault.Text
}

// Caution is a warning shown at a step.
type Caution struct {
	ID   string
	Text fault.Text
}

// Safety is a class of danger.
type Safety struct {
	ID    string
	Name  fault.Text
	Rank  float64 // the worse the higher
	Alone bool    // an apprentice may do it alone
}

// Alike is a fault that no check tells from some others, or not in all their
// severities, and the physical reason.
type Alike struct {
	Fault string
	With  []string
	Why   string
}

// Catalogue is everything under data/.
type Catalogue struct {
	Checks   []Check
	Setups   []Setup
	Cautions []Caution
	Safeties []Safety
	Alikes   []Alike
}

// Check returns the check with this id.
func (c *Catalogue) Check(id string) (*Check, bool) {
	for i := range c.Checks {
		if c.Checks[i].ID == id {
			return &c.Checks[i], true
		}
	}
	return nil, false
}

// Point returns the point of a check. Without a point, or with the check's own
// id for it, it is its only one, or the one that the check is about.
func (c *Catalogue) Point(check, point string) (*Check, *Point, bool) {
	k, ok := c.Check(check)
	if !ok {
		return nil, nil, false
	}
	unnamed := point == "" || point == check
	for i := range k.Points {
		p := &k.Points[i]
		if p.ID == point || unnamed && (p.Main || len(k.Points) == 1) {
			return k, p, true
		}
	}
	return k, nil, false
}

// Caution returns the caution with this id.
func (c *Catalogue) Caution(id string) (*Caution, bool) {
	for i := range c.Cautions {
		if c.Cautions[i].ID == id {
			return &c.Cautions[i], true
		}
	}
	return nil, false
}

// Setup returns the set-up state with this id.
func (c *Catalogue) Setup(id string) (*Setup, bool) {
	for i := range c.Setups {
		if c.Setups[i].ID == id {
			return &c.Setups[i], true
		}
	}
	return nil, false
}

// Safety returns the safety class with this id.
func (c *Catalogue) Safety(id string) (*Safety, bool) {
	for i := range c.Safeties {
		if c.Safeties[i].ID == id {
			return &c.Safeties[i], true
		}
	}
	return nil, false
}
