package fieldtest

import (
	"math"
	"testing"

	"rung/internal/cycle"
)

// The meters of the refrigerant and the air side reckon with the discrepancies
// that the cycle model's table states; pressures by the slope of saturation.
func TestDiscrepanciesAreThoseOfTheCycle(t *testing.T) {
	table, err := cycle.Discrepancies()
	if err != nil {
		t.Fatal(err)
	}
	used := map[string]float64{}
	for _, d := range table {
		used[d.Reading] = d.Used * 5 / 9 // K
	}
	// Slopes of ln p over K of R-410A at 45 and 118 °F.
	const lowSlope, highSlope = 0.0295, 0.0225
	c := load(t)
	for _, x := range []struct {
		check, point, reading string
		want                  float64 // K, or a ratio
	}{
		{"gauge-pressures", "suction", "suction-saturation", lowSlope * used["suction-saturation"]},
		{"gauge-pressures", "liquid", "condensing-over-ambient", highSlope * used["condensing-over-ambient"]},
		{"sh-sc", "liquid-line", "subcooling", used["subcooling"]},
		{"sh-sc", "suction-line", "superheat", (used["superheat-txv"] + used["superheat-orifice"]) / 2},
		{"discharge-temp", "pipe", "discharge", used["discharge"]},
		{"delta-t-air", "supply", "split", used["split"]},
		{"delta-t-outdoor", "leaving", "leaving-outdoor-air", used["leaving-outdoor-air"]},
	} {
		k, ok := c.Check(x.check)
		if !ok {
			t.Fatalf("no check %s", x.check)
		}
		for _, p := range k.Points {
			if p.ID != x.point {
				continue
			}
			// 8 %: the catalogue rounds to what reads well.
			if got := p.Meter.Discrepancy + p.Meter.DiscrepancyRatio; math.Abs(got/x.want-1) > 0.08 {
				t.Errorf("%s %s reckons with %g, the table's %s with %.3g", x.check, x.point, got, x.reading, x.want)
			}
		}
	}
}
