package refrigerant

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// mustViscosity returns the viscosity in Pa·s.
func mustViscosity(t testing.TB, f *Fluid, T, rho float64) float64 {
	t.Helper()
	v, err := f.Viscosity(quantity.Temperature(T), quantity.Density(rho))
	if err != nil {
		t.Errorf("%s at %g K, %g kg/m³: %v", f.name, T, rho, err)
		return math.NaN()
	}
	return float64(v)
}

func TestPublishedViscosity(t *testing.T) {
	const own, byRule = 0.03, 0.08 // as the head of the file gives them
	for _, row := range published.Read(t, "viscosity.txt").Rows {
		f := mustLookup(t, row.Text("fluid"))
		T, rho := row.Number(t, "T"), row.Number(t, "density")
		row.Check(t, "viscosity", mustViscosity(t, f, T, rho), published.Relative(own))
		if f.oneFluid {
			parts := routed(t, f.name, "mixture")
			row.CheckAs(t, "viscosity-by-parts[Pa·s]", mustViscosity(t, parts, T, rho), row.Number(t, "viscosity"), published.Relative(byRule))
		}
	}
}

func TestPublishedViscosityInPrint(t *testing.T) {
	for _, row := range published.Read(t, "viscosity-printed.txt").Rows {
		f := mustLookup(t, row.Text("fluid"))
		T := row.Number(t, "T")
		s, err := f.SaturationAtTemp(quantity.Temperature(T))
		if err != nil {
			t.Fatal(err)
		}
		rho, tol := float64(s.LiquidDensity), 0.05
		if row.Text("state") == "vapour" {
			rho = float64(s.VapourDensity)
		}
		if f.ViscosityDoubt() > 0.1 {
			tol = 0.15 // as the head gives it for a borrowed curve
		}
		row.Check(t, "viscosity", mustViscosity(t, f, T, rho), published.Relative(tol))
	}
}

// published: the kinetic theory of gases and of liquids, any text: warmer
// vapour is thicker, warmer liquid thinner, and pressure thickens a liquid.
func TestViscosityIsMonotone(t *testing.T) {
	for name, f := range everyRoute(t) {
		for _, p := range []float64{1e5, 5e5, 1e6, 2e6, 3e6} {
			last := map[Phase]float64{Liquid: math.Inf(1), Vapour: 0}
			for T := 245.0; T <= 405; T += 2.5 {
				s, err := f.StateAt(quantity.Pressure(p), quantity.Temperature(T))
				// Near the critical point dense vapour thins as it expands.
				if err != nil || s.Phase == Vapour && (p > 0.45*f.critP) {
					continue
				}
				v := mustViscosity(t, f, T, float64(s.Density))
				falls := v < last[s.Phase]
				if s.Phase == Supercritical || falls != (s.Phase == Liquid) || !(v > 0) {
					t.Errorf("%s: %s at %g Pa: %g Pa·s at %g K after %g", name, s.Phase, p, v, T, last[s.Phase])
				}
				last[s.Phase] = v
				if s.Phase != Liquid {
					continue
				}
				deep, err := f.StateAt(quantity.Pressure(2*p), quantity.Temperature(T))
				if err == nil && mustViscosity(t, f, T, float64(deep.Density)) <= v {
					t.Errorf("%s: liquid at %g K is no thicker at twice %g Pa", name, T, p)
				}
			}
		}
	}
}

// A blend of hardly anything but one fluid is as thick as that fluid.
func TestViscosityOfNearlyPureBlend(t *testing.T) {
	pure := mustLookup(t, "R-32")
	blend, err := Mix(Part{"R-32", 0.9999}, Part{"R-134a", 0.0001})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ T, rho float64 }{{300, 960}, {300, 20}, {380, 50}} {
		want := mustViscosity(t, pure, c.T, c.rho)
		published.Near(t, "viscosity", mustViscosity(t, blend, c.T, c.rho), want, 1e-3*want)
	}
}

func TestViscosityRefuses(t *testing.T) {
	for _, c := range []struct {
		fluid  string
		T, rho float64
		name   string
	}{
		{"R-22", 209, 3, "temperature"},
		{"R-22", 421, 3, "temperature"},
		{"R-22", math.NaN(), 3, "temperature"},
		{"R-22", 300, 1e4, "density"},
		{"R-22", 300, -1, "density"},
		{"R-22", 300, 500, "density"},
		{"R-454B", 300, 500, "density"},
	} {
		_, err := mustLookup(t, c.fluid).Viscosity(quantity.Temperature(c.T), quantity.Density(c.rho))
		var out *quantity.RangeError
		if !errors.As(err, &out) || out.Name != c.name {
			t.Errorf("%s at %g K, %g kg/m³: %v, want a RangeError of the %s", c.fluid, c.T, c.rho, err, c.name)
		}
	}
}

func TestViscosityDoubt(t *testing.T) {
	for name, want := range map[string]float64{"R-22": 0.03, "R-410A": 0.03, "R-454B": 0.08, "R-601a": 0.15} {
		published.Near(t, name, float64(mustLookup(t, name).ViscosityDoubt()), want, 1e-12)
	}
	// R-438A holds 2.9 % and 0.8 % of borrowers by moles.
	published.Near(t, "R-438A", float64(mustLookup(t, "R-438A").ViscosityDoubt()), 0.08, 0.004)
}

// The numbers checked in are those that the rows give.
func TestViscosityFitIsReproduced(t *testing.T) {
	text, err := os.ReadFile("gen/viscosity-rows.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"R-32", "R-410A"} {
		f := mustLookup(t, name)
		var rows []ViscosityRow
		err := eachLine("viscosity-rows.txt", string(text), func(words []string) error {
			if words[0] != name {
				return nil
			}
			var r ViscosityRow
			err := readNumbers(words[2:], &r.T, &r.Density, &r.Viscosity)
			rows = append(rows, r)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		line, worst, err := FitViscosity(name, rows)
		if err != nil {
			t.Fatal(err)
		}
		fitted := map[string]*viscous{}
		if err := readViscous(fitted, strings.Fields(line)); err != nil {
			t.Fatal(err)
		}
		m, err := f.thickness()
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			got := mustViscosity(t, f, r.T, r.Density)
			if d := math.Abs(got/r.Viscosity - 1); d > worst+1e-6 {
				t.Errorf("%s at %g K: %g off the row, the fit %g at most", name, r.T, d, worst)
			}
			again := m
			again.n = fitted[name].n
			again.parts = []thickPart{{viscous: fitted[name], x: 1, m: m.parts[0].m}}
			// The minimum is flat: other machines may end elsewhere in it.
			published.Near(t, name+" fitted again", again.at(&f.eq, r.T, r.Density/f.eq.molarMass), got, 1e-4*got)
		}
	}
}

func FuzzViscosity(f *testing.F) {
	f.Add("R-410A", 300.0, 1000.0)
	f.Add("R-438A", 350.0, 80.0)
	f.Fuzz(func(t *testing.T, name string, T, rho float64) {
		fluid, err := Lookup(name)
		if err != nil {
			return
		}
		v, err := fluid.Viscosity(quantity.Temperature(T), quantity.Density(rho))
		if err == nil && !(v > 1e-6 && v < 1e-2) {
			t.Errorf("%s at %g K, %g kg/m³: %g Pa·s", name, T, rho, v)
		}
	})
}

// Budget 20 µs, most of it the densities of saturation, which it must not lie
// between.
func BenchmarkViscosity(b *testing.B) {
	f := mustLookup(b, "R-32")
	for b.Loop() {
		v, _ := f.Viscosity(300, 20)
		sinkFloat = float64(v)
	}
}
