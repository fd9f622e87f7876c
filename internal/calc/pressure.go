package calc

import (
	"fmt"

	"rung/internal/quantity"
)

func compressionRatio() Calculator {
	return Calculator{
		Name:  "compression-ratio",
		About: "Discharge over suction pressure, both absolute. Measure running and settled.",
		Source: "practice: definition; 2.3 to 3.5 is common for air conditioning " +
			"(published: trade articles on operating pressures, examples read)",
		Example: `{"suction_pressure":"118 psig","discharge_pressure":"340 psig"}`,
		Fields: []Field{
			{Name: "suction_pressure", Dim: quantity.DimPressure, Min: 1e3, Max: 1e7},
			{Name: "discharge_pressure", Dim: quantity.DimPressure, Min: 1e3, Max: 2e7, About: "or the liquid pressure: a little low by the drop of the condenser"},
			elevationField, ambientField,
		},
		Results: []Field{
			{Name: "compression_ratio", Dim: quantity.DimRatio, USUnit: "1"},
			warningsField,
		},
		run: func(in Values) (Values, error) {
			r := in.number("discharge_pressure") / in.number("suction_pressure")
			out := Values{"compression_ratio": r}
			const (
				alike = 1.05
				high  = 10 // practice: what one stage of the small compressors of the trade is taken to stand
			)
			switch {
			case r < alike:
				out.withDoubts("The pressures are about equal: the compressor is not pumping, or the gauges are not where they seem. Look to power and start circuit; it says nothing about the charge.")
			case r > high:
				out.withDoubts("High for one stage: hot discharge gas, thin oil. Find why the suction is so low or the head so high.")
			}
			return out, nil
		},
	}
}

