package calc

import (
	"math"

	"rung/internal/combustion"
	"rung/internal/moistair"
	"rung/internal/quantity"
)

func fuelCalculators() []Calculator {
	return []Calculator{fuel(), gasInput(), manifoldPressure(), flueLoss(), coAirFree()}
}

func fuelField(optional bool) Field {
	f := Field{Name: "fuel", Words: combustion.Fuels(), Optional: optional}
	if optional {
		f.About = "natural-gas if not given"
	}
	return f
}

// fuelOf returns the fuel of the input, natural gas if none is named.
func fuelOf(in Values) (combustion.Fuel, error) {
	if !in.has("fuel") {
		return combustion.NaturalGas, nil
	}
	return combustion.Lookup(in.word("fuel"))
}

func fuel() Calculator {
	return Calculator{
		Name: "fuel",
		About: "What a fuel holds and needs. Natural gas differs from place to place: the supplier tells the real heating value. " +
			"Volumes at 60 °F and 14.696 psia, as an ideal gas.",
		Source:  "published: heats of formation of GRI-Mech 3.0, which the ISO 6976 values used meet to 0.05 %, see package combustion; practice: composition of natural gas; memory: fuel oil, marked",
		Example: `{"fuel":"natural-gas"}`,
		Fields:  []Field{fuelField(false)},
		Results: []Field{
			{Name: "higher_heating_value", Dim: quantity.DimHeatingValue, About: "of a gas"},
			{Name: "lower_heating_value", Dim: quantity.DimHeatingValue, About: "of a gas"},
			{Name: "higher_heating_value_by_mass", Dim: quantity.DimSpecificEnthalpy},
			{Name: "lower_heating_value_by_mass", Dim: quantity.DimSpecificEnthalpy},
			{Name: "specific_gravity", Dim: quantity.DimNumber, About: "of a gas, over air"},
			{Name: "air_by_volume", Dim: quantity.DimNumber, About: "of a gas: volumes of air that one needs"},
			{Name: "air_by_mass", Dim: quantity.DimNumber},
			{Name: "ultimate_carbon_dioxide", Dim: quantity.DimRatio, About: "in the dry flue gas without excess air"},
			{Name: "water_by_mass", Dim: quantity.DimNumber, About: "water made by a mass of fuel"},
			{Name: "flue_dew_point", Dim: quantity.DimTemperature, About: "without excess air, at sea level, with dry air"},
			{Name: "source", Text: true},
		},
		run: runFuel,
	}
}

func runFuel(in Values) (Values, error) {
	f, err := fuelOf(in)
	if err != nil {
		return nil, err
	}
	flue, err := combustion.FlueAt(f, 0, 0)
	if err != nil {
		return nil, err
	}
	dew, err := moistair.DewPoint(flue.VapourPressure(StandardPressure))
	if err != nil {
		return nil, err
	}
	out := Values{
		"higher_heating_value_by_mass": float64(f.HigherHeatingPerMass()),
		"lower_heating_value_by_mass":  float64(f.LowerHeatingPerMass()),
		"air_by_mass":                  float64(f.AirPerMass()),
		"ultimate_carbon_dioxide":      float64(f.UltimateCO2()),
		"water_by_mass":                float64(f.WaterPerMass()),
		"flue_dew_point":               float64(dew),
	}
	addFuelSource(out, in)
	if f.IsGas() {
		out["higher_heating_value"] = float64(f.HigherHeating())
		out["lower_heating_value"] = float64(f.LowerHeating())
		out["specific_gravity"] = float64(f.SpecificGravity())
		out["air_by_volume"] = float64(f.AirPerVolume())
	}
	return out, nil
}

// addFuelSource marks an answer that rests on data without a print or on a usual
// composition.
func addFuelSource(out, in Values) {
	switch in.word("fuel") {
	case "fuel-oil":
		out["source"] = "heat and composition of fuel oil from memory, not from a print: to ±2 %"
	case "", "natural-gas":
		out["source"] = "a usual pipeline gas; the heating value of the supplier may differ by ±5 %"
	}
}

