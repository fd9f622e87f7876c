package trial

import "math"

// modelError is how the hidden plants differ from the engine's model.
//
// The shape is that of the evaluation this was planned by; the sizes of all but
// Effects are scaled with it so that 0 is a right model and 0.3 is what was planned:
// practice: judgement, nothing counted.
type modelError struct {
	effects   float64 // sd of the logarithm by which the effect of a fault on a reading is larger
	missing   float64 // share of effects that do not come about
	spurious  float64 // share of readings that show the effect of another fault
	tolerance float64 // factor on the spread of sound parts and on what is told of the surroundings
	noise     float64 // factor on the errors of meters and of the model of a sound plant
}

// plannedError is the size for which the shares were set.
const plannedError = 0.3

func errorOf(size float64) modelError {
	s := size / plannedError
	return modelError{effects: size, missing: 0.1 * s, spurious: 0.02 * s, tolerance: 1 + 0.3*s, noise: 1 + 0.5*s}
}

// How well the surroundings told fit the true ones.
// practice: a thermometer in the shade and a sling; a voltmeter of 1 %.
const (
	airOff  = 0.5   // K, sd
	lineOff = 0.005 // sd, share
)

// Shares of meters and people.
const (
	refusedShare = 0.02 // checks that cannot be done: practice: a stuck screw, a missing port
	drifted      = 0.7  // part of the limit of error that is the same in all readings of an instrument: practice
	// A wrong reading is half the time that of another place of the same kind, else
	// anything the meter can show: practice: wrong terminal, wrong mode.
	wrongPlace = 0.5
)

// roundTo returns v as a meter shows it.
func roundTo(v, resolution float64) float64 {
	if resolution <= 0 {
		return v
	}
	return math.Round(v/resolution) * resolution
}
