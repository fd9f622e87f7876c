package refrigerant

import (
	"errors"
	"math"
	"math/rand"
	"testing"

	"rung/internal/num"
	"rung/internal/published"
	"rung/internal/quantity"
)

// randomParts returns a composition of two to five components, some of them
// traces.
func randomParts(rng *rand.Rand) []Part {
	all := Components()
	var parts []Part
	var sum float64
	for _, i := range rng.Perm(len(all))[:2+rng.Intn(4)] {
		share := rng.ExpFloat64()
		if rng.Intn(5) == 0 {
			share *= 1e-4
		}
		parts = append(parts, Part{Refrigerant: all[i], MassFraction: share})
		sum += share
	}
	for i := range parts {
		parts[i].MassFraction /= sum
	}
	return parts
}

// Any composition is answered over its whole range, or refused with a reason:
// nothing is published on how two parts mix, or the liquid would part in two.
func TestAnyComposition(t *testing.T) {
	rng := rand.New(rand.NewSource(1))
	mixed, unknown, unstable, lost := 0, 0, 0, 0
	for range 300 {
		parts := randomParts(rng)
		f, err := Mix(parts...)
		var up *UnknownPairError
		var ce *CompositionError
		var astray *num.ConvergenceError
		switch {
		case errors.As(err, &up):
			unknown++
			continue
		case errors.As(err, &ce) && ce.Unstable:
			unstable++
			continue
		case errors.As(err, &astray):
			lost++
			t.Logf("%v: %v", parts, err)
			continue
		case err != nil:
			t.Errorf("%v: %v", parts, err)
			continue
		}
		mixed++
		checkLines(t, f)
	}
	t.Logf("%d mixed, %d without parameters, %d with two liquids", mixed, unknown, unstable)
	// What is refused is rare; a line that is not found is rarer still.
	if mixed < 100 || unstable > mixed/20 || lost > mixed/100 {
		t.Errorf("%d mixed, %d refused for two liquids, %d lines not found", mixed, unstable, lost)
	}
}

// checkLines walks both lines of a blend.
func checkLines(t *testing.T, f *Fluid) {
	t.Helper()
	if f.critT-f.satMaxT > mostBelowCritical {
		t.Errorf("%s: lines end at %g K, critical %g K", f.name, f.satMaxT, f.critT)
	}
	last := twoPhase{}
	for _, T := range temperatures(f, 25) {
		s, err := f.saturationAt(T)
		if err != nil {
			t.Errorf("%s at %g K: %v", f.name, T, err)
			return
		}
		if !(s.pBub >= s.pDew*(1-1e-9) && s.pBub > last.pBub && s.pDew > last.pDew && s.rhoLiq > s.rhoVap) {
			t.Errorf("%s at %g K: %+v after %+v", f.name, T, s, last)
		}
		last = s
		if s.pBub > f.satMinP && s.pBub < f.satMaxP {
			back, err := f.saturationOf(s.pBub)
			if err != nil {
				t.Errorf("%s at %g Pa: %v", f.name, s.pBub, err)
				continue
			}
			published.Near(t, f.name+" bubble temperature", back.TBub, T, 1e-8*T)
		}
		l, v := f.ends(s)
		published.Near(t, f.name+" pressure of the vapour", v.p, s.pDew, 1e-9*s.pDew)
		published.Near(t, f.name+" pressure of the liquid", l.p, s.pBub, 1e-9*(s.pBub+l.rho*l.w*l.w))
	}
}

// A trace of another component leaves the pure refrigerant.
func TestBlendLimitsArePure(t *testing.T) {
	const trace = 1e-8
	for _, pair := range [][2]string{{"R-32", "R-125"}, {"R-1234yf", "R-32"}, {"R-134a", "R-600a"}, {"R-290", "R-600"}, {"R-22", "R-134a"}, {"R-125", "R-143a"}} {
		f, err := Mix(Part{pair[0], 1 - trace}, Part{pair[1], trace})
		if err != nil {
			t.Fatal(err)
		}
		pure := mustLookup(t, pair[0])
		for _, T := range []float64{210, 260, 320, pure.satMaxT - 8} {
			a, err1 := f.saturationAt(T)
			b, err2 := pure.saturationAt(T)
			if err := errors.Join(err1, err2); err != nil {
				t.Fatal(err)
			}
			// 7e-6: the gas constant of the mixture differs by up to 6e-6
			// from those of the pure equations, the trace does the rest.
			published.Near(t, f.name+" bubble pressure", a.pBub, b.pBub, 7e-6*b.pBub)
			published.Near(t, f.name+" dew pressure", a.pDew, b.pDew, 7e-6*b.pDew)
			published.Near(t, f.name+" liquid density", a.rhoLiq, b.rhoLiq, 7e-6*b.rhoLiq)
		}
	}
}

