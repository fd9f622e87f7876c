package cycle_test

import (
	"math/rand/v2"
	"testing"

	"rung/internal/cycle"
)

// Budget: 60 µs, no allocation. Cold solves over the wild space, TXV.
func BenchmarkSolveCold(b *testing.B) { benchmarkWild(b, plates[0]) }

// Budget: 60 µs, no allocation. The same with a fixed orifice.
func BenchmarkSolveColdOrifice(b *testing.B) { benchmarkWild(b, plates[1]) }

func benchmarkWild(b *testing.B, p plate) {
	m := p.machine(b)
	r := rand.New(rand.NewPCG(5, 6))
	type job struct {
		c cycle.Condition
		f cycle.Fault
	}
	jobs := make([]job, 1024)
	for i := range jobs {
		jobs[i].c, jobs[i].f = wild(r, m, p.metering)
	}
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		j := &jobs[i%len(jobs)]
		i++
		if _, err := m.Solve(j.c, j.f, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 40 µs, no allocation. Charge drawn around 0.9, started at health.
func BenchmarkSolveWarm(b *testing.B) {
	m := plates[0].machine(b)
	c, f := m.RatingCondition(), cycle.Healthy()
	start := solve(b, m, c, f)
	r := rand.New(rand.NewPCG(7, 8))
	b.ReportAllocs()
	for b.Loop() {
		f.Charge = 0.8 + 0.2*ratio(r)
		if _, err := m.Solve(c, f, &start); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 80 µs, no allocation. Cold solves over the wild space of heating, TXV.
func BenchmarkSolveHeating(b *testing.B) {
	m := heatPump(b, plates[0])
	r := rand.New(rand.NewPCG(5, 6))
	c, f := make([]cycle.Condition, 1024), make([]cycle.Fault, 1024)
	for i := range c {
		c[i], f[i] = wildHeating(b, r, m, cycle.TXV)
	}
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		k := i % len(c)
		i++
		if _, err := m.Solve(c[k], f[k], nil); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 500 µs. A heat pump: two searches, one inside the other.
func BenchmarkCalibrateHeatPump(b *testing.B) {
	r := plates[0].rating(b)
	r.HeatPump, r.HeatingCOP = true, 3.2
	b.ReportAllocs()
	for b.Loop() {
		if _, err := cycle.Calibrate(r); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 30 µs, one allocation, the Machine.
func BenchmarkCalibrate(b *testing.B) {
	r := plates[0].rating(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := cycle.Calibrate(r); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 3 µs, no allocation.
func BenchmarkStand(b *testing.B) {
	m := plates[0].machine(b)
	c, f := m.RatingCondition(), cycle.Healthy()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.Stand(c, f); err != nil {
			b.Fatal(err)
		}
	}
}
