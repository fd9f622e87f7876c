package calc

import (
	"math"
	"slices"

	"rung/internal/moistair"
	"rung/internal/quantity"
)

func airflowByRise() Calculator {
	return Calculator{
		Name: "airflow-by-rise",
		About: "Airflow from the heat put into the air and its temperature rise: electric heat by voltage and current, gas by input and efficiency, " +
			"or any known output. Fan on its cooling speed gives cooling airflow only where heating uses the same speed.",
		Caution: "Live terminals and moving parts: only if you are qualified, with a meter proved on a live source; hands clear of the blower.",
		Source:  "practice: output / (1.08 × rise), with 1.08 in proportion to the air pressure; at the return from the ASHRAE formulation of moist air",
		Example: `{"input":"80000 Btu/h","efficiency":"80 %","supply_temperature":"125 F","return_temperature":"70 F","return_relative_humidity":"40 %"}`,
		Fields: append([]Field{
			{Name: "voltage", Dim: quantity.DimVoltage, Optional: true, Either: true, Min: 1, Max: 1000, About: "across the heaters, under load; with the current"},
			{Name: "current", Dim: quantity.DimCurrent, Optional: true, Either: true, Min: 0.1, Max: 500, About: "of all heaters and the blower; one phase"},
			{Name: "input", Dim: quantity.DimHeatFlow, Optional: true, Either: true, Min: 100, Max: 1e6, About: "of the burner as clocked; with the efficiency"},
			{Name: "efficiency", Dim: quantity.DimRatio, Optional: true, Either: true, Min: 0.3, Max: 1, About: "of the burner, steady; as measured or on the plate"},
			{Name: "output", Dim: quantity.DimHeatFlow, Optional: true, Either: true, Min: 100, Max: 1e6, About: "heat put into the air, if known"},
			{Name: "supply_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true, About: "out of sight of the heaters, mixed; several ducts averaged"},
			{Name: "return_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true},
			{Name: "temperature_rise", Dim: quantity.DimTempDiff, Optional: true, Either: true, Min: 1, Max: 80, About: "instead of both temperatures"},
			{Name: "return_relative_humidity", Dim: quantity.DimRatio, Optional: true, Max: 1, About: "dry air if not given; for the airflow at the return"},
		}, pressureFields()...),
		Results: []Field{
			{Name: "airflow", Dim: quantity.DimVolumeFlow, About: "by the factor: of dry air at about 70 °F and this pressure"},
			{Name: "airflow_at_return", Dim: quantity.DimVolumeFlow, About: "as it flows at the return; with both temperatures"},
			{Name: "output", Dim: quantity.DimHeatFlow},
			{Name: "temperature_rise", Dim: quantity.DimTempDiff},
			{Name: "air_factor", Dim: quantity.DimAirFactor, About: "1.08 at sea level"},
			{Name: "airflow_low", Dim: quantity.DimVolumeFlow, About: "with ±0.5 °C of each thermometer"},
			{Name: "airflow_high", Dim: quantity.DimVolumeFlow},
			{Name: "warnings", Text: true},
		},
		run: runAirflowByRise,
	}
}

func runAirflowByRise(in Values) (Values, error) {
	p, err := airPressure(in)
	if err != nil {
		return nil, err
	}
	output, err := heatIntoAir(in)
	if err != nil {
		return nil, err
	}
	rise, err := in.difference("temperature_rise", "supply_temperature", "return_temperature")
	if err != nil {
		return nil, err
	}
	const leastRise = 1 // K; below it the thermometers are all there is
	if err := quantity.CheckRange("airflow by rise", "temperature_rise", rise.Kelvin(), leastRise, 80, "K"); err != nil {
		return nil, err
	}
	factor := sensibleFactor * float64(p/StandardPressure)
	flow := output / (factor * rise.Kelvin())
	doubt := math.Sqrt2 * usualTempError
	out := Values{
		"airflow": flow, "output": output, "temperature_rise": float64(rise), "air_factor": factor,
		"airflow_low": output / (factor * (rise.Kelvin() + doubt)),
	}
	if rise.Kelvin() > doubt {
		out["airflow_high"] = output / (factor * (rise.Kelvin() - doubt))
	}
	const coarse = 0.05
	if share := doubt / rise.Kelvin(); share > coarse {
		out.warn("So small a rise leaves the airflow open by " + percent(share) + " from the thermometers alone.")
	}
	return out, addFlowAtReturn(out, in, p)
}

// addFlowAtReturn adds the airflow at the state of the return air: the heat over
// the enthalpy it gains, times its volume.
func addFlowAtReturn(out, in Values, p quantity.Pressure) error {
	if !in.has("return_temperature") || !in.has("supply_temperature") {
		return nil
	}
	moisture := moistair.HumidityRatioIs(nextToNone)
	if in.has("return_relative_humidity") {
		moisture = moistair.RelativeHumidityIs(quantity.RelativeHumidity(in.number("return_relative_humidity")))
	}
	s, err := moistair.From(moistair.DryBulbIs(in.temperature("return_temperature")), moisture, p)
	if err != nil {
		return airError(err, "return_", nil)
	}
	supply := in.temperature("supply_temperature").Kelvin()
	gain := moistair.Enthalpy(supply, float64(s.HumidityRatio)) - float64(s.Enthalpy)
	out["airflow_at_return"] = out.number("output") / gain * float64(s.SpecificVolume)
	return nil
}

// heatIntoAir returns the heat in W by the one way that the input gives.
func heatIntoAir(in Values) (float64, error) {
	way, err := in.exactlyOne("voltage", "input", "output")
	if err != nil {
		return 0, err
	}
	switch way {
	case "voltage":
		if !in.has("current") {
			return 0, invalid("current", "missing: the current of all heaters and the blower")
		}
		return in.number("voltage") * in.number("current"), nil
	case "input":
		if !in.has("efficiency") {
			return 0, invalid("efficiency", "missing: the share of the input that gets into the air")
		}
		return in.number("input") * in.number("efficiency"), nil
	}
	return in.number("output"), nil
}

func heatPumpOutput() Calculator {
	return Calculator{
		Name: "heat-pump-output",
		About: "Heat put into the air by its temperature rise, the heat of the blower included. " +
			"Electric strips off while it is measured; not during or just after a defrost.",
		Source:  "practice: 1.08 × airflow × rise, with 1.08 in proportion to the air pressure",
		Example: `{"airflow":"1150 CFM","temperature_rise":"24 F","blower_power":"400 W"}`,
		Fields: append([]Field{
			{Name: "airflow", Dim: quantity.DimVolumeFlow, Min: 1e-3, Max: 50},
			{Name: "temperature_rise", Dim: quantity.DimTempDiff, Optional: true, Either: true, Max: 80, About: "or both temperatures"},
			{Name: "supply_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true},
			{Name: "return_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true},
			{Name: "blower_power", Dim: quantity.DimPower, Optional: true, Max: 5e3, About: "to take its heat off"},
		}, pressureFields()...),
		Results: []Field{
			{Name: "output", Dim: quantity.DimHeatFlow},
			{Name: "output_without_blower", Dim: quantity.DimHeatFlow},
			{Name: "temperature_rise", Dim: quantity.DimTempDiff},
			{Name: "air_factor", Dim: quantity.DimAirFactor},
			{Name: "warnings", Text: true},
		},
		run: func(in Values) (Values, error) {
			p, err := airPressure(in)
			if err != nil {
				return nil, err
			}
			rise, err := in.difference("temperature_rise", "supply_temperature", "return_temperature")
			if err != nil {
				return nil, err
			}
			factor := sensibleFactor * float64(p/StandardPressure)
			out := Values{"output": factor * in.number("airflow") * rise.Kelvin(), "temperature_rise": float64(rise), "air_factor": factor}
			if in.has("blower_power") {
				out["output_without_blower"] = out.number("output") - in.number("blower_power")
			}
			if rise < 0 {
				out.warn("The supply is colder than the return: not heating, in defrost, or the readings are swapped.")
			}
			return out, nil
		},
	}
}

func balancePoint() Calculator {
	return Calculator{
		Name: "balance-point",
		About: "Outdoor temperature at which the heat pump just carries the house: a straight line of load against a straight line of capacity. " +
			"Defrost and part load are left out.",
		Source:  "practice: two straight lines",
		Example: `{"design_load":"40000 Btu/h","design_temperature":"10 F","capacity_47":"36000 Btu/h","capacity_17":"20000 Btu/h"}`,
		Fields: []Field{
			{Name: "design_load", Dim: quantity.DimHeatFlow, Min: 100, Max: 1e6, About: "heat the house loses at the design temperature"},
			{Name: "design_temperature", Dim: quantity.DimTemperature, Min: fahrenheit(-60), Max: fahrenheit(60)},
			{Name: "no_load_temperature", Dim: quantity.DimTemperature, Optional: true, Min: fahrenheit(40), Max: fahrenheit(75), About: "outdoors, where the house needs no heat; 65 °F if not given"},
			{Name: "capacity_47", Dim: quantity.DimHeatFlow, Min: 100, Max: 1e6, About: "at 47 °F outdoors"},
			{Name: "capacity_17", Dim: quantity.DimHeatFlow, Min: 100, Max: 1e6, About: "at 17 °F outdoors"},
		},
		Results: []Field{
			{Name: "balance_temperature", Dim: quantity.DimTemperature},
			{Name: "capacity", Dim: quantity.DimHeatFlow, About: "and load there"},
			{Name: "warnings", Text: true},
		},
		run: runBalancePoint,
	}
}

func runBalancePoint(in Values) (Values, error) {
	warm, cold := fahrenheit(47), fahrenheit(17)
	free := in.fieldOr("no_load_temperature", fahrenheit(65))
	design := in.number("design_temperature")
	if !(design < free) {
		return nil, invalid("design_temperature", "it must be below the temperature at which the house needs no heat")
	}
	load := in.number("design_load") / (free - design)                             // W/K
	slope := (in.number("capacity_47") - in.number("capacity_17")) / (warm - cold) // W/K
	if !(load+slope > 0) {
		return nil, invalid("capacity_47", "the capacity falls faster than the load as it gets warmer: the two do not cross")
	}
	T := (load*free - in.number("capacity_17") + slope*cold) / (load + slope)
	out := Values{"balance_temperature": T, "capacity": load * (free - T)}
	if T < cold || T > warm {
		out.warn("Outside 17 to 47 °F the capacity is a guess along the line.")
	}
	return out, nil
}

func externalStatic() Calculator {
	return Calculator{
		Name:    "external-static",
		About:   "Total external static pressure: both readings outside the cabinet, before the blower after the filter and behind the equipment, added without their signs.",
		Caution: "Keep the drill clear of coil, wires and heat exchanger.",
		Source:  "practice: definition; 0.5 in. w.c. where the plate says nothing",
		Example: `{"supply_static":"0.45 inwc","return_static":"-0.28 inwc"}`,
		Fields: []Field{
			{Name: "supply_static", Dim: quantity.DimPressureDiff, Min: -2000, Max: 2000},
			{Name: "return_static", Dim: quantity.DimPressureDiff, Min: -2000, Max: 2000, About: "with or without its minus sign"},
			{Name: "rated_static", Dim: quantity.DimPressureDiff, Optional: true, Min: 1, Max: 2000, About: "on the plate; 0.5 in. w.c. if not given"},
		},
		Results: []Field{
			{Name: "external_static", Dim: quantity.DimPressureDiff},
			{Name: "share_of_rated", Dim: quantity.DimRatio},
			{Name: "over_rating", Bool: true},
			{Name: "warnings", Text: true},
		},
		run: func(in Values) (Values, error) {
			total := math.Abs(in.number("supply_static")) + math.Abs(in.number("return_static"))
			share := total / in.fieldOr("rated_static", mustSI(0.5, quantity.DimPressureDiff, "in. w.c."))
			const slack = 1e-9 // of a conversion
			out := Values{"external_static": total, "share_of_rated": share, "over_rating": share > 1+slack}
			if in.number("supply_static") < 0 {
				out.warn("The supply is below the room: hoses swapped, or the probe is on the wrong side of the blower.")
			}
			return out, nil
		},
	}
}

func fanLaw() Calculator {
	return Calculator{
		Name: "fan-law",
		About: "Static pressure, speed and power at another airflow through the same ducts, same air. " +
			"A constant-airflow blower follows its own program.",
		Source:  "published: fan laws, any text on fans: pressure with the square of flow, power with the cube",
		Example: `{"airflow":"1000 CFM","static":"0.5 inwc","new_airflow":"1200 CFM"}`,
		Fields: []Field{
			{Name: "airflow", Dim: quantity.DimVolumeFlow, Min: 1e-3, Max: 50},
			{Name: "static", Dim: quantity.DimPressureDiff, Min: 0.1, Max: 5000},
			{Name: "new_airflow", Dim: quantity.DimVolumeFlow, Optional: true, Either: true, Min: 1e-3, Max: 50, About: "either this"},
			{Name: "new_static", Dim: quantity.DimPressureDiff, Optional: true, Either: true, Min: 0.1, Max: 5000, About: "or this"},
		},
		Results: []Field{
			{Name: "new_airflow", Dim: quantity.DimVolumeFlow},
			{Name: "new_static", Dim: quantity.DimPressureDiff},
			{Name: "speed_ratio", Dim: quantity.DimNumber},
			{Name: "power_ratio", Dim: quantity.DimNumber},
		},
		run: func(in Values) (Values, error) {
			given, err := in.exactlyOne("new_airflow", "new_static")
			if err != nil {
				return nil, err
			}
			ratio := in.number("new_airflow") / in.number("airflow")
			if given == "new_static" {
				ratio = math.Sqrt(in.number("new_static") / in.number("static"))
			}
			return Values{
				"new_airflow": ratio * in.number("airflow"),
				"new_static":  ratio * ratio * in.number("static"),
				"speed_ratio": ratio,
				"power_ratio": ratio * ratio * ratio,
			}, nil
		},
	}
}

// bedrooms are the counts a dwelling may have; the first is none.
var bedrooms = []string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12"}

func ventilationRate() Calculator {
	return Calculator{
		Name: "ventilation-rate",
		About: "Outdoor air that a dwelling needs as a whole: 0.03 CFM for each square foot and 7.5 CFM for each bedroom and one more. " +
			"The edition in force where the house stands decides; kitchen and bath exhaust come on top.",
		Source:  "published: a primer on ASHRAE 62.2-2013; the standard itself not seen",
		Example: `{"floor_area":"2400 ft²","bedrooms":"3"}`,
		Fields: []Field{
			{Name: "floor_area", Dim: quantity.DimArea, Min: 1, Max: 5000},
			{Name: "bedrooms", Words: bedrooms},
		},
		Results: []Field{{Name: "ventilation", Dim: quantity.DimVolumeFlow}},
		run: func(in Values) (Values, error) {
			perArea := mustSI(0.03, quantity.DimVolumeFlow, "CFM") / mustSI(1, quantity.DimArea, "ft2")
			perPerson := mustSI(7.5, quantity.DimVolumeFlow, "CFM")
			return Values{"ventilation": perArea*in.number("floor_area") + perPerson*(float64(slices.Index(bedrooms, in.word("bedrooms")))+1)}, nil
		},
	}
}