func gasInput() Calculator {
	return Calculator{
		Name: "gas-input",
		About: "Input of a gas appliance by timing the meter, every other appliance on it off, pilots too. " +
			"Ask the supplier for the heating value.",
		Caution: "Smell of gas: stop, no switches, no flame, everybody out, call the supplier from outside.",
		Source:  "practice: dial volume over time times heating value; published: ideal gas for meters read warm, cold or high up",
		Example: `{"dial_volume":"2 ft³","time":"72 s","rated_input":"100000 Btu/h"}`,
		Fields: []Field{
			{Name: "dial_volume", Dim: quantity.DimVolume, Min: 1e-4, Max: 10, About: "that passed, such as one turn of the test dial"},
			{Name: "time", Dim: quantity.DimTime, Min: 1, Max: 7200},
			{Name: "heating_value", Dim: quantity.DimHeatingValue, Optional: true, Min: 1e6, Max: 200e6, About: "of the supplier; that of the fuel if not given"},
			{Name: "fuel", Words: []string{"natural-gas", "methane", "propane"}, Optional: true, About: "natural-gas if not given"},
			{Name: "gas_temperature", Dim: quantity.DimTemperature, Optional: true, Min: fahrenheit(-40), Max: fahrenheit(130),
				About: "at a meter that does not correct for it; 60 °F if not given"},
			{Name: "gas_pressure", Dim: quantity.DimPressureDiff, Optional: true, Max: 35e3, About: "at the meter, above the air; for the true gas density, with the elevation"},
			{Name: "elevation", Dim: quantity.DimLength, Optional: true, About: "above sea level; leave out where the heating value is for the place"},
			{Name: "rated_input", Dim: quantity.DimHeatFlow, Optional: true, Min: 100, Max: 1e6, About: "on the plate, derated for the elevation as the plate says"},
		},
		Results: []Field{
			{Name: "gas_flow", Dim: quantity.DimFuelFlow, About: "as the meter counts"},
			{Name: "input", Dim: quantity.DimHeatFlow},
			{Name: "heating_value", Dim: quantity.DimHeatingValue, About: "used"},
			{Name: "density_correction", Dim: quantity.DimNumber, About: "gas in a metered volume over that at 60 °F and sea level"},
			{Name: "deviation", Dim: quantity.DimRatio, About: "from the rated input"},
			{Name: "source", Text: true},
			{Name: "warnings", Text: true},
		},
		run: runGasInput,
	}
}

func runGasInput(in Values) (Values, error) {
	f, err := fuelOf(in)
	if err != nil {
		return nil, err
	}
	correction, err := gasCorrection(in)
	if err != nil {
		return nil, err
	}
	flow := in.number("dial_volume") / in.number("time")
	value := in.fieldOr("heating_value", float64(f.HigherHeating()))
	input := flow * value * correction
	out := Values{"gas_flow": flow, "input": input, "heating_value": value, "density_correction": correction}
	if !in.has("heating_value") {
		addFuelSource(out, in)
	}
	const short = 20 // s; half a second of reaction at each end is then 5 %
	if in.number("time") < short {
		out.warn("Timed so short, half a second either way is " + percent(1/(2*in.number("time"))) + ": count more turns.")
	}
	if in.has("rated_input") {
		deviation := input/in.number("rated_input") - 1
		out["deviation"] = deviation
		warnOfInput(out, deviation)
	}
	return out, nil
}

// warnOfInput judges the input against the plate.
//
// practice: within 5 % nobody minds; published: a trade note quoting NFPA 54-1996:
// beyond 10 % pressure or orifice is to be corrected
func warnOfInput(out Values, deviation float64) {
	const fine, wrong = 0.05, 0.10
	switch {
	case deviation > wrong:
		out.warn("Overfired: overheats the exchanger and makes carbon monoxide; check manifold pressure and orifices against the plate, and the flue, before it is left running.")
	case deviation < -wrong:
		out.warn("Underfired: can leave the flue wet and the house cold; check supply and manifold pressure and orifices against the plate.")
	case math.Abs(deviation) > fine:
		out.warn("Off the plate by more than 5 %: check manifold pressure, heating value and the count.")
	}
}

// gasCorrection returns how much gas a metered volume holds over that at 60 °F
// and sea level; 1 where nothing about the meter is given.
func gasCorrection(in Values) (float64, error) {
	pressure := float64(StandardPressure)
	if in.has("elevation") {
		p, err := moistair.PressureAtElevation(quantity.Length(in.number("elevation")))
		if err != nil {
			return 0, err
		}
		pressure = float64(p)
	}
	pressure += in.fieldOr("gas_pressure", 0)
	sixty := fahrenheit(60)
	return pressure / float64(StandardPressure) * sixty / in.fieldOr("gas_temperature", sixty), nil
}

