package cycle_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"rung/internal/cycle"
	"rung/internal/quantity"
)

// Nothing is published for these machines in the cold; the tests of this file
// are properties and practice.

// Property: down into the cold both pressures and the power fall without a
// jump, every state is balanced, and below 10 °C each is doubted.
func TestColdSweepFallsWithoutJump(t *testing.T) {
	for _, p := range plates {
		m := p.machine(t)
		c := m.RatingCondition()
		c.ReturnDryBulb, c.ReturnHumidity = fahrenheit(70), 0.005
		const step = 1.0 // K
		var last cycle.State
		for out := 308.15; out >= 243.15; out -= step {
			c.Outdoor = quantity.Temperature(out)
			s := solve(t, m, c, cycle.Healthy())
			checkFinite(t, s)
			if s.Outcome != cycle.Steady && s.Outcome != cycle.Icing {
				t.Fatalf("%s at %.0f K: outcome %d", p.name, out, s.Outcome)
			}
			if want := out < 283.15; s.Doubt.Has(cycle.DoubtCold) != want {
				t.Errorf("%s at %.0f K: doubt %b, want the cold in it %v", p.name, out, s.Doubt, want)
			}
			if last.Outcome != 0 {
				falls(t, p.name, "liquid pressure", out, float64(s.LiquidPressure), float64(last.LiquidPressure))
				falls(t, p.name, "suction pressure", out, float64(s.SuctionPressure), float64(last.SuctionPressure))
				// Power goes to nothing with the pressure ratio: it is held
				// against the rated one.
				rated := float64(solve(t, m, m.RatingCondition(), cycle.Healthy()).CompressorPower)
				falls(t, p.name, "power over rated", out, 1+float64(s.CompressorPower)/rated, 1+float64(last.CompressorPower)/rated)
			}
			last = s
		}
	}
}

// falls fails unless now lies below before, by no more than 6 % for the kelvin
// of the sweep: saturation pressure falls by 2.5 to 4 % per kelvin.
func falls(t *testing.T, plate, what string, out, now, before float64) {
	t.Helper()
	const residual = 1e-6
	if now > before*(1+residual) || now < 0.94*before {
		t.Errorf("%s at %.0f K: %s %.4g after %.4g", plate, out, what, now, before)
	}
}

// practice: at 10 °F outdoors a cooling system run for a test freezes its coil,
// its head stands at less than a third of that of a summer day, and the low side
// of R-410A is below the 101 psi at which it boils at freezing.
func TestWinterRunFreezesTheCoil(t *testing.T) {
	m := machineNamed(t, "txv")
	c := m.RatingCondition()
	summer := solve(t, m, c, cycle.Healthy())
	c = air(t, c, fahrenheit(68), fahrenheit(55))
	c.Outdoor = fahrenheit(10)
	s := solve(t, m, c, cycle.Healthy())
	if s.Outcome != cycle.Icing || !s.Doubt.Has(cycle.DoubtCold|cycle.DoubtCool|cycle.DoubtIce) {
		t.Errorf("outcome %d, doubt %b; want the coil to freeze, in doubt", s.Outcome, s.Doubt)
	}
	if r := float64(s.LiquidPressure / summer.LiquidPressure); r > 0.33 {
		t.Errorf("head at %.2f of a summer day's", r)
	}
	if g := float64(s.SuctionPressure-c.Ambient) / psi; g < 35 || g > 101 {
		t.Errorf("suction %.0f psig", g)
	}
}

// Property: at rest the pressure is that of saturation at the colder coil, down
// to -30 °C outdoors and in an attic below freezing.
func TestStandingInTheCold(t *testing.T) {
	for _, p := range plates {
		m := p.machine(t)
		table := p.rating(t).Refrigerant.Table()
		for _, out := range []float64{243.15, 255, 266, 278} {
			for _, in := range []float64{264, 278, 294} {
				c := m.RatingCondition()
				c.Outdoor, c.ReturnDryBulb, c.ReturnHumidity = quantity.Temperature(out), quantity.Temperature(in), 0.001
				s, err := m.Stand(c, cycle.Healthy())
				if err != nil {
					t.Fatal(err)
				}
				checkFinite(t, s)
				// 1e-9: the same table is asked twice.
				if want := table.BubblePressure(math.Min(out, in)); math.Abs(float64(s.SuctionPressure)/want-1) > 1e-9 {
					t.Errorf("%s at %g and %g K: %.0f Pa, want %.0f", p.name, out, in, s.SuctionPressure, want)
				}
			}
		}
	}
}

// Property: with the wild faults the cold down to -30 °C gives a state or a
// named end, and hardly ever one without any balance. Seed 78, 2.
func TestColdAlwaysHasAnAnswer(t *testing.T) {
	const samples = 600
	for _, p := range plates {
		m := p.machine(t)
		r := rand.New(rand.NewPCG(78, 2))
		lost := 0
		for range samples {
			c, f := wild(r, m, p.metering)
			c.Outdoor = quantity.Temperature(between(r, 243.15, 289))
			c.ReturnDryBulb = quantity.Temperature(between(r, 264, 305))
			c.ReturnHumidity = quantity.HumidityRatio(between(r, 0.001, 0.01))
			s := solve(t, m, c, f)
			checkFinite(t, s)
			if s.Outcome == cycle.NoBalance {
				lost++
			}
			if !s.Outcome.OffBalance() && !(s.Residual < 1e-4) {
				t.Errorf("%s: residual %g at %+v, %+v", p.name, s.Residual, c, f)
			}
		}
		if lost > samples/200 {
			t.Errorf("%s: %d of %d without a balance", p.name, lost, samples)
		}
	}
}

// practice: an empty circuit shows gas of no account on both gauges while the
// compressor runs: the low side in vacuum, the high side a little above rest,
// no cooling, and well under half the power. The gas itself is conserved.
func TestThinGas(t *testing.T) {
	for _, p := range plates {
		m := p.machine(t)
		c, f := m.RatingCondition(), cycle.Healthy()
		for _, charge := range []quantity.Ratio{0, 0.02, 0.05} {
			f.Charge = charge
			rest, err := m.Stand(c, f)
			if err != nil {
				t.Fatal(err)
			}
			s := solve(t, m, c, f)
			checkFinite(t, s)
			if s.Outcome != cycle.LowPressureLimit || !s.Doubt.Has(cycle.DoubtOffBalance) {
				t.Errorf("%s at charge %g: outcome %d, doubt %b", p.name, charge, s.Outcome, s.Doubt)
			}
			if !(s.SuctionPressure < rest.SuctionPressure && rest.SuctionPressure < s.LiquidPressure) {
				t.Errorf("%s at charge %g: %.0f and %.0f Pa about %.0f at rest", p.name, charge, s.SuctionPressure, s.LiquidPressure, rest.SuctionPressure)
			}
			// 1e-9: rounding; equal volumes at equal temperature share the gas.
			if mean := float64(s.SuctionPressure+s.LiquidPressure) / 2; math.Abs(mean/float64(rest.SuctionPressure)-1) > 1e-9 {
				t.Errorf("%s at charge %g: mean %.0f Pa, at rest %.0f", p.name, charge, mean, rest.SuctionPressure)
			}
			full := solve(t, m, c, cycle.Healthy())
			if s.Capacity != 0 || s.CompressorPower > full.CompressorPower/2 || s.SupplyDryBulb < c.ReturnDryBulb {
				t.Errorf("%s at charge %g: %.0f W of cooling, %.0f W taken, supply %.1f K", p.name, charge, s.Capacity, s.CompressorPower, s.SupplyDryBulb)
			}
		}
	}
}
