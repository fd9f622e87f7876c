package cycle

import (
	"math"
	"testing"

	"rung/internal/refrigerant"
)

// Property: over heads from pumped down to the limit Newton's method with the
// head held finds the suction, and the charge, that nested bracketing finds.
// Nothing is published for it; 1e-6 is what the brackets leave, with room.
func TestHeadHeldAgreesWithBracketing(t *testing.T) {
	for _, name := range []string{"R-410A", "R-22"} {
		fluid, err := refrigerant.Lookup(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, metering := range []MeteringDevice{TXV, FixedOrifice} {
			m, err := Calibrate(Rating{Refrigerant: fluid, Metering: metering, NetCapacity: 3 * wattsPerTon, EER: 3})
			if err != nil {
				t.Fatal(err)
			}
			c, f := m.RatingCondition(), Healthy()
			c.OutdoorAirflow = 0.6
			quick, nested := m.newLoop(&c, &f), m.newLoop(&c, &f)
			nested.folded = true
			found := 0
			for share := 0.05; share <= 1; share += 0.05 {
				u := quick.lo[1] + share*(quick.hi[1]-quick.lo[1])
				want := [3]float64{}
				charge := nested.atHead(u, &want)
				at := quick.clip(quick.guess())
				at[1] = u
				at, got, ok := quick.held(at, 1)
				if !ok {
					continue // bracketing takes over
				}
				found++
				if d := math.Abs(at[0] - want[0]); d > 1e-6 || math.Abs(got-charge) > 1e-6 {
					t.Errorf("%s, metering %v, at %g of the heads: suction off by %g, charge %g, want %g", name, metering, share, d, got, charge)
				}
			}
			if found < 10 {
				t.Errorf("%s, metering %v: %d of 20 heads found, want half of them", name, metering, found)
			}
		}
	}
}
