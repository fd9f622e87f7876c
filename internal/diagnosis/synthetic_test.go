package diagnosis

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"rung/internal/fieldtest"
)

// synthetic is a made-up world: each fault moves some points by its severity, two
// nuisances move all points of their kind a little. Words cross a threshold.
type synthetic struct {
	hyps    []Hypothesis
	repairs []Repair
	checks  []Check
	points  []Point
	effect  map[string][]float64 // by fault, one per point, in kernels
	seed    uint64
}

const syntheticSubsystems = 3

// newSynthetic returns a world of the given size. Everything in it follows from the seed.
func newSynthetic(faults, checks int, seed uint64) *synthetic {
	r := rand.New(rand.NewPCG(seed, 1))
	w := &synthetic{seed: seed, effect: map[string][]float64{}}
	w.addChecks(r, checks)
	w.hyps = append(w.hyps, Hypothesis{ID: "healthy", Prior: 0.05})
	for f := range faults {
		id := fmt.Sprintf("fault-%02d", f)
		repair := fmt.Sprintf("repair-%02d", f*2/3)
		if f*2/3 == len(w.repairs) {
			w.repairs = append(w.repairs, Repair{ID: repair, Minutes: 10 + 40*r.Float64(), WrongMinutes: 80 * r.Float64(), Fix: 0.97,
				Safety: SafetyClass(r.IntN(5)), Licence: []Licence{"", "", RefrigerantLicence, ElectricianLicence}[r.IntN(4)], Invasive: r.IntN(6) == 0, Needs: []Need{{"power", false}}})
		}
		w.hyps = append(w.hyps, Hypothesis{ID: id, Faults: []Fault{{id, repair}},
			Subsystem: w.subsystem(f), Prior: math.Exp(0.8 * r.NormFloat64()), Charge: f == 1})
		effects := make([]float64, len(w.points))
		for p := range effects {
			if r.IntN(4) == 0 {
				effects[p] = 12 * r.NormFloat64()
			}
		}
		w.effect[id] = effects
	}
	pair := Hypothesis{ID: "fault-00+fault-02", Prior: 0.1, Subsystem: w.subsystem(0)}
	pair.Faults = append(append(pair.Faults, w.hyps[1].Faults...), w.hyps[3].Faults...)
	w.hyps = append(w.hyps, pair)
	return w
}

func (w *synthetic) subsystem(i int) string { return fmt.Sprintf("sub-%d", i%syntheticSubsystems) }

func (w *synthetic) addChecks(r *rand.Rand, n int) {
	for c := range n {
		ck := Check{ID: fmt.Sprintf("check-%02d", c), Minutes: 1 + 9*r.Float64(), Safety: SafetyClass(r.IntN(7)), Licence: []Licence{"", "", "", RefrigerantLicence}[r.IntN(4)]}
		if c%3 == 0 {
			ck.Safety = S0
		}
		switch r.IntN(4) {
		case 0:
			ck.Needs = []Need{{"panel", true}}
		case 1:
			ck.Needs = []Need{{"power", false}, {"panel", true}}
		}
		w.checks = append(w.checks, ck)
		for p := range 1 + r.IntN(3) {
			pt := Point{Ref: Ref{ck.ID, fmt.Sprintf("p%d", p), Cool}, Meter: fieldtest.Meter{Accuracy: 0.6, Resolution: 0.1, Discrepancy: 0.5, Low: -60, High: 60},
				Slow: r.IntN(3) == 0}
			if p == 1 {
				pt.Words = []string{"low", "normal", "high"}
				pt.Sensed = true
			}
			if r.IntN(3) > 0 {
				pt.Subsystem = w.subsystem(r.IntN(syntheticSubsystems))
			}
			if r.IntN(5) == 0 {
				pt.Demand = Off
			}
			w.points = append(w.points, pt)
		}
	}
}

func (w *synthetic) Hypotheses() []Hypothesis { return w.hyps }
func (w *synthetic) Repairs() []Repair        { return w.repairs }
func (w *synthetic) Checks() []Check          { return w.checks }
func (w *synthetic) Points() []Point          { return w.points }
func (w *synthetic) SetupStates() []SetupState {
	return []SetupState{{ID: "panel", On: 4, Off: 3}, {ID: "power", On: 1, Off: 2}}
}
func (w *synthetic) Subsystems() []Subsystem {
	var out []Subsystem
	for i := range syntheticSubsystems {
		out = append(out, Subsystem{w.subsystem(i), 0.3})
	}
	return out
}

