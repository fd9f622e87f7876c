package scenario

import (
	"fmt"
	"math"
	"math/rand/v2"

	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/system"
	"rung/internal/tradeunit"
	"rung/internal/visit"
)

// Hidden is the machine as it truly is: tolerances of its own, perhaps a
// fault, and meters that err. It has a plant that cools, a described system, or
// both.
type Hidden struct {
	plant   *plant.Plant // nil if nothing cools
	sound   plant.Params // tolerances drawn, nothing wrong
	now     plant.Params
	wired   *fieldtest.Wired // nil if there is no described system
	heats   bool             // the described system answers where both could
	present []*fault.Fault
	faults  *fault.Catalogue
	checks  *fieldtest.Catalogue
	solver  *plant.Solver
	at      plant.Surroundings
	rng     *rand.Rand
	off     map[string]float64 // how far this house is from the described one, by point: standard deviations
}

// NewHidden returns a machine like that of a model, with tolerances and meter
// errors that follow from seed.
func NewHidden(m visit.Model, seed uint64) (*Hidden, error) {
	faults, err := fault.Load()
	if err != nil {
		return nil, err
	}
	checks, err := fieldtest.Load()
	if err != nil {
		return nil, err
	}
	h := &Hidden{plant: m.Plant, heats: m.FromWiring, faults: faults, checks: checks, at: m.Surroundings,
		rng: rand.New(rand.NewPCG(seed, 0x5ce7a410)), off: map[string]float64{}}
	if m.Wiring != nil {
		if h.wired, err = checks.On(m.Wiring); err != nil {
			return nil, err
		}
	}
	if m.Plant == nil {
		return h, nil
	}
	if h.solver, err = m.Plant.NewSolver(); err != nil {
		return nil, err
	}
	h.sound = m.Plant.Healthy()
	for _, nuisance := range plant.Nuisances() {
		if !m.Plant.Has(nuisance.Param.Describe().Needs) {
			continue
		}
		if err := nuisance.Draw(&h.sound, h.quantile()); err != nil {
			return nil, err
		}
	}
	h.now = h.sound
	return h, nil
}

// quantile returns a number strictly between 0 and 1.
func (h *Hidden) quantile() float64 { return (1 + h.rng.Float64()*998) / 1000 }

// Hide puts a fault into the machine, into the plant and the described system
// where each can have it; u is the quantile of its severity.
func (h *Hidden) Hide(id string, u float64) error {
	f, ok := h.faults.Fault(id)
	if !ok {
		return fmt.Errorf("no fault %q", id)
	}
	has := false
	if h.wired != nil {
		_, has = h.wired.System.Fault(id)
	}
	if h.plant != nil && f.Fits(h.plant.Has) {
		if err := f.Apply(&h.now, u); err != nil {
			return err
		}
		has = true
	}
	if !has {
		return fmt.Errorf("this machine cannot have %q", id)
	}
	h.present = append(h.present, f)
	return nil
}

// Repair does a repair: it cures the faults whose repair it is. The bool says
// whether it cured anything.
func (h *Hidden) Repair(id string) (bool, error) {
	var left []*fault.Fault
	for _, f := range h.present {
		if f.Repair != id {
			left = append(left, f)
		}
	}
	cured := len(left) < len(h.present)
	h.now, h.present = h.sound, nil
	for _, f := range left {
		if err := h.Hide(f.ID, 0.5); err != nil {
			return false, err
		}
	}
	return cured, nil
}

// onWiring reports whether a point is read on the described system.
func (h *Hidden) onWiring(check string, p *fieldtest.Point, demand plant.Demand) bool {
	if h.wired == nil || h.wired.Find(check, p.ID, demand) < 0 {
		return false
	}
	if h.plant == nil || !p.Applies(h.plant.Has) || !p.At(demand) {
		return true
	}
	for _, f := range h.present {
		if !f.Fits(h.plant.Has) { // the plant would show a sound system
			return true
		}
	}
	return demand == plant.Heat || demand != plant.Cool && h.heats
}

