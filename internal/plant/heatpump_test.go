package plant_test

import (
	"testing"

	"rung/internal/cycle"
	"rung/internal/plant"
	"rung/internal/quantity"
)

func fahrenheit(f float64) quantity.Temperature { return quantity.Temperature((f + 459.67) / 1.8) }

func build(t testing.TB, n plant.Nameplate) *plant.Plant {
	t.Helper()
	p, err := plant.Build(n)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func heatPumpPlate() plant.Nameplate { return plant.Nameplate{HeatPump: plant.Yes, HSPF: 2.4} }

func winter(f float64) plant.Surroundings {
	return plant.Surroundings{Outdoor: fahrenheit(f), ReturnDryBulb: fahrenheit(70), ReturnWetBulb: fahrenheit(56), Line: 240}
}

// practice: a heat pump called for heat runs compressor, outdoor fan and blower,
// blows air of 90 to 110 °F at 47 °F outdoors, and draws less than its rated load.
func TestHeatPumpHeats(t *testing.T) {
	p := build(t, heatPumpPlate())
	for _, f := range []float64{47, 35, 17} {
		ps := p.Healthy()
		st, err := p.Solve(&ps, winter(f), plant.Heat)
		if err != nil {
			t.Fatal(err)
		}
		if st.Compressor != plant.MotorRuns || st.OutdoorFan != plant.MotorRuns || st.Trip != plant.NoTrip || !st.Pumping() {
			t.Fatalf("%g °F: compressor %v, fan %v, trip %v, outcome %v", f, st.Compressor, st.OutdoorFan, st.Trip, st.Cycle.Outcome)
		}
		if rise := 1.8 * float64(st.Supply-st.Return); !(rise > 10 && rise < 45) {
			t.Errorf("%g °F: supply %.1f °F over return", f, rise)
		}
		if (f == 35) != (st.Cycle.FrostRate > 0) {
			t.Errorf("%g °F: frost %g kg/s", f, st.Cycle.FrostRate)
		}
		amps, ok := st.Amps(plant.Settled, "compressor/common-terminal")
		rated := p.Nameplate().RatedLoadAmps
		if !ok || !(amps > 0.3*rated && amps < rated) {
			t.Errorf("%g °F: %.1f A of %.1f rated", f, amps, rated)
		}
		if st.Looks.SuctionLineIce {
			t.Errorf("%g °F: frost outdoors shows as ice on the indoor coil", f)
		}
	}
}

// Property: cooling is the same with and without a reversing valve, and a system
// without one answers heat by its heating relay alone.
func TestHeatPumpCoolsAsAnAirConditioner(t *testing.T) {
	hp, ac := build(t, heatPumpPlate()), build(t, plant.Nameplate{})
	day := plant.Surroundings{Outdoor: fahrenheit(95), ReturnDryBulb: fahrenheit(80), ReturnWetBulb: fahrenheit(67), Line: 240}
	state := func(p *plant.Plant, d plant.Demand) *plant.State {
		ps := p.Healthy()
		st, err := p.Solve(&ps, day, d)
		if err != nil {
			t.Fatal(err)
		}
		return st
	}
	if a, b := state(hp, plant.Cool).Cycle, state(ac, plant.Cool).Cycle; a != b {
		t.Errorf("a heat pump cools with %+v, an air conditioner with %+v", a, b)
	}
	if st := state(ac, plant.Heat); st.Pumping() || st.Compressor == plant.MotorRuns {
		t.Errorf("an air conditioner called for heat runs its compressor")
	}
}

// practice: what the faults of heating show on gauges, pipes and amps.
func TestHeatPumpFaults(t *testing.T) {
	p := build(t, heatPumpPlate())
	look := func(path string, v float64) plant.State {
		ps := p.Healthy()
		if path != "" {
			if err := ps.Put(plant.MustParam(path), v); err != nil {
				t.Fatal(err)
			}
		}
		st, err := p.Solve(&ps, winter(47), plant.Heat)
		if err != nil {
			t.Fatal(err)
		}
		return *st
	}
	sound := look("", 0)
	for _, x := range []struct {
		path  string
		value float64
		shows func(s *cycle.State) bool
	}{
		{"reversing-valve/leak", 0.2, func(s *cycle.State) bool {
			return s.SuctionPressure > sound.Cycle.SuctionPressure && s.DischargePressure < sound.Cycle.DischargePressure && s.CompressorInlet > s.SuctionLineTemp+3
		}},
		{"supply-duct/resistance", 8, func(s *cycle.State) bool {
			return s.DischargePressure > sound.Cycle.DischargePressure+quantity.Pressure(1e5)
		}},
		{"outdoor-coil/airflow", 0.4, func(s *cycle.State) bool {
			return s.SuctionPressure < sound.Cycle.SuctionPressure && s.Capacity < sound.Cycle.Capacity
		}},
		{"heating-check-valve/restriction", 1.5e6, func(s *cycle.State) bool {
			return s.SuctionPressure < sound.Cycle.SuctionPressure && s.Superheat > sound.Cycle.Superheat+1
		}},
		{"heating-check-valve/leak", 1, func(s *cycle.State) bool { return s.Superheat < sound.Cycle.Superheat }},
		{"refrigerant/charge", 0.75, func(s *cycle.State) bool { return s.Subcooling < sound.Cycle.Subcooling-2 }},
	} {
		st := look(x.path, x.value)
		if !x.shows(&st.Cycle) {
			t.Errorf("%s at %g: %+v\nsound: %+v", x.path, x.value, st.Cycle, sound.Cycle)
		}
	}
}

// A wet bulb above the dry bulb is refused; a dry one gives less frost.
func TestOutdoorWetBulb(t *testing.T) {
	p := build(t, heatPumpPlate())
	ps := p.Healthy()
	day := winter(35)
	day.OutdoorWetBulb = fahrenheit(36)
	if _, err := p.Solve(&ps, day, plant.Heat); err == nil {
		t.Error("a wet bulb above the dry bulb passes")
	}
	frost := func(wet float64) float64 {
		day.OutdoorWetBulb = fahrenheit(wet)
		st, err := p.Solve(&ps, day, plant.Heat)
		if err != nil {
			t.Fatal(err)
		}
		return float64(st.Cycle.FrostRate)
	}
	if dry, damp := frost(31), frost(34.5); !(dry < damp) {
		t.Errorf("frost %g kg/s in dry air, %g in damp", dry, damp)
	}
}
