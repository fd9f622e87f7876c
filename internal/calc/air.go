package calc

import (
	"rung/internal/moistair"
	"rung/internal/quantity"
)

func airCalculators() []Calculator {
	return []Calculator{moistAir(), temperatureSplit()}
}

// enthalpyIP returns the enthalpy of moist air as tables in US units give it,
// in J/kg of dry air above dry air at 0 °F and liquid water at 32 °F. It
// differs from the SI equation by the rounding of its coefficients too.
//
// published: ASHRAE Handbook of Fundamentals 2017, chapter 1, eq. 30 (I-P):
// h = 0.240 t + W (1061 + 0.444 t) in Btu/lb and °F.
func enthalpyIP(dryBulb quantity.Temperature, w quantity.HumidityRatio) float64 {
	t := inFahrenheit(float64(dryBulb))
	return mustSI(0.240*t+float64(w)*(1061+0.444*t), quantity.DimSpecificEnthalpy, "Btu/lb")
}

func moistAir() Calculator {
	return Calculator{
		Name:   "moist-air",
		About:  "State of moist air from its dry bulb and one other property.",
		Source: "published: ASHRAE Handbook of Fundamentals 2017, chapter 1, see package moistair",
		Fields: []Field{
			{Name: "dry_bulb", Dim: quantity.DimTemperature},
			{Name: "wet_bulb", Dim: quantity.DimTemperature, Optional: true, About: "one of these three"},
			{Name: "relative_humidity", Dim: quantity.DimRatio, Optional: true, Max: 1, About: "one of these three"},
			{Name: "dew_point", Dim: quantity.DimTemperature, Optional: true, About: "one of these three"},
			{Name: "pressure", Dim: quantity.DimPressure, Optional: true, About: "air pressure; or the elevation; sea level if neither"},
			{Name: "elevation", Dim: quantity.DimLength, Optional: true, About: "above sea level, in the standard atmosphere"},
		},
		Results: []Field{
			{Name: "wet_bulb", Dim: quantity.DimTemperature},
			{Name: "relative_humidity", Dim: quantity.DimRatio},
			{Name: "dew_point", Dim: quantity.DimTemperature},
			{Name: "humidity_ratio", Dim: quantity.DimHumidityRatio},
			{Name: "enthalpy", Dim: quantity.DimSpecificEnthalpy, USValue: "enthalpy-ip",
				About: "per mass of dry air; zero for dry air at 0 °C, or in US units at 0 °F"},
			{Name: "specific_volume", Dim: quantity.DimSpecificVolume, About: "per mass of dry air"},
		},
		run: runMoistAir,
	}
}

func runMoistAir(in Values) (Values, error) {
	p, err := airPressure(in)
	if err != nil {
		return nil, err
	}
	given, err := in.exactlyOne("wet_bulb", "relative_humidity", "dew_point")
	if err != nil {
		return nil, err
	}
	var s moistair.State
	dryBulb := in.temperature("dry_bulb")
	switch given {
	case "wet_bulb":
		s, err = moistair.FromWetBulb(dryBulb, in.temperature(given), p)
	case "relative_humidity":
		s, err = moistair.FromRelativeHumidity(dryBulb, quantity.RelativeHumidity(in.number(given)), p)
	case "dew_point":
		s, err = moistair.FromDewPoint(dryBulb, in.temperature(given), p)
	}
	if err != nil {
		return nil, err
	}
	return Values{
		"wet_bulb":          float64(s.WetBulb),
		"relative_humidity": float64(s.RelativeHumidity),
		"dew_point":         float64(s.DewPoint),
		"humidity_ratio":    float64(s.HumidityRatio),
		"enthalpy":          float64(s.Enthalpy),
		"enthalpy-ip":       enthalpyIP(dryBulb, s.HumidityRatio),
		"specific_volume":   float64(s.SpecificVolume),
	}, nil
}

// airPressure returns the air pressure of the input: given, from the
// elevation, or that at sea level.
func airPressure(in Values) (quantity.Pressure, error) {
	switch {
	case in.has("pressure") && in.has("elevation"):
		return 0, invalid("elevation", "give the pressure or the elevation, not both")
	case in.has("pressure"):
		return in.pressure("pressure"), nil
	case in.has("elevation"):
		return moistair.PressureAtElevation(quantity.Length(in.number("elevation")))
	}
	return StandardPressure, nil
}

func temperatureSplit() Calculator {
	return Calculator{
		Name: "temperature-split",
		About: "Return minus supply dry bulb, and what a healthy air conditioner would show in this air: " +
			"before the heat of the blower, which takes about 1 °F off.",
		Source: "published: regression of the California Title 24 compliance model, as coded in an open-source library of air-conditioner models",
		Fields: []Field{
			{Name: "return_dry_bulb", Dim: quantity.DimTemperature, Min: fahrenheit(20), Max: fahrenheit(130)},
			{Name: "supply_dry_bulb", Dim: quantity.DimTemperature, Min: fahrenheit(0), Max: fahrenheit(130)},
			{Name: "return_wet_bulb", Dim: quantity.DimTemperature, Optional: true, About: "for the expected split"},
			{Name: "outdoor_dry_bulb", Dim: quantity.DimTemperature, Optional: true, About: "for the expected split"},
			{Name: "airflow_per_capacity", Dim: quantity.DimRatio, Optional: true, Min: 0.5, Max: 1.25,
				About: "indoor airflow over 400 CFM per ton; 1 if not given"},
		},
		Results: []Field{
			{Name: "temperature_split", Dim: quantity.DimTempDiff},
			{Name: "expected_split", Dim: quantity.DimTempDiff},
			{Name: "difference", Dim: quantity.DimTempDiff, About: "measured minus expected"},
			{Name: "warning", Text: true},
		},
		run: runTemperatureSplit,
	}
}

func runTemperatureSplit(in Values) (Values, error) {
	split := in.temperature("return_dry_bulb").Sub(in.temperature("supply_dry_bulb"))
	out := Values{"temperature_split": float64(split)}
	if split < 0 {
		out["warning"] = "the supply is warmer than the return: not cooling, or the two readings are swapped"
	}
	if !in.has("return_wet_bulb") || !in.has("outdoor_dry_bulb") {
		return out, nil
	}
	air := splitAir{
		dryBulb: inFahrenheit(in.number("return_dry_bulb")),
		wetBulb: inFahrenheit(in.number("return_wet_bulb")),
		outdoor: inFahrenheit(in.number("outdoor_dry_bulb")),
		airflow: 400,
	}
	if in.has("airflow_per_capacity") {
		air.airflow *= in.number("airflow_per_capacity")
	}
	expected, err := air.coilDrop()
	if err != nil {
		return nil, err
	}
	out["expected_split"] = expected * fahrenheitDegree
	out["difference"] = float64(split) - expected*fahrenheitDegree
	return out, nil
}
