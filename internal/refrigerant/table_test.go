package refrigerant

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rung/internal/published"
)

// Largest errors of the tables against the parent equation, over their whole
// range; they stand in the package comment too. The check below walks a grid
// that shares no node with the tables; a grid forty times as fine gave the
// same largest errors.
const (
	tolSat        = 2e-6 // of the value: temperatures, enthalpies, densities, entropy
	tolLine       = 6e-6 // of the pressure at a temperature
	tolTemp       = 0.01 // K: VapourPH, LiquidPH
	tolDensity    = 3e-5 // of the value: VapourPH, LiquidPH
	tolEntropy    = 0.02 // J/(kg·K): VapourPH
	tolEnthalpyPS = 4.0  // J/kg: VapourPS
	tolEnthalpyPT = 25.0 // J/kg: VapourPT, worst at the highest pressure; 3e-5 of the enthalpy
	tolLiquidPT   = 15.0 // J/kg: LiquidPT
)

// tabled calls visit for every refrigerant that has tables.
func tabled(t testing.TB, visit func(t testing.TB, f *Fluid, tb *Table)) {
	t.Helper()
	for _, name := range Tabulated() {
		f := mustLookup(t, name)
		tb := f.Table()
		if tb == nil {
			t.Fatalf("%s has no table", name)
		}
		visit(t, f, tb)
	}
}

// pressures returns n pressures in Pa over the whole range, even in ln p, with
// both ends.
func pressures(tb *Table, n int) []float64 {
	lo, hi := tb.PressureRange()
	p := make([]float64, n)
	for i := range p {
		p[i] = lo * math.Pow(hi/lo, float64(i)/float64(n-1))
	}
	p[n-1] = hi
	return p
}

// domes returns the saturated states of the parent equation at p in Pa.
func domes(t testing.TB, f *Fluid, p float64) (bubble, dew point) {
	t.Helper()
	s, err := f.saturationOf(p)
	if err != nil {
		t.Fatal(err)
	}
	return f.pointAt(s.TBub, s.rhoLiq), f.pointAt(s.TDew, s.rhoVap)
}

func TestTableSatError(t *testing.T) {
	tabled(t, func(t testing.TB, f *Fluid, tb *Table) {
		for _, p := range pressures(tb, 211) {
			l, v := domes(t, f, p)
			r := tb.Sat(p)
			for _, k := range []struct {
				name      string
				got, want float64
			}{
				{"TDew", r.TDew, v.T}, {"TBub", r.TBub, l.T}, {"HLiq", r.HLiq, l.h}, {"HVap", r.HVap, v.h},
				{"RhoLiq", r.RhoLiq, l.rho}, {"RhoVap", r.RhoVap, v.rho}, {"SVap", r.SVap, v.s},
				{"DewTemp", tb.DewTemp(p), v.T}, {"BubbleTemp", tb.BubbleTemp(p), l.T},
			} {
				published.Near(t, f.name+" Sat."+k.name, k.got, k.want, tolSat*math.Abs(k.want))
			}
			published.Near(t, f.name+" DewPressure", tb.DewPressure(v.T), p, tolLine*p)
			published.Near(t, f.name+" BubblePressure", tb.BubblePressure(l.T), p, tolLine*p)
		}
	})
}

