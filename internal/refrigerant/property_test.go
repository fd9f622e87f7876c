package refrigerant

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// everyRoute returns every refrigerant by name, and by the mixing rules where
// that is another equation.
func everyRoute(t testing.TB) map[string]*Fluid {
	t.Helper()
	all := map[string]*Fluid{}
	for _, name := range Names() {
		f := mustLookup(t, name)
		all[name] = f
		if f.oneFluid {
			all[name+" by parts"] = routed(t, name, "mixture")
		}
	}
	return all
}

// temperatures returns n temperatures in K over the saturation range of f.
func temperatures(f *Fluid, n int) []float64 {
	T := make([]float64, n)
	for i := range T {
		T[i] = f.satMinT + (f.satMaxT-f.satMinT)*float64(i)/float64(n-1)
	}
	return T
}

// Boiling liquid and its vapour have equal pressure and equal Gibbs energy.
func TestEqualGibbsEnergy(t *testing.T) {
	for name, f := range everyRoute(t) {
		if f.oneFluid || f.blend != nil {
			continue // the lines are fits of their own, or of different compositions
		}
		for _, T := range temperatures(f, 101) {
			s, err := f.saturationAt(T)
			if err != nil {
				t.Errorf("%s at %g K: %v", name, T, err)
				continue
			}
			l, v := f.pointAt(T, s.rhoLiq), f.pointAt(T, s.rhoVap)
			RT := f.eq.gasConstant / f.eq.molarMass * T
			// 1e-9 of RT: h and Ts are tens of RT, each good to some 1e-13, and
			// the iteration stops at 1e-12 of the density.
			published.Near(t, name+" Gibbs energy", l.h-T*l.s, v.h-T*v.s, 1e-9*RT)
			// The liquid's pressure is a small difference: 1e-12 of the density
			// is some 1e-12 of ρ²·∂p/∂ρ.
			published.Near(t, name+" pressure", l.p, v.p, 1e-10*(v.p+l.rho*l.w*l.w))
		}
	}
}

// published: Clausius and Clapeyron, any text: dp/dT = Δs/Δv for a pure fluid.
func TestClausiusClapeyron(t *testing.T) {
	for name, f := range everyRoute(t) {
		if f.oneFluid || f.blend != nil {
			continue
		}
		for _, T := range temperatures(f, 41)[1:40] {
			const d = 0.01 // K
			a, err1 := f.saturationAt(T - d)
			b, err2 := f.saturationAt(T + d)
			s, err3 := f.saturationAt(T)
			if err := errors.Join(err1, err2, err3); err != nil {
				t.Fatal(err)
			}
			l, v := f.pointAt(T, s.rhoLiq), f.pointAt(T, s.rhoVap)
			slope := (v.s - l.s) / (1/v.rho - 1/l.rho)
			// 1e-6: the central difference over 0.02 K.
			published.Near(t, name+" dp/dT", (b.pDew-a.pDew)/(2*d), slope, 1e-6*math.Abs(slope))
		}
	}
}

// What the blend as one fluid costs: its bubble and dew pressures bracket the
// pressure of equal Gibbs energy of its own equation.
func TestPseudoPureBracketsEquilibrium(t *testing.T) {
	f := mustLookup(t, "R-410A")
	for T := 210.0; T < 335; T += 5 {
		e, err := f.equilibrium(T)
		if err != nil {
			t.Fatal(err)
		}
		s, err := f.saturationAt(T)
		if err != nil {
			t.Fatal(err)
		}
		// 2e-3: nothing is published; the two lines lie 0.2 to 0.5 % apart.
		if e.pDew < s.pDew*(1-2e-3) || e.pDew > s.pBub*(1+2e-3) {
			t.Errorf("at %g K: equilibrium %g Pa, dew %g, bubble %g", T, e.pDew, s.pDew, s.pBub)
		}
	}
}

