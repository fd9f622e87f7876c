package scenario

import (
	"fmt"
	"math"
	"math/rand/v2"

	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// Hidden is the machine as it truly is: tolerances of its own, perhaps a
// fault, and meters that err.
type Hidden struct {
	plant   *plant.Plant
	sound   plant.Params // tolerances drawn, nothing wrong
	now     plant.Params
	present []*fault.Fault
	faults  *fault.Catalogue
	checks  *fieldtest.Catalogue
	solver  *plant.Solver
	at      plant.Surroundings
	rng     *rand.Rand
}

// NewHidden returns a machine of the same nameplate as p, with tolerances and
// meter errors that follow from seed.
func NewHidden(p *plant.Plant, at plant.Surroundings, seed uint64) (*Hidden, error) {
	faults, err := fault.Load()
	if err != nil {
		return nil, err
	}
	checks, err := fieldtest.Load()
	if err != nil {
		return nil, err
	}
	solver, err := p.NewSolver()
	if err != nil {
		return nil, err
	}
	h := &Hidden{plant: p, faults: faults, checks: checks, solver: solver, at: at, rng: rand.New(rand.NewPCG(seed, 0x5ce7a410))}
	h.sound = p.Healthy()
	for _, nuisance := range plant.Nuisances() {
		if !p.Has(nuisance.Param.Describe().Needs) {
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

// Hide puts a fault into the machine; u is the quantile of its severity.
func (h *Hidden) Hide(id string, u float64) error {
	f, ok := h.faults.Fault(id)
	if !ok {
		return fmt.Errorf("no fault %q", id)
	}
	if !f.Fits(h.plant.Has) {
		return fmt.Errorf("this machine cannot have %q", id)
	}
	if err := f.Apply(&h.now, u); err != nil {
		return err
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
	state, err := h.solver.Solve(&h.now, h.at, demand)
	if err != nil {
		return Reading{}, fmt.Errorf("solve the machine: %w", err)
	}
	out, err := h.checks.Predict(state, fieldtest.Ref{Check: check, Point: point, Demand: demand})
	if err != nil {
		return Reading{}, err
	}
	switch out.Kind {
	case fieldtest.IsWord:
		return Reading{Text: p.Words[out.Word]}, nil
	case fieldtest.IsValue:
		return h.blur(p, out.Value, state.Ambient)
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
