package cycle_test

import (
	"testing"

	"rung/internal/cycle"
	"rung/internal/moistair"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// inHg is the pressure of an inch of mercury, Pa.
const inHg = 3386.389

// laboratory predicts the eight healthy states of one tested machine from
// plate-level data alone: capacity and efficiency at the rating point, moved
// there from the one case near it (C07: 80/67 °F, 90 °F outdoors) by the
// typical performance curves; subcooling and superheat as that case shows
// them; fan powers as measured. Nothing is fitted to the other seven.
func laboratory(t testing.TB) []comparison {
	t.Helper()
	fluid, err := refrigerant.Lookup("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	// Capacity of case C07 over that at 95 °F, and its outdoor power.
	// published: relative_performance.txt, rows at 67 °F wet bulb, 85 and 95 °F, halfway.
	const capacity, power = 1.0266, 0.9444
	net := 29710.8 * btu / capacity
	total := (2540.5-416.9)/power + 416.9
	m := calibrate(t, cycle.Rating{Refrigerant: fluid, Metering: cycle.TXV, NetCapacity: quantity.Power(net),
		EER: quantity.Ratio(net / total), IndoorFan: 416.9, OutdoorFan: 158,
		TargetSubcooling: 8.3 / 1.8, TargetSuperheat: 14.1 / 1.8})
	var rows []comparison
	for _, f := range fields(t, "laboratory_health.txt") {
		var v [18]float64
		for i := 1; i < len(f); i++ {
			v[i] = number(t, f[i])
		}
		rows = append(rows, laboratoryCase(t, m, fluid, f[0], v)...)
	}
	return rows
}

// laboratoryCase compares one case; v holds the columns of laboratory_health.txt.
func laboratoryCase(t testing.TB, m *cycle.Machine, fluid *refrigerant.Fluid, id string, v [18]float64) []comparison {
	t.Helper()
	c := m.RatingCondition()
	c.Ambient = quantity.Pressure(v[1] * inHg)
	in, err := moistair.FromDewPoint(fahrenheit(v[2]), fahrenheit(v[3]), c.Ambient)
	if err != nil {
		t.Fatal(err)
	}
	c.ReturnDryBulb, c.ReturnHumidity, c.Outdoor = in.DryBulb, in.HumidityRatio, fahrenheit(v[4])
	// Standard cubic feet are a mass flow: undo the density of the return air.
	const scfm = 4.719474e-4 * 1.2014 // kg/s of air
	c.IndoorAirflow = quantity.Ratio(v[5] * scfm * float64(in.SpecificVolume) / float64(m.RatedIndoorAirflow()))
	c.IndoorFanHeat = 0 // the drop was measured over the coil
	s := solve(t, m, c, cycle.Healthy())

	tab := fluid.Table()
	satSuction, satLiquid := tab.DewTemp(v[8]*psi), tab.BubbleTemp(v[9]*psi)
	toF := func(k float64) float64 { return 1.8*k - 459.67 }
	row := func(q string, published, tolerance, model float64) comparison {
		return comparison{id: "lab-" + id, machine: "laboratory", settings: "-", quantity: q, relation: "=",
			published: round(published), tolerance: tolerance, model: model}
	}
	net := float64(s.Capacity) - v[6]
	return []comparison{
		row("suction-saturation", toF(satSuction), 3, toF(float64(s.SatSuctionTemp))),
		row("liquid-saturation", toF(satLiquid), 4, toF(float64(s.SatLiquidTemp))),
		row("superheat", v[10]-toF(satSuction), 5, degreesF(s.Superheat)),
		row("subcooling", toF(satLiquid)-v[11], 6, degreesF(s.Subcooling)),
		row("discharge-temperature", v[12], 12, toF(float64(s.DischargeTemp))),
		row("capacity-over-measured", 1, 0.06, net/(v[13]*btu)),
		row("power-over-measured", 1, 0.08, (float64(s.CompressorPower)+v[6]+v[7])/v[14]),
		row("coil-drop", v[15], 3, degreesF(s.Split(c))),
		row("leaving-condenser-air", v[16], 3, toF(float64(s.LeavingCondenser))),
		row("flow-over-measured", 1, 0.08, float64(s.MassFlow)/(v[17]*0.45359237/3600)),
	}
}

// round keeps a hundredth, the last digit the source prints.
func round(x float64) float64 { return float64(int(x*100+0.5)) / 100 }
