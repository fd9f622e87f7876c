package calc

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"rung/internal/moistair"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// The standard atmosphere is given between these elevations, in m.
//
// published: see moistair.PressureAtElevation.
const (
	lowestSite  = -500
	highestSite = 11000
)

// elevationField is the other way to say the air pressure at the gauge.
var elevationField = Field{Name: "elevation", Dim: quantity.DimLength, Optional: true, Either: true, Min: lowestSite, Max: highestSite,
	About: "of the site above sea level, for gauge readings; sea level if not given"}

// checkSite refuses an air pressure given twice, or an elevation beyond the
// standard atmosphere.
func checkSite(in Values) error {
	if !in.has("elevation") {
		return nil
	}
	if in.has("ambient_pressure") {
		return invalid("elevation", "give the air pressure or the elevation, not both")
	}
	_, err := moistair.PressureAtElevation(quantity.Length(in.number("elevation")))
	return err
}

// doubtOf says what is not vouched for in the properties of f.
func doubtOf(f *refrigerant.Fluid) []string {
	if pairs := f.Estimated(); len(pairs) > 0 {
		return []string{"How " + strings.Join(pairs, ", ") + " mix is not published; it is estimated from a like pair, so these values are less sure than others."}
	}
	return nil
}

// inField names the field at fault in an error of a deeper function.
func inField(err error, field string) error {
	var re *quantity.RangeError
	if errors.As(err, &re) {
		named := *re
		named.Name = field
		return &named
	}
	return err
}

func refrigerantChartCalculators() []Calculator {
	return []Calculator{pressureTemperature(), pressureEnthalpy(), compositionShift()}
}

// mostRows is the longest table made: ten printed pages.
const mostRows = 400

func pressureTemperature() Calculator {
	return Calculator{
		Name:    "pressure-temperature",
		Title:   "Pressure-temperature chart",
		About:   "Saturation pressures over a range of temperatures, to print: bubble for subcooling, dew for superheat.",
		Source:  "published: the equation of state of each refrigerant, see package refrigerant",
		Example: `{"refrigerant":"R-410A","from":"-40 F","to":"150 F","step":"5 F"}`,
		Fields: []Field{
			refrigerantField(),
			{Name: "from", Dim: quantity.DimTemperature, Optional: true, UsualSI: "-40 °C", About: "lowest temperature; -40 °F if not given"},
			{Name: "to", Dim: quantity.DimTemperature, Optional: true, UsualSI: "65 °C", About: "highest temperature; 150 °F if not given"},
			{Name: "step", Dim: quantity.DimTempDiff, Optional: true, UsualSI: "2.5 K", Min: 0.1 * fahrenheitDegree, Max: 100 * fahrenheitDegree, About: "from row to row; 5 °F if not given"},
			elevationField,
			ambientField,
		},
		Results: []Field{
			{Name: "rows", Columns: []Field{
				{Name: "temperature", Dim: quantity.DimTemperature},
				{Name: "bubble_pressure", Dim: quantity.DimPressure, About: "liquid line: subcooling"},
				{Name: "dew_pressure", Dim: quantity.DimPressure, About: "suction line: superheat"},
			}},
			{Name: "note", Text: true, About: "where the saturation line ends, if the range reaches beyond it"},
			{Name: "warnings", Text: true},
			{Name: "critical_temperature", Dim: quantity.DimTemperature},
			{Name: "critical_pressure", Dim: quantity.DimPressure},
			{Name: "ambient_pressure", Dim: quantity.DimPressure, USUnit: "psia", About: "to which gauge pressures refer"},
		},
		run: runPressureTemperature,
	}
}

func runPressureTemperature(in Values) (Values, error) {
	f, err := refrigerant.Lookup(in.word("refrigerant"))
	if err != nil {
		return nil, err
	}
	from, to, step := in.or("from", fahrenheit(-40)), in.or("to", fahrenheit(150)), in.or("step", 5*fahrenheitDegree)
	if to < from {
		return nil, invalid("to", "lower than the lowest temperature")
	}
	const slack = 1e-9 // of a conversion, so that the last step counts
	count := int(math.Floor((to-from)/step+slack)) + 1
	if count > mostRows {
		return nil, invalid("step", "that makes %d rows; a table has at most %d: take a longer step or a shorter range", count, mostRows)
	}
	lo, hi := f.SaturationRange()
	rows := []Values{}
	for i := range count {
		t := quantity.Temperature(from + float64(i)*step)
		if t < lo || t > hi {
			continue
		}
		s, err := f.SaturationAtTemp(t)
		if err != nil {
			return nil, err
		}
		rows = append(rows, Values{"temperature": float64(t), "bubble_pressure": float64(s.BubblePressure), "dew_pressure": float64(s.DewPressure)})
	}
	if len(rows) == 0 {
		field, value := "from", from
		if from < float64(lo) {
			field, value = "to", to
		}
		return nil, &quantity.RangeError{Op: "pressure-temperature", Name: field, Value: value, Min: float64(lo), Max: float64(hi), Unit: "K"}
	}
	critical, criticalPressure := f.Critical()
	out := Values{"rows": rows, "critical_temperature": float64(critical), "critical_pressure": float64(criticalPressure), "ambient_pressure": float64(Ambient(in))}
	if doubts := doubtOf(f); len(doubts) > 0 {
		out["warnings"] = doubts
	}
	if note := lineEnds(f, from, to); note != "" {
		out["note"] = note
	}
	return out, nil
}

// lineEnds says where the saturation line ends if the temperatures from and to,
// in K, reach beyond it.
func lineEnds(f *refrigerant.Fluid, from, to float64) string {
	lo, hi := f.SaturationRange()
	critical, _ := f.Critical()
	note := ""
	if to > float64(hi) {
		note = fmt.Sprintf("No rows above %s: at %s, the critical temperature of %s, liquid and vapour become one, and there is no saturation pressure beyond.",
			bothDegrees(float64(hi)), bothDegrees(float64(critical)), f.Name())
	}
	if from < float64(lo) {
		if note != "" {
			note += " "
		}
		note += fmt.Sprintf("No rows below %s, the lowest temperature for which the saturation of %s is known.", bothDegrees(float64(lo)), f.Name())
	}
	return note
}

// bothDegrees prints a temperature in K for readers of either system.
func bothDegrees(kelvin float64) string {
	return fmt.Sprintf("%.1f °F (%.1f °C)", inFahrenheit(kelvin), inCelsius(kelvin))
}

func inCelsius(kelvin float64) float64 { return mustOf(kelvin, quantity.DimTemperature, "C") }
