package calc

import (
	"fmt"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

func refrigerantField() Field {
	return Field{Name: "refrigerant", Words: refrigerant.Names(), Loose: true,
		About: "as on the nameplate; or a composition by mass, such as R-32/125 (50/50)"}
}

// The words of equationField.
const (
	ownEquation = "own"
	mixingRules = "mixing-rules"
)

var equationField = Field{Name: "equation", Words: []string{ownEquation, mixingRules}, Optional: true,
	About: "of a blend that has an equation of its own: that, or the mixing rules of its parts; its own if not given"}

var ambientField = Field{Name: "ambient_pressure", Dim: quantity.DimPressure, Optional: true, Min: 50e3, Max: 120e3,
	About: "air pressure at the gauge; sea level if not given"}

// warningsField is the result that holds what makes the others doubtful.
var warningsField = Field{Name: "warnings", Text: true}

func refrigerantCalculators() []Calculator {
	return []Calculator{
		saturation(), state(), superheat(), subcooling(), targetSuperheat(), glide(),
		lineCharge(), lineVelocity(), suctionLine(), liquidLine(),
		standingPressure(), compressionRatio(), condenserSplit(),
		nitrogenPressure(), recoveryCylinder(), flammableCharge(),
	}
}

// fluidOf returns the refrigerant of the input, by the equation it asks for.
func fluidOf(in Values) (*refrigerant.Fluid, error) {
	f, err := refrigerant.Lookup(in.word("refrigerant"))
	if err != nil || in.word("equation") != mixingRules || len(f.Composition()) == 1 {
		return f, err
	}
	return refrigerant.Blend(in.word("refrigerant"))
}

// withDoubts adds the warnings, if there are any.
func (v Values) withDoubts(list ...string) Values {
	if len(list) > 0 {
		v["warnings"] = list
	}
	return v
}

func saturation() Calculator {
	return Calculator{
		Name:   "saturation",
		About:  "Properties of saturated liquid and vapour at a temperature or at a pressure.",
		Source: "published: the equation of state of each refrigerant, see package refrigerant",
		Fields: []Field{
			refrigerantField(),
			{Name: "temperature", Dim: quantity.DimTemperature, Optional: true, About: "either this"},
			{Name: "pressure", Dim: quantity.DimPressure, Optional: true, About: "or this"},
			equationField,
			elevationField,
			ambientField,
		},
		Results: []Field{
			{Name: "bubble_temperature", Dim: quantity.DimTemperature},
			{Name: "dew_temperature", Dim: quantity.DimTemperature},
			{Name: "bubble_pressure", Dim: quantity.DimPressure},
			{Name: "dew_pressure", Dim: quantity.DimPressure},
			{Name: "liquid_density", Dim: quantity.DimDensity},
			{Name: "vapour_density", Dim: quantity.DimDensity},
			{Name: "liquid_enthalpy", Dim: quantity.DimSpecificEnthalpy},
			{Name: "vapour_enthalpy", Dim: quantity.DimSpecificEnthalpy},
			{Name: "liquid_entropy", Dim: quantity.DimSpecificEntropy},
			{Name: "vapour_entropy", Dim: quantity.DimSpecificEntropy},
			warningsField,
		},
		run: runSaturation,
	}
}

func runSaturation(in Values) (Values, error) {
	f, err := fluidOf(in)
	if err != nil {
		return nil, err
	}
	given, err := in.exactlyOne("temperature", "pressure")
	if err != nil {
		return nil, err
	}
	var s refrigerant.Saturation
	if given == "temperature" {
		s, err = f.SaturationAtTemp(in.temperature(given))
	} else {
		s, err = f.SaturationAtPressure(in.pressure(given))
	}
	if err != nil {
		return nil, err
	}
	return Values{
		"bubble_temperature": float64(s.BubbleTemp),
		"dew_temperature":    float64(s.DewTemp),
		"bubble_pressure":    float64(s.BubblePressure),
		"dew_pressure":       float64(s.DewPressure),
		"liquid_density":     float64(s.LiquidDensity),
		"vapour_density":     float64(s.VapourDensity),
		"liquid_enthalpy":    float64(s.LiquidEnthalpy),
		"vapour_enthalpy":    float64(s.VapourEnthalpy),
		"liquid_entropy":     float64(s.LiquidEntropy),
		"vapour_entropy":     float64(s.VapourEntropy),
	}.withDoubts(doubtOf(f)...), nil
}

func state() Calculator {
	const two = "two of these five, in a pair that fixes a state"
	return Calculator{
		Name: "state",
		About: "Properties of liquid, vapour or both at a pressure with a temperature, an enthalpy or an entropy, " +
			"or at a temperature with a density. A pressure and a temperature fix one phase only.",
		Source: "published: the equation of state of each refrigerant, see package refrigerant",
		Fields: []Field{
			refrigerantField(),
			{Name: "pressure", Dim: quantity.DimPressure, Optional: true, Either: true, About: two},
			{Name: "temperature", Dim: quantity.DimTemperature, Optional: true, Either: true, About: two},
			{Name: "enthalpy", Dim: quantity.DimSpecificEnthalpy, Optional: true, About: "counted from 200 kJ/kg for liquid at 0 °C; with a pressure"},
			{Name: "entropy", Dim: quantity.DimSpecificEntropy, Optional: true, About: "counted from 1 kJ/(kg·K) for the same; with a pressure"},
			{Name: "density", Dim: quantity.DimDensity, Optional: true, About: "with a temperature"},
			equationField,
			elevationField,
			ambientField,
		},
		Results: []Field{
			{Name: "phase", Text: true},
			{Name: "pressure", Dim: quantity.DimPressure},
			{Name: "temperature", Dim: quantity.DimTemperature},
			{Name: "quality", Dim: quantity.DimRatio, About: "share of the mass that is vapour, of two phases together"},
			{Name: "density", Dim: quantity.DimDensity},
			{Name: "enthalpy", Dim: quantity.DimSpecificEnthalpy},
			{Name: "entropy", Dim: quantity.DimSpecificEntropy},
			{Name: "heat_capacity", Dim: quantity.DimSpecificHeat, About: "of one phase"},
			{Name: "speed_of_sound", Dim: quantity.DimSpeed, About: "of one phase"},
			warningsField,
		},
		run: runState,
	}
}

func runState(in Values) (Values, error) {
	f, err := fluidOf(in)
	if err != nil {
		return nil, err
	}
	s, err := stateByPair(f, in)
	if err != nil {
		return nil, err
	}
	out := Values{
		"phase":       string(s.Phase),
		"pressure":    float64(s.Pressure),
		"temperature": float64(s.Temperature),
		"density":     float64(s.Density),
		"enthalpy":    float64(s.Enthalpy),
		"entropy":     float64(s.Entropy),
	}
	if s.Phase == refrigerant.TwoPhase {
		out["quality"] = s.Quality
	} else {
		out["heat_capacity"], out["speed_of_sound"] = float64(s.HeatCapacity), float64(s.SpeedOfSound)
	}
	return out.withDoubts(doubtOf(f)...), nil
}

// stateByPair returns the state that the two given properties fix.
func stateByPair(f *refrigerant.Fluid, in Values) (refrigerant.Full, error) {
	given := ""
	for _, name := range []string{"pressure", "temperature", "enthalpy", "entropy", "density"} {
		if in.has(name) {
			given += " " + name
		}
	}
	p, t := in.pressure("pressure"), in.temperature("temperature")
	switch given {
	case " pressure temperature":
		s, err := f.StateAt(p, t)
		return refrigerant.Full{State: s, Pressure: p, Temperature: t}, err
	case " pressure enthalpy":
		return f.StateAtEnthalpy(p, quantity.SpecificEnthalpy(in.number("enthalpy")))
	case " pressure entropy":
		return f.StateAtEntropy(p, quantity.SpecificEntropy(in.number("entropy")))
	case " temperature density":
		return f.StateAtDensity(t, quantity.Density(in.number("density")))
	}
	missing := "pressure"
	if in.has("pressure") || in.has("density") {
		missing = "temperature"
	}
	return refrigerant.Full{}, invalid(missing,
		"give a pressure with a temperature, an enthalpy or an entropy, or a temperature with a density, and nothing else")
}

// lineFields are what superheat and subcooling need: the line temperature, and
// either refrigerant and pressure or the saturation temperature itself.
func lineFields() []Field {
	refrigerant := refrigerantField()
	refrigerant.Optional = true
	return []Field{
		refrigerant,
		{Name: "pressure", Dim: quantity.DimPressure, Optional: true, About: "at the port of this line; with the refrigerant"},
		{Name: "saturation_temperature", Dim: quantity.DimTemperature, Optional: true, About: "instead of refrigerant and pressure"},
		{Name: "line_temperature", Dim: quantity.DimTemperature, About: "pipe temperature next to the port"},
		equationField,
		elevationField,
		ambientField,
	}
}

// lineResults are what superheat and subcooling give beside themselves.
func lineResults() []Field {
	return []Field{
		{Name: "saturation_temperature", Dim: quantity.DimTemperature},
		{Name: "glide", Dim: quantity.DimTempDiff, About: "dew less bubble temperature at the pressure"},
		{Name: "note", Text: true, About: "which line of a blend is counted from"},
		{Name: "warning", Text: true},
		warningsField,
	}
}

// line is one of the two lines between which a refrigerant boils.
type line struct {
	name, other string
	at          func(refrigerant.Saturation) quantity.Temperature
}

var (
	dewLine    = line{"dew", "bubble", func(s refrigerant.Saturation) quantity.Temperature { return s.DewTemp }}
	bubbleLine = line{"bubble", "dew", func(s refrigerant.Saturation) quantity.Temperature { return s.BubbleTemp }}
)

// glideToTell is the glide in K below which nobody needs to ask for the line:
// less than a clamp resolves.
const glideToTell = 0.5

// saturationOf returns the saturation temperature of the input on the line l,
// and what else there is to say of it.
func saturationOf(in Values, l line) (quantity.Temperature, Values, error) {
	out := Values{}
	given, err := in.exactlyOne("pressure", "saturation_temperature")
	if err != nil || given == "saturation_temperature" {
		return in.temperature("saturation_temperature"), out, err
	}
	if !in.has("refrigerant") {
		return 0, nil, invalid("refrigerant", "missing: a pressure says nothing without the refrigerant")
	}
	f, err := fluidOf(in)
	if err != nil {
		return 0, nil, err
	}
	s, err := f.SaturationAtPressure(in.pressure("pressure"))
	if err != nil {
		return 0, nil, err
	}
	d := s.DewTemp.Sub(s.BubbleTemp)
	out["glide"] = float64(d)
	if d > glideToTell {
		out["note"] = fmt.Sprintf("Counted from the %s line. %s glides by %s at this pressure; from the %s line the answer would be off by that much.",
			l.name, f.Name(), bothSteps(float64(d)), l.other)
	}
	return l.at(s), out.withDoubts(doubtOf(f)...), nil
}

// bothSteps prints a difference of temperatures in K for readers of either
// system.
func bothSteps(kelvin float64) string {
	return fmt.Sprintf("%.1f °F (%.1f K)", kelvin/fahrenheitDegree, kelvin)
}

func superheat() Calculator {
	return Calculator{
		Name:    "superheat",
		About:   "Suction line temperature above the dew temperature at the suction pressure.",
		Source:  "practice: definition; dew line for a blend",
		Fields:  lineFields(),
		Results: append([]Field{{Name: "superheat", Dim: quantity.DimTempDiff}}, lineResults()...),
		run: func(in Values) (Values, error) {
			sat, out, err := saturationOf(in, dewLine)
			if err != nil {
				return nil, err
			}
			d := in.temperature("line_temperature").Sub(sat)
			out["superheat"], out["saturation_temperature"] = float64(d), float64(sat)
			return withDoubt(out, d,
				"the line reads colder than saturated vapour: the gauge, the clamp or the refrigerant is not what it seems, or the reading was not steady"), nil
		},
	}
}

func subcooling() Calculator {
	return Calculator{
		Name:    "subcooling",
		About:   "Liquid line temperature below the bubble temperature at the liquid pressure.",
		Source:  "practice: definition; bubble line for a blend",
		Fields:  lineFields(),
		Results: append([]Field{{Name: "subcooling", Dim: quantity.DimTempDiff}}, lineResults()...),
		run: func(in Values) (Values, error) {
			sat, out, err := saturationOf(in, bubbleLine)
			if err != nil {
				return nil, err
			}
			d := sat.Sub(in.temperature("line_temperature"))
			out["subcooling"], out["saturation_temperature"] = float64(d), float64(sat)
			return withDoubt(out, d,
				"the line reads warmer than saturated liquid: flash gas, or the gauge, the clamp or the refrigerant is not what it seems"), nil
		},
	}
}

// withDoubt adds a warning when a difference that should not be negative is.
func withDoubt(out Values, d quantity.TempDiff, warning string) Values {
	if d < 0 {
		out["warning"] = warning
	}
	return out
}

func targetSuperheat() Calculator {
	return Calculator{
		Name: "target-superheat",
		About: "Superheat at which a fixed-orifice air conditioner is rightly charged, by the common rule (3 wet bulb − 80 − outdoor) / 2 in °F. " +
			"The charging chart of the unit comes first.",
		Source: "practice: the standing rule of the trade; not usable below 5 °F (published: California Residential Appendix RA3.2, 2008)",
		Fields: []Field{
			{Name: "indoor_wet_bulb", Dim: quantity.DimTemperature, Min: fahrenheit(30), Max: fahrenheit(90), About: "return air wet bulb"},
			{Name: "outdoor_dry_bulb", Dim: quantity.DimTemperature, Min: fahrenheit(30), Max: fahrenheit(130), About: "air entering the outdoor unit"},
		},
		Results: []Field{
			{Name: "target_superheat", Dim: quantity.DimTempDiff},
			{Name: "usable", Bool: true},
			{Name: "warning", Text: true},
		},
		run: runTargetSuperheat,
	}
}

func runTargetSuperheat(in Values) (Values, error) {
	const (
		usableFrom  = 5  // °F; published: RA3.2, 2008: below it no valid test
		coolOutdoor = 55 // °F; published: RA3.2, 2008: below it weigh in
		hotOutdoor  = 115
		lowWet      = 50 // °F; memory: the table of target superheat in RA3.2 ends at these three
		highWet     = 76
	)
	wetBulb := inFahrenheit(in.number("indoor_wet_bulb"))
	outdoor := inFahrenheit(in.number("outdoor_dry_bulb"))
	target := (3*wetBulb - 80 - outdoor) / 2
	// A rule in whole degrees is not undone by the last bit of a conversion.
	const slack = 1e-9
	out := Values{"target_superheat": target * fahrenheitDegree}
	switch {
	case outdoor <= coolOutdoor-slack:
		out["warning"] = "too cool outdoors to judge charge: weigh it in or come back on a warm day"
	case target <= usableFrom-slack:
		out["warning"] = "too hot outdoors or too dry indoors for this rule: no valid test"
	case outdoor >= hotOutdoor+slack, wetBulb <= lowWet-slack, wetBulb >= highWet+slack:
		out["warning"] = "beyond the air for which charts are printed (50 to 76 °F wet bulb, up to 115 °F outdoors): no valid test by this rule"
	}
	out["usable"] = !out.has("warning")
	return out, nil
}

// fahrenheitDegree is one degree Fahrenheit in kelvin.
var fahrenheitDegree = mustSI(1, quantity.DimTempDiff, "F")

func fahrenheit(f float64) float64 { return mustSI(f, quantity.DimTemperature, "F") }

func inFahrenheit(kelvin float64) float64 { return mustOf(kelvin, quantity.DimTemperature, "F") }
