package calc

import (
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

func glide() Calculator {
	return Calculator{
		Name:  "glide",
		Title: "Bubble, dew and glide of a blend",
		About: "Where a blend begins and ends to boil, and which of the two to count from: superheat from the dew temperature, subcooling from the bubble temperature. " +
			"The evaporator works between the two: its mean is what a pipe in the middle of the coil, and a thermostat chart, correspond to.",
		Source:  "published: the equation of state of each refrigerant and the mixing rules, see package refrigerant",
		Example: `{"refrigerant":"R-407C","pressure":"70 psig","liquid_temperature":"95 F"}`,
		Fields: []Field{
			refrigerantField(),
			{Name: "pressure", Dim: quantity.DimPressure, Optional: true, Either: true, About: "of boiling or condensing"},
			{Name: "temperature", Dim: quantity.DimTemperature, Optional: true, Either: true, About: "on the line named, instead of the pressure"},
			{Name: "line", Words: []string{dewLine.name, bubbleLine.name}, Optional: true, About: "on which the temperature is given; dew if not given"},
			{Name: "liquid_temperature", Dim: quantity.DimTemperature, Optional: true, About: "before the metering device, for what enters the evaporator"},
			equationField, elevationField, ambientField,
		},
		Results: []Field{
			{Name: "bubble_temperature", Dim: quantity.DimTemperature, About: "count subcooling from this"},
			{Name: "dew_temperature", Dim: quantity.DimTemperature, About: "count superheat from this"},
			{Name: "mean_temperature", Dim: quantity.DimTemperature, About: "halfway between the two: of a condenser"},
			{Name: "glide", Dim: quantity.DimTempDiff},
			{Name: "pressure", Dim: quantity.DimPressure},
			{Name: "evaporator_inlet_temperature", Dim: quantity.DimTemperature, About: "some of the liquid has boiled on the way in, so it is above the bubble temperature"},
			{Name: "evaporator_inlet_quality", Dim: quantity.DimRatio, About: "share of vapour by mass"},
			{Name: "evaporator_mean_temperature", Dim: quantity.DimTemperature, About: "halfway between inlet and dew temperature"},
			{Name: "superheat_line", Text: true},
			{Name: "subcooling_line", Text: true},
			{Name: "note", Text: true},
			warningsField,
		},
		run: runGlide,
	}
}

func runGlide(in Values) (Values, error) {
	f, err := fluidOf(in)
	if err != nil {
		return nil, err
	}
	p, err := glidePressure(f, in)
	if err != nil {
		return nil, err
	}
	s, err := f.SaturationAtPressure(p)
	if err != nil {
		return nil, err
	}
	d := s.DewTemp.Sub(s.BubbleTemp)
	out := Values{
		"bubble_temperature": float64(s.BubbleTemp), "dew_temperature": float64(s.DewTemp), "glide": float64(d),
		"mean_temperature": float64(s.BubbleTemp+s.DewTemp) / 2, "pressure": float64(p),
		"superheat_line": dewLine.name, "subcooling_line": bubbleLine.name,
	}
	if d <= glideToTell {
		out["note"] = "Bubble and dew temperature are the same to any clamp: a chart with one column serves for both."
	} else {
		out["note"] = "Superheat counted from the bubble column, or subcooling from the dew column, is wrong by the glide: " + bothSteps(float64(d)) + "."
	}
	if err := evaporatorInlet(f, in, out, s); err != nil {
		return nil, err
	}
	return out.withDoubts(doubtOf(f)...), nil
}

// glidePressure returns the pressure of the input, given or by the temperature
// on one of the lines.
func glidePressure(f *refrigerant.Fluid, in Values) (quantity.Pressure, error) {
	given, err := in.exactlyOne("pressure", "temperature")
	if err != nil || given == "pressure" {
		if err == nil && in.has("line") {
			return 0, invalid("line", "says on which line a temperature is given; with a pressure it has no meaning")
		}
		return in.pressure("pressure"), err
	}
	s, err := f.SaturationAtTemp(in.temperature(given))
	if in.word("line") == bubbleLine.name {
		return s.BubblePressure, err
	}
	return s.DewPressure, err
}

// evaporatorInlet adds what liquid of the given temperature becomes at the
// pressure of s, if it is given.
func evaporatorInlet(f *refrigerant.Fluid, in, out Values, s refrigerant.Saturation) error {
	if !in.has("liquid_temperature") {
		return nil
	}
	const field = "liquid_temperature"
	liquid, err := f.SaturationAtTemp(in.temperature(field))
	if err != nil {
		return inField(err, field)
	}
	if liquid.LiquidEnthalpy <= s.LiquidEnthalpy || liquid.LiquidEnthalpy >= s.VapourEnthalpy {
		return invalid(field, "such liquid does not boil on its way to this pressure: not an evaporator")
	}
	inlet, err := f.StateAtEnthalpy(quantity.Pressure(out.number("pressure")), liquid.LiquidEnthalpy)
	if err != nil {
		return inField(err, field)
	}
	out["evaporator_inlet_temperature"] = float64(inlet.Temperature)
	out["evaporator_inlet_quality"] = inlet.Quality
	out["evaporator_mean_temperature"] = float64(inlet.Temperature+s.DewTemp) / 2
	return nil
}
