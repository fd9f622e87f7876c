package cycle_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"rung/internal/cycle"
	"rung/internal/moistair"
	"rung/internal/quantity"
)

// heatingChange is the change a mend makes at a point of heating, °F outdoors.
func heatingChange(t testing.TB, m *cycle.Machine, f float64, mend func(*cycle.Condition, *cycle.Fault)) change {
	t.Helper()
	c, fault := outdoors(t, m.HeatingRatingCondition(), f), cycle.Healthy()
	healthy := solve(t, m, c, fault)
	mend(&c, &fault)
	return change{solve(t, m, c, fault), healthy}
}

// The constants of the rating points are what moist air says.
func TestHeatingRatingAir(t *testing.T) {
	c := heatPump(t, plates[0]).HeatingRatingCondition()
	s, err := moistair.FromWetBulb(fahrenheit(47), fahrenheit(43), c.Ambient)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "outdoor", float64(c.Outdoor), float64(s.DryBulb), 1e-6)
	near(t, "outdoor humidity", float64(c.OutdoorHumidity), float64(s.HumidityRatio), 1e-3)
	near(t, "return", float64(c.ReturnDryBulb), float64(fahrenheit(70)), 1e-6)
	c = heatPump(t, plates[0]).ColdRatingCondition()
	if s, err = moistair.FromWetBulb(fahrenheit(17), fahrenheit(15), c.Ambient); err != nil {
		t.Fatal(err)
	}
	near(t, "cold outdoor", float64(c.Outdoor), float64(s.DryBulb), 1e-6)
	near(t, "cold outdoor humidity", float64(c.OutdoorHumidity), float64(s.HumidityRatio), 1e-3)
}

// Property: a plate's heating figures come back at its rating point, with the
// target subcooling, and cooling is what it is without the reversing valve.
func TestHeatingRatingComesBack(t *testing.T) {
	for _, p := range plates {
		r := p.rating(t)
		r.HeatPump, r.HeatingCapacity, r.HeatingCOP = true, 0.97*r.NetCapacity, 3.1
		if p.kind == cycle.Reciprocating {
			r.HeatingCOP = 2.8
		}
		m := calibrate(t, r)
		r = m.Rating()
		if a := m.Adjustment(); a.Doubtful {
			t.Errorf("%s: doubtful", p.name)
		}
		s := solve(t, m, m.HeatingRatingCondition(), cycle.Healthy())
		// 1e-4: what the three one-dimensional searches and the solve leave.
		near(t, p.name+" heating capacity", float64(s.Capacity+r.IndoorFan), float64(r.HeatingCapacity), 1e-4)
		total := s.CompressorPower + r.IndoorFan + r.OutdoorFan
		near(t, p.name+" heating COP", float64(s.Capacity+r.IndoorFan)/float64(total), float64(r.HeatingCOP), 1e-4)
		near(t, p.name+" subcooling", float64(s.Subcooling), float64(r.HeatingSubcooling), 0.03)
		cool, plain := solve(t, m, m.RatingCondition(), cycle.Healthy()), solve(t, p.machine(t), m.RatingCondition(), cycle.Healthy())
		if cool != plain {
			t.Errorf("%s: cooling differs for a heat pump", p.name)
		}
	}
}

// Property: what subcooling should be is what it is at the rated charge.
func TestHeatingSolveSubcooling(t *testing.T) {
	for _, p := range plates {
		m := heatPump(t, p)
		c := m.HeatingRatingCondition()
		s, err := m.SolveSubcooling(c, cycle.Healthy(), nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, p.name+" subcooling", float64(s.Subcooling), float64(m.Rating().HeatingSubcooling), 1e-3)
		near(t, p.name+" capacity", float64(s.Capacity), float64(solve(t, m, c, cycle.Healthy()).Capacity), 2e-3)
	}
}

