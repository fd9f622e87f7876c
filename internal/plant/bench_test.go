package plant

import (
	"math/rand/v2"
	"testing"
)

// Budget: 100 µs for one plant drawn at random, faults and tolerances and all,
// on one core; no allocation once warm. Seed 4, 4.
func BenchmarkSolve(b *testing.B) {
	p := mustBuild(b, usual())
	s, err := p.NewSolver()
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	list := make([]Params, 256)
	for i := range list {
		list[i] = draw(b, p, rng)
		list[i].v[pCharge] = 0.7 + 0.5*rng.Float64()
	}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if _, err := s.Solve(&list[i%len(list)], ratingDay, Cool); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 30 µs with the unit off: no motor, no cycle.
func BenchmarkSolveOff(b *testing.B) {
	p := mustBuild(b, usual())
	s, err := p.NewSolver()
	if err != nil {
		b.Fatal(err)
	}
	ps := p.Healthy()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Solve(&ps, ratingDay, Off); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 20 ms to build a plant with its 32 calibrations.
func BenchmarkBuild(b *testing.B) {
	for b.Loop() {
		mustBuild(b, usual())
	}
}
