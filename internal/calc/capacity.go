package calc

import (
	"math"
	"strconv"
	"strings"

	"rung/internal/moistair"
	"rung/internal/quantity"
)

// How well the instruments of a service call measure, where the user does not
// say.
//
// practice: usual marks on thermometers and hygrometers of the trade, and what a
// traverse or an anemometer at the grilles reaches; no source
const (
	usualAirflowError  = 0.10 // of the flow
	usualTempError     = 0.5  // K, of each dry bulb, wet bulb or dew point
	usualHumidityError = 0.03 // of saturation
)

// Factors for standard air, 0.075 lb/ft³ and 0.24 Btu/(lb·°F).
//
// practice: standing factors of the trade, 0.24 × 0.075 × 60 and 0.075 × 60
var (
	sensibleFactor = mustSI(1.08, quantity.DimAirFactor, "Btu/(h CFM F)") // J/(m³·K)
	totalFactor    = mustSI(0.075, quantity.DimDensity, "lb/ft3")         // kg/m³, 4.5 Btu/h per CFM and Btu/lb
)

func capacityDelivered() Calculator {
	fields := append([]Field{{Name: "airflow", Dim: quantity.DimVolumeFlow, Min: 1e-3, Max: 50, About: "through the coil"},
		{Name: "airflow_at", Words: []string{"entering", "leaving", "standard"}, Optional: true,
			About: "the state at which the airflow was measured; entering if not given; standard: 0.075 lb/ft³"}},
		airFields("entering_")...)
	fields = append(fields, airFields("leaving_")...)
	fields = append(fields,
		Field{Name: "airflow_accuracy", Dim: quantity.DimRatio, Optional: true, Max: 0.5, About: "±10 % if not given"},
		Field{Name: "temperature_accuracy", Dim: quantity.DimTempDiff, Optional: true, Max: 5, About: "of each thermometer, ±0.5 °C (0.9 °F) if not given"},
		Field{Name: "humidity_accuracy", Dim: quantity.DimRatio, Optional: true, Max: 0.2, About: "of each hygrometer, ±3 % if not given"})
	return Calculator{
		Name: "capacity-delivered",
		About: "Heat that a cooling coil takes out of the air, from the airflow and the air before and after it, " +
			"with the range that the accuracy of the instruments leaves. Take both airs well mixed and after 15 minutes of steady running.",
		Source:  "published: air-enthalpy method on the ASHRAE formulation of moist air, see package moistair; practice: factors 1.08 and 4.5, and accuracies",
		Example: `{"airflow":"1200 CFM","entering_dry_bulb":"80 F","entering_wet_bulb":"67 F","leaving_dry_bulb":"58 F","leaving_relative_humidity":"90 %"}`,
		Fields:  append(fields, pressureFields()...),
		Results: []Field{
			{Name: "total_capacity", Dim: quantity.DimHeatFlow},
			{Name: "total_capacity_low", Dim: quantity.DimHeatFlow, About: "with the accuracies of the instruments, errors taken as independent"},
			{Name: "total_capacity_high", Dim: quantity.DimHeatFlow},
			{Name: "total_in_tons", Dim: quantity.DimPower},
			{Name: "sensible_capacity", Dim: quantity.DimHeatFlow},
			{Name: "latent_capacity", Dim: quantity.DimHeatFlow},
			{Name: "sensible_heat_ratio", Dim: quantity.DimRatio},
			{Name: "condensate", Dim: quantity.DimMassFlow},
			{Name: "temperature_split", Dim: quantity.DimTempDiff},
			{Name: "entering_enthalpy", Dim: quantity.DimSpecificEnthalpy, USValue: "entering_enthalpy-ip"},
			{Name: "leaving_enthalpy", Dim: quantity.DimSpecificEnthalpy, USValue: "leaving_enthalpy-ip"},
			{Name: "total_by_factor", Dim: quantity.DimHeatFlow, About: "4.5 × CFM × enthalpy drop: as if the airflow were standard air"},
			{Name: "sensible_by_factor", Dim: quantity.DimHeatFlow, About: "1.08 × CFM × split: as if the airflow were standard air"},
			{Name: "apparatus_dew_point", Dim: quantity.DimTemperature, About: "of a wet coil"},
			{Name: "bypass", Dim: quantity.DimRatio, About: "of a wet coil"},
			{Name: "warnings", Text: true},
		},
		run: runCapacityDelivered,
	}
}

// coilAir is what a measurement of capacity rests on.
type coilAir struct {
	entering, leaving moistair.State
	flow              float64 // m³/s
	at                string
}

func readCoilAir(in Values) (coilAir, error) {
	p, err := airPressure(in)
	if err != nil {
		return coilAir{}, err
	}
	c := coilAir{flow: in.number("airflow"), at: in.word("airflow_at")}
	if c.entering, err = airState(in, "entering_", p); err != nil {
		return coilAir{}, err
	}
	c.leaving, err = airState(in, "leaving_", p)
	return c, err
}

