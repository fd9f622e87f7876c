package combustion

import "testing"

var sink float64

// Budget 300 ns.
func BenchmarkFlueAndLoss(b *testing.B) {
	for b.Loop() {
		fl, _ := FlueFromOxygen(NaturalGas, 0.08, 0.008)
		l, _ := fl.Loss(470, 293, 1)
		sink = float64(l.Efficiency)
	}
}
