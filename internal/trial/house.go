package trial

import (
	"fmt"
	"math"
	"math/rand/v2"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/quantity"
)

// kind is what a configuration is made of: a plant or a description.
type kind interface {
	// can lists the faults that it can have.
	can(all *fault.Catalogue) []*fault.Fault
	// demands are those at which it is read.
	demands() []plant.Demand
	// house returns one of it, as one stands somewhere.
	house() house
	// open returns who gives advice about it for each complaint, by a catalogue.
	open(faults *fault.Catalogue, set diagnosis.Settings) (func(complaint string) (adviser, error), error)
	// sits are the states that hold on arrival and after a repair.
	sits() []string
	// verifying lists the checks that follow every repair.
	verifying() []string
}

// house is one plant with all that nobody is told.
type house interface {
	// draw draws its tolerances, and what is told of the surroundings and is not so.
	draw(r *rand.Rand, tolerance float64) error
	// shows returns what all points show at a demand with some faults.
	shows(faults []*fault.Fault, severity []float64, d plant.Demand) ([]shown, error)
}

// adviser gives advice.
type adviser interface {
	Advise(diagnosis.Case) (diagnosis.Advice, error)
	Decide(diagnosis.Case) (diagnosis.Advice, error)
	Survey(c diagnosis.Case, score bool) (diagnosis.Survey, error)
}

// built is a plant that cools.
type built struct {
	plant  *plant.Plant
	at     plant.Surroundings
	checks *fieldtest.Catalogue
	solver *plant.Solver // made when the first house is
}

func (b *built) can(all *fault.Catalogue) []*fault.Fault { return all.Fits(b.plant.Has) }

func (b *built) demands() []plant.Demand {
	return []plant.Demand{plant.Off, plant.Cool, plant.Fan, plant.Heat}
}

func (b *built) sits() []string { return []string{"outdoor-running", "indoor-running"} }

func (b *built) verifying() []string { return []string{"look-listen", "delta-t-air"} }

func (b *built) house() house { return &builtHouse{built: b} }

func (b *built) open(faults *fault.Catalogue, set diagnosis.Settings) (func(string) (adviser, error), error) {
	base, err := diagnosis.Open(diagnosis.Situation{Plant: b.plant, Faults: faults, Checks: b.checks, At: b.at,
		OutdoorKnown: true, WetBulbKnown: true}, set)
	if err != nil {
		return nil, err
	}
	return func(complaint string) (adviser, error) { return base.For(complaint) }, nil
}

// builtHouse is a plant with its tolerances drawn.
type builtHouse struct {
	*built
	sound   plant.Params
	outside plant.Surroundings // as they are
}

func (h *builtHouse) draw(r *rand.Rand, tolerance float64) error {
	h.outside = h.at
	h.outside.Outdoor += quantity.Temperature(airOff * tolerance * r.NormFloat64())
	h.outside.ReturnDryBulb += quantity.Temperature(airOff * tolerance * r.NormFloat64())
	h.outside.ReturnWetBulb += quantity.Temperature(airOff * tolerance * r.NormFloat64())
	h.outside.Line *= quantity.Voltage(1 + lineOff*tolerance*r.NormFloat64())
	h.sound = h.plant.Healthy()
	for _, n := range plant.Nuisances() {
		u := r.Float64()
		if n.Shape != plant.IndexShape {
			u = widened(u, tolerance)
		}
		if err := n.Draw(&h.sound, math.Min(math.Max(u, 1e-9), 1-1e-9)); err != nil {
			return err
		}
	}
	return nil
}

func (h *builtHouse) shows(faults []*fault.Fault, severity []float64, d plant.Demand) ([]shown, error) {
	if h.solver == nil {
		var err error
		if h.solver, err = h.plant.NewSolver(); err != nil {
			return nil, fmt.Errorf("trial: %w", err)
		}
	}
	ps := h.sound
	for i, f := range faults {
		if err := f.Apply(&ps, severity[i]); err != nil {
			return nil, err
		}
	}
	st, err := h.solver.Solve(&ps, h.outside, d)
	if err != nil {
		return nil, err
	}
	var out []shown
	for i := range h.checks.Checks {
		c := &h.checks.Checks[i]
		for j := range c.Points {
			p := &c.Points[j]
			if p.At(d) && p.Applies(h.plant.Has) {
				out = append(out, shown{c, p, p.Predict(st)})
			}
		}
	}
	return out, nil
}
