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

// benchTable asks a pure refrigerant, a blend as one fluid and a blend by the
// mixing rules: a table costs the same for each.
func benchTable(b *testing.B, of func(t *Table, p float64) float64) {
	for _, name := range []string{"R-32", "R-410A", "R-454B"} {
		b.Run(name, func(b *testing.B) {
			t := mustLookup(b, name).Table()
			p := sweep(t)
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				sinkFloat = of(t, p[i&63])
			}
		})
	}
}

// Budget 20 ns: all seven saturation properties.
func BenchmarkTableSat(b *testing.B) {
	for _, name := range []string{"R-32", "R-410A", "R-454B"} {
		b.Run(name, func(b *testing.B) {
			t := mustLookup(b, name).Table()
			p := sweep(t)
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				sinkRow = t.Sat(p[i&63])
			}
		})
	}
}

// Budget 15 ns: saturation temperature from pressure.
func BenchmarkTableDewTemp(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.DewTemp(p) })
}

// Budget 10 ns.
func BenchmarkTableDewPressure(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.DewPressure(230 + p*2e-5) })
}

// Budget 80 ns: three properties.
func BenchmarkTableVapourPH(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { T, _, _ := t.VapourPH(p, 1e-2*p); return T })
}

// Budget 40 ns.
func BenchmarkTableVapourPS(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.VapourPS(p, 1e-5*p) })
}

// Budget 40 ns: a property; near the ends the dew temperature too, for the limit.
func BenchmarkTableVapourPT(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.VapourPT(p, 1e-5*p) })
}

// Budget 55 ns: two properties.
func BenchmarkTableLiquidPH(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { T, _ := t.LiquidPH(p, 5e-3*p); return T })
}

// Budget 40 ns: a property; near the ends the bubble temperature too, for the limit.
func BenchmarkTableLiquidPT(b *testing.B) {
	benchTable(b, func(t *Table, p float64) float64 { return t.LiquidPT(p, 5e-6*p) })
}

// Budget 5 µs, from the equations themselves: every saturation property of a
// pure refrigerant, and of a blend as one fluid 10 µs.
func BenchmarkSaturationOfPure(b *testing.B) {
	for _, name := range []string{"R-22", "R-32", "R-134a", "R-290", "R-410A"} {
		f := mustLookup(b, name)
		b.Run(name+"/pressure", func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				s, _ := f.SaturationAtPressure(quantity.Pressure(4e5 + 2e4*float64(i&63)))
				sinkFloat = float64(s.DewTemp)
			}
		})
		b.Run(name+"/temperature", func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				s, _ := f.SaturationAtTemp(quantity.Temperature(250 + float64(i&63)))
				sinkFloat = float64(s.DewPressure)
			}
		})
	}
}

// Budget 50 µs for a point of one line, from the equations themselves.
func BenchmarkBoundaryOfBlend(b *testing.B) {
	for _, name := range []string{"R-454B", "R-407C", "R-438A", "R-448A"} {
		f, err := Blend(name)
		if err != nil {
			b.Fatal(err)
		}
		for _, line := range []struct {
			name string
			tr   *traced
		}{{"bubble", &f.blend.bubble}, {"dew", &f.blend.dew}} {
			b.Run(name+"/"+line.name, func(b *testing.B) {
				for i := 0; b.Loop(); i++ {
					at, _ := f.blend.on(line.tr, givenPressure, 4e5+2e4*float64(i&63))
					sinkFloat = at.lnT
				}
			})
		}
	}
}

// Budget 4 µs, from the equation itself.
func BenchmarkStateAt(b *testing.B) {
	for _, name := range []string{"R-22", "R-454B"} {
		f := mustLookup(b, name)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				s, _ := f.StateAt(quantity.Pressure(5e5), 300)
				sinkFloat = float64(s.Enthalpy)
			}
		})
	}
}

// Budget 25 µs in one phase, 50 µs of a blend; 1 ms where a blend is parted into two.
func BenchmarkStateAtEnthalpy(b *testing.B) {
	for _, c := range []struct {
		name string
		h    float64
	}{{"R-32", 5.4e5}, {"R-32", 3e5}, {"R-454B", 5e5}, {"R-454B", 3e5}} {
		f := mustLookup(b, c.name)
		s, err := f.StateAtEnthalpy(9e5, quantity.SpecificEnthalpy(c.h))
		if err != nil {
			b.Fatal(err)
		}
		b.Run(c.name+"/"+string(s.Phase), func(b *testing.B) {
			for b.Loop() {
				s, _ := f.StateAtEnthalpy(9e5, quantity.SpecificEnthalpy(c.h))
				sinkFloat = float64(s.Temperature)
			}
		})
	}
}

// Budget 15 ms: making a blend, both lines followed.
func BenchmarkMix(b *testing.B) {
	parts := mustLookup(b, "R-438A").Composition()
	for b.Loop() {
		f, _ := Mix(parts...)
		sinkFloat = f.critT
	}
}

// Budget 20 ms: a leak in forty steps.
func BenchmarkLeak(b *testing.B) {
	f := mustLookup(b, "R-438A")
	for b.Loop() {
		left, _ := f.Leak(295, 0.4, 0.5)
		sinkFloat = float64(left.Pressure)
	}
}
