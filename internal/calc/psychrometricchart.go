package calc

import (
	"errors"
	"strings"

	"rung/internal/moistair"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

func airChartCalculators() []Calculator { return []Calculator{psychrometricChart()} }

// airNames are the states of air on the chart, as the air goes.
var airNames = []string{"return", "outdoor", "mixed", "supply"}

func psychrometricChart() Calculator {
	c := Calculator{
		Name:  "psychrometric-chart",
		Title: "Psychrometric chart",
		About: "Return, outdoor, mixed and supply air on the chart of this elevation, and what the coil does: heat, water, sensible share.",
		Source: "published: ASHRAE Handbook of Fundamentals 2017, chapter 1, see package moistair; " +
			"mixing by balance of dry air, water and enthalpy, any text on air conditioning",
		Example: `{"return_dry_bulb":"78 F","return_wet_bulb":"65 F","supply_dry_bulb":"58 F","supply_wet_bulb":"56 F","outdoor_dry_bulb":"95 F","outdoor_relative_humidity":"40 %","outdoor_share":"15 %"}`,
		Drawn:   true,
		Results: []Field{
			{Name: "states", Columns: []Field{
				{Name: "air", Text: true},
				{Name: "dry_bulb", Dim: quantity.DimTemperature},
				{Name: "wet_bulb", Dim: quantity.DimTemperature},
				{Name: "relative_humidity", Dim: quantity.DimRatio},
				{Name: "dew_point", Dim: quantity.DimTemperature},
				{Name: "humidity_ratio", Dim: quantity.DimHumidityRatio},
				{Name: "enthalpy", Dim: quantity.DimSpecificEnthalpy, USValue: "enthalpy-ip"},
				{Name: "specific_volume", Dim: quantity.DimSpecificVolume},
			}},
			{Name: "temperature_drop", Dim: quantity.DimTempDiff, About: "through the coil: of the air that enters it, mixed if there is any, to the supply"},
			{Name: "enthalpy_drop", Dim: quantity.DimSpecificEnthalpy, USValue: "enthalpy-drop-ip"},
			{Name: "water_removed", Dim: quantity.DimHumidityRatio},
			{Name: "sensible_share", Dim: quantity.DimRatio, About: "of the heat taken out, the share that lowered the dry bulb"},
			{Name: "outdoor_share", Dim: quantity.DimRatio, About: "of outdoor air in the mixed air, by mass, as its dry bulb tells"},
			{Name: "air_pressure", Dim: quantity.DimPressure, USUnit: "psia"},
			{Name: "warnings", Text: true},
		},
		run: runPsychrometricChart,
	}
	for _, n := range airNames {
		usual := n == "return" || n == "supply"
		c.Fields = append(c.Fields,
			Field{Name: n + "_dry_bulb", Dim: quantity.DimTemperature, Optional: true, Either: usual},
			Field{Name: n + "_wet_bulb", Dim: quantity.DimTemperature, Optional: true, Either: usual, About: "or the relative humidity"},
			Field{Name: n + "_relative_humidity", Dim: quantity.DimRatio, Optional: true, Max: 1, About: "instead of the wet bulb"})
	}
	c.Fields = append(c.Fields,
		Field{Name: "outdoor_share", Dim: quantity.DimRatio, Optional: true, Max: 1, About: "of outdoor air in the mixed air, by mass: then the mixed air follows"},
		Field{Name: "elevation", Dim: quantity.DimLength, Optional: true, Either: true, Min: lowestSite, Max: highestSite, About: "above sea level, in the standard atmosphere; sea level if not given"},
		Field{Name: "pressure", Dim: quantity.DimPressure, Optional: true, USUnit: "inHg", About: "of the air, instead of the elevation"})
	return c
}

// air is the states on a chart by name.
type airStates map[string]moistair.State

func runPsychrometricChart(in Values) (Values, error) {
	p, err := airPressure(in)
	if err != nil {
		return nil, err
	}
	air := airStates{}
	for _, n := range airNames {
		if err := air.read(in, n, p); err != nil {
			return nil, err
		}
	}
	if err := air.mix(in, p); err != nil {
		return nil, err
	}
	if len(air) == 0 {
		return nil, invalid("return_dry_bulb", "give at least one state of air: its dry bulb, and its wet bulb or relative humidity")
	}
	out := Values{"air_pressure": float64(p)}
	rows := []Values{}
	for _, n := range airNames {
		if s, ok := air[n]; ok {
			rows = append(rows, airRow(n, s))
		}
	}
	out["states"] = rows
	air.coil(out)
	if in.has("outdoor_share") {
		out["outdoor_share"] = in.number("outdoor_share")
	}
	if list := air.doubts(out); len(list) > 0 {
		out["warnings"] = list
	}
	return out, nil
}

// read adds the state called name, if the input has it.
func (a airStates) read(in Values, name string, p quantity.Pressure) error {
	db, wb, rh := name+"_dry_bulb", name+"_wet_bulb", name+"_relative_humidity"
	if !in.has(db) {
		for _, f := range []string{wb, rh} {
			if in.has(f) {
				return invalid(db, "missing: the %s air needs its dry bulb too", name)
			}
		}
		return nil
	}
	given, err := in.exactlyOne(wb, rh)
	if err != nil {
		var e *Error
		if errors.As(err, &e) && !in.has(wb) && !in.has(rh) {
			return invalid(wb, "missing: give the wet bulb or the relative humidity of the %s air", name)
		}
		return err
	}
	var s moistair.State
	if given == wb {
		s, err = moistair.FromWetBulb(in.temperature(db), in.temperature(wb), p)
	} else {
		s, err = moistair.FromRelativeHumidity(in.temperature(db), quantity.RelativeHumidity(in.number(rh)), p)
	}
	if err != nil {
		return ofAir(err, name)
	}
	a[name] = s
	return nil
}

// ofAir puts the field in place of what moistair calls its argument.
func ofAir(err error, air string) error {
	var re *quantity.RangeError
	if errors.As(err, &re) {
		return inField(err, air+"_"+strings.ReplaceAll(re.Name, " ", "_"))
	}
	return err
}

// mix adds the mixed air from its share of outdoor air.
func (a airStates) mix(in Values, p quantity.Pressure) error {
	if !in.has("outdoor_share") {
		return nil
	}
	r, haveReturn := a["return"]
	o, haveOutdoor := a["outdoor"]
	if _, given := a["mixed"]; given {
		return invalid("outdoor_share", "give the mixed air or its share of outdoor air, not both")
	}
	if !haveReturn || !haveOutdoor {
		return invalid("outdoor_share", "the mixed air needs both the return and the outdoor air")
	}
	x := in.number("outdoor_share")
	W := (1-x)*float64(r.HumidityRatio) + x*float64(o.HumidityRatio)
	h := (1-x)*float64(r.Enthalpy) + x*float64(o.Enthalpy)
	T := float64(r.DryBulb)
	h0, h1 := moistair.Enthalpy(T, W), moistair.Enthalpy(T+1, W) // J/kg; straight in T
	s, err := moistair.FromHumidityRatio(quantity.Temperature(T+(h-h0)/(h1-h0)), quantity.HumidityRatio(W), p)
	if err != nil {
		return inField(err, "outdoor_share")
	}
	a["mixed"] = s
	return nil
}

func airRow(name string, s moistair.State) Values {
	return Values{
		"air": name, "dry_bulb": float64(s.DryBulb), "wet_bulb": float64(s.WetBulb), "relative_humidity": float64(s.RelativeHumidity),
		"dew_point": float64(s.DewPoint), "humidity_ratio": float64(s.HumidityRatio), "enthalpy": float64(s.Enthalpy),
		"enthalpy-ip": enthalpyIP(s.DryBulb, s.HumidityRatio), "specific_volume": float64(s.SpecificVolume),
	}
}

// entering is the air that enters the coil.
func (a airStates) entering() (moistair.State, bool) {
	if s, ok := a["mixed"]; ok {
		return s, true
	}
	s, ok := a["return"]
	return s, ok
}

// coil adds what happens to the air between return or mixed and supply.
func (a airStates) coil(out Values) {
	in, okIn := a.entering()
	s, okOut := a["supply"]
	if okIn && okOut {
		drop := float64(in.Enthalpy - s.Enthalpy)
		out["temperature_drop"] = float64(in.DryBulb - s.DryBulb)
		out["enthalpy_drop"] = drop
		out["enthalpy-drop-ip"] = enthalpyIP(in.DryBulb, in.HumidityRatio) - enthalpyIP(s.DryBulb, s.HumidityRatio)
		out["water_removed"] = float64(in.HumidityRatio - s.HumidityRatio)
		if drop > 0 && in.DryBulb > s.DryBulb {
			sensible := moistair.Enthalpy(float64(in.DryBulb), float64(s.HumidityRatio)) - float64(s.Enthalpy)
			out["sensible_share"] = sensible / drop
		}
	}
	r, o, m := a["return"], a["outdoor"], a["mixed"]
	if r.Pressure > 0 && o.Pressure > 0 && m.Pressure > 0 && r.DryBulb != o.DryBulb {
		out["outdoor_share"] = float64(m.DryBulb-r.DryBulb) / float64(o.DryBulb-r.DryBulb)
	}
}

// doubts says what cannot be, or is seldom, among the states.
func (a airStates) doubts(out Values) []string {
	var list []string
	if water, ok := out.Number("water_removed"); ok && water < -1e-4 {
		list = append(list, "The supply air holds more water than the air that enters the coil: a wet bulb is wrong, water is carried off the coil, or a humidifier runs.")
	}
	if share, ok := out.Number("sensible_share"); ok && share > 1.02 {
		list = append(list, "More than all of the heat taken out is sensible, which no coil does: one of the wet bulbs is wrong.")
	}
	if share, ok := out.Number("outdoor_share"); ok && (share < -0.01 || share > 1.01) {
		list = append(list, "The mixed air does not lie between return and outdoor air: one of the three is wrong, or heat comes in on the way.")
	}
	return list
}

// AirEnthalpy returns the enthalpy of moist air at T in K and the humidity
// ratio W in kg/kg, in J/kg of dry air, counted as the tables of the system do.
func AirEnthalpy(units tradeunit.System, T, W float64) float64 {
	if units == tradeunit.US {
		return enthalpyIP(quantity.Temperature(T), quantity.HumidityRatio(W))
	}
	return moistair.Enthalpy(T, W)
}