// Every derivative of every form of term against differences.
func TestDerivatives(t *testing.T) {
	for name, f := range everyRoute(t) {
		q := &f.eq
		residual := func(tau, del float64) derivs { return q.residualAt(q.reduceT/tau, del*q.reduceRho) }
		ideal := func(tau float64) derivs { return q.idealAt(q.reduceT / tau) }
		for _, tau := range []float64{0.8, 1.1, 1.4} {
			for _, del := range []float64{0.05, 0.7, 1.9} {
				const (
					d   = 1e-5
					tol = 1e-6 // of the difference: d² times the sharpest Gaussian, β = 548
				)
				r := residual(tau, del)
				up, down := residual(tau, del*(1+d)), residual(tau, del*(1-d))
				published.Near(t, name+" d", r.d, (up.a-down.a)/(2*d), tol*(1+math.Abs(r.d)))
				published.Near(t, name+" dd", r.dd+r.d, (up.d-down.d)/(2*d), tol*(1+math.Abs(r.dd)))
				published.Near(t, name+" td", r.dt, (up.t-down.t)/(2*d), tol*(1+math.Abs(r.dt)))
				up, down = residual(tau*(1+d), del), residual(tau*(1-d), del)
				published.Near(t, name+" t", r.t, (up.a-down.a)/(2*d), tol*(1+math.Abs(r.t)))
				published.Near(t, name+" tt", r.tt+r.t, (up.t-down.t)/(2*d), tol*(1+math.Abs(r.tt)))
				published.Near(t, name+" dt", r.dt, (up.d-down.d)/(2*d), tol*(1+math.Abs(r.dt)))
				i := ideal(tau)
				iup, idown := ideal(tau*(1+d)), ideal(tau*(1-d))
				published.Near(t, name+" ideal t", i.t, (iup.a-idown.a)/(2*d), tol*(1+math.Abs(i.t)))
				published.Near(t, name+" ideal tt", i.tt+i.t, (iup.t-idown.t)/(2*d), tol*(1+math.Abs(i.tt)))
			}
		}
	}
}

// Along an isobar dh = cp dT = T ds; 1e-6 for the central difference.
func TestIsobarsAreConsistent(t *testing.T) {
	for name, f := range everyRoute(t) {
		for _, p := range []quantity.Pressure{1e5, 1e6, 3e6, 8e6} {
			for T := 215.0; T < f.maxT-1; T += 13 {
				const d = 0.01 // K
				a, err1 := f.StateAt(p, quantity.Temperature(T-d))
				b, err2 := f.StateAt(p, quantity.Temperature(T+d))
				s, err3 := f.StateAt(p, quantity.Temperature(T))
				if between(err1) || between(err2) || between(err3) {
					continue
				}
				if err := errors.Join(err1, err2, err3); err != nil {
					t.Fatal(err)
				}
				if a.Phase != b.Phase {
					continue
				}
				dh := float64(b.Enthalpy - a.Enthalpy)
				published.Near(t, name+" cp", dh/(2*d), float64(s.HeatCapacity), 1e-5*math.Abs(float64(s.HeatCapacity)))
				published.Near(t, name+" T ds", T*float64(b.Entropy-a.Entropy), dh, 1e-5*math.Abs(dh))
			}
		}
	}
}

// between reports whether an error says that the state is between the lines.
func between(err error) bool {
	var two *TwoPhaseError
	return errors.As(err, &two)
}

func TestSaturationIsMonotone(t *testing.T) {
	for name, f := range everyRoute(t) {
		var last Saturation
		for i, T := range temperatures(f, 300) {
			s, err := f.SaturationAtTemp(quantity.Temperature(T))
			if err != nil {
				t.Fatalf("%s at %g K: %v", name, T, err)
			}
			if s.BubblePressure < s.DewPressure {
				t.Errorf("%s at %g K: bubble pressure %v under dew pressure %v", name, T, s.BubblePressure, s.DewPressure)
			}
			if i > 0 && !(s.BubblePressure > last.BubblePressure && s.DewPressure > last.DewPressure &&
				s.LiquidDensity < last.LiquidDensity && s.VapourDensity > last.VapourDensity &&
				s.LiquidEnthalpy > last.LiquidEnthalpy && s.LiquidEntropy > last.LiquidEntropy) {
				t.Errorf("%s at %g K: %+v after %+v", name, T, s, last)
			}
			last = s
		}
	}
}

