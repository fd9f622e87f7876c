package cycle

import (
	"math"
	"testing"

	"rung/internal/refrigerant"
)

// inletOf is liquid subcooled by sc (K), or a mixture of quality x, at p.
func inletOf(t *refrigerant.Table, p, sc, x float64) inlet {
	s := t.Sat(p)
	in := inlet{p: p, T: s.TBub, quality: x, rhoLiq: s.RhoLiq, rhoSat: s.RhoLiq, rhoVap: s.RhoVap}
	if sc > 0 {
		in.T, in.rhoLiq = t.LiquidPH(p, t.LiquidPT(p, sc))
		in.sc = s.TBub - in.T
	}
	in.rho = 1 / (x/s.RhoVap + (1-x)/in.rhoLiq)
	return in
}

func orificeLoop(t *testing.T, fluid string) loop {
	t.Helper()
	f, err := refrigerant.Lookup(fluid)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Calibrate(Rating{Refrigerant: f, Metering: FixedOrifice, NetCapacity: 3 * wattsPerTon, EER: 3})
	if err != nil {
		t.Fatal(err)
	}
	return loop{m: m, t: f.Table(), valve: &m.valve}
}

// Property: at low pressure, where nothing is published, a fixed orifice passes
// more the colder the liquid and less the more flash gas.
func TestOrificeAtLowPressure(t *testing.T) {
	for _, fluid := range []string{"R-22", "R-410A"} {
		l := orificeLoop(t, fluid)
		for _, share := range []float64{0.08, 0.12, 0.16, 0.2} { // of the critical pressure
			p := share * l.m.pCrit
			last := 0.0
			for sc := 0.0; sc <= 25; sc++ {
				g := l.orificeFlux(inletOf(l.t, p, sc, 0), 0.3*p)
				if !(g > last) {
					t.Errorf("%s at %.2f: %g K of subcooling passes %.0f after %.0f kg/(s·m²)", fluid, share, sc, g, last)
				}
				last = g
			}
			last = math.Inf(1)
			for x := 0.0; x <= 0.4; x += 0.01 {
				g := l.orificeFlux(inletOf(l.t, p, 0, x), 0.3*p)
				if !(g < last) {
					t.Errorf("%s at %.2f: quality %.2f passes %.0f after %.0f kg/(s·m²)", fluid, share, x, g, last)
				}
				last = g
			}
		}
	}
}

// Independent derivation: where the correlation still holds, the root of the
// mixture's density agrees with it. 0.06: see flashFactor.
func TestFlashGasAgreesWhereBothHold(t *testing.T) {
	for _, fluid := range []string{"R-22", "R-410A"} {
		l := orificeLoop(t, fluid)
		const p28 = 0.35
		for x := 0.0; x <= 0.2; x += 0.02 {
			in := inletOf(l.t, p28*l.m.pCrit, 0, x)
			if d := twoPhaseFactor(in, p28) - math.Sqrt(in.rho/in.rhoSat); math.Abs(d) > 0.06 {
				t.Errorf("%s at quality %.2f: they differ by %.3f", fluid, x, d)
			}
		}
	}
}
