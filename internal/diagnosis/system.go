package diagnosis

import (
	"fmt"
	"hash/fnv"
	"math"

	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
)

// Situation is a real system on one day: what is known before the first check.
type Situation struct {
	Plant  *plant.Plant
	Faults *fault.Catalogue
	Checks *fieldtest.Catalogue
	At     plant.Surroundings
	// OutdoorKnown and WetBulbKnown say that these of At were measured or looked
	// up, not assumed: the charge gate asks.
	OutdoorKnown, WetBulbKnown bool
	// Complaint is the id of a complaint of the catalogue, or empty.
	Complaint string
	// Experience is what the shop has proved and what happened to the system.
	Experience Experience
	// Pause, if not nil, is called before each plant is solved, so that a program
	// of one thread can see to other things meanwhile. Nothing may hang on it.
	Pause func()
}

// System is an Engine over the plant of a Situation.
type System struct {
	*Engine
	w     *plantWorld
	wider *widerSystems // with double faults, made on demand
}

// plantWorld is the World of a Situation.
type plantWorld struct {
	listing
	sit    Situation
	reads  [][]*fieldtest.Point // by demand, in the order of points
	sound  []plant.Params       // the sound plant in each particle
	failed int

	solver *plant.Solver
}

// rememberedCycles is how many solutions of the refrigerant side are kept: those of the
// particles of a hypothesis, for which most others have the same.
const rememberedCycles = 4096

// Open returns the system of a situation. It returns an error if the
// surroundings are outside the range of the models or a complaint is unknown.
func Open(s Situation, set Settings) (*System, error) {
	if err := s.At.Check(); err != nil {
		return nil, fmt.Errorf("diagnosis: %w", err)
	}
	if _, known := s.Faults.Complaint(s.Complaint); s.Complaint != "" && !known {
		return nil, fmt.Errorf("diagnosis: no complaint %q", s.Complaint)
	}
	solver, err := s.Plant.NewSolver()
	if err != nil {
		return nil, fmt.Errorf("diagnosis: %w", err)
	}
	solver.Remember(rememberedCycles)
	w := &plantWorld{sit: s, solver: solver, listing: listing{catalogue: s.Faults, tests: s.Checks, complaint: s.Complaint, modes: []string{"cool"}, experience: s.Experience}}
	w.list(s.Faults.Fits(s.Plant.Has))
	for i := range s.Checks.Checks {
		if err := w.addCheck(&s.Checks.Checks[i]); err != nil {
			return nil, fmt.Errorf("diagnosis: %w", err)
		}
	}
	w.heed()
	e, err := NewEngine(w, s.Experience.settings(set))
	if err != nil {
		return nil, err
	}
	return &System{Engine: e, w: w, wider: &widerSystems{}}, nil
}

// demandOrder is the order of the demands of the plant.
var demandOrder = []Demand{Off, Cool, Fan, Heat}

// addCheck adds a check with those of its points that the system has.
func (w *plantWorld) addCheck(c *fieldtest.Check) error {
	if w.reads == nil {
		w.reads = make([][]*fieldtest.Point, len(demandOrder))
	}
	any := false
	for i := range c.Points {
		p := &c.Points[i]
		if !p.Applies(w.sit.Plant.Has) {
			continue
		}
		for d, demand := range demandOrder {
			pd, err := plant.ParseDemand(string(demand))
			if err != nil {
				return err
			}
			if p.At(pd) {
				w.points = append(w.points, pointOf(c, p, demand))
				w.reads[d] = append(w.reads[d], p)
				any = true
			}
		}
	}
	if any {
		w.checks = append(w.checks, w.checkOf(c))
	}
	return nil
}

func pointOf(c *fieldtest.Check, p *fieldtest.Point, d Demand) Point {
	out := Point{Ref: Ref{c.ID, p.ID, d}, Dim: p.Dim, Words: p.Words, Subsystem: p.Subsystem, Meter: p.Meter,
		Slow: p.Settle > 0, Sensed: len(p.Words) > 0}
	for _, w := range p.Degrees {
		i, _ := p.Word(w)
		out.Degrees = append(out.Degrees, i)
	}
	if out.Subsystem == "" {
		out.Subsystem = c.Subsystem
	}
	return out
}