func TestSaturationRoundTrip(t *testing.T) {
	for name, f := range everyRoute(t) {
		for _, T := range temperatures(f, 60)[1:59] {
			at, err := f.SaturationAtTemp(quantity.Temperature(T))
			if err != nil {
				t.Fatal(err)
			}
			if float64(at.DewPressure) < f.satMinP || float64(at.BubblePressure) > f.satMaxP {
				continue // both lines are answered at a pressure, or none
			}
			bub, err1 := f.SaturationAtPressure(at.BubblePressure)
			dew, err2 := f.SaturationAtPressure(at.DewPressure)
			if err := errors.Join(err1, err2); err != nil {
				t.Fatal(err)
			}
			published.Near(t, name+" bubble temperature", float64(bub.BubbleTemp), T, 1e-9*T)
			published.Near(t, name+" dew temperature", float64(dew.DewTemp), T, 1e-9*T)
		}
	}
}

// A state found from pressure and temperature has that pressure.
func TestStateHasItsPressure(t *testing.T) {
	for name, f := range everyRoute(t) {
		for _, p := range []float64{10, 1e4, 2e5, 2e6, 4.4e6, 6e6, 2e7, 5e7} {
			for T := f.minT + 0.5; T <= f.maxT; T += 7.3 {
				if p > f.maxP {
					continue
				}
				s, err := f.StateAt(quantity.Pressure(p), quantity.Temperature(T))
				if between(err) {
					continue
				}
				if err != nil {
					t.Errorf("%s StateAt(%g, %g): %v", name, p, T, err)
					continue
				}
				pt := f.pointAt(T, float64(s.Density)/f.eq.molarMass)
				// Of a cold liquid the pressure is a small difference of large terms.
				published.Near(t, name+" pressure", pt.p, p, 1e-11*(p+pt.rho*pt.w*pt.w))
			}
		}
	}
}

func TestErrors(t *testing.T) {
	var unknown *UnknownError
	if _, err := Lookup("R-11"); !errors.As(err, &unknown) {
		t.Errorf("Lookup(R-11): %v, want an UnknownError", err)
	}
	for _, same := range []string{"R-410A", "r410a", " R410A "} {
		if f, err := Lookup(same); err != nil || f.Name() != "R-410A" {
			t.Errorf("Lookup(%q) = %v, %v", same, f, err)
		}
	}
	f := mustLookup(t, "R-410A")
	s, err := f.SaturationAtTemp(280)
	if err != nil {
		t.Fatal(err)
	}
	var two *TwoPhaseError
	if _, err := f.StateAt((s.BubblePressure+s.DewPressure)/2, 280); !errors.As(err, &two) {
		t.Errorf("between the lines: %v, want a TwoPhaseError", err)
	}
	r22 := mustLookup(t, "R-22")
	s, err = r22.SaturationAtTemp(280)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r22.StateAt(s.DewPressure, 280); !errors.As(err, &two) {
		t.Errorf("on the line of a pure fluid: %v, want a TwoPhaseError", err)
	}
	nan := math.NaN()
	for name, call := range map[string]func() error{
		"cold":              func() error { _, err := f.StateAt(1e5, 199); return err },
		"hot":               func() error { _, err := f.StateAt(1e5, 501); return err },
		"dense":             func() error { _, err := f.StateAt(6e7, 300); return err },
		"vacuum":            func() error { _, err := f.StateAt(0, 300); return err },
		"no temperature":    func() error { _, err := f.StateAt(1e5, quantity.Temperature(nan)); return err },
		"no pressure":       func() error { _, err := f.StateAt(quantity.Pressure(nan), 300); return err },
		"critical":          func() error { _, err := f.SaturationAtTemp(344.4); return err },
		"above critical":    func() error { _, err := f.SaturationAtPressure(5e6); return err },
		"nothing boils":     func() error { _, err := f.SaturationAtPressure(-1); return err },
		"phase not told":    func() error { _, err := f.StateAt(4.85e6, 344); return err },
		"saturation of NaN": func() error { _, err := f.SaturationAtTemp(quantity.Temperature(nan)); return err },
	} {
		var re *quantity.RangeError
		if err := call(); !errors.As(err, &re) {
			t.Errorf("%s: error %v, want a RangeError", name, err)
		}
	}
}