// Fugacities and their slopes against differences of the Helmholtz energy of
// mixtures of neighbouring compositions, which know nothing of them.
func TestFugacitiesAreDerivatives(t *testing.T) {
	for _, name := range []string{"R-454B", "R-407C", "R-438A", "R-448A"} {
		b := routed(t, name, "mixture").blend
		n := len(b.fluids)
		// residual Helmholtz energy per volume over RT
		S := func(T float64, conc vector) float64 {
			var r float64
			x := make([]float64, n)
			for i := range x {
				r += conc[i]
			}
			for i := range x {
				x[i] = conc[i] / r
			}
			q := b.equation(x)
			return r * q.residualAt(T, r).a
		}
		for _, T := range []float64{260, 320} {
			for _, r := range []float64{300, 4000, 11000} {
				conc := b.at(r)
				conc[0] *= 0.7
				conc[1] *= 1.4
				var ph phase
				ph.set(b.mixture, T, &conc)
				const d = 1e-5
				for k := range n {
					up, down := conc, conc
					up[k] *= 1 + d
					down[k] *= 1 - d
					slope := (S(T, up) - S(T, down)) / (2 * d * conc[k])
					want := math.Log(conc[k]*universalGas*T) + slope
					published.Near(t, name+" ln f", ph.lnf[k], want, 1e-7*(1+math.Abs(want)))
					var a, z phase
					a.set(b.mixture, T, &down)
					z.set(b.mixture, T, &up)
					for l := range n {
						published.Near(t, name+" d ln f", ph.dlnf[l][k], (z.lnf[l]-a.lnf[l])/(2*d), 1e-7*(1+math.Abs(ph.dlnf[l][k])))
					}
					published.Near(t, name+" dp", ph.dp[k], (z.p-a.p)/(2*d), 1e-6*(math.Abs(ph.dp[k])+math.Abs(ph.p)))
				}
				var a, z phase
				a.set(b.mixture, T*(1-d), &conc)
				z.set(b.mixture, T*(1+d), &conc)
				published.Near(t, name+" dp/d ln T", ph.pT, (z.p-a.p)/(2*d), 1e-6*(math.Abs(ph.pT)+math.Abs(ph.p)))
				for k := range n {
					published.Near(t, name+" d ln f/d ln T", ph.lnfT[k], (z.lnf[k]-a.lnf[k])/(2*d), 1e-6*(1+math.Abs(ph.lnfT[k])))
				}
			}
		}
	}
}

// published: Maxwell's relation, any text: ∂s/∂p at constant T is −∂v/∂T at
// constant p. 1e-5 for the central differences.
func TestMaxwellRelation(t *testing.T) {
	for name, f := range everyRoute(t) {
		for _, p := range []float64{2e5, 1.5e6, 8e6} {
			for T := 230.0; T < f.maxT-1; T += 31 {
				const dT, dp = 0.01, 1e-5
				var v, s [2]float64
				ok := true
				for i, sign := range []float64{-1, 1} {
					a, err1 := f.StateAt(quantity.Pressure(p), quantity.Temperature(T+sign*dT))
					b, err2 := f.StateAt(quantity.Pressure(p*(1+sign*dp)), quantity.Temperature(T))
					ok = ok && err1 == nil && err2 == nil
					v[i], s[i] = 1/float64(a.Density), float64(b.Entropy)
				}
				if !ok || v[1]/v[0] > 1.5 || v[0]/v[1] > 1.5 {
					continue // across a line
				}
				left, right := (s[1]-s[0])/(2*dp*p), -(v[1]-v[0])/(2*dT)
				// of a liquid both are small differences of large terms
				published.Near(t, name+" Maxwell", left, right, 1e-5*math.Abs(right)+1e-12*float64(s[0])/(dp*p))
			}
		}
	}
}

