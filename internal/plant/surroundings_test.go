package plant_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"rung/internal/circuit"
	"rung/internal/cycle"
	"rung/internal/fault"
	"rung/internal/moistair"
	"rung/internal/plant"
	"rung/internal/quantity"
)

// equipment is a spread of plates that among them have every kind of part.
var equipment = []plant.Nameplate{
	{HighPressureSwitch: plant.Yes, LowPressureSwitch: plant.Yes},
	{Refrigerant: "R-22", Metering: cycle.FixedOrifice, Indoor: plant.Furnace, FusedDisconnect: plant.Yes},
	{Blower: plant.ConstantAirflowMotor, Thermostat: plant.PowerStealing, StartAssist: plant.Yes, CrankcaseHeater: plant.Yes, Poles: plant.TwoPole},
	{Metering: cycle.FixedOrifice, Thermostat: plant.Battery, LowPressureSwitch: plant.Yes},
}

// anywhere draws surroundings that a house can have.
func anywhere(t testing.TB, rng *rand.Rand) plant.Surroundings {
	t.Helper()
	between := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	at := plant.Surroundings{
		Outdoor:       quantity.Temperature(between(243.15, 325.15)),
		ReturnDryBulb: quantity.Temperature(between(278.15, 313.15)),
		Line:          quantity.Voltage(between(180, 265)),
		Elevation:     quantity.Length(between(-100, 3500)),
	}
	p, err := moistair.PressureAtElevation(at.Elevation)
	if err != nil {
		t.Fatal(err)
	}
	air, err := moistair.FromRelativeHumidity(at.ReturnDryBulb, quantity.RelativeHumidity(between(0.05, 1)), p)
	if err != nil {
		t.Fatal(err)
	}
	at.ReturnWetBulb = min(air.WetBulb, 306.15)
	return at
}

// Property: no fault in no weather breaks a solve or leaves a reading without a
// number, whatever is asked for. Seed 30, 52.
func TestEveryFaultInEveryWeather(t *testing.T) {
	catalogue, err := fault.Load()
	if err != nil {
		t.Fatal(err)
	}
	const draws = 3 // of weather and severity, per fault and demand
	rng := rand.New(rand.NewPCG(30, 52))
	solved, lost := 0, 0
	for _, n := range equipment {
		p, err := plant.Build(n)
		if err != nil {
			t.Fatal(err)
		}
		s, err := p.NewSolver()
		if err != nil {
			t.Fatal(err)
		}
		for i := range catalogue.Faults {
			f := &catalogue.Faults[i]
			if !f.Fits(p.Has) {
				continue
			}
			for k := range 4 * draws {
				ps := p.Healthy()
				if err := f.Apply(&ps, rng.Float64()); err != nil {
					t.Fatal(err)
				}
				at, d := anywhere(t, rng), plant.Demand(k%4)
				st, err := s.Solve(&ps, at, d)
				if err != nil {
					t.Errorf("%s, %v at %+v: %v", f.ID, d, at, err)
					continue
				}
				checkNumbers(t, f.ID, st)
				solved++
				if st.Cycle.Outcome == cycle.NoBalance {
					lost++
				}
			}
		}
	}
	if lost > solved/500 {
		t.Errorf("%d of %d solves without a balance", lost, solved)
	}
}

// checkNumbers fails if something that can be read is not a number.
func checkNumbers(t *testing.T, name string, st *plant.State) {
	t.Helper()
	fail := func(what string, x any) {
		t.Errorf("%s, %v at %+v: %s is %v", name, st.Demand, st.Surroundings, what, x)
	}
	bad := func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }
	for _, part := range []any{*st.CycleAt(plant.Running), st.Standing, st.Air, st.Speeds,
		struct{ Return, Supply, Display quantity.Temperature }{st.Return, st.Supply, st.DisplayTemp}} {
		v := reflect.ValueOf(part)
		for i := range v.NumField() {
			what := v.Type().Field(i).Name
			if x := v.Field(i); x.CanFloat() && what != "Residual" && bad(x.Float()) {
				fail(what, x)
			}
		}
	}
	for _, ph := range []plant.PhaseID{plant.AtStart, plant.Running, plant.Settled} {
		for i := range st.Plant().Wiring().Devices {
			id := st.Plant().Wiring().Devices[i].ID
			if a, ok := st.Amps(ph, id); !ok || bad(float64(a)) {
				fail(id+" A", a)
			}
		}
		if v, err := st.Volts(ph, plant.BoardR, plant.BoardC, circuit.HighImpedance); err != nil || bad(float64(v)) {
			fail("R-C V", v)
		}
	}
}

