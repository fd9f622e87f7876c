package replace

import (
	"math"

	"rung/internal/quantity"
)

// Readback is what a fitted capacitor shows under load.
type Readback struct {
	Capacitance quantity.Capacitance
	Deviation   float64 // from the rated value, as a fraction
	Within      bool    // its printed tolerance and the reading's own
	Says        Sentence
}

// readingError is how far a capacitance under load can be off by the meters.
//
// practice: clamp and voltmeter of the trade, 2 % of reading and some digits each.
const readingError = 0.03

// ReadBack checks one section of a fitted capacitor from the current in its
// lead and the volts across it, running.
//
// Valid from 0.2 to 60 A, 100 to 600 V, 45 to 65 Hz; outside it returns a
// *quantity.RangeError.
//
// published: C = I/(2πfV), any text on alternating current.
func ReadBack(l CapacitorLabel, rated quantity.Capacitance, i quantity.Current, v quantity.Voltage, f quantity.Frequency) (Readback, error) {
	const op = "replace.ReadBack"
	for _, c := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"rated capacitance", float64(rated), leastCapacitance, mostCapacitance, "F"},
		{"current", float64(i), 0.05, 60, "A"},
		{"voltage", float64(v), 100, 600, "V"},
		{"frequency", float64(f), 45, 65, "Hz"},
	} {
		if err := quantity.CheckRange(op, c.name, c.value, c.lo, c.hi, c.unit); err != nil {
			return Readback{}, err
		}
	}
	r := Readback{Capacitance: quantity.Capacitance(float64(i) / (2 * math.Pi * float64(f) * float64(v)))}
	r.Deviation = float64(r.Capacitance/rated) - 1
	low, high := l.Band(rated)
	r.Within = low <= r.Capacitance && r.Capacitance <= high
	values := []Value{microfarads("read", r.Capacitance), microfarads("rated", rated), microfarads("low", low), microfarads("high", high)}
	switch {
	case r.Within:
		r.Says = say("readback-good", values...)
	case low*(1-readingError) <= r.Capacitance && r.Capacitance <= high*(1+readingError):
		r.Says = say("readback-doubtful", values...)
	default:
		r.Says = say("readback-wrong", values...)
	}
	return r, nil
}
