package refrigerant

import (
	"testing"

	"rung/internal/quantity"
)

var (
	sinkRow   SatRow
	sinkFloat float64
)

// sweep is a set of pressures in Pa over which the benchmarks walk, so that no
// cell is asked twice in a row.
func sweep(t *Table) [64]float64 {
	lo, hi := t.PressureRange()
	var p [64]float64
	for i := range p {
		p[i] = lo + (hi-lo)*float64((i*37)%64)/64
	}
	return p
}

func benchTable(b *testing.B, of func(t *Table, p float64) float64) {
	t := mustLookup(b, "R-410A").Table()
	p := sweep(t)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		sinkFloat = of(t, p[i&63])
	}
}

// Budget 25 ns: all seven saturation properties.
func BenchmarkTableSat(b *testing.B) {
	t := mustLookup(b, "R-410A").Table()
	p := sweep(t)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		sinkRow = t.Sat(p[i&63])
	}
}

// Budget 20 ns.
func BenchmarkTableDewTemp(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.DewTemp(p) })
}

// Budget 10 ns.
func BenchmarkTableDewPressure(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.DewPressure(230 + p*2e-5) })
}

// Budget 70 ns: three properties.
func BenchmarkTableVapourPH(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { T, _, _ := t.VapourPH(p, 1e-2*p); return T })
}

// Budget 40 ns.
func BenchmarkTableVapourPS(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.VapourPS(p, 1e-5*p) })
}

// Budget 40 ns.
func BenchmarkTableVapourPT(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.VapourPT(p, 1e-5*p) })
}

// Budget 55 ns: two properties.
func BenchmarkTableLiquidPH(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { T, _ := t.LiquidPH(p, 5e-3*p); return T })
}

// Budget 60 ns: it looks at the bubble temperature too.
func BenchmarkTableLiquidPT(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.LiquidPT(p, 5e-6*p) })
}

// Budget 50 µs: the equation itself, a blend.
func BenchmarkSaturationAtPressure(b *testing.B) {
	f := mustLookup(b, "R-410A")
	for b.Loop() {
		s, _ := f.SaturationAtPressure(9e5)
		sinkFloat = float64(s.DewTemp)
	}
}

// Budget 10 µs: the equation itself, a pure fluid.
func BenchmarkStateAt(b *testing.B) {
	f := mustLookup(b, "R-22")
	for b.Loop() {
		s, _ := f.StateAt(quantity.Pressure(5e5), 300)
		sinkFloat = float64(s.Enthalpy)
	}
}
