package fieldtest

import (
	"testing"

	"rung/internal/plant"
)

// Budget: 30 µs for every point of one state, a small part of its solution.
func BenchmarkPredictAll(b *testing.B) {
	c := load(b)
	p, err := plant.Build(plates()["R-410A txv full"])
	if err != nil {
		b.Fatal(err)
	}
	ps := p.Healthy()
	st, err := p.Solve(&ps, summer, plant.Cool)
	if err != nil {
		b.Fatal(err)
	}
	var points []*Point
	for _, col := range columnsOf(c) {
		if col.demand == plant.Cool {
			points = append(points, col.point)
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, p := range points {
			p.Predict(st)
		}
	}
	b.ReportMetric(float64(len(points)), "points")
}