// Property: plates of heat pumps from 1.5 to 5 tons and from old to new calibrate,
// with the usual heating figures and without any.
func TestHeatingCalibrationOverPlates(t *testing.T) {
	for _, p := range plates {
		for _, tons := range []float64{1.5, 3, 5} {
			for _, class := range [][2]float64{{10, 6.8}, {13, 7.7}, {14, 8.2}, {16, 9}} { // SEER and HSPF
				if p.kind == cycle.Reciprocating && class[0] > 13 {
					continue // no such machines
				}
				for _, given := range []bool{false, true} {
					r := p.rating(t)
					r.NetCapacity, r.EER, r.SEER, r.HeatPump = quantity.Power(tons*ton), 0, quantity.Ratio(class[0]*btu), true
					if given {
						r.HSPF, r.HeatingCapacity = quantity.Ratio(class[1]*btu), 0.98*r.NetCapacity
					}
					m := calibrate(t, r)
					s := solve(t, m, m.HeatingRatingCondition(), cycle.Healthy())
					if ratio := float64(s.Capacity / r.NetCapacity); s.Outcome != cycle.Steady && s.Outcome != cycle.Icing || !(ratio > 0.85 && ratio < 1.2) {
						t.Errorf("%s %g tons SEER %g: outcome %d, %.2f of the cooling capacity", p.name, tons, class[0], s.Outcome, ratio)
					}
					if a := m.Adjustment(); a.Doubtful {
						t.Logf("%s %g tons SEER %g, given %v: doubtful", p.name, tons, class[0], given)
					}
				}
			}
		}
	}
}

// Property: a plate that no coil can answer to is called doubtful and solved
// without its heating figures.
func TestDoubtfulHeatingPlate(t *testing.T) {
	r := plates[0].rating(t)
	r.HeatPump, r.HeatingCOP = true, 5
	if m := calibrate(t, r); !m.Adjustment().Doubtful {
		t.Error("a COP of 5 with EER 11 passes")
	}
}

func TestCoolingOnlyMachineDoesNotHeat(t *testing.T) {
	m := plates[0].machine(t)
	c := m.RatingCondition()
	c.Mode = cycle.Heating
	if _, err := m.Solve(c, cycle.Healthy(), nil); !errors.Is(err, cycle.ErrCoolingOnly) {
		t.Errorf("Solve = %v, want ErrCoolingOnly", err)
	}
}

// Property: heat given off indoors is heat taken outdoors and the compressor's
// power less the loss of its shell, 0.07, and of the hot line, 2.3 W/K for 25 ft;
// the air gains and loses what the coils give and take.
func TestHeatingEnergyBalance(t *testing.T) {
	for _, p := range plates {
		m := heatPump(t, p)
		r := rand.New(rand.NewPCG(11, 12))
		for range 300 {
			c, f := wildHeating(t, r, m, p.metering)
			f.CompressorLeak = min(f.CompressorLeak, 0.6) // interpolated beyond
			s := solve(t, m, c, f)
			// Gas near the end of the property tables, 160 to 190 °C, stands at their end at both
			// ends of the line.
			if limit(s.Outcome) || s.VapourLineTemp > 430 {
				continue
			}
			// The line loses as its two ends are warm, or between; 0.5 % for its gas of constant heat capacity.
			lost := float64(s.EvaporatorHeat) + 0.93*float64(s.CompressorPower) - float64(s.CondenserHeat)
			slack := 5e-3 * float64(s.CondenserHeat)
			if low, high := 2.3*float64(s.IndoorVapourTemp-c.Outdoor), 2.3*float64(s.VapourLineTemp-c.Outdoor); !(lost > low-slack && lost < high+slack) {
				t.Errorf("%s: %.1f W lost on the way, want %.1f to %.1f at %+v, %+v", p.name, lost, low, high, c, f)
			}
			flow := float64(m.RatedIndoorAirflow()) * float64(c.IndoorAirflow)
			air, err := moistair.FromHumidityRatio(c.ReturnDryBulb, c.ReturnHumidity, c.Ambient)
			if err != nil {
				t.Fatal(err)
			}
			capacity := flow / float64(air.SpecificVolume) * (1006 + 1860*float64(c.ReturnHumidity))
			near(t, p.name+" supply", capacity*float64(s.SupplyDryBulb-c.ReturnDryBulb), float64(s.CondenserHeat)+float64(c.IndoorFanHeat), 1e-4)
		}
	}
}