// Severity returns the severity quantile of the first fault.
func (w *plantWorld) Severity(h, n int) float64 {
	if len(w.faults[h]) == 0 || w.faults[h][0].SeverityText.EN == "" {
		return math.NaN()
	}
	return severityDraw(w.faults[h][0].ID, n)
}

// severityDraw returns the severity quantile of a fault in particle n: evenly
// spread over the particles, each fault beginning elsewhere.
//
// published: Niederreiter 1992, the Kronecker sequence of the golden ratio, as
// cited in the literature on quasi-random sequences.
func severityDraw(fault string, n int) float64 {
	return kronecker(hashed(fault), math.Phi, n)
}

// kronecker returns term n of the sequence start + n·step modulo 1.
func kronecker(start, step float64, n int) float64 {
	_, u := math.Modf(start + float64(n)*step)
	return u
}

// hashed returns a number between 0 and 1 that depends on a name only.
func hashed(name string) float64 {
	h := fnv.New64a()
	h.Write([]byte(name))
	return float64(h.Sum64()>>11) / (1 << 53)
}

// soundParams returns the parameters of the sound plant in particle n: each
// nuisance at a quantile of its own even sequence.
func (w *plantWorld) soundParams(n int) *plant.Params {
	for len(w.sound) <= n {
		ps := w.sit.Plant.Healthy()
		for j, nu := range plant.Nuisances() {
			u := kronecker(hashed(fmt.Sprint("nuisance ", j)), math.Sqrt(prime(j)), len(w.sound))
			u = math.Min(math.Max(u, 1e-6), 1-1e-6)
			if err := nu.Draw(&ps, u); err != nil {
				panic(fmt.Sprintf("diagnosis: nuisance %d: %v", j, err)) // u is inside its range
			}
		}
		w.sound = append(w.sound, ps)
	}
	return &w.sound[n]
}

// prime returns prime number j, counting from 0.
func prime(j int) float64 {
	for n := 2; ; n++ {
		isPrime := true
		for d := 2; d*d <= n && isPrime; d++ {
			isPrime = n%d != 0
		}
		if isPrime {
			if j == 0 {
				return float64(n)
			}
			j--
		}
	}
}

// Predict solves the plant. Where the solver fails, the neighbouring
// severities stand in; where these fail too, nothing is readable.
func (w *plantWorld) Predict(h, n int, d Demand, out []Outcome) {
	for _, shift := range []float64{0, 0.01, -0.01, 0.03, -0.03} {
		if w.predict(h, n, d, shift, out) == nil {
			return
		}
	}
	w.failed++
	for i := range out {
		out[i] = NotReadable()
	}
}

// predict is Predict with the severities shifted.
func (w *plantWorld) predict(h, n int, d Demand, shift float64, out []Outcome) error {
	ps := *w.soundParams(n)
	for _, f := range w.faults[h] {
		u := math.Min(math.Max(severityDraw(f.ID, n)+shift, 0), 1)
		if err := f.Apply(&ps, u); err != nil {
			return err
		}
	}
	pd, err := plant.ParseDemand(string(d))
	if err != nil {
		return err
	}
	if w.sit.Pause != nil {
		w.sit.Pause()
	}
	state, err := w.solver.Solve(&ps, w.sit.At, pd)
	if err != nil {
		return err
	}
	for k, demand := range demandOrder {
		if demand != d {
			continue
		}
		for i, p := range w.reads[k] {
			out[i] = outcomeOf(p.Predict(state))
		}
	}
	return nil
}

func outcomeOf(o fieldtest.Outcome) Outcome {
	switch o.Kind {
	case fieldtest.IsValue:
		return Value(o.Value)
	case fieldtest.IsWord:
		return Word(o.Word)
	}
	return NotReadable()
}

// Failures returns how many solves found no solution so far; 0 is expected.
func (s *System) Failures() int { return s.w.failed }
