package calc

import (
	"errors"
	"strings"

	"rung/internal/moistair"
	"rung/internal/quantity"
)

// airProperty is one of the ways to know moist air.
type airProperty struct {
	name  string
	dim   quantity.Dimension
	given func(si float64) moistair.Given
	about string
	usual bool // what instruments of the trade show
}

var airProperties = []airProperty{
	{"dry_bulb", quantity.DimTemperature, func(x float64) moistair.Given { return moistair.DryBulbIs(quantity.Temperature(x)) }, "", true},
	{"wet_bulb", quantity.DimTemperature, func(x float64) moistair.Given { return moistair.WetBulbIs(quantity.Temperature(x)) }, "", true},
	{"relative_humidity", quantity.DimRatio, func(x float64) moistair.Given {
		return moistair.RelativeHumidityIs(quantity.RelativeHumidity(x))
	}, "", true},
	{"dew_point", quantity.DimTemperature, func(x float64) moistair.Given { return moistair.DewPointIs(quantity.Temperature(x)) }, "", true},
	{"humidity_ratio", quantity.DimHumidityRatio, func(x float64) moistair.Given {
		return moistair.HumidityRatioIs(quantity.HumidityRatio(x))
	}, "", false},
	{"enthalpy", quantity.DimAirEnthalpy, func(x float64) moistair.Given {
		return moistair.EnthalpyIs(quantity.SpecificEnthalpy(x))
	}, "; in Btu/lb above dry air at 0 °F, in kJ/kg above 0 °C", false},
	{"specific_volume", quantity.DimSpecificVolume, func(x float64) moistair.Given {
		return moistair.SpecificVolumeIs(quantity.SpecificVolume(x))
	}, "; per mass of dry air", false},
}

// airFields are the fields that give a state of air; prefix tells one air from
// another, such as "entering_".
func airFields(prefix string) []Field {
	var list []Field
	for _, p := range airProperties {
		f := Field{Name: prefix + p.name, Dim: p.dim, Optional: true, Either: p.usual, About: "any two of these" + p.about}
		if p.dim == quantity.DimRatio {
			f.Max = 1
		}
		list = append(list, f)
	}
	return list
}

// airKnown returns the names, with prefix, of the properties given.
func airKnown(in Values, prefix string) []string {
	var list []string
	for _, p := range airProperties {
		if in.has(prefix + p.name) {
			list = append(list, prefix+p.name)
		}
	}
	return list
}

// airState returns the air of the input at the pressure p.
func airState(in Values, prefix string, p quantity.Pressure) (moistair.State, error) {
	known := airKnown(in, prefix)
	switch {
	case len(known) > 2:
		return moistair.State{}, invalid(known[2], "two properties fix the air: leave one of %s out", strings.Join(known, ", "))
	case len(known) < 2:
		missing := prefix + "dry_bulb"
		if len(known) == 1 && known[0] == missing {
			missing = prefix + "wet_bulb"
		}
		return moistair.State{}, invalid(missing, "give two properties of the air, such as dry bulb and wet bulb")
	}
	s, err := moistair.From(airGiven(in, prefix, known[0]), airGiven(in, prefix, known[1]), p)
	return s, airError(err, prefix, known)
}

func airGiven(in Values, prefix, field string) moistair.Given {
	for _, p := range airProperties {
		if prefix+p.name == field {
			return p.given(in.number(field))
		}
	}
	panic("calc: no air property " + field)
}

