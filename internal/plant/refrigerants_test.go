package plant

import (
	"testing"

	"rung/internal/quantity"
)

// A system with each refrigerant that a plate may have runs, in every weather
// that its switches should bear, and its switches stand where its pressures
// do not reach. Nothing is published for most of them; the group decides.
func TestEveryPlateRefrigerantRuns(t *testing.T) {
	for _, name := range Refrigerants() {
		for _, boost := range []quantity.TempDiff{0, -11, 8} {
			n := usual()
			n.Refrigerant = name
			n.HighPressureSwitch = Yes
			p := mustBuild(t, n)
			day := ratingDay
			day.Outdoor = day.Outdoor.Add(boost)
			healthy := p.Healthy()
			st, err := p.Solve(&healthy, day, Cool)
			if err != nil {
				t.Errorf("%s at %g K: %v", name, day.Outdoor, err)
				continue
			}
			if st.Cycle.Capacity <= 0 || st.Cycle.SuctionPressure >= st.Standing.SuctionPressure || st.Cycle.LiquidPressure <= st.Standing.LiquidPressure {
				t.Errorf("%s at %g K does not run: %+v", name, day.Outdoor, st.Cycle)
			}
		}
	}
}