func TestCompositions(t *testing.T) {
	parts, err := ParseComposition(" r32/125/134A (23/25/52)")
	if err != nil {
		t.Fatal(err)
	}
	f, err := Mix(parts...)
	if err != nil {
		t.Fatal(err)
	}
	if f.Name() != "R-32/125/134a (23/25/52)" {
		t.Errorf("name %q", f.Name())
	}
	if again, err := Lookup(f.Name()); err != nil || again.Name() != f.Name() {
		t.Errorf("Lookup of its own name: %v, %v", again, err)
	}
	named := routed(t, "R-407C", "mixture")
	a, err1 := f.SaturationAtTemp(290)
	b, err2 := named.SaturationAtTemp(290)
	if err := errors.Join(err1, err2); err != nil || math.Abs(float64(a.DewPressure/b.DewPressure)-1) > 1e-12 {
		t.Errorf("R-407C by composition %v, by name %v, %v", a, b, err)
	}
	if got := mustLookup(t, "R-438A").Estimated(); len(got) != 3 {
		t.Errorf("estimated pairs of R-438A: %v, want three", got)
	}
	if f.Estimated() != nil || f.Table() != nil {
		t.Errorf("%s: estimated %v, table %v", f.Name(), f.Estimated(), f.Table())
	}
	if one, err := Mix(Part{"R-32", 1}); err != nil || one != mustLookup(t, "R-32") {
		t.Errorf("one part: %v, %v", one, err)
	}
	var unknown *UnknownError
	var ce *CompositionError
	var up *UnknownPairError
	for _, c := range []struct {
		parts []Part
		want  any
	}{
		{nil, &ce},
		{[]Part{{"R-32", 0.5}, {"R-32", 0.5}}, &ce},
		{[]Part{{"R-32", 0.5}, {"R-125", 0.4}}, &ce},
		{[]Part{{"R-32", math.NaN()}, {"R-125", 0.4}}, &ce},
		{[]Part{{"R-32", -0.5}, {"R-125", 1.5}}, &ce},
		{[]Part{{"R-32", 0.5}, {"R-410A", 0.5}}, &unknown},
		{[]Part{{"R-32", 0.5}, {"R-11", 0.5}}, &unknown},
		{[]Part{{"R-22", 0.5}, {"R-600a", 0.5}}, &up},
	} {
		if _, err := Mix(c.parts...); !errors.As(err, c.want) {
			t.Errorf("Mix(%v): %v, want %T", c.parts, err, c.want)
		}
	}
	for _, bad := range []string{"", "()", "R-32", "R-32/125", "R-32/125 (50)", "R-32/125 (50/x)", "/ (1/2)", "R-32/125 (50/50"} {
		if _, err := ParseComposition(bad); !errors.As(err, &ce) {
			t.Errorf("ParseComposition(%q): %v, want a CompositionError", bad, err)
		}
	}
}

// FuzzComposition looks for a composition that is neither refused with a reason
// nor answered with numbers.
func FuzzComposition(f *testing.F) {
	f.Add("R-32/125 (50/50)", 300.0)
	f.Add("R-125/134a/600a (65.1/31.5/3.4)", 250.0)
	f.Add("R-32/600 (60/40)", 201.0)
	f.Add("R-290/R-600a(50/50)", 380.0)
	f.Add("R-1234ze(E)/134a (58/42)", 300.0)
	f.Fuzz(func(t *testing.T, name string, T float64) {
		fl, err := Lookup(name)
		if err != nil {
			var unknown *UnknownError
			var ce *CompositionError
			var up *UnknownPairError
			var astray *num.ConvergenceError
			if !errors.As(err, &unknown) && !errors.As(err, &ce) && !errors.As(err, &up) && !errors.As(err, &astray) {
				t.Errorf("Lookup(%q): %v", name, err)
			}
			return
		}
		if s, err := fl.SaturationAtTemp(quantity.Temperature(T)); err == nil {
			wantFinite(t, s)
		} else {
			wantKnown(t, err, 0, T)
		}
	})
}