func TestTableSurfaceError(t *testing.T) {
	tabled(t, func(t testing.TB, f *Fluid, tb *Table) {
		for _, p := range pressures(tb, 53) {
			l, v := domes(t, f, p)
			seek := func(from point, by coordinate, want float64) point {
				a, err := f.offDome(p, from, by, want)
				if err != nil {
					t.Fatal(err)
				}
				return a
			}
			for j := range 24 {
				y := float64(j) / 23
				y *= y // denser at the dome

				dh := tb.vapH.max * y
				a := seek(v, byEnthalpy, v.h+dh)
				if a.T < tb.maxT-tolTemp {
					T, rho, s := tb.VapourPH(p, dh)
					published.Near(t, f.name+" VapourPH T", T, a.T, tolTemp)
					published.Near(t, f.name+" VapourPH rho", rho, a.rho, tolDensity*math.Abs(a.rho))
					published.Near(t, f.name+" VapourPH s", s, a.s, tolEntropy)
				}
				ds := tb.vapS.max * y
				if a = seek(v, byEntropy, v.s+ds); a.T < tb.maxT-tolTemp {
					published.Near(t, f.name+" VapourPS", tb.VapourPS(p, ds), a.h-v.h, tolEnthalpyPS)
				}
				sh := tb.vapT.max * y
				if a = seek(v, byTemp, v.T+sh); a.T < tb.maxT-tolTemp {
					published.Near(t, f.name+" VapourPT", tb.VapourPT(p, sh), a.h-v.h, tolEnthalpyPT)
				}
				dh = tb.liqH.max * y
				if a = seek(l, byEnthalpy, l.h-dh); a.T > tb.minT+tolTemp {
					T, rho := tb.LiquidPH(p, dh)
					published.Near(t, f.name+" LiquidPH T", T, a.T, tolTemp)
					published.Near(t, f.name+" LiquidPH rho", rho, a.rho, tolDensity*math.Abs(a.rho))
				}
				sc := tb.liqT.max * y
				if a = seek(l, byTemp, l.T-sc); a.T > tb.minT+tolTemp {
					published.Near(t, f.name+" LiquidPT", tb.LiquidPT(p, sc), l.h-a.h, tolLiquidPT)
				}
			}
		}
	})
}

// The checked-in tables are what the generator would write now. A float32
// carries 6e-8; the rest is for machines that round otherwise.
func TestTablesAreCurrent(t *testing.T) {
	for _, name := range Tabulated() {
		held, err := decodeNodes(mustTable(t, name))
		if err != nil {
			t.Fatal(err)
		}
		fresh, err := mustLookup(t, name).tabulate()
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range fresh.header() {
			if got := *held.header()[i]; math.Abs(got-*want) > 1e-9*math.Abs(*want) {
				t.Fatalf("%s: number %d of the header is %v, would be %v; run go generate", name, i, got, *want)
			}
		}
		for i := range fresh.surfaces {
			for j, want := range fresh.surfaces[i] {
				published.Near(t, name+" surface", held.surfaces[i][j], want, 1e-6*math.Abs(want))
			}
		}
		for i := range fresh.sat {
			for j, want := range fresh.sat[i] {
				published.Near(t, name+" saturation", held.sat[i][j], want, 1e-6*math.Abs(want))
			}
		}
	}
}

// At the dome the surfaces give exactly the saturated state, and stay zero.
func TestTableDomeIsExact(t *testing.T) {
	tabled(t, func(t testing.TB, f *Fluid, tb *Table) {
		for _, p := range pressures(tb, 97) {
			r := tb.Sat(p)
			if T, rho, s := tb.VapourPH(p, 0); T != r.TDew || rho != r.RhoVap || s != r.SVap {
				t.Errorf("%s VapourPH(%g, 0) = %v, %v, %v, want %v", f.name, p, T, rho, s, r)
			}
			if T, rho := tb.LiquidPH(p, 0); T != r.TBub || rho != r.RhoLiq {
				t.Errorf("%s LiquidPH(%g, 0) = %v, %v, want %v", f.name, p, T, rho, r)
			}
			if a, b, c := tb.VapourPS(p, 0), tb.VapourPT(p, 0), tb.LiquidPT(p, 0); a != 0 || b != 0 || c != 0 {
				t.Errorf("%s at %g Pa on the dome: %v, %v, %v, want 0", f.name, p, a, b, c)
			}
		}
	})
}

