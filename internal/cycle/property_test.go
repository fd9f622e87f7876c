package cycle_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"rung/internal/cycle"
	"rung/internal/moistair"
	"rung/internal/num"
	"rung/internal/quantity"
)

// Property: the rating point comes back with the plate's capacity, efficiency,
// subcooling and superheat. 1e-5 is what residuals of 1e-6 leave.
func TestRatingPointComesBack(t *testing.T) {
	for _, p := range plates {
		m := p.machine(t)
		r := m.Rating()
		s := solve(t, m, m.RatingCondition(), cycle.Healthy())
		near(t, p.name+" net capacity", float64(s.Capacity-r.IndoorFan), float64(r.NetCapacity), 1e-5)
		total := s.CompressorPower + r.IndoorFan + r.OutdoorFan
		near(t, p.name+" EER", float64(s.Capacity-r.IndoorFan)/float64(total), float64(r.EER), 1e-5)
		near(t, p.name+" subcooling", float64(s.Subcooling), float64(r.TargetSubcooling), 1e-3)
		near(t, p.name+" superheat", float64(s.CoilSuperheat), float64(r.TargetSuperheat), 1e-3)
		near(t, p.name+" mass flow", float64(s.MassFlow), float64(m.RatedMassFlow()), 1e-4)
	}
}

func near(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.8g, want %.8g within %g of it", what, got, want, rel)
	}
}

// Property: heat into the circuit equals heat out of it. What the condenser
// gives off beyond evaporator and compressor is the gain of the suction line,
// 2.3 W/K for 25 ft times outdoor minus pipe; the shell loses 0.07 of the power.
func TestEnergyBalance(t *testing.T) {
	for _, p := range plates {
		m := p.machine(t)
		r := rand.New(rand.NewPCG(9, 10))
		for range 400 {
			c, f := wild(r, m, p.metering)
			f.CompressorLeak = min(f.CompressorLeak, 0.6) // interpolated beyond
			s := solve(t, m, c, f)
			if limit(s.Outcome) {
				continue
			}
			gain := 2.3 * float64(c.Outdoor-s.CoilOutletTemp)
			out, in := float64(s.CondenserHeat), float64(s.Capacity)+0.93*float64(s.CompressorPower)+gain
			near(t, p.name+" condenser heat", out, in, 2e-3)
			checkAirSide(t, m, c, s)
		}
	}
}

// checkAirSide compares the coil's capacity with what the air loses.
func checkAirSide(t testing.TB, m *cycle.Machine, c cycle.Condition, s cycle.State) {
	t.Helper()
	in := moistair.Enthalpy(float64(c.ReturnDryBulb), float64(c.ReturnHumidity))
	out := moistair.Enthalpy(float64(s.SupplyDryBulb), float64(s.SupplyHumidity))
	// Dry air per second, from the ideal-gas density of moist air.
	W, T := float64(c.ReturnHumidity), float64(c.ReturnDryBulb)
	flow := float64(c.IndoorAirflow) * float64(m.RatedIndoorAirflow()) * float64(c.Ambient) / (287.042 * T * (1 + 1.607858*W))
	near(t, "heat taken from the air", flow*(in-out), float64(s.Capacity-c.IndoorFanHeat), 4e-3)
	if s.SupplyHumidity > c.ReturnHumidity*(1+1e-9) || s.SensibleCapacity > s.Capacity*(1+1e-9) {
		t.Errorf("coil adds moisture: %+v", s)
	}
}

// sweep solves m from setting a to b and hands every pair of neighbours to check.
func sweep(t testing.TB, a, b float64, at func(x float64) cycle.State, check func(x float64, last, now cycle.State)) {
	t.Helper()
	const steps = 40
	var last cycle.State
	for i := range steps + 1 {
		x := a + (b-a)*float64(i)/steps
		now := at(x)
		if limit(now.Outcome) {
			return
		}
		if i > 0 {
			check(x, last, now)
		}
		last = now
	}
}

// rises reports whether b is above a but for the solver's own scatter.
func rises[Q ~float64](a, b Q, scatter float64) bool { return float64(b) >= float64(a)-scatter }

