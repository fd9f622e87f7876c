package moistair

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// grid calls visit over dry bulbs from -30 to 60 °C, relative humidities and
// pressures from sea level to 3000 m.
func grid(visit func(db quantity.Temperature, rh quantity.RelativeHumidity, p quantity.Pressure)) {
	for _, p := range []quantity.Pressure{101325, 84e3, 70e3} {
		for t := -30.0; t <= 60; t += 1.5 {
			for rh := 0.02; rh <= 1; rh += 0.07 {
				visit(celsius(t), quantity.RelativeHumidity(rh), p)
			}
			visit(celsius(t), 1, p)
		}
	}
}

func TestRoundTrips(t *testing.T) {
	grid(func(db quantity.Temperature, rh quantity.RelativeHumidity, p quantity.Pressure) {
		a, err := FromRelativeHumidity(db, rh, p)
		if err != nil {
			t.Fatal(err)
		}
		byDew, err1 := FromDewPoint(db, a.DewPoint, p)
		byRatio, err2 := FromHumidityRatio(db, a.HumidityRatio, p)
		byWet, err3 := FromWetBulb(db, a.WetBulb, p)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatalf("%v, %v, %v: %v", db, rh, p, err)
		}
		// 1e-8: the tolerance of the wet-bulb root, 1e-9 K, over a slope near 1e-3 per kelvin at the coldest.
		for _, b := range []State{byDew, byRatio, byWet} {
			published.Near(t, "relative humidity", float64(b.RelativeHumidity), float64(rh), 1e-8)
		}
	})
}

// At saturation dry bulb, wet bulb and dew point are one; below it they fall
// in that order.
func TestOrderOfTemperatures(t *testing.T) {
	grid(func(db quantity.Temperature, rh quantity.RelativeHumidity, p quantity.Pressure) {
		a, err := FromRelativeHumidity(db, rh, p)
		if err != nil {
			t.Fatal(err)
		}
		if rh == 1 {
			published.Near(t, "wet bulb of saturated air", float64(a.WetBulb), float64(db), 1e-6)
			published.Near(t, "dew point of saturated air", float64(a.DewPoint), float64(db), 1e-6)
			return
		}
		if !(a.DewPoint < a.WetBulb && a.WetBulb < a.DryBulb) {
			t.Errorf("at %v K, %v: dew point %v, wet bulb %v", db, rh, a.DewPoint, a.WetBulb)
		}
	})
}

// The wet bulb by its definition: adding water, or ice, of the wet-bulb
// temperature until saturation keeps the enthalpy. Above freezing the handbook's
// heat of water, 4.186 t, is the enthalpy of the liquid; below, ice at 0 °C is
// sublimation less evaporation under it.
func TestWetBulbBalance(t *testing.T) {
	grid(func(db quantity.Temperature, rh quantity.RelativeHumidity, p quantity.Pressure) {
		a, err := FromRelativeHumidity(db, rh, p)
		if err != nil {
			t.Fatal(err)
		}
		Tw, P := a.WetBulb.Kelvin(), p.Pascal()
		tw := Tw - iceWater
		added := waterHeat * tw
		if tw < 0 {
			added = evaporation - sublimation + iceHeat*tw
		}
		Ws := ratioFromVapour(satPressure(Tw), P)
		published.Near(t, "enthalpy after adding water", float64(a.Enthalpy)+(Ws-float64(a.HumidityRatio))*added, enthalpy(Tw, Ws), 0.01)
	})
}

func TestDewPointInvertsSaturation(t *testing.T) {
	for T := satMinT; T <= satMaxT; T += 0.37 {
		p, err := SatPressure(quantity.Temperature(T))
		if err != nil {
			t.Fatal(err)
		}
		back, err := DewPoint(p)
		if err != nil {
			t.Fatal(err)
		}
		published.Near(t, "DewPoint(SatPressure)", float64(back), T, 1e-8)
	}
	var out *quantity.RangeError
	if _, err := DewPoint(-1); !errors.As(err, &out) {
		t.Errorf("DewPoint(-1) = %v, want a RangeError", err)
	}
}

