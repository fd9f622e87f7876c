package cycle_test

import (
	"strconv"
	"strings"
	"testing"

	"rung/internal/cycle"
	"rung/internal/published"
	"rung/internal/quantity"
)

// Everything published that could be had. What is missed stands with its size
// in testdata/missed.txt; tolerances are never widened to pass.
func TestPublishedFigures(t *testing.T) {
	bench := newWorkbench(t)
	for _, file := range []string{"expected.txt", "fault_correlations.txt", "fault_rooftop.txt", "relative_performance.txt", "coil_air_drop.txt", "heating.txt"} {
		for _, row := range published.Read(t, file).Rows {
			bench.check(t, row)
		}
	}
}

// workbench holds the made-up machines by name.
type workbench map[string]*cycle.Machine

func newWorkbench(t testing.TB) workbench {
	w := workbench{}
	for _, p := range append(plates[:len(plates):len(plates)], efficient) {
		w[p.name] = p.machine(t)
	}
	w["heat-pump"] = heatPump(t, plates[0])
	return w
}

// check compares the model with a row.
func (w workbench) check(t *testing.T, row published.Row) {
	t.Helper()
	machines := []string{row.Text("machine")}
	if machines[0] == "mean" {
		machines = []string{"txv", "orifice"}
	}
	model, quantity := 0.0, row.Text("quantity")
	for _, name := range machines {
		model += w.figure(t, w[name], quantity, row.Text("settings")) / float64(len(machines))
	}
	limit := published.Within(row.Number(t, "tolerance"))
	if row.Text("relation") == ">=" {
		limit = limit.AtLeast()
	}
	row.CheckAs(t, quantity+unit[quantity], model, row.Number(t, "value"), limit)
}

// unit of the quantities that are not ratios.
var unit = map[string]string{"superheat": "[°F]", "subcooling": "[°F]", "split": "[°F]", "coil-drop": "[°F]",
	"condensing-temperature": "[°F]", "evaporating-temperature": "[°F]", "condensing-over-ambient": "[°F]",
	"return-over-suction-saturation": "[°F]", "outdoor-over-suction-saturation": "[°F]", "supply-over-return": "[°F]"}

// set applies settings such as "charge=0.8,outdoor=82" to the rating point.
func set(t testing.TB, m *cycle.Machine, settings string) (cycle.Condition, cycle.Fault) {
	t.Helper()
	c, f := m.RatingCondition(), cycle.Healthy()
	db, wb := 80.0, 67.0
	if m.Rating().HeatPump {
		c, db, wb = m.HeatingRatingCondition(), 70, 55
	}
	for _, s := range strings.Split(settings, ",") {
		if s == "-" {
			continue
		}
		key, text, _ := strings.Cut(s, "=")
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatalf("setting %q: %v", s, err)
		}
		switch key {
		case "charge":
			f.Charge = quantity.Ratio(v)
		case "indoor-air":
			c.IndoorAirflow = quantity.Ratio(v)
		case "outdoor-air":
			c.OutdoorAirflow = quantity.Ratio(v)
		case "outdoor":
			c = outdoors(t, c, v)
		case "dry-bulb":
			// At the same relative humidity, about half, unless wet-bulb follows.
			db, wb = v, 67+(v-80)*0.85
		case "wet-bulb":
			wb = v
		default:
			t.Fatalf("unknown setting %q", s)
		}
	}
	return air(t, c, fahrenheit(db), fahrenheit(wb)), f
}

// figure returns what the model says of a quantity under the settings.
func (w workbench) figure(t testing.TB, m *cycle.Machine, name, settings string) float64 {
	t.Helper()
	cond, fault := set(t, m, settings)
	s := solve(t, m, cond, fault)
	healthy := func() cycle.State {
		h := cond
		if name != "efficiency" || fault.Charge != 1 {
			h.IndoorAirflow, h.OutdoorAirflow = 1, 1
		}
		return solve(t, m, h, cycle.Healthy())
	}
	r := m.Rating()
	outdoorPower := func(s cycle.State) float64 { return float64(s.CompressorPower + r.OutdoorFan) }
	efficiency := func(s cycle.State) float64 {
		return float64(s.Capacity-r.IndoorFan) / (outdoorPower(s) + float64(r.IndoorFan))
	}
	rated := func() cycle.State {
		if r.HeatPump {
			return solve(t, m, m.HeatingRatingCondition(), cycle.Healthy())
		}
		return solve(t, m, m.RatingCondition(), cycle.Healthy())
	}
	switch name {
	case "capacity":
		return float64(s.Capacity / healthy().Capacity)
	case "capacity-lost-beyond-txv":
		txv := w.figure(t, w["txv"], "capacity", settings)
		return txv - float64(s.Capacity/healthy().Capacity)
	case "power":
		return outdoorPower(s) / outdoorPower(healthy())
	case "compressor-power":
		return float64(s.CompressorPower / healthy().CompressorPower)
	case "efficiency":
		return efficiency(s) / efficiency(healthy())
	case "capacity-to-rating":
		return float64(s.Capacity / rated().Capacity)
	case "power-to-rating":
		return outdoorPower(s) / outdoorPower(rated())
	case "superheat":
		return degreesF(s.Superheat)
	case "subcooling":
		return degreesF(s.Subcooling)
	case "split":
		return degreesF(s.Split(cond))
	case "coil-drop":
		cond.IndoorFanHeat = 0
		s = solve(t, m, cond, fault)
		return degreesF(s.Split(cond))
	case "condensing-temperature":
		return 1.8*float64(s.CondensingTemp) - 459.67
	case "evaporating-temperature":
		return 1.8*float64(s.EvaporatingTemp) - 459.67
	case "condensing-over-ambient":
		return degreesF(s.SatLiquidTemp.Sub(cond.Outdoor))
	case "heating-cop":
		return float64(s.Capacity+r.IndoorFan) / (outdoorPower(s) + float64(r.IndoorFan))
	case "capacity-to-cooling":
		return float64(s.Capacity+r.IndoorFan) / float64(r.NetCapacity)
	case "outdoor-over-suction-saturation":
		return degreesF(cond.Outdoor.Sub(s.SatSuctionTemp))
	case "supply-over-return":
		return -degreesF(s.Split(cond))
	case "return-over-suction-saturation":
		return degreesF(cond.ReturnDryBulb.Sub(s.SatSuctionTemp))
	}
	t.Fatalf("unknown quantity %q", name)
	return 0
}
