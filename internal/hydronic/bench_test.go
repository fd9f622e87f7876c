package hydronic

import "testing"

var sink float64

// Budget 3 µs.
func BenchmarkWaterAt(b *testing.B) {
	for b.Loop() {
		w, _ := WaterAt(350, 200e3)
		sink = float64(w.Density)
	}
}

// Budget 3 µs; most of it is water.
func BenchmarkSolutionAt(b *testing.B) {
	for b.Loop() {
		l, _ := Solution{Propylene, 0.3}.At(330)
		sink = float64(l.Density)
	}
}
