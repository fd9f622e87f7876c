package refrigerant

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// Every inversion finds again the state of one phase that its input came from.
// Nothing is published for inversions; the states themselves are checked.
func TestInversionsOfOnePhase(t *testing.T) {
	for name, f := range everyRoute(t) {
		for _, p := range []float64{3e3, 1e5, 9e5, 2.6e6, 5.9e6, 1.1e7} {
			if p > f.maxP || p > f.satMaxP && p < 1.05*f.topPressure() {
				continue
			}
			for T := f.minT + 1; T < f.maxT; T += 17.3 {
				s, err := f.StateAt(quantity.Pressure(p), quantity.Temperature(T))
				if between(err) {
					continue
				}
				if err != nil {
					t.Errorf("%s StateAt(%g, %g): %v", name, p, T, err)
					continue
				}
				h, err1 := f.StateAtEnthalpy(quantity.Pressure(p), s.Enthalpy)
				e, err2 := f.StateAtEntropy(quantity.Pressure(p), s.Entropy)
				d, err3 := f.StateAtDensity(quantity.Temperature(T), s.Density)
				if err := errors.Join(err1, err2, err3); err != nil {
					t.Errorf("%s at %g Pa, %g K: %v", name, p, T, err)
					continue
				}
				if h.Phase != s.Phase || e.Phase != s.Phase || d.Phase != s.Phase {
					t.Errorf("%s at %g Pa, %g K: phases %s, %s, %s, want %s", name, p, T, h.Phase, e.Phase, d.Phase, s.Phase)
				}
				// 1e-7 K: the rounding of h, some 1e-11 of itself, over the heat capacity.
				published.Near(t, name+" T(p, h)", float64(h.Temperature), T, 1e-7)
				published.Near(t, name+" T(p, s)", float64(e.Temperature), T, 1e-7)
				rho, w := float64(s.Density), float64(s.SpeedOfSound)
				published.Near(t, name+" p(T, rho)", float64(d.Pressure), p, 1e-10*(p+rho*w*w))
			}
		}
	}
}

// Between the lines enthalpy, entropy and density tell of the same split.
func TestInversionsOfTwoPhases(t *testing.T) {
	for name, f := range everyRoute(t) {
		for _, T := range temperatures(f, 9)[1:8] {
			s, err := f.saturationAt(T)
			if err != nil {
				t.Fatal(err)
			}
			p := s.pDew
			if p < f.satMinP || p > f.satMaxP {
				continue
			}
			s, err = f.saturationOf(p)
			if err != nil {
				t.Fatal(err)
			}
			l, v := f.ends(s)
			last := 0.0
			for _, q := range []float64{1e-6, 0.1, 0.35, 0.6, 0.9, 1 - 1e-6} {
				h := l.h + q*(v.h-l.h)
				a, err := f.StateAtEnthalpy(quantity.Pressure(p), quantity.SpecificEnthalpy(h))
				if err != nil {
					t.Errorf("%s at %g Pa, quality %g: %v", name, p, q, err)
					continue
				}
				if a.Phase != TwoPhase || !(a.Quality > last && a.Quality < 1) {
					t.Errorf("%s at %g Pa, %g of the heat of evaporation: %+v after quality %g", name, p, q, a, last)
				}
				last = a.Quality
				if T := float64(a.Temperature); T < s.TBub-1e-9 || T > s.TDew+1e-9 {
					t.Errorf("%s at %g Pa: boils at %g K, outside %g to %g", name, p, T, s.TBub, s.TDew)
				}
				published.Near(t, name+" h", float64(a.Enthalpy), h, 1e-7*math.Abs(v.h-l.h))
				b, err := f.StateAtEntropy(quantity.Pressure(p), a.Entropy)
				if err != nil {
					t.Fatal(err)
				}
				published.Near(t, name+" quality by entropy", b.Quality, a.Quality, 1e-6)
				if f.oneFluid {
					continue // its two pressures at one temperature make another split
				}
				c, err := f.StateAtDensity(a.Temperature, a.Density)
				if err != nil {
					t.Errorf("%s at %g K, %g kg/m³: %v", name, a.Temperature, a.Density, err)
					continue
				}
				published.Near(t, name+" pressure by density", float64(c.Pressure), p, 1e-7*p)
				published.Near(t, name+" quality by density", c.Quality, a.Quality, 1e-6)
			}
		}
	}
}

// A blend parted into liquid and vapour: equal fugacities, equal pressures, and
// all of every component.
func TestSplitIsInBalance(t *testing.T) {
	for _, name := range []string{"R-454B", "R-407C", "R-438A"} {
		f := routed(t, name, "mixture")
		b := f.blend
		for _, T := range []float64{230, 280, 330} {
			bub, err1 := b.on(&b.bubble, givenTemp, T)
			dew, err2 := b.on(&b.dew, givenTemp, T)
			if err := errors.Join(err1, err2); err != nil {
				t.Fatal(err)
			}
			v := 0.5 * (math.Exp(-bub.whole) + math.Exp(-dew.whole))
			s, err := b.splitOf(v, &bub, &dew)
			if err != nil {
				t.Fatal(err)
			}
			var liq, vap phase
			liq.set(b.mixture, T, &s.liquid)
			vap.set(b.mixture, T, &s.vapour)
			for i := range b.fluids {
				published.Near(t, name+" fugacity", liq.lnf[i], vap.lnf[i], 1e-10)
				published.Near(t, name+" moles", s.volumeL*s.liquid[i]+s.volumeV*s.vapour[i], b.x[i], 1e-12)
			}
			published.Near(t, name+" pressure", liq.p, vap.p, 1e-8*vap.p+1e-11*universalGas*T*liq.r)
			published.Near(t, name+" volume", s.volumeL+s.volumeV, v, 1e-12*v)
		}
	}
}

func TestInversionLimits(t *testing.T) {
	f := mustLookup(t, "R-454B")
	nan := math.NaN()
	for name, call := range map[string]func() error{
		"cold":           func() error { _, err := f.StateAtEnthalpy(1e6, 5e4); return err },
		"hot":            func() error { _, err := f.StateAtEnthalpy(1e6, 2e6); return err },
		"no enthalpy":    func() error { _, err := f.StateAtEnthalpy(1e6, quantity.SpecificEnthalpy(nan)); return err },
		"no pressure":    func() error { _, err := f.StateAtEntropy(quantity.Pressure(nan), 1500); return err },
		"critical":       func() error { _, err := f.StateAtEnthalpy(quantity.Pressure(f.critP)-1, 3e5); return err },
		"dense":          func() error { _, err := f.StateAtDensity(300, 1e5); return err },
		"thin":           func() error { _, err := f.StateAtDensity(300, 1e-9); return err },
		"no density":     func() error { _, err := f.StateAtDensity(300, quantity.Density(nan)); return err },
		"negative":       func() error { _, err := f.StateAtDensity(300, -1); return err },
		"no temperature": func() error { _, err := f.StateAtDensity(quantity.Temperature(nan), 30); return err },
	} {
		var re *quantity.RangeError
		if err := call(); !errors.As(err, &re) {
			t.Errorf("%s: error %v, want a RangeError", name, err)
		}
	}
}
