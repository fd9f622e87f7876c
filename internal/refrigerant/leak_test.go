package refrigerant

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

func shareOf(parts []Part, name string) float64 {
	for _, p := range parts {
		if p.Refrigerant == name {
			return p.MassFraction
		}
	}
	return 0
}

// With hardly any room for vapour a leak follows Rayleigh's law, dn/n = dx/(y−x)
// with n and x of the liquid, here integrated along the mole fraction with
// vapour compositions from the bubble line.
//
// published: Lord Rayleigh 1902, Philosophical Magazine (6) 4, the law; no
// table of it for a refrigerant was found.
func TestLeakFollowsRayleigh(t *testing.T) {
	const T, lost = 300.0, 0.3
	f := mustLookup(t, "R-454B")
	left, err := f.Leak(T, 0.95, lost)
	if err != nil {
		t.Fatal(err)
	}
	// The same with small steps in ln n of the liquid, on the bubble line alone.
	m := f.blend.mixture
	x := f.blend.x[0]
	M := func(x float64) float64 { return x*m.fluids[0].eq.molarMass + (1-x)*m.fluids[1].eq.molarMass }
	n, mass := 1.0, M(x)
	b := blend{mixture: m}
	at, err := f.blend.on(&f.blend.bubble, givenTemp, T)
	if err != nil {
		t.Fatal(err)
	}
	for n*M(x) > (1-lost)*mass {
		b.x[0], b.x[1] = x, 1-x
		if err := b.solve(&at, bubbleLine, givenTemp); err != nil {
			t.Fatal(err)
		}
		y := 1 / (1 + math.Exp(at.other[1]-at.other[0]))
		const d = 1e-4 // of ln n
		x -= d * (y - x)
		n *= 1 - d
	}
	want := x * m.fluids[0].eq.molarMass / M(x)
	// 6e-4: the vapour in the twentieth of the volume, about a hundredth of the
	// mass, which the law leaves out.
	published.Near(t, "share of R-32", shareOf(left.Parts, "R-32"), want, 6e-4)
}

// What went and what is left make up the first charge; steps are small enough.
func TestLeakKeepsTheMass(t *testing.T) {
	for _, name := range []string{"R-407C", "R-454B", "R-438A", "R-448A"} {
		f := routed(t, name, "mixture")
		fine, err := f.blend.leak(295, 0.4, 0.5, 10*leakSteps)
		if err != nil {
			t.Fatal(err)
		}
		left, err := f.Leak(295, 0.4, 0.5)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for i, p := range left.Parts {
			sum += p.MassFraction
			published.Near(t, name+" share of "+p.Refrigerant, p.MassFraction, fine.Parts[i].MassFraction, 1e-6)
		}
		published.Near(t, name+" sum", sum, 1, 1e-12)
		none, err := f.Leak(295, 0.4, 0)
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range f.Composition() {
			published.Near(t, name+" without a leak", none.Parts[i].MassFraction, p.MassFraction, 1e-9)
		}
		if none.Pressure < left.Pressure {
			t.Errorf("%s: pressure at rest rises from %v to %v as the readily boiling part goes", name, none.Pressure, left.Pressure)
		}
	}
}

// What boils readily goes first; an azeotrope hardly shifts; the shift grows
// with what is lost until the liquid has gone, and then stays.
func TestLeakShifts(t *testing.T) {
	f := routed(t, "R-407C", "mixture")
	last := 1.0
	for _, lost := range []float64{0.1, 0.3, 0.5, 0.7} {
		left, err := f.Leak(295, 0.5, lost)
		if err != nil {
			t.Fatal(err)
		}
		r32 := shareOf(left.Parts, "R-32")
		if !(r32 < last) {
			t.Errorf("after %g lost R-32 is %g, was %g", lost, r32, last)
		}
		last = r32
	}
	near := routed(t, "R-410A", "mixture")
	left, err := near.Leak(295, 0.5, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	// 0.02: R-410A is near an azeotrope; that it hardly shifts is common practice.
	published.Near(t, "R-410A share of R-32", shareOf(left.Parts, "R-32"), 0.5, 0.02)

	dry, err := f.Leak(295, 0.01, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	drier, err := f.Leak(295, 0.01, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if dry.Liquid || drier.Liquid {
		t.Error("liquid left of a charge that was mostly vapour")
	}
	published.Near(t, "R-32 once dry", shareOf(drier.Parts, "R-32"), shareOf(dry.Parts, "R-32"), 2e-3)
	if drier.Pressure >= dry.Pressure {
		t.Errorf("the pressure of vapour alone rises from %v to %v", dry.Pressure, drier.Pressure)
	}
}

func TestTopUp(t *testing.T) {
	f := routed(t, "R-407C", "mixture")
	left, err := f.Leak(295, 0.5, 0.4)
	if err != nil {
		t.Fatal(err)
	}
	whole, err := f.TopUp(left.Parts, 0.4)
	if err != nil {
		t.Fatal(err)
	}
	want := 0.6*shareOf(left.Parts, "R-32") + 0.4*0.23
	published.Near(t, "R-32 after topping up", shareOf(whole, "R-32"), want, 1e-12)
	if _, err := Mix(whole...); err != nil {
		t.Errorf("the topped-up charge is no blend: %v", err)
	}
}

func TestLeakErrors(t *testing.T) {
	f := mustLookup(t, "R-454B")
	var re *quantity.RangeError
	for name, call := range map[string]func() error{
		"hot":       func() error { _, err := f.Leak(360, 0.5, 0.1); return err },
		"all":       func() error { _, err := f.Leak(300, 0.5, 1); return err },
		"nothing":   func() error { _, err := f.Leak(300, 0, 0.1); return err },
		"no number": func() error { _, err := f.Leak(300, 0.5, math.NaN()); return err },
	} {
		if err := call(); !errors.As(err, &re) {
			t.Errorf("%s: error %v, want a RangeError", name, err)
		}
	}
	var ce *CompositionError
	if _, err := mustLookup(t, "R-32").Leak(300, 0.5, 0.1); !errors.As(err, &ce) {
		t.Errorf("a pure refrigerant: %v, want a CompositionError", err)
	}
}