// Property: the directions on which nested bracketing and the trade both rely.
// Scatter: 20 Pa and 0.005 K are what residuals of 1e-6 leave.
func TestMonotoneSweeps(t *testing.T) {
	const pa, kelvin, watt = 20, 0.005, 0.5
	for _, p := range plates {
		m := p.machine(t)
		base, healthy := m.RatingCondition(), cycle.Healthy()
		sweep(t, 0.6, 1.4, func(x float64) cycle.State {
			f := healthy
			f.Charge = quantity.Ratio(x)
			return solve(t, m, base, f)
		}, func(x float64, a, b cycle.State) {
			if !rises(a.LiquidPressure, b.LiquidPressure, pa) || !rises(a.Subcooling, b.Subcooling, kelvin) || !rises(b.Superheat, a.Superheat, kelvin) {
				t.Errorf("%s charge %.3f: %+v after %+v", p.name, x, b, a)
			}
		})
		sweep(t, 1.2, 0.35, func(x float64) cycle.State {
			c := base
			c.OutdoorAirflow = quantity.Ratio(x)
			return solve(t, m, c, healthy)
		}, func(x float64, a, b cycle.State) {
			if !rises(a.LiquidPressure, b.LiquidPressure, pa) || !rises(a.CompressorPower, b.CompressorPower, watt) || !rises(b.Capacity, a.Capacity, watt) || !rises(a.LeavingCondenser, b.LeavingCondenser, kelvin) {
				t.Errorf("%s outdoor airflow %.3f: %+v after %+v", p.name, x, b, a)
			}
		})
		sweep(t, 1.2, 0.35, func(x float64) cycle.State {
			c := base
			c.IndoorAirflow = quantity.Ratio(x)
			return solve(t, m, c, healthy)
		}, func(x float64, a, b cycle.State) {
			if !rises(b.SuctionPressure, a.SuctionPressure, pa) || !rises(b.Capacity, a.Capacity, watt) || !rises(b.SupplyDryBulb, a.SupplyDryBulb, kelvin) {
				t.Errorf("%s indoor airflow %.3f: %+v after %+v", p.name, x, b, a)
			}
		})
		sweep(t, 0, 130*psi, func(x float64) cycle.State {
			f := healthy
			f.LiquidRestriction = quantity.PressureDiff(x)
			return solve(t, m, base, f)
		}, func(x float64, a, b cycle.State) {
			if !rises(b.SuctionPressure, a.SuctionPressure, pa) || !rises(a.Superheat, b.Superheat, kelvin) {
				t.Errorf("%s restriction %.0f Pa: %+v after %+v", p.name, x, b, a)
			}
		})
		sweep(t, 0, 1, func(x float64) cycle.State {
			f := healthy
			f.CompressorLeak = quantity.Ratio(x)
			return solve(t, m, base, f)
		}, func(x float64, a, b cycle.State) {
			if !rises(a.SuctionPressure, b.SuctionPressure, pa) || !rises(b.LiquidPressure, a.LiquidPressure, pa) || !rises(b.Capacity, a.Capacity, watt) {
				t.Errorf("%s leak %.3f: %+v after %+v", p.name, x, b, a)
			}
		})
	}
}

// Property: the air of a site on a mountain is thinner, so both coils do less.
func TestAltitude(t *testing.T) {
	m := machineNamed(t, "txv")
	c := m.RatingCondition()
	sea := solve(t, m, c, cycle.Healthy())
	c.Ambient = 83e3 // about a mile up
	high := solve(t, m, c, cycle.Healthy())
	if !(high.LiquidPressure > sea.LiquidPressure && high.SuctionPressure < sea.SuctionPressure && high.Capacity < sea.Capacity) {
		t.Errorf("at altitude %+v, at sea level %+v", high, sea)
	}
}

