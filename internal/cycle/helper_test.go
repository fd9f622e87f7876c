package cycle_test

import (
	"math/rand/v2"
	"testing"

	"rung/internal/cycle"
	"rung/internal/moistair"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// Trade units in which the sources print.
const (
	psi = 6894.757 // Pa
	btu = 0.29307107
	ton = 12000 * btu // W
)

func fahrenheit(t float64) quantity.Temperature { return quantity.Temperature((t + 459.67) / 1.8) }
func degreesF(d quantity.TempDiff) float64      { return 1.8 * float64(d) }

// plate is a made-up machine of 3 tons.
type plate struct {
	name     string
	fluid    string
	metering cycle.MeteringDevice
	kind     cycle.Compressor
	eer      float64 // Btu/Wh
}

var plates = []plate{
	{"txv", "R-410A", cycle.TXV, cycle.Scroll, 11},
	{"orifice", "R-410A", cycle.FixedOrifice, cycle.Scroll, 11},
	{"r22-orifice", "R-22", cycle.FixedOrifice, cycle.Reciprocating, 9},
	{"r22-txv", "R-22", cycle.TXV, cycle.Scroll, 10},
}

// efficient is a machine of the class that the fits of Cheung and Braun cover,
// which hold for a rated COP of the compressor alone of 5.1 to 7.1.
var efficient = plate{"efficient-txv", "R-410A", cycle.TXV, cycle.Scroll, 13}

func (p plate) rating(t testing.TB) cycle.Rating {
	t.Helper()
	f, err := refrigerant.Lookup(p.fluid)
	if err != nil {
		t.Fatal(err)
	}
	return cycle.Rating{Refrigerant: f, Metering: p.metering, Compressor: p.kind,
		NetCapacity: 3 * ton, EER: quantity.Ratio(p.eer * btu)}
}

func (p plate) machine(t testing.TB) *cycle.Machine { return calibrate(t, p.rating(t)) }

func machineNamed(t testing.TB, name string) *cycle.Machine {
	t.Helper()
	for _, p := range plates {
		if p.name == name {
			return p.machine(t)
		}
	}
	t.Fatalf("no plate %q", name)
	return nil
}

func calibrate(t testing.TB, r cycle.Rating) *cycle.Machine {
	t.Helper()
	m, err := cycle.Calibrate(r)
	if err != nil {
		t.Fatalf("Calibrate(%+v) = %v", r, err)
	}
	return m
}

func solve(t testing.TB, m *cycle.Machine, c cycle.Condition, f cycle.Fault) cycle.State {
	t.Helper()
	s, err := m.Solve(c, f, nil)
	if err != nil {
		t.Fatalf("Solve(%+v, %+v) = %v", c, f, err)
	}
	return s
}

// heatPump is the plate as a heat pump, without heating figures of its own.
func heatPump(t testing.TB, p plate) *cycle.Machine {
	t.Helper()
	r := p.rating(t)
	r.HeatPump = true
	return calibrate(t, r)
}

// outdoors returns c, with the outdoor air at a dry bulb of F degrees and
// 80 % relative humidity, which counts in heating.
func outdoors(t testing.TB, c cycle.Condition, f float64) cycle.Condition {
	t.Helper()
	s, err := moistair.FromRelativeHumidity(fahrenheit(f), 0.8, c.Ambient)
	if err != nil {
		t.Fatal(err)
	}
	c.Outdoor, c.OutdoorHumidity = s.DryBulb, s.HumidityRatio
	return c
}

// air returns c with the return air at dry and wet bulb.
func air(t testing.TB, c cycle.Condition, db, wb quantity.Temperature) cycle.Condition {
	t.Helper()
	s, err := moistair.FromWetBulb(db, wb, c.Ambient)
	if err != nil {
		t.Fatal(err)
	}
	c.ReturnDryBulb, c.ReturnHumidity = db, s.HumidityRatio
	return c
}

// wild draws a condition and a fault from far beyond what a job brings: one
// fault at a time, or in one case of nine about half of all at once.
func wild(r *rand.Rand, m *cycle.Machine, metering cycle.MeteringDevice) (cycle.Condition, cycle.Fault) {
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	c, f := m.RatingCondition(), cycle.Healthy()
	c.Outdoor = fahrenheit(between(55, 115))
	c.ReturnDryBulb = fahrenheit(between(68, 88))
	c.ReturnHumidity = quantity.HumidityRatio(between(0.003, 0.016))
	k := r.IntN(9)
	on := func(i int) bool { return k == i || k == 8 && r.IntN(2) == 0 }
	if on(0) {
		f.Charge = quantity.Ratio(between(0.5, 1.4))
	}
	if on(1) {
		c.OutdoorAirflow = quantity.Ratio(between(0.3, 1.1))
	}
	if on(2) {
		c.IndoorAirflow = quantity.Ratio(between(0.35, 1.2))
	}
	if on(3) {
		f.LiquidRestriction = quantity.PressureDiff(between(0, 217) * psi)
	}
	if on(4) {
		f.CompressorLeak = quantity.Ratio(between(0, 1))
	}
	if on(5) {
		f.NonCondensables = quantity.Ratio(between(0, 0.63))
	}
	if on(6) && metering == cycle.TXV {
		f.ValveStuckAt = quantity.Ratio(between(0.2, 2.2))
	} else if on(6) {
		f.OrificeScale = quantity.Ratio(between(0.2, 2.2))
	}
	return c, f
}

func temperature(r *rand.Rand) quantity.Temperature { return quantity.Temperature(r.Float64()) }
func ratio(r *rand.Rand) quantity.Ratio             { return quantity.Ratio(r.Float64()) }
