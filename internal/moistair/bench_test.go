package moistair

import (
	"testing"

	"rung/internal/quantity"
)

var sink float64

// Budget 12 ns.
func BenchmarkSatEnthalpy(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		sink = SatEnthalpy(260+float64(i&63), 101325)
	}
}

// Budget 100 ns at sea level.
func BenchmarkSatTemp(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		sink = SatTemp(1e3*float64(i&127), 101325)
	}
}

// Budget 130 ns at 2500 m, where the first guess is farther off.
func BenchmarkSatTempHighUp(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		sink = SatTemp(1e3*float64(i&127), 75e3)
	}
}

// Budget 5 µs.
func BenchmarkFromWetBulb(b *testing.B) {
	for b.Loop() {
		s, _ := FromWetBulb(300, 292, 101325)
		sink = float64(s.Enthalpy)
	}
}

// Budget 5 µs; it solves for the wet bulb.
func BenchmarkFromRelativeHumidity(b *testing.B) {
	for b.Loop() {
		s, _ := FromRelativeHumidity(300, quantity.RelativeHumidity(0.5), 101325)
		sink = float64(s.Enthalpy)
	}
}

// Budget 12 µs: the slowest pair, two roots one within the other.
func BenchmarkFromEnthalpyAndVolume(b *testing.B) {
	for b.Loop() {
		s, _ := From(EnthalpyIs(55e3), SpecificVolumeIs(0.865), 101325)
		sink = float64(s.DryBulb)
	}
}

// Budget 8 µs.
func BenchmarkFromWetBulbAndRelativeHumidity(b *testing.B) {
	for b.Loop() {
		s, _ := From(WetBulbIs(292), RelativeHumidityIs(0.5), 101325)
		sink = float64(s.DryBulb)
	}
}

// Budget 8 µs.
func BenchmarkMix(b *testing.B) {
	in, _ := FromRelativeHumidity(297, 0.5, 101325)
	out, _ := FromRelativeHumidity(308, 0.4, 101325)
	for b.Loop() {
		m, _ := Mix(Stream{in, 1}, Stream{out, 0.2})
		sink = float64(m.Air.DryBulb)
	}
}