func condenserSplit() Calculator {
	refrigerant := eitherOf(refrigerantField())
	return Calculator{
		Name:  "condenser-split",
		Title: "Condenser split and liquid approach",
		About: "Condensing temperature above the air that enters the outdoor coil, and liquid line above that air. " +
			"What they should be is for the maker's data of the unit to say.",
		Source:  "practice: definitions; bubble line for a blend",
		Example: `{"refrigerant":"R-410A","pressure":"340 psig","outdoor_temperature":"90 F","liquid_line_temperature":"97 F"}`,
		Fields: []Field{
			refrigerant,
			{Name: "pressure", Dim: quantity.DimPressure, Optional: true, Either: true, About: "at the liquid port; with the refrigerant"},
			{Name: "saturation_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true, About: "of condensing, instead of refrigerant and pressure"},
			{Name: "outdoor_temperature", Dim: quantity.DimTemperature, About: "of the air entering the outdoor coil"},
			{Name: "liquid_line_temperature", Dim: quantity.DimTemperature, Optional: true, About: "for the approach"},
			equationField, elevationField, ambientField,
		},
		Results: []Field{
			{Name: "condenser_split", Dim: quantity.DimTempDiff},
			{Name: "approach", Dim: quantity.DimTempDiff, About: "liquid line above outdoor air"},
			{Name: "saturation_temperature", Dim: quantity.DimTemperature},
			{Name: "glide", Dim: quantity.DimTempDiff},
			{Name: "note", Text: true},
			warningsField,
		},
		run: func(in Values) (Values, error) {
			sat, out, err := saturationOf(in, bubbleLine)
			if err != nil {
				return nil, err
			}
			outdoor, list := in.temperature("outdoor_temperature"), out.Warnings()
			split := sat.Sub(outdoor)
			out["condenser_split"], out["saturation_temperature"] = float64(split), float64(sat)
			if split <= 0 {
				list = append(list, "Nothing condenses in air as warm as that: the unit stands still, or gauge, clamp or refrigerant is not what it seems.")
			}
			if in.has("liquid_line_temperature") {
				approach := in.temperature("liquid_line_temperature").Sub(outdoor)
				out["approach"] = float64(approach)
				if approach < 0 {
					list = append(list, "Liquid cooler than the air that cools it: the thermometers disagree, or one is not where it should be.")
				}
			}
			return out.withDoubts(list...), nil
		},
	}
}

func nitrogenPressure() Calculator {
	return Calculator{
		Name:  "nitrogen-pressure",
		Title: "Nitrogen pressure test, corrected for temperature",
		About: "What the gauge should show if nothing leaked and only the temperature changed. " +
			"The temperature is that of the gas: give the pipes time to settle, and keep the sun off.",
		Source: "published: gas law at constant volume, absolute units, any text; nitrogen departs from it by less than 0.1 psi here",
		Caution: "Dry nitrogen only, never oxygen or compressed air: oil and oxygen explode. Regulator and relief valve set to the test pressure, " +
			"not above the design pressure on the nameplate; raise it in steps; stand clear.",
		Example: `{"start_pressure":"300 psig","start_temperature":"85 F","end_temperature":"65 F","end_pressure":"288 psig"}`,
		Fields: []Field{
			{Name: "start_pressure", Dim: quantity.DimPressure, Min: 1e4, Max: 7e6, About: "when the valve was shut and the gas had settled"},
			{Name: "start_temperature", Dim: quantity.DimTemperature, Min: fahrenheit(-40), Max: fahrenheit(150)},
			{Name: "end_temperature", Dim: quantity.DimTemperature, Min: fahrenheit(-40), Max: fahrenheit(150)},
			{Name: "end_pressure", Dim: quantity.DimPressure, Optional: true, Min: 1e4, Max: 7e6, About: "read now"},
			{Name: "thermometer_accuracy", Dim: quantity.DimTempDiff, Optional: true, Min: 0, Max: 10, UsualSI: "1 K", About: "2 °F if not given"},
			{Name: "gauge_accuracy", Dim: quantity.DimPressureDiff, USUnit: "psi", Optional: true, Min: 0, Max: 1e5, UsualSI: "7 kPa", About: "1 psi if not given"},
			elevationField, ambientField,
		},
		Results: []Field{
			{Name: "expected_pressure", Dim: quantity.DimPressure},
			{Name: "tolerance", Dim: quantity.DimPressureDiff, USUnit: "psi", About: "that thermometer and gauge leave open"},
			{Name: "difference", Dim: quantity.DimPressureDiff, USUnit: "psi", About: "read less expected"},
			{Name: "holds", Bool: true, About: "whether the difference is within the tolerance"},
			{Name: "note", Text: true},
			warningsField,
		},
		run: runNitrogenPressure,
	}
}

func runNitrogenPressure(in Values) (Values, error) {
	start, t0, t1 := in.number("start_pressure"), in.number("start_temperature"), in.number("end_temperature")
	expected := start * t1 / t0
	// Both thermometer readings and both gauge readings may be off one way.
	tolerance := 2*expected*in.or("thermometer_accuracy", 2*fahrenheitDegree)/t1 +
		2*in.or("gauge_accuracy", mustSI(1, quantity.DimPressureDiff, "psi"))
	out := Values{"expected_pressure": expected, "tolerance": tolerance}
	if !in.has("end_pressure") {
		return out, nil
	}
	d := in.number("end_pressure") - expected
	out["difference"], out["holds"] = d, d >= -tolerance && d <= tolerance
	switch {
	case d < -tolerance:
		out.withDoubts("Lower than the temperature explains: a leak, until shown otherwise. Soap the joints, valves and hose ends first.")
	case d > tolerance:
		out.withDoubts("Higher than the temperature explains: the gas was not settled, the sun is on a pipe, or the regulator still feeds.")
	default:
		out["note"] = fmt.Sprintf("Within what the instruments resolve. A leak that would show less than %.1f psi (%.0f kPa) in this time is not ruled out: hold longer, and soap the joints.",
			mustOf(tolerance, quantity.DimPressureDiff, "psi"), tolerance/1e3)
	}
	return out, nil
}