// Points returns the points of a check that the machine has at a demand.
func (h *Hidden) Points(check *fieldtest.Check, demand plant.Demand) []string {
	var list []string
	for i := range check.Points {
		p := &check.Points[i]
		if h.onWiring(check.ID, p, demand) || h.plant != nil && p.Applies(h.plant.Has) && p.At(demand) {
			list = append(list, p.ID)
		}
	}
	return list
}

// Reading is what a meter showed, as a person would type it.
type Reading struct {
	Text        string // a number in Unit, or a word
	Unit        string
	NotReadable bool
}

// Read takes one reading.
func (h *Hidden) Read(check, point string, demand plant.Demand) (Reading, error) {
	_, p, ok := h.checks.Point(check, point)
	if !ok {
		return Reading{}, fmt.Errorf("no point %s/%s", check, point)
	}
	if p.When == fieldtest.HeatSource { // in no plant: seen and read by hand, and sound
		return Reading{Text: p.Words[0]}, nil
	}
	if h.onWiring(check, p, demand) {
		return h.readWiring(check, p, demand)
	}
	state, err := h.solver.Solve(&h.now, h.at, demand)
	if err != nil {
		return Reading{}, fmt.Errorf("solve the machine: %w", err)
	}
	out, err := h.checks.Predict(state, fieldtest.Ref{Check: check, Point: point, Demand: demand})
	if err != nil {
		return Reading{}, err
	}
	return h.shown(p, out, state.Ambient)
}

// readWiring reads a point of the described system. This house is not the one
// described: its numbers are off by what the model is known to miss by.
func (h *Hidden) readWiring(check string, p *fieldtest.Point, demand plant.Demand) (Reading, error) {
	var edits []system.Edit
	for _, f := range h.present {
		if listed, has := h.wired.System.Fault(f.ID); has {
			edits = append(edits, listed.Edits...)
		}
	}
	all, err := h.wired.Read(demand, edits...)
	if err != nil {
		return Reading{}, fmt.Errorf("play the machine: %w", err)
	}
	out := all[h.wired.Find(check, p.ID, demand)]
	if out.Kind == fieldtest.IsValue && !(p.Meter.OpenAtTop && out.Value >= p.Meter.High) {
		name := check + "/" + p.ID
		if _, drawn := h.off[name]; !drawn {
			h.off[name] = h.rng.NormFloat64()
		}
		out.Value += h.off[name] * math.Hypot(p.Meter.Discrepancy*min(1, math.Abs(out.Value)), p.Meter.DiscrepancyRatio*out.Value)
	}
	return h.shown(p, out, 101325) // Pa: no pressure of a described system is read against the air
}

// shown returns an outcome as a person would type it.
func (h *Hidden) shown(p *fieldtest.Point, out fieldtest.Outcome, ambient quantity.Pressure) (Reading, error) {
	switch out.Kind {
	case fieldtest.IsWord:
		return Reading{Text: p.Words[out.Word]}, nil
	case fieldtest.IsValue:
		return h.blur(p, out.Value, ambient)
	}
	return Reading{NotReadable: true}, nil
}

// blur adds the error of the meter and cuts to its resolution.
func (h *Hidden) blur(p *fieldtest.Point, si float64, ambient quantity.Pressure) (Reading, error) {
	u, err := tradeunit.Lookup(p.Dim, p.Unit)
	if err != nil {
		return Reading{}, err
	}
	m := p.Meter
	if !(m.OpenAtTop && si >= m.High) {
		si += (2*h.rng.Float64() - 1) * m.Limit(si)
	}
	si = math.Min(math.Max(si, m.Low), m.High) // what the meter can show
	step := math.Abs(u.Of(m.Resolution, 0) - u.Of(0, 0))
	number := u.Of(si, ambient)
	if step > 0 {
		number = math.Round(number/step) * step
	}
	decimals := max(0, int(math.Ceil(-math.Log10(math.Max(step, 1e-6))-1e-9)))
	return Reading{Text: fmt.Sprintf("%.*f", decimals, number), Unit: u.Symbol}, nil
}
