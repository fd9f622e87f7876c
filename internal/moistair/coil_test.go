package moistair

import (
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// Above freezing the coil functions answer as the exact ones.
func TestCoilAgreesWithState(t *testing.T) {
	for T := 273.2; T < coilMaxT; T += 0.37 {
		for _, p := range []float64{coilMinP, 84e3, 101325} {
			s, err := FromRelativeHumidity(quantity.Temperature(T), 1, quantity.Pressure(p))
			if err != nil {
				t.Fatal(err)
			}
			// 3e-7: the cubic over one kelvin, measured.
			published.Near(t, "SatHumidityRatio", SatHumidityRatio(T, p), float64(s.HumidityRatio), 3e-7*float64(s.HumidityRatio))
			published.Near(t, "SatEnthalpy", SatEnthalpy(T, p), float64(s.Enthalpy), 3e-7*float64(s.Enthalpy))
		}
	}
}

func TestCoilTableError(t *testing.T) {
	var worst float64
	for T := coilMinT; T <= coilMaxT; T += 0.013 {
		p, slope := satWater(T)
		want, wantSlope := overWater(T)
		worst = math.Max(worst, math.Abs(p/want-1))
		published.Near(t, "slope", slope, wantSlope, 1e-4*wantSlope) // a cubic's slope is a third-order answer
	}
	if worst > 3e-7 {
		t.Errorf("saturation pressure of the coil table is off by %.2g, documented 3e-7", worst)
	}
}

// Value and slope are continuous through every node and through 0 °C.
func TestCoilHasNoKink(t *testing.T) {
	const p, d = 101325.0, 1e-7
	for T := coilMinT + 1; T < coilMaxT-0.5; T++ {
		published.Near(t, "value across a node", SatEnthalpy(T+d, p), SatEnthalpy(T-d, p), 3*d*SatEnthalpySlope(T, p))
		published.Near(t, "slope across a node", SatEnthalpySlope(T+d, p), SatEnthalpySlope(T-d, p), 1e-6*SatEnthalpySlope(T, p))
	}
}

func TestCoilSlope(t *testing.T) {
	const p, d = 90e3, 1e-4
	for T := 230.3; T < 342; T += 0.71 {
		want := (SatEnthalpy(T+d, p) - SatEnthalpy(T-d, p)) / (2 * d)
		published.Near(t, "SatEnthalpySlope", SatEnthalpySlope(T, p), want, 1e-5*want)
	}
}

func TestSatTempInverts(t *testing.T) {
	for _, p := range []float64{coilMinP, 70e3, 84e3, 101325, maxPressure} {
		for T := coilMinT; T <= coilMaxT; T += 0.31 {
			published.Near(t, "SatTemp(SatEnthalpy)", SatTemp(SatEnthalpy(T, p), p), T, 1e-8)
		}
	}
}

func TestCoilOutOfRange(t *testing.T) {
	for name, got := range map[string]float64{
		"cold":         SatEnthalpy(coilMinT-0.01, 101325),
		"hot":          SatEnthalpy(coilMaxT+0.01, 101325),
		"high up":      SatEnthalpy(300, coilMinP-1),
		"compressed":   SatHumidityRatio(300, maxPressure+1),
		"not a number": SatEnthalpySlope(math.NaN(), 101325),
		"too little":   SatTemp(-60e3, 101325),
		"too much":     SatTemp(900e3, 101325),
		"no enthalpy":  SatTemp(math.NaN(), 101325),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: %v, want NaN", name, got)
		}
	}
}

func TestCoilAllocatesNothing(t *testing.T) {
	if n := testing.AllocsPerRun(100, func() { sink = SatTemp(SatEnthalpy(280, 101325), 101325) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
