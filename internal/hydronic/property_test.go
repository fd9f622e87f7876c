package hydronic

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

const sea = 101325 // Pa

// Enthalpy, heat capacity and volume come from one function: along a
// temperature the slope of the first is the second.
func TestEnthalpySlope(t *testing.T) {
	for T := minTemp; T < maxTemp; T += 3.1 {
		const d = 1e-3 // K
		slope := (region1(T+d, 1e6).h - region1(T-d, 1e6).h) / (2 * d)
		published.Near(t, "slope of enthalpy", region1(T, 1e6).cp, slope, 1e-3)
	}
}

func TestBoilingComesBack(t *testing.T) {
	last := 0.0
	for T := minTemp; T <= maxTemp; T += 0.7 {
		p, err := BoilingPressure(quantity.Temperature(T))
		if err != nil || float64(p) <= last {
			t.Fatalf("BoilingPressure(%v) = %v, %v after %v", T, p, err, last)
		}
		last = float64(p)
		// 1e-8 K at 0 °C and 3e-6 K where the two equations are printed apart.
		back, err := BoilingPoint(p)
		if err != nil {
			t.Fatal(err)
		}
		published.Near(t, "BoilingPoint(BoilingPressure)", float64(back), T, 1e-6)
	}
}

// Water is densest near 4 °C; warmer it only gets lighter and thinner.
func TestWaterGoesOneWay(t *testing.T) {
	var last Liquid
	for c := 4.0; c <= 150; c += 0.5 {
		w, err := WaterAt(celsius(c), 1e6)
		if err != nil {
			t.Fatal(err)
		}
		if c > 4 && !(w.Density < last.Density && w.Viscosity < last.Viscosity) {
			t.Fatalf("at %v °C %+v after %+v", c, w, last)
		}
		last = w
	}
	at := func(c float64) float64 {
		w, err := WaterAt(celsius(c), sea)
		if err != nil {
			t.Fatal(err)
		}
		return float64(w.Density)
	}
	if !(at(4) > at(2) && at(4) > at(6)) {
		t.Error("water is not densest near 4 °C")
	}
}

func TestHeatCarriedAgainstEnthalpy(t *testing.T) {
	for c := 15.0; c <= 75; c += 5 {
		for d := 1.0; d <= 70; d += 3 {
			mid, err := WaterAt(celsius(c+d/2), 1e6)
			if err != nil {
				t.Fatal(err)
			}
			T := c + minTemp
			want := float64(mid.Density) * (region1(T+d, 1e6).h - region1(T, 1e6).h)
			published.Near(t, "HeatCarried", float64(HeatCarried(mid, 1, quantity.TempDiff(d))), want, 1.2e-3*want)
		}
	}
}

// Without glycol the polynomials must give water, which proves the part of
// their coefficients that has no glycol in it.
func TestPolynomialsWithoutGlycolGiveWater(t *testing.T) {
	for g, b := range brines {
		for c := 1.0; c <= 40; c++ {
			s := b.at(0, c+minTemp)
			w, err := WaterAt(celsius(c), sea)
			if err != nil {
				t.Fatal(err)
			}
			near := func(what string, got, want, rel float64) {
				t.Helper()
				published.Near(t, string(g)+" "+what, got, want, rel*want)
			}
			near("density", float64(s.Density), float64(w.Density), 3e-3)
			near("heat capacity", float64(s.SpecificHeat), float64(w.SpecificHeat), 1e-2)
			near("viscosity", float64(s.Viscosity), float64(w.Viscosity), 5e-2)
			near("conductivity", float64(s.Conductivity), float64(w.Conductivity), 2e-2)
		}
	}
}

func TestSolutionWithoutGlycolIsWater(t *testing.T) {
	w, err := WaterAt(celsius(60), 200e3)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Solution{Propylene, 0}.At(celsius(60))
	if err != nil || s != w {
		t.Errorf("%+v, %v, want water %+v", s, err, w)
	}
}

