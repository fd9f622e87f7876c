package airflow

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// threeTon is made up: 1200 ft³/min against 0.5 in. w.c. external, of which
// the filter takes 0.1, and 0.25 over the coil.
// practice: the budget of a sound system, filter ≤ 0.12, wet coil 0.2 to 0.3,
// each duct side ≤ 0.15 to 0.2 in. w.c.
func threeTon(kind BlowerKind) Design {
	return Design{Blower: kind, Flow: 0.5663, Return: 40, Filter: 25, Coil: 62, Supply: 60}
}

func mustNew(t testing.TB, d Design) *System {
	t.Helper()
	s, err := New(d)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func solve(t testing.TB, s *System, at Setting) State {
	t.Helper()
	out, err := s.Solve(at)
	if err != nil {
		t.Fatalf("Solve(%+v) = %v", at, err)
	}
	return out
}

func TestDesignPointComesBack(t *testing.T) {
	for _, kind := range []BlowerKind{PSC, ConstantAirflow} {
		d := threeTon(kind)
		got := solve(t, mustNew(t, d), AsDesigned())
		if math.Abs(float64(got.Flow/d.Flow)-1) > 1e-12 || math.Abs(float64(got.ExternalStatic)-125) > 1e-9 || got.AtLimit {
			t.Errorf("kind %d at design: %+v", kind, got)
		}
	}
}

// Property, nothing published: what the blower gives is what the resistances take.
func TestPressuresAddUp(t *testing.T) {
	for _, kind := range []BlowerKind{PSC, ConstantAirflow} {
		for _, outside := range []bool{false, true} {
			d := threeTon(kind)
			d.CoilOutside = outside
			s := mustNew(t, d)
			for _, f := range []quantity.Ratio{0.2, 1, 3, 30, 1e4} {
				at := AsDesigned()
				at.FilterFactor, at.WetCoil, at.Density = f, true, 1.05
				got := solve(t, s, at)
				taken := got.ExternalStatic
				if !outside {
					taken += got.CoilDrop
				}
				if diff := math.Abs(float64(got.BlowerPressure - taken)); diff > 1e-9*float64(got.BlowerPressure) {
					t.Errorf("kind %d outside %v filter × %g: blower gives %v, system takes %v", kind, outside, f, got.BlowerPressure, taken)
				}
			}
		}
	}
}

func TestPublishedBlower(t *testing.T) {
	s := mustNew(t, threeTon(PSC))
	base := solve(t, s, AsDesigned())
	got := map[string]float64{"0.8-in.-w.c. flow-lost": flowLost(t, s)}
	for _, speed := range []quantity.Ratio{0.3, 0.6, 0.85, 1.1} {
		at := AsDesigned()
		at.Speed = speed
		now := solve(t, s, at)
		in := fmt.Sprintf("speed-%g ", float64(speed))
		got[in+"flow"] = float64(now.Flow / base.Flow)
		got[in+"static"] = float64(now.ExternalStatic / base.ExternalStatic)
		got[in+"shaft-power"] = float64(now.ShaftPower / base.ShaftPower)
	}
	published.Read(t, "blower.txt").CheckList(t, got)
}

// flowLost closes the registers until the external static is 0.8 in. w.c.
func flowLost(t *testing.T, s *System) float64 {
	t.Helper()
	at := AsDesigned()
	for f := quantity.Ratio(1); f < 20; f += 0.01 {
		at.SupplyFactor = f
		if got := solve(t, s, at); got.ExternalStatic > 199 { // 0.8 in. w.c.
			return float64(1 - got.Flow/s.d.Flow)
		}
	}
	t.Fatal("0.8 in. w.c. never reached")
	return 0
}

// practice: a clogged filter lowers the flow of a PSC blower and raises the
// power of a constant-airflow one.
func TestCloggedFilterByBlowerKind(t *testing.T) {
	clogged := AsDesigned()
	clogged.FilterFactor = 5
	psc, ecm := mustNew(t, threeTon(PSC)), mustNew(t, threeTon(ConstantAirflow))
	a, b := solve(t, psc, AsDesigned()), solve(t, psc, clogged)
	if !(b.Flow < 0.9*a.Flow && b.Power < a.Power && b.FilterDrop > 2*a.FilterDrop) {
		t.Errorf("PSC: clean %+v, clogged %+v", a, b)
	}
	a, b = solve(t, ecm, AsDesigned()), solve(t, ecm, clogged)
	if !(math.Abs(float64(b.Flow/a.Flow)-1) < 1e-12 && b.Power > 1.2*a.Power && !b.AtLimit) {
		t.Errorf("constant airflow: clean %+v, clogged %+v", a, b)
	}
	clogged.FilterFactor = 60
	if b = solve(t, ecm, clogged); !(b.AtLimit && b.Flow < 0.9*a.Flow) {
		t.Errorf("constant airflow beyond its limit: %+v", b)
	}
}

// practice: a caked wheel gives low air with LOW static and low amps, closed
// registers low air with HIGH static.
func TestDirtyWheelAgainstClosedRegisters(t *testing.T) {
	s := mustNew(t, threeTon(PSC))
	base := solve(t, s, AsDesigned())
	wheel := AsDesigned()
	wheel.Wheel = 0.7
	w := solve(t, s, wheel)
	shut := AsDesigned()
	f, err := Closed(0.5)
	if err != nil {
		t.Fatal(err)
	}
	shut.SupplyFactor = f
	c := solve(t, s, shut)
	if !(w.Flow < base.Flow && w.ExternalStatic < base.ExternalStatic && w.Power < base.Power) {
		t.Errorf("dirty wheel %+v, healthy %+v", w, base)
	}
	if !(c.Flow < base.Flow && c.ExternalStatic > base.ExternalStatic && c.FilterDrop < base.FilterDrop) {
		t.Errorf("closed registers %+v, healthy %+v", c, base)
	}
}

func TestFlowFallsWithEveryResistance(t *testing.T) {
	for _, kind := range []BlowerKind{PSC, ConstantAirflow} {
		s := mustNew(t, threeTon(kind))
		for i, set := range []func(*Setting, quantity.Ratio){
			func(a *Setting, r quantity.Ratio) { a.ReturnFactor = r },
			func(a *Setting, r quantity.Ratio) { a.FilterFactor = r },
			func(a *Setting, r quantity.Ratio) { a.CoilFactor = r },
			func(a *Setting, r quantity.Ratio) { a.SupplyFactor = r },
		} {
			last := math.Inf(1)
			for r := 0.5; r < 9000; r *= 1.2 {
				at := AsDesigned()
				set(&at, quantity.Ratio(r))
				got := float64(solve(t, s, at).Flow)
				if got > last*(1+1e-9) || got < 0 || math.IsNaN(got) {
					t.Fatalf("kind %d resistance %d: flow %g after %g at factor %g", kind, i, got, last, r)
				}
				last = got
			}
		}
	}
}

func TestStoppedBlower(t *testing.T) {
	for _, kind := range []BlowerKind{PSC, ConstantAirflow} {
		at := AsDesigned()
		at.Speed = 0
		if got := solve(t, mustNew(t, threeTon(kind)), at); got.Flow != 0 || got.ExternalStatic != 0 || got.Power != 0 {
			t.Errorf("kind %d stopped: %+v", kind, got)
		}
	}
}

func TestThinAirMovesTheSameVolume(t *testing.T) {
	s := mustNew(t, threeTon(PSC))
	at := AsDesigned()
	at.Density = 0.98
	base, thin := solve(t, s, AsDesigned()), solve(t, s, at)
	if math.Abs(float64(thin.Flow/base.Flow)-1) > 1e-12 || !(thin.ExternalStatic < base.ExternalStatic) {
		t.Errorf("thin air %+v, standard %+v", thin, base)
	}
}

func TestRefusals(t *testing.T) {
	s := mustNew(t, threeTon(PSC))
	for _, mend := range []func(*Setting){
		func(a *Setting) { a.Tap = 0 },
		func(a *Setting) { a.Speed = quantity.Ratio(math.NaN()) },
		func(a *Setting) { a.FilterFactor = -1 },
		func(a *Setting) { a.Density = 0 },
	} {
		at := AsDesigned()
		mend(&at)
		var re *quantity.RangeError
		if _, err := s.Solve(at); !errors.As(err, &re) {
			t.Errorf("Solve(%+v) = %v, want a RangeError", at, err)
		}
	}
	for _, mend := range []func(*Design){
		func(d *Design) { d.Flow = 0 },
		func(d *Design) { d.Blower = 0 },
		func(d *Design) { d.Filter = -1 },
		func(d *Design) { d.Return, d.Filter, d.Coil, d.Supply = 0, 0, 0, 0 },
		func(d *Design) { d.Power = 1e6 },
	} {
		d := threeTon(PSC)
		mend(&d)
		if _, err := New(d); err == nil {
			t.Errorf("New(%+v) was accepted", d)
		}
	}
	if _, err := Closed(1); err == nil {
		t.Error("Closed(1) was accepted")
	}
}

// Budget: 300 ns, no allocation.
func BenchmarkSolve(b *testing.B) {
	s := mustNew(b, threeTon(ConstantAirflow))
	at := AsDesigned()
	at.FilterFactor = 3
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Solve(at); err != nil {
			b.Fatal(err)
		}
	}
}
