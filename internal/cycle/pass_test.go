package cycle

import (
	"testing"

	"rung/internal/refrigerant"
)

// Budget: 2 µs, no allocation. One pass around the loop, TXV, undercharged.
func BenchmarkPass(b *testing.B) {
	fluid, err := refrigerant.Lookup("R-410A")
	if err != nil {
		b.Fatal(err)
	}
	m, err := Calibrate(Rating{Refrigerant: fluid, Metering: TXV, NetCapacity: 10550, EER: 3.2})
	if err != nil {
		b.Fatal(err)
	}
	c, f := m.RatingCondition(), Healthy()
	l := m.newLoop(&c, &f)
	z := m.z0
	b.ReportAllocs()
	for b.Loop() {
		l.pass(&z)
	}
}