// A solution does not jump where water freezes.
func TestSolutionGoesOnBelowZero(t *testing.T) {
	const d = 1e-6 // K
	warm, err1 := Solution{Propylene, 0.4}.At(minTemp + d)
	cold, err2 := Solution{Propylene, 0.4}.At(minTemp - d)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	published.Near(t, "density", float64(cold.Density), float64(warm.Density), 1e-3)
	published.Near(t, "viscosity", float64(cold.Viscosity), float64(warm.Viscosity), 1e-6)
}

// More glycol freezes later, is thicker and carries less per mass.
func TestGlycolGoesOneWay(t *testing.T) {
	for g := range brines {
		ice, thick, heat := math.Inf(1), 0.0, math.Inf(1)
		for x := 0.0; x <= maxShare; x += 0.01 {
			s := Solution{g, quantity.Ratio(x)}
			f, err := s.FreezingPoint()
			if err != nil {
				t.Fatal(err)
			}
			l, err := s.At(celsius(40))
			if err != nil {
				t.Fatal(err)
			}
			if !(float64(f) < ice && float64(l.Viscosity) > thick && float64(l.SpecificHeat) < heat) {
				t.Fatalf("%v: %v, %+v", s, f, l)
			}
			ice, thick, heat = float64(f), float64(l.Viscosity), float64(l.SpecificHeat)
		}
	}
}

func TestMassShare(t *testing.T) {
	for _, c := range []struct {
		glycol Glycol
		volume quantity.Ratio
		want   float64 // memory: ASHRAE Fundamentals, ch. 31, tables 4 and 5, volume to mass; to 0.005
	}{{Propylene, 0.294, 0.30}, {Propylene, 0.499, 0.50}, {Ethylene, 0.277, 0.30}, {Ethylene, 0.476, 0.50}, {Ethylene, 0, 0}} {
		s, err := MassShare(c.glycol, c.volume)
		if err != nil {
			t.Fatal(err)
		}
		published.Near(t, "MassShare", float64(s.Mass), c.want, 0.012)
	}
}

func TestOutOfRange(t *testing.T) {
	nan := math.NaN()
	for name, call := range map[string]func() error{
		"frozen":               func() error { _, err := WaterAt(270, sea); return err },
		"steam":                func() error { _, err := WaterAt(380, sea); return err },
		"not a number":         func() error { _, err := WaterAt(quantity.Temperature(nan), sea); return err },
		"not a pressure":       func() error { _, err := WaterAt(300, quantity.Pressure(nan)); return err },
		"hot":                  func() error { _, err := WaterAt(430, 1e6); return err },
		"compressed":           func() error { _, err := WaterAt(300, 3e6); return err },
		"boiling beyond":       func() error { _, err := BoilingPoint(1e6); return err },
		"boiling pressure":     func() error { _, err := BoilingPressure(500); return err },
		"strong":               func() error { _, err := Solution{Propylene, 0.7}.At(300); return err },
		"strong by volume":     func() error { _, err := MassShare(Ethylene, 0.6); return err },
		"share not a number":   func() error { _, err := Solution{Propylene, quantity.Ratio(nan)}.FreezingPoint(); return err },
		"frozen solution":      func() error { _, err := Solution{Propylene, 0.3}.At(celsius(-20)); return err },
		"hot solution":         func() error { _, err := Solution{Ethylene, 0.3}.At(celsius(110)); return err },
		"pressures reversed":   func() error { _, err := TankVolume(1, 3e5, 2e5); return err },
		"no room for the tank": func() error { _, err := TankVolume(1, 3e5, 3e5); return err },
	} {
		var out *quantity.RangeError
		if err := call(); !errors.As(err, &out) {
			t.Errorf("%s: error %v, want a RangeError", name, err)
		}
	}
	var unknown *UnknownError
	if _, err := (Solution{"brine", 0.1}).At(300); !errors.As(err, &unknown) {
		t.Errorf("unknown glycol: %v", err)
	}
}

func TestColumnOfWater(t *testing.T) {
	w, err := WaterAt(celsius(20), sea)
	if err != nil {
		t.Fatal(err)
	}
	published.Near(t, "Head(StaticPressure)", float64(Head(w, StaticPressure(w, 7.3))), 7.3, 1e-12)
}
