package fieldtest

import (
	"fmt"
	"math"
	"time"

	"rung/internal/plant"
)

// Ref names one thing that can be read: a point of a check at a demand.
type Ref struct {
	Check, Point string
	Demand       plant.Demand
}

// Kind says which field of an Outcome counts.
type Kind uint8

// The kinds of outcome.
const (
	NotReadable Kind = iota // the point shows nothing there and then
	IsValue
	IsWord
)

// Outcome is what a point shows.
type Outcome struct {
	Kind  Kind
	Value float64 // SI, if Kind is IsValue
	Word  int     // index into Point.Words, if Kind is IsWord
}

func value(v float64) Outcome { return Outcome{Kind: IsValue, Value: v} }
func word(i int) Outcome      { return Outcome{Kind: IsWord, Word: i} }

// reader reads one point from a state.
type reader func(*plant.State) Outcome

// Predict returns what the point shows in the state. A number outside what
// the meter can show is its nearest end: an open winding reads OL. A point
// whose equipment is not fitted, or which stands still when it is read in
// motion, is NotReadable.
func (p *Point) Predict(s *plant.State) Outcome {
	if !p.Applies(s.Plant().Has) {
		return Outcome{}
	}
	o := p.read(s)
	if o.Kind == IsValue {
		if math.IsNaN(o.Value) {
			return Outcome{}
		}
		o.Value = min(max(o.Value, p.Meter.Low), p.Meter.High)
	}
	return o
}

// Predict returns what the point named by ref shows in the state, which must
// be of the same demand.
func (c *Catalogue) Predict(s *plant.State, ref Ref) (Outcome, error) {
	_, p, ok := c.Point(ref.Check, ref.Point)
	switch {
	case !ok:
		return Outcome{}, fmt.Errorf("fieldtest.Predict: no point %s of check %s", ref.Point, ref.Check)
	case !p.At(ref.Demand):
		return Outcome{}, fmt.Errorf("fieldtest.Predict: %s %s is not read at demand %s", ref.Check, ref.Point, ref.Demand)
	case s.Demand != ref.Demand:
		return Outcome{}, fmt.Errorf("fieldtest.Predict: a state at demand %s, want %s", s.Demand, ref.Demand)
	}
	return p.Predict(s), nil
}

// readable is how long a run must last for meters to be read in it.
// practice: a minute is enough for a clamp and a look; gauges move within it.
const readable = time.Minute

// phase returns the phase of the plant in which a point of phase ph is read:
// a run that ends in a trip is read before the trip if it lasts long enough.
func phase(s *plant.State, ph Phase) plant.PhaseID {
	switch {
	case ph == AtStart:
		return plant.AtStart
	case s.Trip != plant.NoTrip && s.TripAfter >= readable:
		return plant.Running
	}
	return plant.Settled
}

// maker makes the reader of a point from the arguments of its "reads".
type maker func(*Point, []string) (reader, error)

// readers holds the kinds of reading.
var readers = map[string]maker{}

func init() {
	for kind, m := range map[string]maker{
		"volts": makeVolts, "across": makeAcross, "amps": makeAmps,
		"capacitance-bench": makeCapacitance, "capacitance-running": makeRunningCapacitance,
		"ohms": makeOhms, "pressure": makePressure, "temp": makeTemp, "air": makeAir,
		"standing-excess": plain(standingExcess), "pipe-drop": makePipeDrop, "room-offset": plain(roomOffset),
		"line-fuse": makeLineFuse, "nothing": plain(func(*plant.State) Outcome { return Outcome{} }),
	} {
		readers[kind] = m
	}
	for kind, f := range observations {
		readers[kind] = makeWord(f)
	}
}

func plain(r reader) maker {
	return func(_ *Point, args []string) (reader, error) {
		if len(args) != 0 {
			return nil, fmt.Errorf("takes no arguments, has %v", args)
		}
		return r, nil
	}
}

// oneOf finds the single argument among the choices.
func oneOf[T any](args []string, choices map[string]T) (T, error) {
	var none T
	if len(args) != 1 {
		return none, fmt.Errorf("want one argument, have %v", args)
	}
	x, ok := choices[args[0]]
	if !ok {
		return none, fmt.Errorf("no place %q", args[0])
	}
	return x, nil
}
