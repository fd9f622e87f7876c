package cycle_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"rung/internal/cycle"
)

// limit reports whether the state of an outcome stands off balance.
func limit(o cycle.Outcome) bool {
	return o == cycle.HighPressureLimit || o == cycle.LowPressureLimit || o == cycle.LiquidLimit
}

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
