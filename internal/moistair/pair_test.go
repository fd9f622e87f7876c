package moistair

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// known returns every property of a state.
func known(s State) []Given {
	return []Given{DryBulbIs(s.DryBulb), WetBulbIs(s.WetBulb), DewPointIs(s.DewPoint), HumidityRatioIs(s.HumidityRatio),
		RelativeHumidityIs(s.RelativeHumidity), EnthalpyIs(s.Enthalpy), SpecificVolumeIs(s.SpecificVolume)}
}

// Of the 21 pairs two are refused, and each other gives the state back.
func TestEveryPairComesBack(t *testing.T) {
	grid(func(db quantity.Temperature, rh quantity.RelativeHumidity, p quantity.Pressure) {
		s, err := FromRelativeHumidity(db, rh, p)
		if err != nil {
			t.Fatal(err)
		}
		all := known(s)
		for i, a := range all {
			for _, b := range all[i+1:] {
				var pair *PairError
				got, err := From(b, a, p)
				if refused := undetermined(a.kind, b.kind) != ""; refused != errors.As(err, &pair) {
					t.Fatalf("From(%v, %v) = %v, refused %v", a.kind, b.kind, err, refused)
				} else if refused {
					continue
				}
				if err != nil {
					t.Fatalf("From(%v, %v) at %v K, %v, %v Pa: %v", a.kind, b.kind, db, rh, p, err)
				}
				checkSame(t, a.kind.String()+" and "+b.kind.String(), got, s)
			}
		}
	})
}

// checkSame compares what both were not given by. The widest pair is wet bulb
// and volume in cold air, where both lines run close: 1e-9 K of wet bulb from
// the solver become 1e-6 K of dry bulb.
func checkSame(t *testing.T, call string, got, want State) {
	t.Helper()
	published.Near(t, call+": dry bulb", float64(got.DryBulb), float64(want.DryBulb), 2e-6)
	published.Near(t, call+": humidity ratio", float64(got.HumidityRatio), float64(want.HumidityRatio), 2e-9)
	// Just at 0 °C the wick may be wet or iced, see wetBulb.
	if math.Abs(float64(want.WetBulb)-iceWater) > 0.5 {
		published.Near(t, call+": wet bulb", float64(got.WetBulb), float64(want.WetBulb), 2e-6)
	}
}

// Along each line the other properties go one way, so that the answer is the
// only one.
func TestLinesAreMonotonic(t *testing.T) {
	const p = 90e3
	for _, Tw := range []float64{250, 272, 290, 305} {
		rising(t, "volume at a wet bulb", func(T float64) (float64, bool) {
			W := ratioFromWetBulb(T, Tw, p)
			return volume(T, W, p), T >= Tw && W > driestRatio(p)
		})
		rising(t, "dryness at a wet bulb", func(T float64) (float64, bool) {
			W := ratioFromWetBulb(T, Tw, p)
			return -vapourFromRatio(W, p) / satPressure(T), T >= Tw && W > driestRatio(p)
		})
	}
	for _, rh := range []float64{0.05, 0.5, 1} {
		for _, k := range []property{airEnthalpy, specificVolume} {
			rising(t, k.String()+" at a relative humidity", func(T float64) (float64, bool) {
				W := ratioFromVapour(rh*satPressure(T), p)
				return propertyAt(k, T, W, p), T < 360
			})
		}
	}
	for _, h := range []float64{-10e3, 30e3, 90e3} {
		rising(t, "volume at an enthalpy", func(T float64) (float64, bool) {
			W := ratioWithEnthalpy(T, h)
			return volume(T, W, p), W > driestRatio(p) && W < most(T, p)
		})
	}
}

// rising walks from -70 to 120 °C where f answers.
func rising(t *testing.T, what string, f func(T float64) (float64, bool)) {
	t.Helper()
	last := math.Inf(-1)
	for T := 203.15; T < 393; T += 0.7 {
		x, ok := f(T)
		if !ok {
			continue
		}
		if !(x > last) {
			t.Errorf("%s falls at %v K", what, T)
			return
		}
		last = x
	}
}

func TestPairRefusals(t *testing.T) {
	const p = 101325
	for _, c := range []struct {
		a, b Given
		name string // of the property out of range; "" for a pair that fixes nothing
	}{
		{WetBulbIs(290), EnthalpyIs(47e3), ""},
		{EnthalpyIs(47e3), WetBulbIs(290), ""},
		{DewPointIs(285), HumidityRatioIs(0.008), ""},
		{DryBulbIs(290), DryBulbIs(290), ""},
		{WetBulbIs(290), DewPointIs(291), "dew point"},
		{WetBulbIs(290), HumidityRatioIs(0.02), "humidity ratio"},
		{WetBulbIs(290), RelativeHumidityIs(1.1), "relative humidity"},
		{DewPointIs(290), EnthalpyIs(40e3), "enthalpy"},
		{DewPointIs(290), SpecificVolumeIs(0.7), "specific volume"},
		{RelativeHumidityIs(0), EnthalpyIs(40e3), "relative humidity"},
		{RelativeHumidityIs(0.5), EnthalpyIs(1e9), "enthalpy"},
		{DryBulbIs(300), EnthalpyIs(10e3), "enthalpy"},
		{DryBulbIs(300), SpecificVolumeIs(2), "specific volume"},
		{EnthalpyIs(50e3), SpecificVolumeIs(0.5), "specific volume"},
		{HumidityRatioIs(-0.01), EnthalpyIs(50e3), "humidity ratio"},
		{WetBulbIs(quantity.Temperature(math.NaN())), RelativeHumidityIs(0.5), "wet bulb"},
		{DryBulbIs(300), EnthalpyIs(quantity.SpecificEnthalpy(math.NaN())), "enthalpy"},
	} {
		_, err := From(c.a, c.b, p)
		var pair *PairError
		var out *quantity.RangeError
		switch {
		case c.name == "" && !errors.As(err, &pair):
			t.Errorf("From(%v, %v) = %v, want a PairError", c.a, c.b, err)
		case c.name != "" && (!errors.As(err, &out) || out.Name != c.name):
			t.Errorf("From(%v, %v) = %v, want a RangeError of the %s", c.a, c.b, err, c.name)
		}
	}
}

// FuzzFrom looks for a number that is not one in an answer without an error,
// and for an answer without the properties it was given.
func FuzzFrom(f *testing.F) {
	f.Add(1, 292.6, 4, 0.5, 101325.0)
	f.Add(2, 273.15, 5, 40e3, 70e3)
	f.Add(4, 1.0, 5, 9.4e3, 101325.0)
	f.Add(5, 55e3, 6, 0.87, 101325.0)
	f.Add(1, 273.1, 6, 0.8, 90e3)
	f.Fuzz(func(t *testing.T, i int, x float64, j int, y, p float64) {
		if i < 0 || i > int(specificVolume) || j < 0 || j > int(specificVolume) {
			return
		}
		a, b := Given{property(i), x}, Given{property(j), y}
		s, err := From(a, b, quantity.Pressure(p))
		if err != nil {
			var out *quantity.RangeError
			var pair *PairError
			if !errors.As(err, &out) && !errors.As(err, &pair) {
				t.Errorf("From(%v, %v, %v): %v", a, b, p, err)
			}
			return
		}
		for _, g := range []Given{a, b} {
			back := known(s)[g.kind].value
			if !(math.Abs(back-g.value) <= 1e-5*math.Max(1, math.Abs(g.value))) {
				t.Errorf("From(%v, %v, %v) has the %v %v", a, b, p, g.kind, back)
			}
		}
	})
}
