package calc

import (
	"errors"
	"fmt"

	"rung/internal/hydronic"
	"rung/internal/quantity"
)

func waterCalculators() []Calculator {
	return []Calculator{water(), waterHeat(), glycol(), staticFill(), expansionTank(), pumpHead()}
}

// The words for what fills a loop.
const plainWater = "water"

var fillings = []string{plainWater, string(hydronic.Propylene), string(hydronic.Ethylene)}

// loopPressure is that of water whose pressure was not asked for: it matters
// for the boiling point alone, density moves by 0.01 %.
const loopPressure quantity.Pressure = 600e3 // Pa; above boiling at 150 °C

// concentrationFields say how much glycol there is.
func concentrationFields() []Field {
	return []Field{
		{Name: "mass_share", Dim: quantity.DimRatio, Optional: true, Either: true, Max: 0.6, About: "of glycol; either this"},
		{Name: "volume_share", Dim: quantity.DimRatio, Optional: true, Either: true, Max: 0.6, About: "or this, as mixed at 20 °C"},
	}
}

// solutionOf returns the solution of the input.
func solutionOf(in Values) (hydronic.Solution, error) {
	g := hydronic.Glycol(in.word("fluid"))
	given, err := in.exactlyOne("mass_share", "volume_share")
	if err != nil {
		return hydronic.Solution{}, err
	}
	if given == "mass_share" {
		return hydronic.Solution{Glycol: g, Mass: quantity.Ratio(in.number(given))}, nil
	}
	s, err := hydronic.MassShare(g, quantity.Ratio(in.number(given)))
	return s, hydronicError(err)
}

// hydronicError puts an unknown glycol down to the user.
func hydronicError(err error) error {
	var unknown *hydronic.UnknownError
	if errors.As(err, &unknown) {
		return invalid("fluid", "%v", err)
	}
	return err
}

// glycolSource marks every answer that rests on the glycol tables.
var glycolSource = fmt.Sprintf("glycol data from memory, not from a print: density to %s, heat capacity to %s, viscosity to %s, freezing point to ±%g °C; "+
	"the sheet of the fluid comes first", percent(float64(hydronic.Uncertainty.Density)), percent(float64(hydronic.Uncertainty.SpecificHeat)),
	percent(float64(hydronic.Uncertainty.Viscosity)), hydronic.Uncertainty.FreezingPoint.Kelvin())

func water() Calculator {
	return Calculator{
		Name:    "water",
		About:   "Properties of liquid water, and where it boils at the pressure of the loop.",
		Caution: "Hot water and steam scald: never open a loop that is hot or under pressure.",
		Source:  "published: IAPWS formulations IF97, R12-08 and R15-11, see package hydronic",
		Example: `{"temperature":"180 F","pressure":"12 psig"}`,
		Fields: []Field{
			{Name: "temperature", Dim: quantity.DimTemperature, Min: 273.15, Max: 423.15},
			{Name: "pressure", Dim: quantity.DimPressure, Optional: true, Min: 10e3, Max: 2e6, About: "at that place, as the gauge shows it or absolute; for the boiling point"},
			ambientField,
			elevationField,
		},
		Results: []Field{
			{Name: "density", Dim: quantity.DimDensity},
			{Name: "specific_heat", Dim: quantity.DimSpecificHeat},
			{Name: "viscosity", Dim: quantity.DimViscosity},
			{Name: "thermal_conductivity", Dim: quantity.DimConductivity},
			{Name: "boiling_pressure", Dim: quantity.DimPressure, About: "at this temperature"},
			{Name: "boiling_temperature", Dim: quantity.DimTemperature, About: "at this pressure"},
			{Name: "factor", Dim: quantity.DimWaterFactor, About: "in place of 500"},
		},
		run: runWater,
	}
}

func runWater(in Values) (Values, error) {
	t := in.temperature("temperature")
	p := quantity.Pressure(in.fieldOr("pressure", float64(loopPressure)))
	l, err := hydronic.WaterAt(t, p)
	if err != nil {
		return nil, err
	}
	boiling, err := hydronic.BoilingPressure(t)
	if err != nil {
		return nil, err
	}
	out := Values{"boiling_pressure": float64(boiling)}
	addLiquid(out, l)
	if in.has("pressure") {
		point, err := hydronic.BoilingPoint(p)
		if err == nil { // above 150 °C it is nobody's concern here
			out["boiling_temperature"] = float64(point)
		}
	}
	return out, nil
}

