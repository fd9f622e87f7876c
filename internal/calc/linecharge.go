package calc

import (
	"fmt"
	"math"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

func lineCharge() Calculator {
	return Calculator{
		Name:  "line-charge",
		Title: "Charge for a longer line set",
		About: "Refrigerant that a line set holds beyond what the factory charge covers, from the size of the pipe and the density of the liquid. " +
			"The nameplate and the maker's allowance per foot come first: give it and it is used.",
		Source: "published: mass is volume times density, density by the equation of state, see package refrigerant; " +
			"memory: inside diameters by ASTM B280; practice: what makers print per foot",
		Caution: lineCaution,
		Example: `{"refrigerant":"R-410A","liquid_line":"3/8","length":"45 ft","covered_length":"15 ft","suction_line":"3/4"}`,
		Fields: []Field{
			eitherOf(refrigerantField()),
			eitherOf(tubeField("liquid_line", "liquid line")),
			{Name: "length", Dim: quantity.DimLength, Min: 0, Max: 200, About: "of the line set, one way"},
			{Name: "covered_length", Dim: quantity.DimLength, Optional: true, Min: 0, Max: 200, About: "that the factory charge covers, by the nameplate, often 15 or 25 ft; none if not given"},
			{Name: "allowance_per_foot", Dim: quantity.DimMass, Optional: true, Min: 1e-6, Max: 0.5, About: "what the maker adds per foot; then the charge follows from it"},
			optional(tubeField("suction_line", "suction line")),
			{Name: "liquid_temperature", Dim: quantity.DimTemperature, Optional: true, UsualSI: "38 °C", About: "of the liquid line; 100 °F if not given"},
			{Name: "liquid_pressure", Dim: quantity.DimPressure, Optional: true, About: "at the liquid port; saturated liquid of the temperature if not given"},
			{Name: "saturated_suction_temperature", Dim: quantity.DimTemperature, Optional: true, UsualSI: "7 °C", About: "for the suction line; 45 °F if not given"},
			insideField, elevationField, ambientField,
		},
		Results: []Field{
			{Name: "added_charge", Dim: quantity.DimMass, About: "for the length beyond what is covered"},
			{Name: "added_charge_grams", Dim: quantity.DimMass, USUnit: "g"},
			{Name: "charge_by_density", Dim: quantity.DimMass, About: "what the pipe holds on that length, where the maker's allowance gives the charge"},
			{Name: "liquid_per_foot", Dim: quantity.DimMass},
			{Name: "suction_per_foot", Dim: quantity.DimMass},
			{Name: "usual_per_foot", Dim: quantity.DimMass, About: "what makers print for this liquid line, suction line in it; practice"},
			{Name: "liquid_density", Dim: quantity.DimDensity},
			{Name: "vapour_density", Dim: quantity.DimDensity},
			warningsField,
		},
		run: runLineCharge,
	}
}

// usualPerFoot is what makers print for 3/8 in. liquid line.
//
// practice: 0.6 oz per foot for R-410A and R-22, suction line in it; other
// sizes by the inside area.
var usualPerFoot = map[string]float64{"R-410A": 0.6, "R-22": 0.6} // oz

func runLineCharge(in Values) (Values, error) {
	more := in.number("length") - in.or("covered_length", 0)
	out := Values{}
	var list []string
	if in.has("liquid_line") || in.has("inside_diameter") || !in.has("allowance_per_foot") {
		perMetre, err := heldPerMetre(in, out)
		if err != nil {
			return nil, err
		}
		out["added_charge"] = more * perMetre
		list = lineChargeDoubts(in, perMetre*foot, more)
	}
	if in.has("allowance_per_foot") {
		if x, ok := out.Number("added_charge"); ok {
			out["charge_by_density"] = x
		}
		out["added_charge"] = more / foot * in.number("allowance_per_foot")
	}
	if more < 0 {
		list = append(list, "The line set is shorter than the factory charge covers: the sum is what is too much. Whether to take it out is for the maker's instructions to say.")
	}
	out["added_charge_grams"] = out["added_charge"]
	return out.withDoubts(list...), nil
}

// heldPerMetre returns what a metre of the line set holds in kg, and adds to
// out what it is made of.
func heldPerMetre(in, out Values) (float64, error) {
	if !in.has("refrigerant") {
		return 0, invalid("refrigerant", "missing: give it, or the maker's allowance per foot")
	}
	f, err := refrigerant.Lookup(in.word("refrigerant"))
	if err != nil {
		return 0, err
	}
	pipe, err := pipeOf(in, "liquid_line")
	if err != nil {
		return 0, err
	}
	liquid, err := liquidDensity(f, in)
	if err != nil {
		return 0, err
	}
	perMetre := pipe.area() * liquid
	out["liquid_density"], out["liquid_per_foot"] = liquid, perMetre*foot
	if usual, ok := usualPerFoot[f.Name()]; ok {
		ref, err := tubeOf(Values{"liquid_line": "3/8"}, "liquid_line")
		if err != nil {
			return 0, err
		}
		out["usual_per_foot"] = mustSI(usual, quantity.DimMass, "oz") * pipe.area() / ref.area()
	}
	if !in.has("suction_line") {
		return perMetre, nil
	}
	suction, err := tubeOf(in, "suction_line")
	if err != nil {
		return 0, err
	}
	s, err := f.SaturationAtTemp(quantity.Temperature(in.or("saturated_suction_temperature", fahrenheit(45))))
	if err != nil {
		return 0, inField(err, "saturated_suction_temperature")
	}
	vapour := float64(s.VapourDensity)
	out["vapour_density"], out["suction_per_foot"] = vapour, suction.area()*vapour*foot
	return perMetre + suction.area()*vapour, nil
}

// liquidDensity returns the density of the liquid line in kg/m³: at pressure
// and temperature, or saturated at either.
func liquidDensity(f *refrigerant.Fluid, in Values) (float64, error) {
	t := quantity.Temperature(in.or("liquid_temperature", fahrenheit(100)))
	if !in.has("liquid_pressure") {
		s, err := f.SaturationAtTemp(t)
		return float64(s.LiquidDensity), inField(err, "liquid_temperature")
	}
	if !in.has("liquid_temperature") {
		s, err := f.SaturationAtPressure(in.pressure("liquid_pressure"))
		return float64(s.LiquidDensity), inField(err, "liquid_pressure")
	}
	s, err := liquidAt(f, in.pressure("liquid_pressure"), t)
	return float64(s.Density), err
}

// lineChargeDoubts says where the sum is not to be trusted; perFoot is what a
// foot holds in kg.
func lineChargeDoubts(in Values, perFoot, more float64) []string {
	f, err := refrigerant.Lookup(in.word("refrigerant"))
	if err != nil {
		return nil
	}
	list := doubtOf(f)
	if w, ok := flammableDoubt(f); ok && more > 0 {
		list = append(list, w)
	}
	const far = 0.25 // practice: makers' figures hold the suction line too and are rounded
	if ratio := in.number("allowance_per_foot") / perFoot; math.Abs(ratio-1) > far {
		list = append(list, fmt.Sprintf("The allowance given is %.0f %% of what these pipes hold by density: check its unit, the size of the pipe and the refrigerant.", 100*ratio))
	}
	return list
}