// Property: with falling outdoor temperature capacity, efficiency, suction and
// discharge pressure and the supply air fall, and the efficiency of the
// compressor's cycle stays below that of a reversible one between the two coils.
func TestHeatingFallsWithOutdoorTemperature(t *testing.T) {
	for _, p := range plates {
		m := heatPump(t, p)
		var last cycle.State
		lastCOP := math.Inf(1)
		for f := 62.0; f >= -10; f -= 2 {
			c := outdoors(t, m.HeatingRatingCondition(), f)
			s := solve(t, m, c, cycle.Healthy())
			checkFinite(t, s)
			if s.Outcome != cycle.Steady && s.Outcome != cycle.Icing {
				t.Fatalf("%s at %g °F: outcome %d", p.name, f, s.Outcome)
			}
			cop := float64(s.CondenserHeat / s.CompressorPower)
			if carnot := float64(s.CondensingTemp) / float64(s.CondensingTemp-s.EvaporatingTemp); !(cop < carnot && cop > 1) {
				t.Errorf("%s at %g °F: COP %.2f, reversible %.2f", p.name, f, cop, carnot)
			}
			if last.Outcome != 0 {
				if !(s.Capacity < last.Capacity && cop < lastCOP && s.SuctionPressure < last.SuctionPressure &&
					s.DischargePressure < last.DischargePressure && s.SupplyDryBulb < last.SupplyDryBulb) {
					t.Errorf("%s at %g °F: %.0f W after %.0f, COP %.3f after %.3f", p.name, f, s.Capacity, last.Capacity, cop, lastCOP)
				}
				if s.Capacity < 0.9*last.Capacity {
					t.Errorf("%s at %g °F: capacity jumps to %.0f W from %.0f", p.name, f, s.Capacity, last.Capacity)
				}
			}
			last, lastCOP = s, cop
		}
	}
}

// practice: frost grows in damp air a little above and below freezing, most near
// 35 °F, hardly in mild or in hard frost; a coil then is not steady.
func TestFrostOnTheOutdoorCoil(t *testing.T) {
	for _, p := range plates {
		m := heatPump(t, p)
		rate := func(f float64) float64 {
			s := solve(t, m, outdoors(t, m.HeatingRatingCondition(), f), cycle.Healthy())
			if (s.FrostRate > 0) != (s.Outcome == cycle.Icing) || s.Doubt.Has(cycle.DoubtIce) != (s.Outcome == cycle.Icing) {
				t.Errorf("%s at %g °F: outcome %d, doubt %b, frost %g kg/s", p.name, f, s.Outcome, s.Doubt, s.FrostRate)
			}
			return 3600 * float64(s.FrostRate)
		}
		if r := rate(35); !(r > 0.5 && r < 5) {
			t.Errorf("%s at 35 °F: %.2f kg of frost an hour, want some kilograms", p.name, r)
		}
		if mild, cold := rate(55), rate(5); mild != 0 || !(cold < 0.4*rate(35)) {
			t.Errorf("%s: %.2f kg of frost an hour at 55 °F, %.2f at 5 °F", p.name, mild, cold)
		}
	}
	// The indoor coil of a cooling system freezes too, by the water it takes out.
	m := machineNamed(t, "txv")
	c := m.RatingCondition()
	c = air(t, c, fahrenheit(72), fahrenheit(60))
	c.IndoorAirflow = 0.3
	s := solve(t, m, c, cycle.Healthy())
	flow := float64(m.RatedIndoorAirflow()) * 0.3 / 0.852 // m³/kg of dry air at 72/60 °F
	if want := flow * float64(c.ReturnHumidity-s.SupplyHumidity); s.Outcome != cycle.Icing || math.Abs(float64(s.FrostRate)/want-1) > 0.02 {
		t.Errorf("indoor coil: outcome %d, frost %g kg/s, want %g", s.Outcome, s.FrostRate, want)
	}
}

// practice: low indoor airflow in heating shows as high head and hot supply air;
// the same fault in cooling as low suction.
func TestLowIndoorAirInHeating(t *testing.T) {
	for _, p := range plates {
		c := heatingChange(t, heatPump(t, p), 47, func(c *cycle.Condition, _ *cycle.Fault) { c.IndoorAirflow = 0.6 })
		if !(c.liquid() > 40 && c.now.SupplyDryBulb > c.healthy.SupplyDryBulb+5 && math.Abs(c.suction()) < 8) {
			t.Errorf("%s: head %+.0f, suction %+.1f psi", p.name, c.liquid(), c.suction())
		}
	}
}

