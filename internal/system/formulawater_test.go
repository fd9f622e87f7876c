package system

import (
	"math"
	"testing"
)

// figure returns a value of a description after edits.
func figureOf(t *testing.T, id, name string, edits ...Edit) float64 {
	t.Helper()
	d, ok := Describe(id)
	if !ok {
		t.Fatalf("no system %s", id)
	}
	c := d.clone()
	for _, e := range edits {
		if err := e.apply(c); err != nil {
			t.Fatal(err)
		}
	}
	known, err := c.figures()
	if err != nil {
		t.Fatal(err)
	}
	x, ok := known[name]
	if !ok {
		t.Fatalf("%s has no value %s", id, name)
	}
	return x
}

// What the boiler gives, the water carries and the radiators take.
//
// published: the trade's own balance, Btu/h = 500 × gpm × °F for cold water, as in
// training pages of hydronics; hot water carries 2 to 3 % less of it by volume
func TestWaterCarriesTheHeat(t *testing.T) {
	const btuh, gpm, degF = 0.29307107, 6.309020e-5, 5.0 / 9 // published: NIST SP 811, B.8
	const id = "boiler-zone-valves"
	flow, spread := figureOf(t, id, "loop-flow")/gpm, figureOf(t, id, "water-spread")/degF
	heat := figureOf(t, id, "burner-output") / btuh
	// tolerance: 2 to 3 %, as above
	if got := 500 * flow * spread; math.Abs(got/heat-1.025) > 0.01 {
		t.Errorf("500 × %.3g gpm × %.3g °F = %.0f Btu/h, want 1.025 times %.0f", flow, spread, got, heat)
	}
	// practice: 10 to 20 °F over a zone
	if spread < 10 || spread > 20 {
		t.Errorf("spread %.3g °F, want 10 to 20", spread)
	}
}

// Choked, a loop carries the same heat with less flow and more spread.
func TestChokedLoop(t *testing.T) {
	last := 0.0
	for _, choke := range []string{"1", "3", "10", "40"} {
		e := Edit{"set", "choke", choke}
		spread := figureOf(t, "boiler-zone-valves", "water-spread", e)
		if !(spread > last) {
			t.Errorf("choke %s: spread %v K after %v", choke, spread, last)
		}
		last = spread
	}
}

// Pressure hot against cold.
//
// practice: 12 psi cold and under 20 hot with a sound tank, the relief valve at 30
// with a waterlogged one
func TestHotPressure(t *testing.T) {
	const psi, atm = 6894.757, 101325.0 // published: NIST SP 811, B.8
	gauge := func(edits ...Edit) float64 {
		return (figureOf(t, "boiler-zone-valves", "hot-pressure", edits...) - atm) / psi
	}
	if p := gauge(); p < 14 || p > 20 {
		t.Errorf("hot with a sound tank: %.3g psi", p)
	}
	if p := gauge(Edit{"set", "tank-air", "0.1"}); math.Abs(p-30) > 0.1 {
		t.Errorf("hot with a waterlogged tank: %.3g psi, want the relief valve's 30", p)
	}
	last := 0.0
	for _, air := range []string{"1", "0.7", "0.5", "0.4"} {
		p := gauge(Edit{"set", "tank-air", air})
		if !(p > last) {
			t.Errorf("air %s: %.3g psi after %.3g", air, p, last)
		}
		last = p
	}
}
