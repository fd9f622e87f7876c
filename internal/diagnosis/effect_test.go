package diagnosis

import (
	"math"
	"testing"
)

// A reading as on a sound system speaks against a fault by no more than the share of
// effects that do not show, and an effect somewhat larger than that of the model still speaks for it. Property.
func TestEffectsThatDoNotShow(t *testing.T) {
	e := mustEngine(t, newSynthetic(12, 12, 3))
	found := false
	for point := range e.points {
		for h := range e.hyps {
			y, sound := e.predicted(point, h, 0), e.predicted(point, e.healthy, 0)
			p := &e.points[point]
			if h == e.healthy || len(p.Words) > 0 || math.Abs(y-sound) < 8*e.sigma(p, y) || math.Abs(y-sound) > 40 {
				continue
			}
			found = true
			of := func(x float64, h int) float64 {
				v := evidence{point: point, outcome: Value(x), eps: e.set.Epsilon, widen: 1}
				particles := make([]int, len(e.hyps))
				for i := range particles {
					particles[i] = e.hyps[i].least
				}
				return e.likelihoodsOf(v, particles).of[h][0]
			}
			if lost := of(sound, e.healthy) - of(sound, h); lost > -math.Log(e.set.EffectMissing)+1e-9 {
				t.Errorf("%s at %v: a sound reading takes %.2f nat from it", e.hyps[h].ID, p.Ref, lost)
			}
			if larger := sound + 1.3*(y-sound); math.Abs(larger) < 60 && of(larger, h)-of(larger, e.healthy) < 1 {
				t.Errorf("%s at %v: an effect a third larger gains it %.2f nat only", e.hyps[h].ID, p.Ref, of(larger, h)-of(larger, e.healthy))
			}
		}
	}
	if !found {
		t.Error("no fault moves a reading far")
	}
}

// The masses of cells add up to one whatever the effect.
func TestMassesAddUp(t *testing.T) {
	w := newSynthetic(12, 12, 3)
	e := mustEngine(t, w)
	in, err := e.infer(start())
	if err != nil {
		t.Fatal(err)
	}
	s := in.selectionOf(in.posterior(in.all()))
	for point := range e.points {
		c := s.cellsFor(point, intervalsAlone)
		for i := range c.mass {
			sum := 0.0
			for _, m := range c.mass[i] {
				sum += m
			}
			if math.Abs(sum-1) > 1e-9 {
				t.Errorf("%v, entry %d: %g", e.points[point].Ref, i, sum)
			}
		}
	}
}