// published: Yoon, Payne, Domanski (abstract): fouling of either coil and
// overcharge cost an R-410A heat pump with TXV most of its efficiency. The levels are
// ours: what each fault is usually found at.
func TestWhatCostsMostInHeating(t *testing.T) {
	m := heatPump(t, plates[0])
	loss := func(mend func(*cycle.Condition, *cycle.Fault)) float64 {
		c := heatingChange(t, m, 47, mend)
		cop := func(s cycle.State) float64 { return float64(s.Capacity / s.CompressorPower) }
		return 1 - cop(c.now)/cop(c.healthy)
	}
	most := min(
		loss(func(c *cycle.Condition, _ *cycle.Fault) { c.IndoorAirflow = 0.7 }),
		loss(func(c *cycle.Condition, f *cycle.Fault) { c.OutdoorAirflow, f.OutdoorFouling = 0.5, 0.3 }),
		loss(charge(1.2)))
	for name, other := range map[string]float64{
		"charge 90 %":      loss(charge(0.9)),
		"restriction":      loss(func(_ *cycle.Condition, f *cycle.Fault) { f.LiquidRestriction = 3e5 }),
		"non-condensables": loss(func(_ *cycle.Condition, f *cycle.Fault) { f.NonCondensables = 0.1 }),
	} {
		if !(other < most) {
			t.Errorf("%s costs %.3f of efficiency, the least of the three %.3f", name, other, most)
		}
	}
}

// practice: a dirty or iced outdoor coil shows as low suction and low capacity.
func TestOutdoorCoilInHeating(t *testing.T) {
	for _, p := range plates {
		c := heatingChange(t, heatPump(t, p), 35, func(c *cycle.Condition, f *cycle.Fault) { c.OutdoorAirflow, f.OutdoorFouling = 0.4, 0.5 })
		if !(c.suction() < -5 && c.now.Capacity < 0.95*c.healthy.Capacity) {
			t.Errorf("%s: suction %+.1f psi, capacity %.2f", p.name, c.suction(), c.now.Capacity/c.healthy.Capacity)
		}
	}
}

// practice: charge in heating: short, head and subcooling fall and superheat
// rises; over, head rises, with a TXV more than in cooling since the indoor coil
// is small. A fixed orifice floods instead, and the accumulator takes the excess.
func TestChargeInHeating(t *testing.T) {
	for _, p := range plates {
		m := heatPump(t, p)
		short := heatingChange(t, m, 47, charge(0.75))
		over := heatingChange(t, m, 47, charge(1.2))
		if !(short.liquid() < -20 && short.subcooling() < -4 && short.superheat() > 2 && short.now.Capacity < 0.93*short.healthy.Capacity) {
			t.Errorf("%s short: head %+.0f psi, subcooling %+.1f, superheat %+.1f °F", p.name, short.liquid(), short.subcooling(), short.superheat())
		}
		cooling := with(t, m, charge(1.2))
		if !(over.liquid() > 4 && (p.metering == cycle.FixedOrifice || over.liquid() > cooling.liquid()+10)) {
			t.Errorf("%s over: head %+.0f psi, in cooling %+.0f", p.name, over.liquid(), cooling.liquid())
		}
	}
}

// practice: a check valve stuck shut acts as a restriction, one that leaks as a
// metering device too wide.
func TestRestrictionAndCheckValveInHeating(t *testing.T) {
	for _, p := range plates {
		m := heatPump(t, p)
		shut := heatingChange(t, m, 47, func(_ *cycle.Condition, f *cycle.Fault) { f.LiquidRestriction = 1.5e6 })
		if !(shut.suction() < -4 && shut.superheat() > 4 && shut.now.RestrictionDrop > 1e5) {
			t.Errorf("%s shut: suction %+.1f psi, superheat %+.1f °F, drop %.0f Pa", p.name, shut.suction(), shut.superheat(), shut.now.RestrictionDrop)
		}
		leaks := heatingChange(t, m, 47, func(_ *cycle.Condition, f *cycle.Fault) { f.CheckValveLeak = 0.8 })
		if !(leaks.superheat() < -2 && leaks.subcooling() < -1) {
			t.Errorf("%s leaking: superheat %+.1f, subcooling %+.1f °F", p.name, leaks.superheat(), leaks.subcooling())
		}
	}
}

// practice: a reversing valve that leaks raises suction and lowers head in both
// modes, warms the compressor's inlet above the pipe before the valve, and costs
// capacity; unlike a worn compressor it shows on that pipe.
func TestLeakingReversingValve(t *testing.T) {
	for _, p := range plates {
		m := heatPump(t, p)
		leak := func(_ *cycle.Condition, f *cycle.Fault) { f.ReversingValveLeak = 0.15 }
		for mode, c := range map[string]change{"cooling": with(t, m, leak), "heating": heatingChange(t, m, 47, leak)} {
			warmed := 1.8 * float64(c.now.CompressorInlet-c.now.SuctionLineTemp)
			if !(c.suction() > 1 && c.liquid() < -5 && warmed > 5 && c.now.Capacity < 0.95*c.healthy.Capacity) {
				t.Errorf("%s %s: suction %+.1f, head %+.0f psi, inlet warmed %.1f °F, capacity %.2f", p.name, mode,
					c.suction(), c.liquid(), warmed, c.now.Capacity/c.healthy.Capacity)
			}
			if c.healthy.CompressorInlet != c.healthy.SuctionLineTemp {
				t.Errorf("%s %s: a tight valve warms the suction", p.name, mode)
			}
		}
	}
}

