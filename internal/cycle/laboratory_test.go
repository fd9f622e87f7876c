package cycle_test

import (
	"testing"

	"rung/internal/cycle"
	"rung/internal/moistair"
	"rung/internal/published"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// inHg is the pressure of an inch of mercury, Pa.
const inHg = 3386.389

// The model predicts the eight healthy states of one tested machine from
// plate-level data alone: capacity and efficiency at the rating point, moved
// there from the one case near it (C07: 80/67 °F, 90 °F outdoors) by the
// typical performance curves; subcooling and superheat as that case shows
// them; fan powers as measured. Nothing is fitted to the other seven.
func TestPublishedLaboratory(t *testing.T) {
	m, fluid := laboratoryMachine(t)
	for _, row := range published.Read(t, "laboratory_health.txt").Rows {
		for _, r := range laboratoryReadings(t, m, fluid, row) {
			row.CheckAs(t, r.name, r.model, round(r.measured), published.Within(r.tolerance))
		}
	}
}

// laboratoryMachine is the tested machine as the model knows it.
func laboratoryMachine(t *testing.T) (*cycle.Machine, *refrigerant.Fluid) {
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
	return m, fluid
}

// comparison is one reading of one case.
type comparison struct {
	name                       string
	measured, tolerance, model float64
}

// laboratoryReadings returns what was measured in one case and what the model
// says of it.
func laboratoryReadings(t *testing.T, m *cycle.Machine, fluid *refrigerant.Fluid, row published.Row) []comparison {
	t.Helper()
	at := func(column string) float64 { return row.Number(t, column) }
	c := m.RatingCondition()
	c.Ambient = quantity.Pressure(at("inHg") * inHg)
	in, err := moistair.FromDewPoint(fahrenheit(at("indoor")), fahrenheit(at("dewpoint")), c.Ambient)
	if err != nil {
		t.Fatal(err)
	}
	c.ReturnDryBulb, c.ReturnHumidity, c.Outdoor = in.DryBulb, in.HumidityRatio, fahrenheit(at("outdoor"))
	// Standard cubic feet are a mass flow: undo the density of the return air.
	const scfm = 4.719474e-4 * 1.2014 // kg/s of air
	c.IndoorAirflow = quantity.Ratio(at("scfm") * scfm * float64(in.SpecificVolume) / float64(m.RatedIndoorAirflow()))
	c.IndoorFanHeat = 0 // the drop was measured over the coil
	s := solve(t, m, c, cycle.Healthy())

	tab := fluid.Table()
	satSuction, satLiquid := tab.DewTemp(at("psuc")*psi), tab.BubbleTemp(at("pliq")*psi)
	toF := func(k float64) float64 { return 1.8*k - 459.67 }
	net := float64(s.Capacity) - at("indoorfan")
	return []comparison{
		{"suction-saturation[°F]", toF(satSuction), 3, toF(float64(s.SatSuctionTemp))},
		{"liquid-saturation[°F]", toF(satLiquid), 4, toF(float64(s.SatLiquidTemp))},
		{"superheat[°F]", at("tsuc") - toF(satSuction), 5, degreesF(s.Superheat)},
		{"subcooling[°F]", toF(satLiquid) - at("tliq"), 6, degreesF(s.Subcooling)},
		{"discharge-temperature[°F]", at("tdis"), 12, toF(float64(s.DischargeTemp))},
		{"capacity-over-measured", 1, 0.06, net / (at("capacity") * btu)},
		{"power-over-measured", 1, 0.08, (float64(s.CompressorPower) + at("indoorfan") + at("outdoorfan")) / at("power")},
		{"coil-drop[°F]", at("drop"), 3, degreesF(s.Split(c))},
		{"leaving-condenser-air[°F]", at("condair"), 3, toF(float64(s.LeavingCondenser))},
		{"flow-over-measured", 1, 0.08, float64(s.MassFlow) / (at("flow") * 0.45359237 / 3600)},
	}
}

// round keeps a hundredth, the last digit the source prints.
func round(x float64) float64 { return float64(int(x*100+0.5)) / 100 }