// Property: asked for a subcooling, the machine is where the charge that gives
// this subcooling would put it.
func TestSolveSubcoolingAgreesWithCharge(t *testing.T) {
	for _, p := range plates {
		m := p.machine(t)
		c := m.RatingCondition()
		c.Outdoor = fahrenheit(85)
		got, err := m.SolveSubcooling(c, cycle.Healthy(), nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, p.name+" subcooling", float64(got.Subcooling), float64(m.Rating().TargetSubcooling), 1e-3)
		charge, err := num.Root("charge", func(x float64) float64 {
			f := cycle.Healthy()
			f.Charge = quantity.Ratio(x)
			return float64(solve(t, m, c, f).Subcooling - got.Subcooling)
		}, 0.8, 1.3, 1e-9)
		if err != nil {
			t.Fatal(err)
		}
		f := cycle.Healthy()
		f.Charge = quantity.Ratio(charge)
		near(t, p.name+" liquid pressure", float64(solve(t, m, c, f).LiquidPressure), float64(got.LiquidPressure), 1e-5)
	}
}

// Property: the solve allocates nothing.
func TestSolveAllocatesNothing(t *testing.T) {
	m := machineNamed(t, "orifice")
	c, f := m.RatingCondition(), cycle.Healthy()
	f.Charge, f.LiquidRestriction = 0.8, 1e6
	c.OutdoorAirflow = 0.3
	if n := testing.AllocsPerRun(20, func() { solve(t, m, c, f) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func TestRefusals(t *testing.T) {
	m := machineNamed(t, "txv")
	for _, mend := range []func(*cycle.Condition, *cycle.Fault){
		func(c *cycle.Condition, f *cycle.Fault) { c.Outdoor = 240 },
		func(c *cycle.Condition, f *cycle.Fault) { c.ReturnHumidity = quantity.HumidityRatio(math.NaN()) },
		func(c *cycle.Condition, f *cycle.Fault) { c.IndoorAirflow = 0 },
		func(c *cycle.Condition, f *cycle.Fault) { *f = cycle.Fault{} },
		func(c *cycle.Condition, f *cycle.Fault) { f.CompressorLeak = -0.1 },
	} {
		c, f := m.RatingCondition(), cycle.Healthy()
		mend(&c, &f)
		var re *quantity.RangeError
		if _, err := m.Solve(c, f, nil); !errors.As(err, &re) {
			t.Errorf("Solve(%+v, %+v) = %v, want a RangeError", c, f, err)
		}
	}
	for _, mend := range []func(*cycle.Rating){
		func(r *cycle.Rating) { r.Refrigerant = nil },
		func(r *cycle.Rating) { r.Metering = 0 },
		func(r *cycle.Rating) { r.NetCapacity = 0 },
		func(r *cycle.Rating) { r.EER, r.SEER = 0, 0 },
		func(r *cycle.Rating) { r.TargetSubcooling = 40 },
	} {
		r := plates[0].rating(t)
		mend(&r)
		if _, err := cycle.Calibrate(r); err == nil {
			t.Errorf("Calibrate(%+v) was accepted", r)
		}
	}
}

// Property: plates from 1.5 to 5 tons and from old to new calibrate to a
// credible compressor without doubt, and the spread of the class keeps to it.
func TestCalibrationOverPlates(t *testing.T) {
	for _, p := range plates {
		for _, tons := range []float64{1.5, 2, 3, 4, 5} {
			for _, seer := range []float64{10, 13, 14, 16} {
				r := p.rating(t)
				r.NetCapacity, r.EER, r.SEER = quantity.Power(tons*ton), 0, quantity.Ratio(seer*btu)
				if p.kind == cycle.Reciprocating && seer > 13 {
					continue // no such machines
				}
				m := calibrate(t, r)
				if a := m.Adjustment(); a.Doubtful {
					t.Errorf("%s %g tons SEER %g: %+v, efficiency %.3f", p.name, tons, seer, a, m.Efficiency())
				}
			}
		}
	}
}

// Property: a plate promising too much is called doubtful.
func TestDoubtfulPlate(t *testing.T) {
	r := plates[1].rating(t)
	r.EER, r.SEER = quantity.Ratio(15*btu), quantity.Ratio(13*btu)
	if m := calibrate(t, r); !m.Adjustment().Doubtful {
		t.Errorf("EER 15 at SEER 13 passes: %+v, efficiency %.3f", m.Adjustment(), m.Efficiency())
	}
}