func TestPressureFallsWithElevation(t *testing.T) {
	last := quantity.Pressure(math.Inf(1))
	for z := -500.0; z <= 11000; z += 100 {
		p, err := PressureAtElevation(quantity.Length(z))
		if err != nil || !(p < last) {
			t.Fatalf("PressureAtElevation(%v) = %v, %v after %v", z, p, err, last)
		}
		last = p
	}
}

func TestSatPressureSlopes(t *testing.T) {
	for T := 180.0; T < 470; T += 1.7 {
		for _, law := range []func(float64) (float64, float64){overIce, overWater} {
			const d = 1e-3
			up, _ := law(T + d)
			down, _ := law(T - d)
			p, slope := law(T)
			published.Near(t, "slope", slope, (up-down)/(2*d), 1e-6*p)
		}
	}
	// Ice and water agree at the triple point as far as the two formulas do.
	ice, _ := overIce(triplePoint)
	water, _ := overWater(triplePoint)
	published.Near(t, "ice at the triple point", ice, water, 1e-4*water)
}

func TestOutOfRange(t *testing.T) {
	bad := quantity.Temperature(math.NaN())
	for name, call := range map[string]func() error{
		"wet bulb over dry bulb": func() error { _, err := FromWetBulb(300, 300.1, 101325); return err },
		"wet bulb of no air":     func() error { _, err := FromWetBulb(300, 279, 101325); return err },
		"rh over 1":              func() error { _, err := FromRelativeHumidity(300, 1.001, 101325); return err },
		"rh 0":                   func() error { _, err := FromRelativeHumidity(300, 0, 101325); return err },
		"dew point over dry":     func() error { _, err := FromDewPoint(300, 301, 101325); return err },
		"boiling":                func() error { _, err := FromDewPoint(400, 380, 101325); return err },
		"too humid":              func() error { _, err := FromHumidityRatio(300, 0.03, 101325); return err },
		"vacuum":                 func() error { _, err := FromWetBulb(300, 290, 1e3); return err },
		"not a number":           func() error { _, err := FromWetBulb(bad, 290, 101325); return err },
		"not a wet bulb":         func() error { _, err := FromWetBulb(300, bad, 101325); return err },
		"cold saturation":        func() error { _, err := SatPressure(100); return err },
		"stratosphere":           func() error { _, err := PressureAtElevation(12000); return err },
	} {
		var re *quantity.RangeError
		if err := call(); !errors.As(err, &re) {
			t.Errorf("%s: error %v, want a RangeError", name, err)
		}
	}
}

// FuzzState looks for a number that is not one in an answer without an error.
func FuzzState(f *testing.F) {
	f.Add(299.8, 292.6, 101325.0)
	f.Add(273.15, 273.15, 70e3)
	f.Add(180.0, 1e-9, 20e3)
	f.Add(470.0, 0.5, 150e3)
	f.Add(283.15, 273.1, 101325.0)
	f.Fuzz(func(t *testing.T, db, second, p float64) {
		for i, from := range []func() (State, error){
			func() (State, error) {
				return FromWetBulb(quantity.Temperature(db), quantity.Temperature(second), quantity.Pressure(p))
			},
			func() (State, error) {
				return FromRelativeHumidity(quantity.Temperature(db), quantity.RelativeHumidity(second), quantity.Pressure(p))
			},
			func() (State, error) {
				return FromDewPoint(quantity.Temperature(db), quantity.Temperature(second), quantity.Pressure(p))
			},
			func() (State, error) {
				return FromHumidityRatio(quantity.Temperature(db), quantity.HumidityRatio(second), quantity.Pressure(p))
			},
		} {
			s, err := from()
			var re *quantity.RangeError
			if err != nil {
				if !errors.As(err, &re) {
					t.Errorf("function %d at (%v, %v, %v): %v", i, db, second, p, err)
				}
				continue
			}
			sum := float64(s.WetBulb) + float64(s.DewPoint) + float64(s.RelativeHumidity) + float64(s.HumidityRatio) +
				float64(s.Enthalpy) + float64(s.SpecificVolume)
			if math.IsNaN(sum) || math.IsInf(sum, 0) {
				t.Errorf("function %d at (%v, %v, %v) = %+v", i, db, second, p, s)
			}
		}
	})
}