// What is doubted in heating: always the charge, never that it is cool outdoors.
func TestDoubtInHeating(t *testing.T) {
	m := heatPump(t, plates[0])
	for f, cold := range map[float64]bool{47: false, 18: false, 10: true} {
		s := solve(t, m, outdoors(t, m.HeatingRatingCondition(), f), cycle.Healthy())
		if !s.Doubt.Has(cycle.DoubtHeating) || s.Doubt.Has(cycle.DoubtCool) || s.Doubt.Has(cycle.DoubtCold) != cold {
			t.Errorf("%g °F: doubt %b", f, s.Doubt)
		}
	}
	if s := solve(t, m, m.RatingCondition(), cycle.Healthy()); s.Doubt != 0 {
		t.Errorf("cooling: doubt %b", s.Doubt)
	}
}

// practice: in heating the large port shows discharge pressure and a hot pipe.
func TestWhereHeatingIsRead(t *testing.T) {
	m := heatPump(t, plates[0])
	s := solve(t, m, m.HeatingRatingCondition(), cycle.Healthy())
	if s.VapourPressure != s.DischargePressure || s.VapourLineTemp < fahrenheit(130) || s.IndoorVapourTemp >= s.VapourLineTemp {
		t.Errorf("large port %v, pipe %v, indoors %v", s.VapourPressure, s.VapourLineTemp, s.IndoorVapourTemp)
	}
	c := solve(t, m, m.RatingCondition(), cycle.Healthy())
	if c.VapourPressure != c.SuctionPressure || c.VapourLineTemp != c.SuctionLineTemp || c.IndoorVapourTemp != c.CoilOutletTemp {
		t.Errorf("in cooling: large port %v, pipe %v", c.VapourPressure, c.VapourLineTemp)
	}
}

// Property: the wild faults in heating give a state or a named end. Seed 80, 1.
func TestHeatingAlwaysHasAnAnswer(t *testing.T) {
	const samples = 800
	for _, p := range plates {
		m := heatPump(t, p)
		r := rand.New(rand.NewPCG(80, 1))
		lost := 0
		for range samples {
			c, f := wildHeating(t, r, m, p.metering)
			s := solve(t, m, c, f)
			checkFinite(t, s)
			if s.Outcome == cycle.NoBalance {
				lost++
			}
			if !s.Outcome.OffBalance() && !(s.Residual < 1e-4) {
				t.Errorf("%s: residual %g at %+v, %+v", p.name, s.Residual, c, f)
			}
		}
		if lost > samples/100 {
			t.Errorf("%s: %d of %d without a balance", p.name, lost, samples)
		}
	}
}

// Property: a warm start does not change the answer in heating.
func TestHeatingWarmStartAgrees(t *testing.T) {
	for _, p := range plates {
		m := heatPump(t, p)
		start := solve(t, m, m.HeatingRatingCondition(), cycle.Healthy())
		for _, f := range []float64{55, 35, 17} {
			c := outdoors(t, m.HeatingRatingCondition(), f)
			cold, fault := solve(t, m, c, cycle.Healthy()), cycle.Healthy()
			warm, err := m.Solve(c, fault, &start)
			if err != nil {
				t.Fatal(err)
			}
			near(t, p.name+" capacity", float64(warm.Capacity), float64(cold.Capacity), 1e-4)
		}
	}
}

// wildHeating draws a condition and a fault of heating as wild does of cooling.
func wildHeating(t testing.TB, r *rand.Rand, m *cycle.Machine, metering cycle.MeteringDevice) (cycle.Condition, cycle.Fault) {
	drawn, f := wild(r, m, metering)
	c := outdoors(t, m.HeatingRatingCondition(), between(r, -5, 65))
	c.ReturnDryBulb = fahrenheit(between(r, 60, 76))
	c.IndoorAirflow, c.OutdoorAirflow = drawn.IndoorAirflow, drawn.OutdoorAirflow
	switch r.IntN(6) {
	case 0:
		f.ReversingValveLeak = quantity.Ratio(between(r, 0, 0.4))
	case 1:
		f.CheckValveLeak = quantity.Ratio(between(r, 0, 2))
	}
	return c, f
}