// airError names the fields of the input in an error of moistair, and prints
// temperatures as thermometers show them.
func airError(err error, prefix string, known []string) error {
	var pair *moistair.PairError
	if errors.As(err, &pair) {
		return invalid(known[1], "%s and %s do not fix the air: %s", known[0], known[1], pair.Why)
	}
	var out *quantity.RangeError
	if !errors.As(err, &out) || out.Name == "pressure" {
		return err
	}
	named := *out
	named.Name = prefix + strings.ReplaceAll(out.Name, " ", "_")
	if out.Unit != "K" {
		return &named
	}
	e := &Error{Kind: OutOfRange, Field: named.Name,
		Message: out.Name + " " + thermometer(out.Value) + " is outside " + thermometer(out.Min) + " to " + thermometer(out.Max)}
	switch {
	case out.Name == "wet bulb" && out.Value > out.Max:
		e.Message += ": a wet bulb is never above the dry bulb; swapped, or the wick is dry"
	case out.Name == "dew point" && out.Value > out.Max:
		e.Message += ": a dew point is never above the dry bulb nor the wet bulb"
	default:
		e.Range = &named
	}
	return e
}

// thermometer prints a temperature in K as "60.0 °F (15.6 °C)".
func thermometer(T float64) string {
	f, c := mustUnit(quantity.DimTemperature, "F"), mustUnit(quantity.DimTemperature, "C")
	return f.Format(T, StandardPressure, 1) + " (" + c.Format(T, StandardPressure, 1) + ")"
}

// airResults describe what airValues gives.
func airResults(prefix string) []Field {
	list := []Field{
		{Name: "dry_bulb", Dim: quantity.DimTemperature},
		{Name: "wet_bulb", Dim: quantity.DimTemperature},
		{Name: "relative_humidity", Dim: quantity.DimRatio},
		{Name: "dew_point", Dim: quantity.DimTemperature},
		{Name: "humidity_ratio", Dim: quantity.DimHumidityRatio},
		{Name: "enthalpy", Dim: quantity.DimSpecificEnthalpy, USValue: prefix + "enthalpy-ip",
			About: "per mass of dry air; zero for dry air at 0 °C, or in US units at 0 °F"},
		{Name: "specific_volume", Dim: quantity.DimSpecificVolume, About: "per mass of dry air"},
	}
	for i := range list {
		list[i].Name = prefix + list[i].Name
	}
	return list
}

// addAir puts the properties of s among the results.
func addAir(out Values, prefix string, s moistair.State) {
	out[prefix+"dry_bulb"] = float64(s.DryBulb)
	out[prefix+"wet_bulb"] = float64(s.WetBulb)
	out[prefix+"relative_humidity"] = float64(s.RelativeHumidity)
	out[prefix+"dew_point"] = float64(s.DewPoint)
	out[prefix+"humidity_ratio"] = float64(s.HumidityRatio)
	out[prefix+"enthalpy"] = float64(s.Enthalpy)
	out[prefix+"enthalpy-ip"] = enthalpyIP(s.DryBulb, s.HumidityRatio)
	out[prefix+"specific_volume"] = float64(s.SpecificVolume)
}

// pressureFields give the air pressure of the place.
func pressureFields() []Field {
	return []Field{
		{Name: "elevation", Dim: quantity.DimLength, Optional: true, Either: true, Min: lowestSite, Max: highestSite,
			About: "above sea level, in the standard atmosphere; sea level if not given"},
		{Name: "pressure", Dim: quantity.DimPressure, Optional: true, USUnit: "inHg", About: "of the air, instead of the elevation"},
	}
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

// fieldOr returns the number of a field, or other if it was not given.
func (v Values) fieldOr(name string, other float64) float64 {
	if v.has(name) {
		return v.number(name)
	}
	return other
}

// warn adds a sentence to the warnings of an answer.
func (v Values) warn(text string) {
	list, _ := v["warnings"].([]string)
	v["warnings"] = append(list, text)
}

// difference returns a temperature difference given as such or as its two ends.
func (v Values) difference(diff, warm, cold string) (quantity.TempDiff, error) {
	ends := v.has(warm) && v.has(cold)
	switch {
	case v.has(diff) && (v.has(warm) || v.has(cold)):
		return 0, invalid(diff, "give the difference or both temperatures, not both")
	case v.has(diff):
		return quantity.TempDiff(v.number(diff)), nil
	case !ends:
		return 0, invalid(diff, "give %s, or %s and %s", diff, warm, cold)
	}
	return v.temperature(warm).Sub(v.temperature(cold)), nil
}
