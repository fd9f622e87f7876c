package replace

import (
	"math"

	"rung/internal/quantity"
)

// CaseShape is the shape of a capacitor's can.
type CaseShape string

// The shapes; empty is not known.
const (
	RoundCase CaseShape = "round"
	OvalCase  CaseShape = "oval"
)

// CapacitorLabel is what is printed on a capacitor, and its size.
type CapacitorLabel struct {
	Name        string // as it is called on the truck: bin, mark
	Start       bool   // a motor-start capacitor: a range of µF, minutes of duty at most
	Capacitance quantity.Capacitance
	Fan         quantity.Capacitance // second section of a dual; 0 for a single
	Volts       quantity.Voltage
	// Below and Above are the printed tolerance as fractions, both positive;
	// both zero if none is printed, which counts as ±6 %.
	Below, Above float64
	Case         CaseShape
	Height       quantity.Length // of the can without terminals; 0: not known
	Posts        int             // blades at each terminal; 0: not known
}

// Dual says whether there are two sections with one common terminal.
func (l CapacitorLabel) Dual() bool { return l.Fan > 0 }

// usualTolerance is taken where a can prints none.
const usualTolerance = 0.06 // practice: the usual mark on a run capacitor

// Band returns the least and the most capacitance that the printed tolerance
// allows around rated.
func (l CapacitorLabel) Band(rated quantity.Capacitance) (low, high quantity.Capacitance) {
	below, above := l.Below, l.Above
	if below == 0 && above == 0 {
		below, above = usualTolerance, usualTolerance
	}
	return rated * quantity.Capacitance(1-below), rated * quantity.Capacitance(1+above)
}

// CapacitorNeed is what is to be replaced.
type CapacitorNeed struct {
	// Label is the can that served the motor. Its capacitances may be zero if
	// it cannot be read.
	Label CapacitorLabel
	// Plate holds what the plate of the unit or motor asks for; it wins over
	// the can. Zero fields are not known.
	Plate CapacitorLabel
	// Room is the height that the bracket and the cover leave; 0: not known.
	Room quantity.Length
	// Posts is how many leads sit on the fullest terminal; 0: not known.
	Posts int
}

// Limits of what a run capacitor can be.
//
// practice: 2 to 100 µF at 330 to 600 V are made for motors of this trade.
const (
	leastCapacitance, mostCapacitance = 1.5e-6, 105e-6 // F
	leastVolts, mostVolts             = 300.0, 660.0   // V
)

func (l CapacitorLabel) check(name string) error {
	const op = "replace.Capacitor"
	if l.Capacitance != 0 {
		if err := quantity.CheckRange(op, name+" capacitance", float64(l.Capacitance), leastCapacitance, mostCapacitance, "F"); err != nil {
			return err
		}
	}
	if l.Fan != 0 {
		if err := quantity.CheckRange(op, name+" fan capacitance", float64(l.Fan), leastCapacitance, mostCapacitance, "F"); err != nil {
			return err
		}
	}
	if l.Volts != 0 {
		if err := quantity.CheckRange(op, name+" voltage", float64(l.Volts), leastVolts, mostVolts, "V"); err != nil {
			return err
		}
	}
	for _, t := range []float64{l.Below, l.Above} {
		if err := quantity.CheckRange(op, name+" tolerance", t, 0, 0.2, "of the rated value"); err != nil {
			return err
		}
	}
	return quantity.CheckRange(op, name+" height", float64(l.Height), 0, 0.3, "m")
}

// wanted joins label and plate: the plate wins where it speaks.
func (n CapacitorNeed) wanted() (w CapacitorLabel, doubts []Sentence) {
	w = n.Label
	differ := func(plate, can quantity.Capacitance) bool {
		return plate > 0 && can > 0 && math.Abs(float64(can/plate)-1) > sameValue
	}
	if differ(n.Plate.Capacitance, w.Capacitance) {
		doubts = append(doubts, say("cap-plate-wins", microfarads("plate", n.Plate.Capacitance), microfarads("can", w.Capacitance)))
	}
	if differ(n.Plate.Fan, w.Fan) {
		doubts = append(doubts, say("cap-plate-wins", microfarads("plate", n.Plate.Fan), microfarads("can", w.Fan)))
	}
	if n.Plate.Volts > 0 && w.Volts > 0 && w.Volts < n.Plate.Volts {
		doubts = append(doubts, say("cap-was-weak", volts("can", w.Volts), volts("plate", n.Plate.Volts)))
	}
	if n.Plate.Capacitance > 0 {
		w.Capacitance = n.Plate.Capacitance
	}
	if n.Plate.Fan > 0 {
		w.Fan = n.Plate.Fan
	}
	if n.Plate.Volts > 0 {
		w.Volts = n.Plate.Volts
	}
	if n.Plate.Below != 0 || n.Plate.Above != 0 {
		w.Below, w.Above = n.Plate.Below, n.Plate.Above
	}
	return w, doubts
}

// sameValue is how far two rated values may lie apart and still be the same:
// half of the last digit of 7.5 µF.
const sameValue = 0.005

// Capacitor says which of the cans on the truck can take the place of a run
// capacitor, best first. The answer begins with a can of the same values; then
// come a dual with a section left over, two singles for a dual, and two
// sections in parallel.
//
// Where neither can nor plate tell the capacitance there is no answer but a
// doubt. An error is a *quantity.RangeError.
//
// practice: same µF within the printed tolerance, volts at least those of the
// old can, as electrical handbooks of the trade teach; no single source.
func Capacitor(n CapacitorNeed, truck []CapacitorLabel) (Answer, error) {
	for _, l := range []struct {
		name string
		CapacitorLabel
	}{{"old", n.Label}, {"plate", n.Plate}} {
		if err := l.check(l.name); err != nil {
			return Answer{}, err
		}
	}
	for i := range truck {
		if err := truck[i].check("candidate"); err != nil {
			return Answer{}, err
		}
	}
	var a Answer
	w, doubts := n.wanted()
	a.Doubts = doubts
	switch {
	case w.Start:
		a.Doubts = append(a.Doubts, say("cap-need-is-start"))
		return a, nil
	case w.Capacitance == 0:
		a.Doubts = append(a.Doubts, say("cap-need-unknown"))
		return a, nil
	case w.Volts == 0:
		w.Volts = usualRating
		a.Doubts = append(a.Doubts, say("cap-volts-assumed", volts("volts", w.Volts)))
	}
	m := capacitorMatch{CapacitorNeed: n, want: w, truck: truck}
	for i := range truck {
		a.take(m.single(i))
	}
	m.pairs(&a)
	a.sort()
	a.Buy = m.buy()
	a.Steps = m.steps()
	return a, nil
}

// usualRating is asked for where the old rating cannot be read: it stands in
// for the lower one too.
const usualRating quantity.Voltage = 440 // practice: 440 V replaces 370 V, never the reverse