// Value and slope are continuous across every node, along pressure and along
// depth. Nothing to publish: the slopes on both sides of a node, over a
// millionth of the coordinate, differ by curvature and rounding only.
func TestTableIsSmooth(t *testing.T) {
	const (
		d        = 1e-6
		valueTol = 1e-5 // a few steps' worth
		slopeTol = 1e-4
	)
	across := func(t testing.TB, name string, x float64, of func(x float64) float64) {
		t.Helper()
		a, b, c, e := of(x*(1-2*d)), of(x*(1-d)), of(x*(1+d)), of(x*(1+2*d))
		if math.IsNaN(e) {
			return // above the temperatures of the equation
		}
		published.Near(t, name+" value", c, b, valueTol*math.Abs(b))
		published.Near(t, name+" slope", e-c, b-a, slopeTol*(math.Abs(b-a)+math.Abs(e-c)+0.01*d*math.Abs(b)))
	}
	tabled(t, func(t testing.TB, f *Fluid, tb *Table) {
		for i := 1; i < tb.satAxis.n-1; i++ {
			w := tb.satAxis.node(i)
			p := tb.pScale * w / (1 + w)
			across(t, f.name+" HLiq", p, func(p float64) float64 { return tb.Sat(p).HLiq })
			across(t, f.name+" RhoVap", p, func(p float64) float64 { return tb.Sat(p).RhoVap })
			across(t, f.name+" VapourPS over p", p, func(p float64) float64 { return tb.VapourPS(p, 33) })
			across(t, f.name+" VapourPH over p", p, func(p float64) float64 { T, _, _ := tb.VapourPH(p, 21e3); return T })
			across(t, f.name+" LiquidPH over p", p, func(p float64) float64 { T, _ := tb.LiquidPH(p, 9e3); return T })
		}
		for i := 1; i < tb.vapH.axis.n-1; i++ {
			y := tb.vapH.axis.node(i) - 1
			for _, p := range pressures(tb, 7) {
				across(t, f.name+" VapourPH over dh", y*tb.vapH.unit, func(dh float64) float64 { T, _, _ := tb.VapourPH(p, dh); return T })
				across(t, f.name+" VapourPS over ds", y*tb.vapS.unit, func(ds float64) float64 { return tb.VapourPS(p, ds) })
				across(t, f.name+" VapourPT over superheat", y*tb.vapT.unit, func(sh float64) float64 { return tb.VapourPT(p, sh) })
			}
		}
	})
}

// The three vapour functions tell one story: there and back again.
func TestTableRoundTrips(t *testing.T) {
	tabled(t, func(t testing.TB, f *Fluid, tb *Table) {
		for _, p := range pressures(tb, 61) {
			r := tb.Sat(p)
			for sh := 0.5; sh < 100; sh *= 1.7 {
				dh := tb.VapourPT(p, sh)
				if r.TDew+sh > tb.maxT-tolTemp {
					break
				}
				T, _, s := tb.VapourPH(p, dh)
				published.Near(t, f.name+" superheat", T-r.TDew, sh, 2*tolTemp)
				published.Near(t, f.name+" enthalpy by entropy", tb.VapourPS(p, s-r.SVap), dh, 2*tolEnthalpyPS+tolEntropy*T)
				if sc := sh / 3; r.TBub-sc > tb.minT {
					T, _ := tb.LiquidPH(p, tb.LiquidPT(p, sc))
					published.Near(t, f.name+" subcooling", r.TBub-T, sc, 2*tolTemp)
				}
			}
			published.Near(t, f.name+" pressure of its dew temperature", tb.DewPressure(tb.DewTemp(p)), p, 2*tolLine*p)
			published.Near(t, f.name+" pressure of its bubble temperature", tb.BubblePressure(tb.BubbleTemp(p)), p, 2*tolLine*p)
		}
	})
}

func TestTableOutsideRange(t *testing.T) {
	tabled(t, func(t testing.TB, f *Fluid, tb *Table) {
		lo, hi := tb.PressureRange()
		nan := math.NaN()
		T1, rho1, s1 := tb.VapourPH(1e6, -1)
		T2, rho2 := tb.LiquidPH(1e6, -1)
		T3, _ := tb.LiquidPH(1e6, 1e6)
		T4, _, _ := tb.VapourPH(1e6, 1e6)
		for i, got := range []float64{
			tb.Sat(lo * (1 - 1e-12)).TDew, tb.Sat(hi * (1 + 1e-12)).SVap, tb.Sat(nan).HLiq, tb.Sat(-1).TBub,
			tb.DewTemp(nan), tb.BubbleTemp(2 * hi), tb.DewPressure(100), tb.BubblePressure(500), tb.DewPressure(nan),
			T1, rho1, s1, T2, rho2, T3, T4,
			tb.VapourPS(lo/2, 1), tb.VapourPS(1e6, -1e-9), tb.VapourPS(1e6, 1e4), tb.VapourPT(1e6, nan), tb.VapourPT(1e6, 1e3),
			tb.LiquidPT(1e6, -1), tb.LiquidPT(1e6, 150), tb.LiquidPT(nan, 1),
		} {
			if !math.IsNaN(got) {
				t.Errorf("%s case %d: %v, want NaN", f.name, i, got)
			}
		}
		for i, got := range []float64{tb.Sat(lo).TDew, tb.Sat(hi).TDew, tb.VapourPS(hi, tb.vapS.max), tb.VapourPT(lo, tb.vapT.max),
			tb.DewPressure(tb.DewTemp(hi)), tb.BubblePressure(tb.BubbleTemp(lo))} {
			if math.IsNaN(got) {
				t.Errorf("%s end %d: NaN, want a number", f.name, i)
			}
		}
	})
}