func manifoldPressure() Calculator {
	return Calculator{
		Name: "manifold-pressure",
		About: "Input at another manifold pressure than the rated one, orifices and gas the same. " +
			"Set the pressure the plate gives, by its instructions, and prove it at the meter and in the flue.",
		Caution: "Gas: only if you are licensed for it; set what the plate says, and test the joints that were opened.",
		Source:  "practice: flow through an orifice goes with the root of the pressure",
		Example: `{"rated_input":"100000 Btu/h","rated_pressure":"3.5 inwc","measured_pressure":"3.4 inwc"}`,
		Fields: []Field{
			{Name: "rated_input", Dim: quantity.DimHeatFlow, Min: 100, Max: 1e6},
			{Name: "rated_pressure", Dim: quantity.DimPressureDiff, Min: 10, Max: 10e3, About: "of the manifold, on the plate"},
			{Name: "measured_pressure", Dim: quantity.DimPressureDiff, Min: 0, Max: 10e3},
		},
		Results: []Field{
			{Name: "input", Dim: quantity.DimHeatFlow},
			{Name: "deviation", Dim: quantity.DimRatio},
			{Name: "warnings", Text: true},
		},
		run: func(in Values) (Values, error) {
			share, err := combustion.OrificeFlow(quantity.PressureDiff(in.number("measured_pressure")), quantity.PressureDiff(in.number("rated_pressure")))
			if err != nil {
				return nil, err
			}
			out := Values{"input": in.number("rated_input") * float64(share), "deviation": float64(share) - 1}
			warnOfInput(out, float64(share)-1)
			return out, nil
		},
	}
}

func flueLoss() Calculator {
	return Calculator{
		Name: "flue-loss",
		About: "Excess air, dew point and loss of the flue gas from oxygen or carbon dioxide and the temperature, and what is left as combustion efficiency: " +
			"not the plate's efficiency, which counts other losses and a season. Read before any draft hood or dilution.",
		Caution: "Hot vent and flue gas: gloves, a carbon monoxide monitor on you, and a plug back in the hole.",
		Source:  "published: balance of atoms and energy on the heats of formation and the gas data of GRI-Mech 3.0; memory: fuel oil, marked, see package combustion",
		Example: `{"fuel":"natural-gas","oxygen":"8 %","flue_temperature":"400 F","air_temperature":"70 F","air_relative_humidity":"40 %"}`,
		Fields: append([]Field{
			fuelField(false),
			{Name: "oxygen", Dim: quantity.DimRatio, Optional: true, Either: true, Max: 0.209, About: "in the dry flue gas; either this"},
			{Name: "carbon_dioxide", Dim: quantity.DimRatio, Optional: true, Either: true, Max: 0.2, About: "or this"},
			{Name: "flue_temperature", Dim: quantity.DimTemperature, Min: 273.15, Max: 1000},
			{Name: "air_temperature", Dim: quantity.DimTemperature, Min: 233.15, Max: 343.15, About: "of the air for combustion"},
			{Name: "air_relative_humidity", Dim: quantity.DimRatio, Optional: true, Max: 1, About: "of that air; dry if not given"},
		}, pressureFields()...),
		Results: []Field{
			{Name: "excess_air", Dim: quantity.DimRatio},
			{Name: "oxygen", Dim: quantity.DimRatio},
			{Name: "carbon_dioxide", Dim: quantity.DimRatio},
			{Name: "dew_point", Dim: quantity.DimTemperature, About: "of the flue gas"},
			{Name: "dry_loss", Dim: quantity.DimRatio, About: "of the higher heating value"},
			{Name: "water_loss", Dim: quantity.DimRatio},
			{Name: "flue_loss", Dim: quantity.DimRatio},
			{Name: "efficiency", Dim: quantity.DimRatio, About: "100 % less the flue loss"},
			{Name: "condensed", Dim: quantity.DimRatio, About: "of the water, at most"},
			{Name: "source", Text: true},
			{Name: "warnings", Text: true},
		},
		run: runFlueLoss,
	}
}

func runFlueLoss(in Values) (Values, error) {
	p, err := airPressure(in)
	if err != nil {
		return nil, err
	}
	flue, err := flueOf(in, p)
	if err != nil {
		return nil, err
	}
	dew, err := moistair.DewPoint(flue.VapourPressure(p))
	if err != nil {
		return nil, err
	}
	T := in.temperature("flue_temperature")
	holds := 1.0
	if T < dew {
		saturated, err := moistair.SatPressure(T)
		if err != nil {
			return nil, err
		}
		holds = float64(saturated / p)
	}
	loss, err := flue.Loss(T, in.temperature("air_temperature"), quantity.Ratio(holds))
	if err != nil {
		return nil, err
	}
	out := Values{
		"excess_air": float64(flue.ExcessAir), "oxygen": float64(flue.Oxygen), "carbon_dioxide": float64(flue.CarbonDioxide),
		"dew_point": float64(dew), "dry_loss": float64(loss.Dry), "water_loss": float64(loss.Water),
		"flue_loss": float64(loss.Dry + loss.Water), "efficiency": float64(loss.Efficiency), "condensed": float64(loss.Condensate),
	}
	addFuelSource(out, in)
	warnOfFlue(out, flue, T, dew)
	return out, nil
}