// FuzzStateAt looks for a number that is not one in an answer without an error,
// and for an error that gives no reason.
func FuzzStateAt(f *testing.F) {
	f.Add(uint8(0), 1e6, 300.0, 3e5)
	f.Add(uint8(5), 4.9e6, 344.3, 2e5)
	f.Add(uint8(10), 1.0, 116.0, 1e5)
	f.Add(uint8(18), 5e7, 200.0, 4e5)
	f.Add(uint8(20), 4.99e6, 369.295, 3.9e5)
	f.Add(uint8(17), 4.0e6, 345.0, 1500.0)
	names := Names()
	f.Fuzz(func(t *testing.T, which uint8, p, T, x float64) {
		fl := mustLookup(t, names[int(which)%len(names)])
		if which >= 128 && fl.oneFluid {
			fl = routed(t, fl.name, "mixture")
		}
		for _, call := range []func() (Full, error){
			func() (Full, error) {
				s, err := fl.StateAt(quantity.Pressure(p), quantity.Temperature(T))
				return Full{State: s}, err
			},
			func() (Full, error) { return fl.StateAtEnthalpy(quantity.Pressure(p), quantity.SpecificEnthalpy(x)) },
			func() (Full, error) { return fl.StateAtEntropy(quantity.Pressure(p), quantity.SpecificEntropy(x)) },
			func() (Full, error) { return fl.StateAtDensity(quantity.Temperature(T), quantity.Density(x)) },
		} {
			s, err := call()
			if err != nil {
				wantKnown(t, err, p, T)
				continue
			}
			sum := float64(s.Density) + float64(s.Enthalpy) + float64(s.Entropy) + float64(s.Pressure) + float64(s.Temperature)
			if s.Phase != TwoPhase {
				sum += float64(s.HeatCapacity) + float64(s.SpeedOfSound)
			}
			if math.IsNaN(sum) || math.IsInf(sum, 0) || !(s.Density > 0) {
				t.Errorf("%s at %v Pa, %v K, %v: %+v", fl.name, p, T, x, s)
			}
		}
		if s, err := fl.SaturationAtTemp(quantity.Temperature(T)); err == nil {
			wantFinite(t, s)
		} else {
			wantKnown(t, err, p, T)
		}
		if s, err := fl.SaturationAtPressure(quantity.Pressure(p)); err == nil {
			wantFinite(t, s)
		} else {
			wantKnown(t, err, p, T)
		}
	})
}

func wantFinite(t *testing.T, s Saturation) {
	t.Helper()
	sum := float64(s.BubbleTemp+s.DewTemp) + float64(s.BubblePressure+s.DewPressure) + float64(s.LiquidDensity+s.VapourDensity) +
		float64(s.LiquidEnthalpy+s.VapourEnthalpy) + float64(s.LiquidEntropy+s.VapourEntropy)
	if math.IsNaN(sum) || math.IsInf(sum, 0) || s.LiquidDensity <= s.VapourDensity {
		t.Errorf("saturation %+v", s)
	}
}

// wantKnown fails unless err is a range or a two-phase error: inside its range
// the equation must converge.
func wantKnown(t *testing.T, err error, p, T float64) {
	t.Helper()
	var re *quantity.RangeError
	var two *TwoPhaseError
	if !errors.As(err, &re) && !errors.As(err, &two) {
		t.Errorf("at %v Pa, %v K: %v", p, T, err)
	}
}
