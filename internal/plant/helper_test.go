package plant

import (
	"math"
	"testing"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

// ratingDay is the weather of the rating point on a 240 V service.
// published: AHRI 210/240 test A: 95 °F outdoors, 80/67 °F indoors.
var ratingDay = Surroundings{Outdoor: 308.15, ReturnDryBulb: 299.817, ReturnWetBulb: 292.594, Line: 240}

// usual is a 3 ton R-410A system with both pressure switches.
func usual() Nameplate { return Nameplate{HighPressureSwitch: Yes, LowPressureSwitch: Yes} }

func mustBuild(t testing.TB, n Nameplate) *Plant {
	t.Helper()
	p, err := Build(n)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// hide is one parameter given a value or a word.
type hide struct {
	path  string
	value float64
	word  string
}

func with(t testing.TB, p *Plant, list ...hide) *Params {
	t.Helper()
	ps := p.Healthy()
	for _, h := range list {
		var err error
		if h.word != "" {
			err = ps.PutWord(MustParam(h.path), h.word)
		} else {
			err = ps.Put(MustParam(h.path), h.value)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return &ps
}

// solve solves p with faults on the rating day.
func solve(t testing.TB, p *Plant, d Demand, list ...hide) *State {
	t.Helper()
	st, err := p.Solve(with(t, p, list...), ratingDay, d)
	if err != nil {
		t.Fatal(err)
	}
	return st
}

func volts(t testing.TB, st *State, ph PhaseID, a, b Node) float64 {
	t.Helper()
	v, err := st.Volts(ph, a, b, circuit.HighImpedance)
	if err != nil {
		t.Fatal(err)
	}
	return float64(v)
}

func amps(t testing.TB, st *State, ph PhaseID, device string) float64 {
	t.Helper()
	a, ok := st.Amps(ph, device)
	if !ok {
		t.Fatalf("no device %q", device)
	}
	return float64(a)
}

// near fails unless got is within tol of want.
func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.4g, want %.4g within %.2g", what, got, want, tol)
	}
}

// psi is a gauge pressure in Pa of so many psi.
func psi(p float64) float64 { return p * 6894.757 }

func gauge(st *State, p quantity.Pressure) float64 { return float64(p - st.Ambient) }