// warnOfFlue says what the readings mean for the equipment.
//
// published: a combustion analysis quick reference, 2020: oxygen 4 to 10 % in
// houses; practice: the rest
func warnOfFlue(out Values, flue combustion.Flue, T, dew quantity.Temperature) {
	const lean, rich = 0.10, 0.03
	switch {
	case flue.Oxygen < rich:
		out.warn("Little oxygen is left: next to no margin against carbon monoxide; read it now, and do not leave it so.")
	case flue.Oxygen > lean:
		out.warn("Much excess air: dilution before the probe, a leak, or a flame short of gas.")
	}
	const margin = 15 // K; nearer the dew point the cool parts of a vent are wet
	switch {
	case T < dew:
		out.warn("Below the dew point: right for condensing equipment alone, with its own vent and drain; any other is rusting. The condensed share is the most there can be.")
	case T.Sub(dew) < margin:
		out.warn("Near the dew point: cool parts of the vent get wet.")
	}
}

// flueOf returns the flue gas that the analyser of the input saw.
func flueOf(in Values, p quantity.Pressure) (combustion.Flue, error) {
	f, err := fuelOf(in)
	if err != nil {
		return combustion.Flue{}, err
	}
	given, err := in.exactlyOne("oxygen", "carbon_dioxide")
	if err != nil {
		return combustion.Flue{}, err
	}
	moisture := quantity.HumidityRatio(0)
	if rh := in.fieldOr("air_relative_humidity", 0); rh > 0 {
		air, err := moistair.FromRelativeHumidity(in.temperature("air_temperature"), quantity.RelativeHumidity(rh), p)
		if err != nil {
			return combustion.Flue{}, airError(err, "air_", nil)
		}
		moisture = air.HumidityRatio
	}
	if given == "oxygen" {
		return combustion.FlueFromOxygen(f, quantity.Ratio(in.number(given)), moisture)
	}
	return combustion.FlueFromCO2(f, quantity.Ratio(in.number(given)), moisture)
}

func coAirFree() Calculator {
	return Calculator{
		Name: "co-air-free",
		About: "Carbon monoxide in the flue as it would be without excess air, so that dilution does not hide it. " +
			"Read before any draft hood, after five minutes and more of firing.",
		Caution: "Carbon monoxide in the room comes first: an alarm, or people unwell, is everybody out and the emergency number.",
		Source:  "practice: dilution, CO × 20.9 / (20.9 − O2), or ultimate over read carbon dioxide; published: limits of a combustion analysis quick reference, 2020",
		Example: `{"carbon_monoxide":"30 ppm","oxygen":"9 %"}`,
		Fields: []Field{
			{Name: "carbon_monoxide", Dim: quantity.DimTrace, Max: 0.1, About: "as read in the flue"},
			{Name: "oxygen", Dim: quantity.DimRatio, Optional: true, Either: true, Max: 0.18, About: "beside it; either this"},
			{Name: "carbon_dioxide", Dim: quantity.DimRatio, Optional: true, Either: true, Min: 0.01, Max: 0.2, About: "or this, with the fuel"},
			fuelField(true),
		},
		Results: []Field{
			{Name: "carbon_monoxide_air_free", Dim: quantity.DimTrace},
			{Name: "warnings", Text: true},
		},
		run: runCOAirFree,
	}
}

func runCOAirFree(in Values) (Values, error) {
	given, err := in.exactlyOne("oxygen", "carbon_dioxide")
	if err != nil {
		return nil, err
	}
	f, err := fuelOf(in)
	if err != nil {
		return nil, err
	}
	reading := in.number("carbon_monoxide")
	var free float64
	if given == "oxygen" {
		x, err := combustion.AirFree(quantity.Ratio(reading), quantity.Ratio(in.number(given)))
		if err != nil {
			return nil, err
		}
		free = float64(x)
	} else {
		flue, err := combustion.FlueFromCO2(f, quantity.Ratio(in.number(given)), 0)
		if err != nil {
			return nil, err
		}
		free = reading * float64(f.UltimateCO2()/flue.CarbonDioxide)
	}
	out := Values{"carbon_monoxide_air_free": free}
	warnOfCO(out, free)
	return out, nil
}

// warnOfCO says what a reading free of air asks for.
//
// published: combustion analysis quick reference, 2020: up to 100 ppm desired, 400
// ppm the limit
func warnOfCO(out Values, free float64) {
	const desired, limit = 100e-6, 400e-6
	switch {
	case free > limit:
		out.warn("Over 400 ppm air-free: shut it off, tag it, tell the people of the house in writing; it stays off until the cause is mended and proved. Read the room air too.")
	case free > desired:
		out.warn("Over 100 ppm air-free: find the cause before it is left running, and shut it off if the reading keeps rising. Read the room air too.")
	}
}
