package refrigerant

import (
	"errors"
	"math"
	"slices"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

func mustLookup(t testing.TB, name string) *Fluid {
	t.Helper()
	f, err := Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// routed returns the refrigerant by its own equation, or by the mixing rules.
func routed(t testing.TB, name, route string) *Fluid {
	t.Helper()
	if route != "mixture" {
		return mustLookup(t, name)
	}
	f, err := Blend(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// tabulated lists what the computed rows are of: every refrigerant that the
// other library knows, and the blends with an equation of their own once more
// by the mixing rules.
func tabulated() (list []struct{ name, route, file string }) {
	for _, name := range Names() {
		f := library()[fold(name)]
		switch {
		case f == nil:
			list = append(list, struct{ name, route, file string }{name, "mixture", name})
		case f.oneFluid:
			list = append(list, struct{ name, route, file string }{name, "mixture", name + "-by-parts"})
			fallthrough
		case !slices.Contains(withoutRows, name):
			list = append(list, struct{ name, route, file string }{name, "", name})
		}
	}
	return list
}

// withoutRows are components of blends; equation-points.txt has points of them.
var withoutRows = []string{"R-600", "R-601a", "R-1234ze(E)"}

// tolerance of the computed rows, as their heads give it.
const rowTol = 1e-6

func TestPublishedSaturation(t *testing.T) {
	for _, k := range tabulated() {
		f := routed(t, k.name, k.route)
		for _, row := range published.Read(t, "saturation-"+k.file+".txt").Rows {
			checkSaturation(t, f, row)
		}
	}
}

func checkSaturation(t *testing.T, f *Fluid, row published.Row) {
	t.Helper()
	same, entropy := published.Relative(rowTol), published.Of("of 1000 J/(kg·K)", 1000, rowTol)
	T := row.Number(t, "T")
	s, err1 := f.SaturationAtTemp(quantity.Temperature(T))
	bub, err2 := f.SaturationAtPressure(quantity.Pressure(row.Number(t, "bubble-pressure")))
	dew, err3 := f.SaturationAtPressure(quantity.Pressure(row.Number(t, "dew-pressure")))
	v, err4 := f.saturationAt(T)
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		t.Errorf("%s: %v", row, err)
		return
	}
	row.Check(t, "bubble-pressure", float64(s.BubblePressure), same)
	row.Check(t, "dew-pressure", float64(s.DewPressure), same)
	row.Check(t, "liquid-density", float64(s.LiquidDensity), same)
	row.Check(t, "vapour-density", float64(s.VapourDensity), same)
	row.Check(t, "liquid-enthalpy", float64(s.LiquidEnthalpy), same)
	row.Check(t, "vapour-enthalpy", float64(s.VapourEnthalpy), same)
	row.Check(t, "liquid-entropy", float64(s.LiquidEntropy), entropy)
	row.Check(t, "vapour-entropy", float64(s.VapourEntropy), entropy)
	liquid, vapour := f.pointAt(T, v.rhoLiq), f.pointAt(T, v.rhoVap)
	row.Check(t, "liquid-cp", liquid.cp, same)
	row.Check(t, "vapour-cp", vapour.cp, same)
	row.Check(t, "liquid-speed-of-sound", liquid.w, same)
	row.Check(t, "vapour-speed-of-sound", vapour.w, same)

	T10 := published.Relative(rowTol / 10) // a pressure changes some ten times as much as its temperature
	row.CheckAs(t, "bubble-temperature-of-the-pressure[K]", float64(bub.BubbleTemp), T, T10)
	row.CheckAs(t, "dew-temperature-of-the-pressure[K]", float64(dew.DewTemp), T, T10)
	row.Check(t, "liquid-enthalpy", float64(bub.LiquidEnthalpy), same)
	row.Check(t, "vapour-enthalpy", float64(dew.VapourEnthalpy), same)
}

func TestPublishedStates(t *testing.T) {
	same, entropy := published.Relative(rowTol), published.Of("of 1000 J/(kg·K)", 1000, rowTol)
	for _, k := range tabulated() {
		f := routed(t, k.name, k.route)
		for _, phase := range []Phase{Liquid, Vapour} {
			for _, row := range published.Read(t, string(phase)+"-"+k.file+".txt").Rows {
				s, err := f.StateAt(quantity.Pressure(row.Number(t, "p")), quantity.Temperature(row.Number(t, "T")))
				if err != nil || s.Phase != phase {
					t.Errorf("%s: phase %q, %v, want %s", row, s.Phase, err, phase)
					continue
				}
				row.Check(t, "density", float64(s.Density), same)
				row.Check(t, "enthalpy", float64(s.Enthalpy), same)
				row.Check(t, "entropy", float64(s.Entropy), entropy)
				row.Check(t, "heat-capacity", float64(s.HeatCapacity), same)
				row.Check(t, "speed-of-sound", float64(s.SpeedOfSound), same)
			}
		}
	}
}

func TestPublishedEquationPoints(t *testing.T) {
	const tol, caloricTol = 1e-10, 1e-8 // as the head of the file gives them
	for _, row := range published.Read(t, "equation-points.txt").Rows {
		f := routed(t, row.Text("fluid"), row.Text("route"))
		T, rho := row.Number(t, "T"), row.Number(t, "rho")
		M, R := f.eq.molarMass, f.eq.gasConstant
		pt := f.eq.at(T, rho)
		row.Check(t, "pressure", pt.p, published.Relative(tol))
		row.Check(t, "enthalpy", pt.h*M, published.Of("of RT", math.Max(R*T, 1e-4*math.Abs(row.Number(t, "enthalpy"))), caloricTol))
		row.Check(t, "entropy", pt.s*M, published.Of("of R", math.Max(R, 1e-4*math.Abs(row.Number(t, "entropy"))), caloricTol))
		row.Check(t, "heat-capacity", pt.cp*M, published.Relative(tol))
		if row.Text("speed-of-sound") != "-" {
			row.Check(t, "speed-of-sound", pt.w, published.Relative(tol))
		}
		row.Check(t, "residual-Helmholtz-energy", f.eq.residualAt(T, rho).a, published.Relative(tol))
	}
}

func TestPublishedInPrint(t *testing.T) {
	caloricTol := map[string]float64{"R-125": 1e-6, "R-290": 1e-7} // as the head of the file gives them
	for _, row := range published.Read(t, "printed.txt").Rows {
		name, property := row.Text("fluid"), row.Text("property")
		f := mustLookup(t, name)
		pt, err := printedPoint(f, row.Text("state"), row.Number(t, "a"), row.Number(t, "b"))
		if err != nil {
			t.Errorf("%s: %v", row, err)
			continue
		}
		want, tol := row.Number(t, "value"), row.Number(t, "unit-of-last-digit")
		if row.Text("state") == "given" && property != "p" {
			tol = math.Max(tol, caloricTol[name]*want)
		}
		got, ok := map[string]struct {
			quantity string
			value    float64
		}{
			"T": {"temperature[K]", pt.T}, "p": {"pressure[Pa]", pt.p}, "rho": {"density[kg/m³]", pt.rho},
			"h": {"enthalpy[J/kg]", pt.h}, "s": {"entropy[J/(kg·K)]", pt.s},
			"cp": {"heat-capacity[J/(kg·K)]", pt.cp}, "w": {"speed-of-sound[m/s]", pt.w},
			"cp-molar": {"molar-heat-capacity[J/(mol·K)]", pt.cp * f.eq.molarMass},
			"cv-molar": {"molar-heat-capacity-at-constant-volume[J/(mol·K)]", pt.cv * f.eq.molarMass},
		}[property]
		if !ok {
			t.Fatalf("unknown property %q", property)
		}
		row.CheckAs(t, name+"-"+got.quantity, got.value, want, published.Within(tol))
	}
}

// printedPoint returns the state of a printed row.
func printedPoint(f *Fluid, state string, a, b float64) (point, error) {
	T, rho := a, b
	var s twoPhase
	var err error
	switch state {
	case "single":
		var side branch
		if _, side, err = f.phaseAt(b, a); err == nil {
			rho, err = f.density(a, b, side)
		}
	case "liquid", "vapour":
		s, err = f.saturationAt(a)
	case "liquid-at-p", "vapour-at-p":
		s, err = f.saturationOf(a)
		T = s.TBub
	}
	switch state {
	case "liquid", "liquid-at-p":
		rho = s.rhoLiq
	case "vapour", "vapour-at-p":
		rho = s.rhoVap
	}
	return f.pointAt(T, rho), err
}

func TestPublishedMixtures(t *testing.T) {
	for _, row := range published.Read(t, "printed-mixtures.txt").Rows {
		x := row.Number(t, "x")
		m, err := newMixture([]*Fluid{mustLookup(t, row.Text("first")), mustLookup(t, row.Text("second"))})
		if err != nil {
			t.Fatal(err)
		}
		q := m.equation([]float64{x, 1 - x})
		a := q.residualAt(row.Number(t, "T"), row.Number(t, "rho")).a
		row.CheckAs(t, "residual-Helmholtz-energy[-]", a, row.Number(t, "alpha-r"), published.Relative(row.Number(t, "tolerance")))
	}
}

func TestPublishedCriticalPoints(t *testing.T) {
	for _, row := range published.Read(t, "critical.txt").Rows {
		f := routed(t, row.Text("blend"), "mixture")
		T, p := f.Critical()
		row.Check(t, "T", float64(T), published.Relative(1e-6))
		row.Check(t, "p", float64(p), published.Relative(1e-6))
	}
}

func TestPublishedHandbook(t *testing.T) {
	for _, row := range published.Read(t, "handbook.txt").Rows {
		f := mustLookup(t, row.Text("fluid"))
		given, want := row.Number(t, "given"), row.Number(t, "value")
		digit := published.Within(row.Number(t, "unit-of-last-digit"))
		switch row.Text("property") {
		case "T":
			s, err := f.SaturationAtPressure(quantity.Pressure(given))
			if err != nil {
				t.Fatal(err)
			}
			got := s.BubbleTemp
			if row.Text("state") == "vapour" {
				got = s.DewTemp
			}
			row.CheckAs(t, "boiling-temperature[K]", float64(got), want, digit)
		case "p":
			s, err := f.SaturationAtTemp(quantity.Temperature(given))
			if err != nil {
				t.Fatal(err)
			}
			row.CheckAs(t, "saturation-pressure[Pa]", float64(s.BubblePressure), want, digit)
		}
	}
}
