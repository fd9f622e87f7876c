package cycle

import (
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// Every refrigerant with tables gives a machine that does what all do: it meets
// its plate at the rating point, loses capacity and needs more power the hotter
// it is outdoors, boils and condenses between the airs, and is starved by a
// leak. Nothing is published for most of them.
func TestEveryRefrigerantRuns(t *testing.T) {
	for _, name := range refrigerant.Tabulated() {
		f, err := refrigerant.Lookup(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, metering := range []MeteringDevice{TXV, FixedOrifice} {
			m, err := Calibrate(Rating{Refrigerant: f, Metering: metering, NetCapacity: 3 * wattsPerTon, SEER: 4})
			if err != nil {
				if name == "R-600" || name == "R-600a" || name == "R-601a" || name == "R-1234ze(E)" {
					continue // components of blends: nobody builds a split system for them
				}
				t.Errorf("%s: %v", name, err)
				continue
			}
			checkWeathers(t, m, name)
			c := m.RatingCondition()
			sound := must(t, m, c, Healthy())
			leak := Healthy()
			leak.Charge = 0.7
			short := must(t, m, c, leak)
			if !(short.SuctionPressure < sound.SuctionPressure && short.Subcooling < sound.Subcooling && short.Capacity < sound.Capacity) {
				t.Errorf("%s: short of charge %+v, sound %+v", name, short, sound)
			}
		}
	}
}

func must(t *testing.T, m *Machine, c Condition, f Fault) State {
	t.Helper()
	s, err := m.Solve(c, f, nil)
	if err != nil {
		t.Fatal(err)
	}
	if s.Outcome != Steady && s.Outcome != Icing {
		t.Errorf("outcome %v at %+v", s.Outcome, c)
	}
	return s
}

func checkWeathers(t *testing.T, m *Machine, name string) {
	t.Helper()
	var last State
	for i, outdoor := range []quantity.Temperature{297, 303, 308.15, 313, 319} {
		c := m.RatingCondition()
		c.Outdoor = outdoor
		s := must(t, m, c, Healthy())
		if outdoor == ratedOutdoor {
			published.Near(t, name+" subcooling", float64(s.Subcooling), float64(defaultTarget), 0.1)
		}
		if !(s.SatLiquidTemp > outdoor && s.SatSuctionTemp < c.ReturnDryBulb && s.SatSuctionTemp > 265 && s.DischargeTemp < 400) {
			t.Errorf("%s at %g K: %+v", name, outdoor, s)
		}
		if i > 0 && !(s.Capacity < last.Capacity && s.CompressorPower > last.CompressorPower && s.LiquidPressure > last.LiquidPressure) {
			t.Errorf("%s at %g K: %+v after %+v", name, outdoor, s, last)
		}
		last = s
	}
}