func addLiquid(out Values, l hydronic.Liquid) {
	out["density"] = float64(l.Density)
	out["specific_heat"] = float64(l.SpecificHeat)
	out["viscosity"] = float64(l.Viscosity)
	out["thermal_conductivity"] = float64(l.Conductivity)
	out["factor"] = float64(l.Density) * float64(l.SpecificHeat)
}

func glycol() Calculator {
	return Calculator{
		Name:    "glycol",
		About:   "Freezing point and heat carried by glycol in water. A test with a refractometer tells the true strength.",
		Caution: "Ethylene glycol is poisonous: never where it can reach drinking water.",
		Source:  "memory: ASHRAE Handbook of Fundamentals, chapter 31, and Conde 2011, not seen in print, see package hydronic",
		Example: `{"fluid":"propylene-glycol","volume_share":"40 %","temperature":"120 F"}`,
		Fields: append([]Field{
			{Name: "fluid", Words: fillings[1:]},
			{Name: "temperature", Dim: quantity.DimTemperature, Optional: true, Min: 220, Max: 373.15, About: "for the properties of the liquid"},
		}, concentrationFields()...),
		Results: []Field{
			{Name: "mass_share", Dim: quantity.DimRatio},
			{Name: "freezing_temperature", Dim: quantity.DimTemperature, About: "first ice; slush before it is solid"},
			{Name: "density", Dim: quantity.DimDensity},
			{Name: "specific_heat", Dim: quantity.DimSpecificHeat},
			{Name: "viscosity", Dim: quantity.DimViscosity},
			{Name: "thermal_conductivity", Dim: quantity.DimConductivity},
			{Name: "factor", Dim: quantity.DimWaterFactor, About: "in place of 500"},
			{Name: "heat_over_water", Dim: quantity.DimNumber, About: "heat carried at the same flow and temperature drop, over that of water"},
			{Name: "source", Text: true},
			{Name: "warnings", Text: true},
		},
		run: runGlycol,
	}
}

func runGlycol(in Values) (Values, error) {
	s, err := solutionOf(in)
	if err != nil {
		return nil, err
	}
	ice, err := s.FreezingPoint()
	if err != nil {
		return nil, hydronicError(err)
	}
	out := Values{"mass_share": float64(s.Mass), "freezing_temperature": float64(ice), "source": glycolSource}
	const thin = 0.2 // practice: below some 20 % inhibitors are too thin to protect
	if s.Mass < thin {
		out.warn("So thin a solution may hold too little inhibitor to keep from corroding and growing bacteria.")
	}
	if !in.has("temperature") {
		return out, nil
	}
	t := in.temperature("temperature")
	l, err := s.At(t)
	if err != nil {
		return nil, hydronicError(err)
	}
	addLiquid(out, l)
	if w, err := hydronic.WaterAt(t, loopPressure); err == nil { // none below 0 °C
		out["heat_over_water"] = out.number("factor") / (float64(w.Density) * float64(w.SpecificHeat))
	}
	return out, nil
}