func (w *synthetic) Severity(h, n int) float64 {
	if len(w.hyps[h].Faults) == 0 {
		return math.NaN()
	}
	return w.draw(w.hyps[h].Faults[0].ID, n)
}

// draw returns the severity of a fault in particle n.
func (w *synthetic) draw(fault string, n int) float64 {
	seed := uint64(14695981039346656037)
	for _, b := range []byte(fault) {
		seed = (seed ^ uint64(b)) * 1099511628211
	}
	return rand.New(rand.NewPCG(seed, uint64(n)+w.seed)).Float64()
}

func (w *synthetic) Predict(h, n int, d Demand, out []Outcome) {
	r := rand.New(rand.NewPCG(uint64(n), w.seed))
	a, b := r.NormFloat64(), r.NormFloat64()
	at := 0
	for p, pt := range w.points {
		if pt.Demand != d {
			continue
		}
		y := a*float64(p%3)/2 + b*float64(p%2)/2
		for _, f := range w.hyps[h].Faults {
			y += w.effect[f.ID][p] * (0.5 + w.draw(f.ID, n))
		}
		out[at] = w.show(pt, y)
		at++
	}
}

// show turns a number into what a point shows.
func (w *synthetic) show(pt Point, y float64) Outcome {
	switch {
	case len(pt.Words) > 0 && y < -4:
		return Word(0)
	case len(pt.Words) > 0 && y > 4:
		return Word(2)
	case len(pt.Words) > 0:
		return Word(1)
	case y > 25:
		return NotReadable()
	}
	return Value(y)
}

// truth is a hidden state of a synthetic world that answers checks.
type truth struct {
	w    *synthetic
	hyp  int
	seed int // a particle the engine never draws
	r    *rand.Rand
	out  map[Demand][]Outcome
}

func (w *synthetic) hide(hyp int, seed uint64) *truth {
	t := &truth{w: w, hyp: hyp, seed: 100_000 + int(seed), r: rand.New(rand.NewPCG(seed, 77))}
	t.solve()
	return t
}

func (t *truth) solve() {
	t.out = map[Demand][]Outcome{}
	for _, d := range []Demand{Off, Cool} {
		out := make([]Outcome, len(t.w.points))
		t.w.Predict(t.hyp, t.seed, d, out)
		t.out[d] = out
	}
}

// read returns a reading with meter noise.
func (t *truth) read(ref Ref, seq, epoch int) Reading {
	at := 0
	for _, pt := range t.w.points {
		if pt.Ref == ref {
			break
		}
		if pt.Demand == ref.Demand {
			at++
		}
	}
	o := t.out[ref.Demand][at]
	if o.Kind == IsValue {
		o.Value += 0.6 * t.r.NormFloat64()
	}
	return Reading{ID: fmt.Sprint("r", seq), Ref: ref, Outcome: o, Seq: seq, Epoch: epoch}
}

func mustEngine(tb testing.TB, w World) *Engine {
	tb.Helper()
	e, err := NewEngine(w, DefaultSettings())
	if err != nil {
		tb.Fatal(err)
	}
	return e
}

func mustAdvise(tb testing.TB, e *Engine, c Case) Advice {
	tb.Helper()
	a, err := e.Advise(c)
	if err != nil {
		tb.Fatal(err)
	}
	return a
}

// able may do everything.
var able = Person{Role: Mechanic, Refrigerant: true, Gas: true, Electrician: true}

// openGate knows everything that the charge gate asks.
var openGate = ChargeFacts{Outdoor: 308, RefrigerantKnown: true, MeteringKnown: true, ReturnWetBulbKnown: true,
	AirflowKnown: true, FilterAndCoilsClean: true, Settled: true, CompressorPumping: true}

// play follows the advice until it says something else than check. It returns the case and the last advice.
func play(tb testing.TB, e *Engine, t *truth, c Case) (Case, Advice) {
	tb.Helper()
	for range 40 {
		a := mustAdvise(tb, e, c)
		if a.Verdict != VerdictCheck {
			return c, a
		}
		next := a.Next[0]
		for _, st := range next.Setup {
			c.Setup = switched(c.Setup, st)
		}
		for _, ref := range next.Refs {
			c.Readings = append(c.Readings, t.read(ref, len(c.Readings)+1, c.Epoch()))
		}
	}
	return c, mustAdvise(tb, e, c)
}

// switched returns the setup after one step.
func switched(setup []string, st SetupStep) []string {
	var out []string
	for _, s := range setup {
		if s != st.State {
			out = append(out, s)
		}
	}
	if st.On {
		out = append(out, st.State)
	}
	return out
}
