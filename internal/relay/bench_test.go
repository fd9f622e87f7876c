package relay

import (
	"testing"
	"time"
)

// Budget: 200 µs for a whole cooling call, start to settled, of a split system
// with three motors; no allocation.
func BenchmarkCoolingCall(b *testing.B) {
	x := newSplitAir(b)
	x.call(b, time.Minute)
	b.ReportAllocs()
	for b.Loop() {
		x.call(b, time.Minute)
	}
}