// dryAir returns the flow of dry air in kg/s.
func (c coilAir) dryAir() float64 {
	switch c.at {
	case "leaving":
		return c.flow / float64(c.leaving.SpecificVolume)
	case "standard":
		return c.flow * totalFactor
	}
	return c.flow / float64(c.entering.SpecificVolume)
}

func (c coilAir) load() moistair.Load {
	return moistair.Removed(c.entering, c.leaving, quantity.MassFlow(c.dryAir()))
}

func runCapacityDelivered(in Values) (Values, error) {
	c, err := readCoilAir(in)
	if err != nil {
		return nil, err
	}
	l := c.load()
	split := float64(c.entering.DryBulb.Sub(c.leaving.DryBulb))
	hIn, hOut := enthalpyIP(c.entering.DryBulb, c.entering.HumidityRatio), enthalpyIP(c.leaving.DryBulb, c.leaving.HumidityRatio)
	out := Values{
		"total_capacity": float64(l.Total), "total_in_tons": float64(l.Total), "sensible_capacity": float64(l.Sensible), "latent_capacity": float64(l.Latent),
		"condensate": float64(l.Condensate), "temperature_split": split,
		"entering_enthalpy": float64(c.entering.Enthalpy), "entering_enthalpy-ip": hIn,
		"leaving_enthalpy": float64(c.leaving.Enthalpy), "leaving_enthalpy-ip": hOut,
		"total_by_factor":    totalFactor * c.flow * (hIn - hOut),
		"sensible_by_factor": sensibleFactor * c.flow * split,
	}
	if l.Total != 0 {
		out["sensible_heat_ratio"] = l.SensibleShare()
	}
	spread := capacitySpread(in, float64(l.Total))
	out["total_capacity_low"], out["total_capacity_high"] = float64(l.Total)-spread, float64(l.Total)+spread
	// A dry coil has none, nor have readings that no coil makes.
	if T, bypass, err := moistair.ApparatusDewPoint(c.entering, c.leaving); err == nil {
		out["apparatus_dew_point"], out["bypass"] = float64(T), float64(bypass)
	}
	warnOfCapacity(out, c, l, spread)
	return out, nil
}

func warnOfCapacity(out Values, c coilAir, l moistair.Load, spread float64) {
	switch {
	case l.Total <= 0:
		out.warn("The air leaves with more heat than it had: not cooling, or the readings are swapped.")
	case l.Condensate < 0:
		out.warn("The air leaves with more moisture than it had: a wet coil is drying off, the system has not settled, or a humidity reading is off; the latent heat is not to be trusted.")
	case c.leaving.DryBulb > c.entering.DryBulb:
		out.warn("The air leaves warmer than it came.")
	}
	const coarse = 0.2
	if l.Total > 0 && spread > coarse*float64(l.Total) {
		out.warn("With these instruments the answer is known to no better than " + percent(spread/float64(l.Total)) + ": no verdict within that range.")
	}
	const nearSaturation = 0.98
	if c.leaving.RelativeHumidity > nearSaturation {
		out.warn("The leaving air is next to saturated, where wet bulb and hygrometer are least sure.")
	}
}

// percent prints a share as "±12 %" or "±1.5 %".
func percent(share float64) string {
	x := mustOf(share, quantity.DimRatio, "%")
	decimals := 0
	if x < 10 {
		decimals = 1
	}
	return "±" + strings.TrimSuffix(strconv.FormatFloat(x, 'f', decimals, 64), ".0") + " %"
}

// capacitySpread returns by how much the total may be off in W: the answer is
// worked out anew with each reading moved by its accuracy, and the differences
// are added as squares.
func capacitySpread(in Values, total float64) float64 {
	sum := square(total * in.fieldOr("airflow_accuracy", usualAirflowError))
	for _, prefix := range []string{"entering_", "leaving_"} {
		for _, name := range airKnown(in, prefix) {
			step := 0.0
			switch strings.TrimPrefix(name, prefix) {
			case "dry_bulb", "wet_bulb", "dew_point":
				step = in.fieldOr("temperature_accuracy", usualTempError)
			case "relative_humidity":
				step = in.fieldOr("humidity_accuracy", usualHumidityError)
			}
			sum += square(movedCapacity(in, name, step, total))
		}
	}
	return math.Sqrt(sum)
}

func square(x float64) float64 { return x * x }

// movedCapacity returns the change of the total in W when one reading is moved
// by step, up or, where that leaves the possible, down.
func movedCapacity(in Values, name string, step, total float64) float64 {
	for _, d := range []float64{step, -step} {
		moved := Values{}
		for k, v := range in {
			moved[k] = v
		}
		moved[name] = in.number(name) + d
		if c, err := readCoilAir(moved); err == nil {
			return float64(c.load().Total) - total
		}
	}
	return 0 // neither way possible: the other readings hold it
}
