package cycle_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"rung/internal/cycle"
	"rung/internal/quantity"
)

// limit reports whether the state of an outcome stands at a limit; a machine
// without any balance does not.
func limit(o cycle.Outcome) bool { return o.OffBalance() && o != cycle.NoBalance }

// Property: in the wild space every solve converges or ends at a named limit,
// and no reading is ever without a number. Residual 1e-4 is the accuracy the
// package promises.
func TestWildSpaceConvergesOrNamesItsLimit(t *testing.T) {
	const samples, worst = 2500, 1e-4
	for _, p := range plates {
		m := p.machine(t)
		r := rand.New(rand.NewPCG(1, 2))
		var outcomes [16]int
		for range samples {
			c, f := wild(r, m, p.metering)
			s, err := m.Solve(c, f, nil)
			if err != nil {
				t.Fatalf("%s: Solve(%+v, %+v) = %v", p.name, c, f, err)
			}
			outcomes[s.Outcome]++
			if !limit(s.Outcome) && !(s.Residual < worst) {
				t.Errorf("%s: residual %g at %+v, %+v", p.name, s.Residual, c, f)
			}
			checkFinite(t, s)
		}
		if outcomes[cycle.Steady] < samples*9/10 {
			t.Errorf("%s: only %d of %d steady: %v", p.name, outcomes[cycle.Steady], samples, outcomes)
		}
		t.Logf("%s: outcomes by kind %v", p.name, outcomes)
	}
}

// checkFinite fails on a reading that is not a number.
func checkFinite(t testing.TB, s cycle.State) {
	t.Helper()
	v := reflect.ValueOf(s)
	for i := range v.NumField() {
		name := v.Type().Field(i).Name
		if f := v.Field(i); f.CanFloat() && name != "Residual" && (math.IsNaN(f.Float()) || math.IsInf(f.Float(), 0)) {
			t.Fatalf("%s is %v in %+v", name, f, s)
		}
	}
}

// Property: a warm start changes the cost, not the answer.
func TestWarmStartAgrees(t *testing.T) {
	for _, p := range plates {
		m := p.machine(t)
		start := solve(t, m, m.RatingCondition(), cycle.Healthy())
		r := rand.New(rand.NewPCG(3, 4))
		warmPasses, coldPasses := 0, 0
		for range 300 {
			c, f := m.RatingCondition(), cycle.Healthy()
			c.Outdoor += 6 * (1 - 2*temperature(r))
			f.Charge += 0.3 * (0.5 - ratio(r))
			c.IndoorAirflow -= 0.3 * ratio(r)
			cold := solve(t, m, c, f)
			warm, err := m.Solve(c, f, &start)
			if err != nil {
				t.Fatal(err)
			}
			// 200 Pa in 900 kPa: what a residual of 1e-6 leaves, with room.
			if d := math.Abs(float64(cold.SuctionPressure - warm.SuctionPressure)); d > 200 {
				t.Errorf("%s: cold and warm suction differ by %g Pa at %+v, %+v", p.name, d, c, f)
			}
			coldPasses += cold.Passes
			warmPasses += warm.Passes
		}
		t.Logf("%s: %d passes cold, %d warm, per 300", p.name, coldPasses, warmPasses)
	}
}

// Property: over the whole stated range of every setting, a third of them off
// their healthy value at a time, on plates of every size with twice their usual
// spread, a solve converges or ends at a named limit; in the cold one in two
// hundred has no balance to end in.
func TestWholeRangeConvergesOrNamesItsLimit(t *testing.T) {
	const samples = 700
	for _, p := range plates {
		r := rand.New(rand.NewPCG(21, 2))
		lost := 0
		for range samples {
			m := calibrate(t, anyRating(r, p.rating(t)))
			c, f := anything(r, m)
			s := solve(t, m, c, f)
			checkFinite(t, s)
			switch {
			case s.Outcome == cycle.NoBalance && c.Outdoor < 283.15:
				lost++
			case !limit(s.Outcome) && !(s.Residual < 1e-4):
				t.Errorf("%s %+v: residual %g at %+v, %+v", p.name, m.Rating(), s.Residual, c, f)
			}
		}
		if lost > samples/200 {
			t.Errorf("%s: %d of %d without a balance", p.name, lost, samples)
		}
	}
}

func between(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// anyRating spreads a plate over sizes, classes and machines.
func anyRating(r *rand.Rand, p cycle.Rating) cycle.Rating {
	p.NetCapacity = quantity.Power(between(r, 5e3, 18e3))
	p.EER, p.SEER = 0, quantity.Ratio(between(r, 10, 16)*btu)
	p.LineLength = quantity.Length(between(r, 3, 30))
	p.Spread = cycle.Spread{
		CondensingOverAmbient: quantity.TempDiff(between(r, -2.8, 2.8)),
		Evaporating:           quantity.TempDiff(between(r, -1.7, 1.7)),
		Superheat:             quantity.TempDiff(between(r, -2.2, 2.2)),
		EER:                   quantity.Ratio(between(r, -0.08, 0.08)),
		ChargeSensitivity:     quantity.Ratio(between(r, -0.25, 0.35)),
		SlipExponent:          quantity.Ratio(between(r, -0.08, 0.12)),
		OrificeExponent:       quantity.Ratio(between(r, -0.3, 0.3)),
	}
	return p
}

// anything draws a condition and a fault from the range of every setting.
func anything(r *rand.Rand, m *cycle.Machine) (cycle.Condition, cycle.Fault) {
	c, f := m.RatingCondition(), cycle.Healthy()
	c.Outdoor = quantity.Temperature(between(r, 243.15, 325.15))
	c.ReturnDryBulb = quantity.Temperature(between(r, 263.15, 327.15))
	c.ReturnHumidity = quantity.HumidityRatio(between(r, 0, 0.012))
	c.Ambient = quantity.Pressure(between(r, 65e3, 108e3))
	c.Speed = quantity.Ratio(between(r, 0.8, 1.05))
	for _, x := range []struct {
		at       *quantity.Ratio
		min, max float64
	}{
		{&c.IndoorAirflow, 0.05, 1.6}, {&c.OutdoorAirflow, 0.05, 1.6}, {&f.Charge, 0, 2},
		{&f.OutdoorFouling, 0, 1}, {&f.IndoorFouling, 0, 1}, {&f.NonCondensables, 0, 1.5},
		{&f.CompressorLeak, 0, 1}, {&f.ValveStuckAt, 0.02, 3}, {&f.BulbContact, 0, 1},
		{&f.OrificeScale, 0.02, 3}, {&f.SuctionLineGain, 0, 10},
	} {
		if r.IntN(3) == 0 {
			*x.at = quantity.Ratio(between(r, x.min, x.max))
		}
	}
	if r.IntN(3) == 0 {
		f.LiquidRestriction = quantity.PressureDiff(between(r, 0, 5e6))
	}
	if r.IntN(3) == 0 {
		f.ValveSuperheat = quantity.TempDiff(between(r, -10, 40))
	}
	return c, f
}