func TestTableAllocatesNothing(t *testing.T) {
	tabled(t, func(t testing.TB, f *Fluid, tb *Table) {
		n := testing.AllocsPerRun(100, func() {
			sinkRow = tb.Sat(1e6)
			sinkFloat, _, _ = tb.VapourPH(1e6, 2e4)
			sinkFloat = tb.VapourPS(1e6, 20) + tb.VapourPT(1e6, 5) + tb.LiquidPT(1e6, 5) + tb.DewPressure(280)
		})
		if n != 0 {
			t.Errorf("%s: %v allocations", f.name, n)
		}
	})
}

// mustTable returns the generated table of a refrigerant.
func mustTable(t testing.TB, name string) []byte {
	t.Helper()
	b, err := tableFiles.ReadFile(tableFile(name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestDecodeRefusesDamage(t *testing.T) {
	good := mustTable(t, "R-22")
	for name, b := range map[string][]byte{
		"empty":     nil,
		"cut short": good[:len(good)-4],
		"too long":  append(slices.Clone(good), 0),
	} {
		if _, err := decodeNodes(b); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// TestBendComesBack: whatever the numbers, overflow included, for lines of any
// length and either order of rows and columns. The seed is fixed.
func TestBendComesBack(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, b := range []block{{rows: 1, columns: 1}, {rows: 2, columns: 3}, {rows: 7, columns: 5, even: true}, {rows: 1, columns: 9, even: true}} {
		want := make([]int32, b.rows*b.columns)
		for i := range want {
			want[i] = int32(random.Uint32())
		}
		got := slices.Clone(want)
		b.alongLines(got, bend)
		if b.rows > 1 && slices.Equal(got, want) {
			t.Errorf("%d × %d numbers are not changed", b.rows, b.columns)
		}
		b.alongLines(got, unbend)
		if !slices.Equal(got, want) {
			t.Errorf("%d × %d numbers: %v came back as %v", b.rows, b.columns, want, got)
		}
	}
}

// All tables together stay under a megabyte of the program.
func TestTablesAreCompact(t *testing.T) {
	sum := 0
	for _, name := range Tabulated() {
		sum += len(mustTable(t, name))
	}
	if sum > 1e6 {
		t.Errorf("tables of %d bytes, want at most a million", sum)
	}
}

// The spline passes through cubics exactly, whatever the spacing.
func TestSplineOfCubic(t *testing.T) {
	x := []float64{1, 1.25, 1.5, 2, 2.5, 3, 4, 5}
	f := make([]float64, len(x))
	for i, v := range x {
		f[i] = 2 - v + 0.5*v*v - 0.1*v*v*v
	}
	for i, m := range splineSlopes(x, f) {
		published.Near(t, "slope", m, -1+x[i]-0.3*x[i]*x[i], 1e-12)
	}
}

func TestAxisLocates(t *testing.T) {
	a := newAxis(0.013, 9.7, 3)
	for i := range a.n - 1 {
		lo, hi := a.node(i), a.node(i+1)
		if got := a.locate(lo); got.cell != i || got.t != 0 || got.h != hi-lo {
			t.Errorf("locate(%v) = %+v, want cell %d of width %v", lo, got, i, hi-lo)
		}
		v := lo + 0.375*(hi-lo)
		if got := a.locate(v); got.cell != i || math.Abs(got.t-0.375) > 1e-12 {
			t.Errorf("locate(%v) = %+v, want cell %d at 0.375", v, got, i)
		}
	}
	if a.node(0) > 0.013 || a.node(a.n-1) < 9.7 {
		t.Errorf("axis from %v to %v does not hold 0.013 to 9.7", a.node(0), a.node(a.n-1))
	}
}
