package moistair

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

func must(t testing.TB, db float64, rh quantity.RelativeHumidity) State {
	t.Helper()
	s, err := FromRelativeHumidity(celsius(db), rh, 101325)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Water and energy are what both streams brought, also where fog forms; the
// order of the streams does not matter, and mixing with nothing changes nothing.
func TestMixConserves(t *testing.T) {
	for _, a := range []State{must(t, 24, 0.5), must(t, -20, 0.9), must(t, 40, 0.2), must(t, 30, 1)} {
		for _, b := range []State{must(t, 35, 0.4), must(t, 2, 1), must(t, -25, 1), must(t, 20, 0.5)} {
			for _, flow := range []quantity.MassFlow{0, 0.1, 1, 7} {
				m, err := Mix(Stream{a, 1}, Stream{b, flow})
				if err != nil {
					t.Fatal(err)
				}
				back, err := Mix(Stream{b, flow}, Stream{a, 1})
				if err != nil {
					t.Fatal(err)
				}
				published.Near(t, "dry bulb the other way round", float64(back.Air.DryBulb), float64(m.Air.DryBulb), 1e-6)
				checkBalance(t, m, Stream{a, 1}, Stream{b, flow})
			}
		}
	}
}

func checkBalance(t *testing.T, m Mixture, a, b Stream) {
	t.Helper()
	sum := func(of func(State) float64) float64 {
		return float64(a.DryAir)*of(a.Air) + float64(b.DryAir)*of(b.Air)
	}
	dry := float64(m.DryAir)
	published.Near(t, "dry air", dry, float64(a.DryAir+b.DryAir), 1e-12)
	water := sum(func(s State) float64 { return float64(s.HumidityRatio) })
	published.Near(t, "water", dry*float64(m.Air.HumidityRatio+m.Fog), water, 1e-12*dry)
	if tm := float64(m.Air.DryBulb) - iceWater; m.Fog == 0 || math.Abs(tm) > 1e-6 { // at 0 °C the fog is partly frozen
		afloat := waterHeat * tm
		if tm < 0 {
			afloat = evaporation - sublimation + iceHeat*tm
		}
		energy := sum(func(s State) float64 { return float64(s.Enthalpy) })
		published.Near(t, "energy", dry*(float64(m.Air.Enthalpy)+float64(m.Fog)*afloat), energy, 1e-3*dry)
	}
	lo, hi := min(a.Air.DryBulb, b.Air.DryBulb), max(a.Air.DryBulb, b.Air.DryBulb)
	if m.Fog == 0 && !(lo-1e-9 <= m.Air.DryBulb && m.Air.DryBulb <= hi+1e-9) {
		t.Errorf("%v K mixed from %v and %v K", m.Air.DryBulb, lo, hi)
	}
}

func TestMixMakesFog(t *testing.T) {
	m, err := Mix(Stream{must(t, 30, 1), 1}, Stream{must(t, 0, 1), 1})
	if err != nil {
		t.Fatal(err)
	}
	if !(m.Fog > 0) || m.Air.RelativeHumidity < 1-1e-9 {
		t.Errorf("damp warm air into cold air: %+v, want saturated with fog", m)
	}
}

func TestMixRefuses(t *testing.T) {
	high := must(t, 20, 0.5)
	high.Pressure = 80e3
	for name, pair := range map[string][2]Stream{
		"two pressures": {{must(t, 20, 0.5), 1}, {high, 1}},
		"no flow":       {{must(t, 20, 0.5), 0}, {must(t, 30, 0.5), 0}},
		"backwards":     {{must(t, 20, 0.5), 1}, {must(t, 30, 0.5), -1}},
	} {
		var out *quantity.RangeError
		if _, err := Mix(pair[0], pair[1]); !errors.As(err, &out) {
			t.Errorf("%s: error %v, want a RangeError", name, err)
		}
	}
}

func TestRemoved(t *testing.T) {
	in, out := must(t, 27, 0.5), must(t, 13, 0.9)
	l := Removed(in, out, 0.5)
	published.Near(t, "sensible and latent", float64(l.Sensible+l.Latent), float64(l.Total), 1e-9)
	published.Near(t, "total", float64(l.Total), 0.5*float64(in.Enthalpy-out.Enthalpy), 1e-9)
	published.Near(t, "condensate", float64(l.Condensate), 0.5*float64(in.HumidityRatio-out.HumidityRatio), 1e-15)
	// The latent heat per condensate is that of vapour at the entering dry bulb.
	published.Near(t, "heat per condensate", float64(l.Latent)/float64(l.Condensate), evaporation+vapourHeat*27, 1e-3)
	back := Removed(out, in, 0.5)
	published.Near(t, "total the other way", float64(back.Total), -float64(l.Total), 1e-9)
	same := must(t, 27, 0.5)
	if dry := Removed(same, same, 1); dry.Total != 0 || dry.Condensate != 0 {
		t.Errorf("nothing happened, yet %+v", dry)
	}
}

// Air mixed from the entering air and saturated air shows both again.
func TestApparatusDewPointComesBack(t *testing.T) {
	for _, bypass := range []float64{0.02, 0.1, 0.3} {
		for _, coil := range []float64{4, 8, 12} {
			in, sat := must(t, 27, 0.5), must(t, coil, 1)
			m, err := Mix(Stream{in, quantity.MassFlow(bypass)}, Stream{sat, quantity.MassFlow(1 - bypass)})
			if err != nil {
				t.Fatal(err)
			}
			T, share, err := ApparatusDewPoint(in, m.Air)
			if err != nil {
				t.Fatal(err)
			}
			published.Near(t, "apparatus dew point", float64(T), float64(sat.DryBulb), 1e-6)
			published.Near(t, "bypass", float64(share), bypass, 1e-8)
		}
	}
}

func TestApparatusDewPointRefuses(t *testing.T) {
	var out *quantity.RangeError
	var pair *PairError
	if _, _, err := ApparatusDewPoint(must(t, 27, 0.3), must(t, 15, 0.7)); !errors.As(err, &out) {
		t.Errorf("dry coil: %v, want a RangeError", err)
	}
	if _, _, err := ApparatusDewPoint(must(t, 27, 0.5), must(t, 26, 0.02)); !errors.As(err, &pair) {
		t.Errorf("dried without cooling: %v, want a PairError", err)
	}
}