func waterHeat() Calculator {
	return Calculator{
		Name: "water-heat",
		About: "Heat that a flow of water or glycol carries over its temperature drop, or the flow that carries a heat. With the temperatures the true liquid is taken; " +
			"with the drop alone the trade's 500.",
		Source:  "practice: 500 × gpm × drop; published: IAPWS formulations for water, see package hydronic; glycol from memory and marked",
		Example: `{"flow":"6 gpm","supply_temperature":"180 F","return_temperature":"160 F","fluid":"propylene-glycol","volume_share":"30 %"}`,
		Fields: append([]Field{
			{Name: "flow", Dim: quantity.DimLiquidFlow, Optional: true, Either: true, Max: 1, About: "at the mean temperature; either this"},
			{Name: "heat", Dim: quantity.DimHeatFlow, Optional: true, Either: true, Max: 1e7, About: "or this, for the flow that it takes"},
			{Name: "temperature_difference", Dim: quantity.DimTempDiff, Optional: true, Either: true, Min: -100, Max: 100, About: "supply less return; or both temperatures"},
			{Name: "supply_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true},
			{Name: "return_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true},
			{Name: "mean_temperature", Dim: quantity.DimTemperature, Optional: true, About: "of the liquid, with the difference"},
			{Name: "fluid", Words: fillings, Optional: true, About: "water if not given"},
			{Name: "density", Dim: quantity.DimDensity, Optional: true, Min: 500, Max: 1500, About: "from the sheet of the fluid, with the specific heat"},
			{Name: "specific_heat", Dim: quantity.DimSpecificHeat, Optional: true, Min: 1000, Max: 6000},
		}, concentrationFields()...),
		Results: []Field{
			{Name: "heat", Dim: quantity.DimHeatFlow},
			{Name: "flow", Dim: quantity.DimLiquidFlow},
			{Name: "heat_by_500", Dim: quantity.DimHeatFlow, About: "by the trade's factor"},
			{Name: "factor", Dim: quantity.DimWaterFactor, About: "in place of 500"},
			{Name: "temperature_difference", Dim: quantity.DimTempDiff},
			{Name: "source", Text: true},
			{Name: "warnings", Text: true},
		},
		run: runWaterHeat,
	}
}

func runWaterHeat(in Values) (Values, error) {
	d, err := in.difference("temperature_difference", "supply_temperature", "return_temperature")
	if err != nil {
		return nil, err
	}
	rule := mustSI(500, quantity.DimWaterFactor, "Btu/(h gpm F)") // practice: 8.33 lb/gal × 60 min
	out := Values{"temperature_difference": float64(d)}
	factor, err := waterFactor(out, in, d, rule)
	if err != nil {
		return nil, err
	}
	given, err := in.exactlyOne("flow", "heat")
	if err != nil {
		return nil, err
	}
	flow := in.number("flow")
	if given == "heat" {
		if d <= 0 {
			return nil, invalid("temperature_difference", "no flow carries heat without a drop from supply to return")
		}
		flow = in.number("heat") / (factor * d.Kelvin())
	}
	out["factor"], out["flow"] = factor, flow
	out["heat"], out["heat_by_500"] = factor*flow*d.Kelvin(), rule*flow*d.Kelvin()
	const small = 2.8 // K, 5 °F
	if abs := max(d, -d); abs.Kelvin() < small {
		out.warn("A drop this small is hard to measure: two pipe clamps may differ by as much.")
	}
	if d < 0 {
		out.warn("The return is warmer than the supply: pipes or readings swapped, or the loop is being cooled.")
	}
	return out, nil
}

// waterFactor returns density times heat capacity, J/(m³·K), from the best that
// the input gives, or rule.
func waterFactor(out, in Values, d quantity.TempDiff, rule float64) (float64, error) {
	if in.has("density") || in.has("specific_heat") {
		if !in.has("density") || !in.has("specific_heat") {
			return 0, invalid("specific_heat", "density and specific heat go together")
		}
		return in.number("density") * in.number("specific_heat"), nil
	}
	mean := in.temperature("mean_temperature")
	fluid := in.word("fluid")
	switch {
	case in.has("supply_temperature"):
		mean = in.temperature("return_temperature").Add(d / 2)
	case !in.has("mean_temperature") && (fluid == "" || fluid == plainWater):
		out.warn("Without the temperatures the factor is 500, some 2 % high for hot water.")
		return rule, nil
	case !in.has("mean_temperature"):
		return 0, invalid("mean_temperature", "missing: what glycol carries depends on it")
	}
	l, err := loopLiquid(out, in, mean)
	return float64(l.Density) * float64(l.SpecificHeat), err
}

// loopLiquid returns the liquid of the input at t and marks glycol.
func loopLiquid(out, in Values, t quantity.Temperature) (hydronic.Liquid, error) {
	if fluid := in.word("fluid"); fluid == "" || fluid == plainWater {
		if in.has("mass_share") || in.has("volume_share") {
			return hydronic.Liquid{}, invalid("fluid", "a share of which glycol? give the fluid")
		}
		return hydronic.WaterAt(t, loopPressure)
	}
	s, err := solutionOf(in)
	if err != nil {
		return hydronic.Liquid{}, err
	}
	out["source"] = glycolSource
	l, err := s.At(t)
	return l, hydronicError(err)
}

func staticFill() Calculator {
	return Calculator{
		Name: "static-fill",
		About: "Cold fill pressure at the foot of a loop: the column of water to its highest point and a margin to keep air out there. " +
			"Below the relief valve with room for the expansion.",
		Caution: "Never plug, cap or raise a relief valve.",
		Source:  "published: weight of water by IAPWS IF97; practice: margin of 4 to 5 psi",
		Example: `{"height":"16 ft","relief_setting":"30 psi"}`,
		Fields: []Field{
			{Name: "height", Dim: quantity.DimLength, Min: 0, Max: 100, About: "from the gauge to the highest pipe"},
			{Name: "margin", Dim: quantity.DimPressureDiff, Optional: true, Max: 200e3, About: "5 psi if not given"},
			{Name: "relief_setting", Dim: quantity.DimPressureDiff, Optional: true, Min: 50e3, Max: 1e6, About: "of the relief valve, above the air; 30 psi is common"},
		},
		Results: []Field{
			{Name: "fill_pressure", Dim: quantity.DimPressure, About: "cold, at the gauge"},
			{Name: "static", Dim: quantity.DimPressureDiff, About: "of the column alone"},
			{Name: "warnings", Text: true},
		},
		run: func(in Values) (Values, error) {
			l, err := hydronic.WaterAt(quantity.Temperature(fahrenheit(60)), loopPressure)
			if err != nil {
				return nil, err
			}
			column := hydronic.StaticPressure(l, quantity.Length(in.number("height")))
			over := column.Pascal() + in.fieldOr("margin", mustSI(5, quantity.DimPressureDiff, "psi"))
			out := Values{"static": float64(column), "fill_pressure": float64(quantity.PressureDiff(over).Above(StandardPressure))}
			const room = 0.8 // practice: keep a fifth below the relief valve for heating up
			if relief := in.number("relief_setting"); over > room*relief {
				out.warn("Too near the relief valve: it will weep when the loop heats up; never plug or raise a relief valve.")
			}
			return out, nil
		},
	}
}

func expansionTank() Calculator {
	return Calculator{
		Name: "expansion-tank",
		About: "Least size of a diaphragm expansion tank, from the expansion of the filling between cold and hot. " +
			"Set the air of the tank to the fill pressure with no water pressure on it.",
		Caution: "Isolate and drain the tank before its air valve is touched; never plug a relief valve.",
		Source:  "published: a training page on expansion tanks; water by IAPWS IF97; glycol from memory and marked",
		Example: `{"system_volume":"40 gal","hot_temperature":"180 F","fill_pressure":"12 psig","highest_pressure":"28 psig"}`,
		Fields: append([]Field{
			{Name: "system_volume", Dim: quantity.DimVolume, Min: 1e-3, Max: 50},
			{Name: "fill_pressure", Dim: quantity.DimPressure, Min: 50e3, Max: 1.5e6, About: "cold, at the tank"},
			{Name: "highest_pressure", Dim: quantity.DimPressure, Min: 50e3, Max: 2e6, About: "allowed hot, at the tank, at or below the relief valve"},
			{Name: "hot_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true, Min: 273.15, Max: 423.15, About: "mean of the loop; or the factor"},
			{Name: "cold_temperature", Dim: quantity.DimTemperature, Optional: true, Min: 273.15, Max: 423.15, About: "at filling; 40 °F if not given"},
			{Name: "expansion_factor", Dim: quantity.DimRatio, Optional: true, Min: 1e-4, Max: 0.2, About: "from a table, instead of the temperatures"},
			{Name: "fluid", Words: fillings, Optional: true, About: "water if not given"},
			{Name: "pipe", Words: []string{string(hydronic.Steel), string(hydronic.Copper)}, Optional: true, About: "steel if not given"},
			ambientField,
			elevationField,
		}, concentrationFields()...),
		Results: []Field{
			{Name: "tank_volume", Dim: quantity.DimVolume},
			{Name: "accepted_volume", Dim: quantity.DimVolume},
			{Name: "expansion_factor", Dim: quantity.DimRatio},
			{Name: "source", Text: true},
		},
		run: runExpansionTank,
	}
}

func runExpansionTank(in Values) (Values, error) {
	out := Values{}
	factor, err := expansionFactor(out, in)
	if err != nil {
		return nil, err
	}
	accepted := factor * in.number("system_volume")
	tank, err := hydronic.TankVolume(quantity.Volume(accepted), in.pressure("fill_pressure"), in.pressure("highest_pressure"))
	if err != nil {
		return nil, err
	}
	out["expansion_factor"], out["accepted_volume"], out["tank_volume"] = factor, accepted, float64(tank)
	return out, nil
}

func expansionFactor(out, in Values) (float64, error) {
	given, err := in.exactlyOne("hot_temperature", "expansion_factor")
	if err != nil || given == "expansion_factor" {
		return in.number("expansion_factor"), err
	}
	warm, cool := in.temperature("hot_temperature"), quantity.Temperature(in.fieldOr("cold_temperature", fahrenheit(40)))
	if !(warm > cool) {
		return 0, invalid("hot_temperature", "not above the temperature at filling")
	}
	hot, err := loopLiquid(out, in, warm)
	if err != nil {
		return 0, err
	}
	cold, err := loopLiquid(out, in, cool)
	if err != nil {
		return 0, err
	}
	pipe := hydronic.Steel
	if in.has("pipe") {
		pipe = hydronic.Pipe(in.word("pipe"))
	}
	return float64(hydronic.Expansion(cold, hot, pipe, warm.Sub(cool))), nil
}

func pumpHead() Calculator {
	return Calculator{
		Name: "pump-head",
		About: "Head of a circulator: from the run of pipe by the rule of the trade, or from the pressure rise measured across its flanges. " +
			"With the flow, the curve of the pump tells which it is.",
		Source:  "practice: run × 1.5 for fittings × 4 ft in 100 ft; weight of water by IAPWS IF97",
		Example: `{"pipe_run":"150 ft"}`,
		Fields: []Field{
			{Name: "pipe_run", Dim: quantity.DimLength, Optional: true, Either: true, Min: 0.1, Max: 2000, About: "there and back, of the longest loop; either this"},
			{Name: "fitting_multiplier", Dim: quantity.DimRatio, Optional: true, Min: 1, Max: 5, About: "1.5 if not given"},
			{Name: "friction", Dim: quantity.DimRatio, Optional: true, Min: 0.001, Max: 0.2, About: "head lost per length; 4 % if not given"},
			{Name: "pressure_rise", Dim: quantity.DimPressureDiff, Optional: true, Either: true, Min: 1, Max: 500e3, About: "or this, across the flanges"},
			{Name: "temperature", Dim: quantity.DimTemperature, Optional: true, Min: 273.15, Max: 423.15, About: "of the water; 60 °F if not given"},
		},
		Results: []Field{
			{Name: "head", Dim: quantity.DimLength},
			{Name: "pressure_rise", Dim: quantity.DimPressureDiff},
		},
		run: func(in Values) (Values, error) {
			l, err := hydronic.WaterAt(quantity.Temperature(in.fieldOr("temperature", fahrenheit(60))), loopPressure)
			if err != nil {
				return nil, err
			}
			given, err := in.exactlyOne("pipe_run", "pressure_rise")
			if err != nil {
				return nil, err
			}
			const usualFittings, usualFriction = 1.5, 0.04 // practice: rule of the trade
			head := quantity.Length(in.number("pipe_run") * in.fieldOr("fitting_multiplier", usualFittings) * in.fieldOr("friction", usualFriction))
			if given == "pressure_rise" {
				head = hydronic.Head(l, quantity.PressureDiff(in.number(given)))
			}
			return Values{"head": float64(head), "pressure_rise": float64(hydronic.StaticPressure(l, head))}, nil
		},
	}
}