// practice: on a winter day everything electrical is as ever: 24 V, the blower,
// the contactor with its two motors, the standing pressure that of saturation
// outdoors. Only the charge cannot be judged, which the doubt says.
func TestWinterVisit(t *testing.T) {
	p, err := plant.Build(equipment[0])
	if err != nil {
		t.Fatal(err)
	}
	ps := p.Healthy()
	winter := plant.Surroundings{Outdoor: 266.483, ReturnDryBulb: 293.15, ReturnWetBulb: 284.15, Line: 240} // 20 °F, 68 °F
	summer := winter
	summer.Outdoor, summer.ReturnDryBulb, summer.ReturnWetBulb = 308.15, 299.817, 292.594
	solve := func(at plant.Surroundings, d plant.Demand) *plant.State {
		t.Helper()
		st, err := p.Solve(&ps, at, d)
		if err != nil {
			t.Fatal(err)
		}
		return st
	}
	hot, cold := solve(summer, plant.Cool), solve(winter, plant.Cool)
	if cold.Contactor != plant.ContactorClosed || cold.Compressor != plant.MotorRuns || cold.OutdoorFan != plant.MotorRuns || cold.Blower != plant.MotorRuns || cold.Trip != plant.NoTrip {
		t.Errorf("contactor %v, compressor %v, fan %v, blower %v, trip %v", cold.Contactor, cold.Compressor, cold.OutdoorFan, cold.Blower, cold.Trip)
	}
	for _, row := range []struct {
		device string
		least  float64 // of the amps of a hot day
	}{{"condenser-fan/protector", 0.98}, {"air-handler-board/blower-relay", 0.98}, {"control-fuse/fuse", 0.98}, {"compressor/common-terminal", 0.2}} {
		h, _ := hot.Amps(plant.Running, row.device)
		c, _ := cold.Amps(plant.Running, row.device)
		if r := float64(c / h); r < row.least || r > 1.02 {
			t.Errorf("%s: %.2f A against %.2f A on a hot day", row.device, c, h)
		}
	}
	want := p.Fluid().Table().BubblePressure(float64(winter.Outdoor))
	if got := float64(cold.Standing.SuctionPressure); math.Abs(got/want-1) > 1e-9 { // the same table asked twice
		t.Errorf("standing %.0f Pa, want %.0f", got, want)
	}
	if !cold.Cycle.Doubt.Has(cycle.DoubtCold|cycle.DoubtCool) || hot.Cycle.Doubt != 0 {
		t.Errorf("doubt %b in the cold, %b on a hot day", cold.Cycle.Doubt, hot.Cycle.Doubt)
	}
	for _, d := range []plant.Demand{plant.Off, plant.Fan, plant.Heat} {
		if st := solve(winter, d); st.Compressor != plant.Silent || (d != plant.Off) != (st.Blower == plant.MotorRuns) {
			t.Errorf("%v: compressor %v, blower %v", d, st.Compressor, st.Blower)
		}
	}
}

// practice: in deep cold the standing pressure of R-410A lies below the
// low-pressure switch, which then keeps the unit from starting: no fault.
func TestDeepColdHoldsTheLowPressureSwitchOpen(t *testing.T) {
	p, err := plant.Build(equipment[0])
	if err != nil {
		t.Fatal(err)
	}
	ps := p.Healthy()
	at := plant.Surroundings{Outdoor: 245, ReturnDryBulb: 293.15, ReturnWetBulb: 284.15, Line: 240}
	st, err := p.Solve(&ps, at, plant.Cool)
	if err != nil {
		t.Fatal(err)
	}
	if st.Trip != plant.LowPressureTrip || st.Contactor != plant.ContactorOpen || st.Blower != plant.MotorRuns {
		t.Errorf("trip %v, contactor %v, blower %v; want the switch open and the blower running", st.Trip, st.Contactor, st.Blower)
	}
}
