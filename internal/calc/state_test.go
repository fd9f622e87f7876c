package calc

import (
	"fmt"
	"math"
	"testing"

	"rung/internal/tradeunit"
)

// TestStateByAnyPair: what one pair gives, the others find again, in one phase
// and between the lines, of a pure refrigerant and of blends.
func TestStateByAnyPair(t *testing.T) {
	for _, name := range []string{"R-32", "R-454B", "R-32/125/134a (23/25/52)"} {
		for _, h := range []float64{230e3, 330e3, 540e3} {
			first, good := run(t, "state", fmt.Sprintf(`{"refrigerant":%q,"pressure":"900 kPa","enthalpy":"%g J/kg"}`, name, h), tradeunit.SI)
			if !good {
				t.Errorf("%s at %g J/kg: %v", name, h, first)
				continue
			}
			for _, pair := range []string{
				fmt.Sprintf(`"pressure":"900 kPa","entropy":"%.15g J/(kg K)"`, value(t, first, "entropy")),
				fmt.Sprintf(`"temperature":"%.15g K","density":"%.15g kg/m3"`, value(t, first, "temperature"), value(t, first, "density")),
			} {
				again, good := run(t, "state", fmt.Sprintf(`{"refrigerant":%q,%s}`, name, pair), tradeunit.SI)
				if !good || again["phase"] != first["phase"] {
					t.Errorf("%s by %s: %v, want %v", name, pair, again, first)
					continue
				}
				for _, f := range []string{"pressure", "temperature", "enthalpy", "density"} {
					if got, want := value(t, again, f), value(t, first, f); math.Abs(got-want) > 1e-6*math.Abs(want) {
						t.Errorf("%s by %s: %s %v, want %v", name, pair, f, got, want)
					}
				}
			}
		}
	}
	for _, bad := range []string{
		`{"refrigerant":"R-32"}`, `{"refrigerant":"R-32","pressure":"9 bar"}`, `{"refrigerant":"R-32","enthalpy":"300 kJ/kg","entropy":"1200 J/(kg K)"}`,
		`{"refrigerant":"R-32","pressure":"9 bar","temperature":"300 K","density":"30 kg/m3"}`,
	} {
		if answer, good := run(t, "state", bad, tradeunit.SI); good {
			t.Errorf("%s: %v, want a refusal", bad, answer)
		}
	}
}
