package calc

import (
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

func compositionShift() Calculator {
	component := func(name, about string) Field { return Field{Name: name, Dim: quantity.DimRatio, About: about} }
	return Calculator{
		Name:  "composition-shift",
		Title: "Composition shift after a leak",
		About: "Composition of what is left after a blend has leaked as vapour, how far the chart then misleads, and what topping up makes of it.",
		Source: "published: the equations and mixing rules of package refrigerant; Lord Rayleigh 1902 on the distillation of mixtures, " +
			"with the vapour that stays in the system counted; no measured leak of a refrigerant was found to compare with",
		Caution: "Find and repair the leak first. Topping up a blend with glide is a makeshift where the maker allows it at all: " +
			"the sure way is to recover what is left, evacuate, and weigh in the plate's charge as liquid. Certified persons only; vent nothing. " +
			"What leaks from a mildly flammable blend can be more flammable than the blend: ventilate, no flame or spark.",
		Example: `{"refrigerant":"R-407C","lost":"25 %"}`,
		Fields: []Field{
			refrigerantField(),
			{Name: "lost", Dim: quantity.DimRatio, Min: 0, Max: 0.99, About: "share of the charge that leaked as vapour"},
			{Name: "temperature", Dim: quantity.DimTemperature, Optional: true, About: "of the system at rest while it leaked; 75 °F if not given"},
			{Name: "liquid_volume", Dim: quantity.DimRatio, Optional: true, Min: 0.001, Max: 0.95, About: "share of the system's inside that liquid filled at rest; 25 % if not given"},
			{Name: "suction_pressure", Dim: quantity.DimPressure, Optional: true, About: "at which the chart is read for superheat; that of 45 °F dew if not given"},
			{Name: "liquid_pressure", Dim: quantity.DimPressure, Optional: true, About: "at which it is read for subcooling; that of 110 °F bubble if not given"},
			elevationField,
			ambientField,
		},
		Results: []Field{
			{Name: "superheat_error", Dim: quantity.DimTempDiff, About: "the chart shows so much more superheat than there is"},
			{Name: "subcooling_error", Dim: quantity.DimTempDiff, About: "the chart shows so much more subcooling than there is"},
			{Name: "superheat_error_topped_up", Dim: quantity.DimTempDiff, About: "after the lost share was added again, from a full cylinder as liquid"},
			{Name: "subcooling_error_topped_up", Dim: quantity.DimTempDiff},
			{Name: "standing_pressure", Dim: quantity.DimPressure, About: "at rest at the temperature, after the leak"},
			{Name: "standing_pressure_before", Dim: quantity.DimPressure, About: "the same with the whole charge"},
			{Name: "warnings", Text: true},
			{Name: "composition", About: "by mass", Columns: []Field{
				{Name: "component", Text: true},
				component("before", "as it comes"),
				component("left", "after the leak"),
				component("topped_up", "with the lost share added"),
			}},
		},
		run: runCompositionShift,
	}
}

func runCompositionShift(in Values) (Values, error) {
	if err := checkSite(in); err != nil {
		return nil, err
	}
	f, err := refrigerant.Blend(in.word("refrigerant"))
	if err != nil {
		if pure, own := refrigerant.Lookup(in.word("refrigerant")); own == nil {
			return nil, invalid("refrigerant", "%s is one substance: a leak does not change what it is made of", pure.Name())
		}
		return nil, err
	}
	lost := in.number("lost")
	T := quantity.Temperature(in.or("temperature", fahrenheit(75)))
	volume := in.or("liquid_volume", 0.25)
	before, err := f.Leak(T, volume, 0)
	if err != nil {
		return nil, err
	}
	left, err := f.Leak(T, volume, lost)
	if err != nil {
		return nil, err
	}
	topped, err := f.TopUp(left.Parts, lost)
	if err != nil {
		return nil, err
	}
	out := Values{"standing_pressure": float64(left.Pressure), "standing_pressure_before": float64(before.Pressure)}
	rows := []Values{}
	for _, p := range f.Composition() {
		rows = append(rows, Values{"component": p.Refrigerant, "before": p.MassFraction,
			"left": massFraction(left.Parts, p.Refrigerant), "topped_up": massFraction(topped, p.Refrigerant)})
	}
	out["composition"] = rows
	warnings := doubtOf(f)
	if !left.Liquid {
		warnings = append(warnings, "No liquid is left: pressures at rest no longer follow any chart, and the system is not to be run.")
	}
	if lost > 0.3 {
		warnings = append(warnings, "More than a third is gone: it is not known how much of it went as vapour. Recover and weigh in the whole charge.")
	}
	out["warnings"] = warnings
	return out, misleading(in, f, left.Parts, topped, out)
}

func massFraction(parts []refrigerant.Part, name string) float64 {
	for _, p := range parts {
		if p.Refrigerant == name {
			return p.MassFraction
		}
	}
	return 0
}

// misleading adds to out how far the chart of the blend f is wrong for the parts
// left, and for those topped up.
func misleading(in Values, f *refrigerant.Fluid, left, topped []refrigerant.Part, out Values) error {
	chart, err := f.SaturationAtTemp(quantity.Temperature(fahrenheit(45)))
	if err != nil {
		return err
	}
	suction := quantity.Pressure(in.or("suction_pressure", float64(chart.DewPressure)))
	if chart, err = f.SaturationAtTemp(quantity.Temperature(fahrenheit(110))); err != nil {
		return err
	}
	liquid := quantity.Pressure(in.or("liquid_pressure", float64(chart.BubblePressure)))
	dew, bubble, err := lineTemps(f, suction, liquid)
	if err != nil {
		return err
	}
	for _, k := range []struct {
		suffix string
		parts  []refrigerant.Part
	}{{"", left}, {"_topped_up", topped}} {
		g, err := refrigerant.Mix(k.parts...)
		if err != nil {
			return err
		}
		trueDew, trueBubble, err := lineTemps(g, suction, liquid)
		if err != nil {
			return err
		}
		out["superheat_error"+k.suffix] = float64(trueDew.Sub(dew))
		out["subcooling_error"+k.suffix] = float64(bubble.Sub(trueBubble))
	}
	return nil
}

// lineTemps returns the dew temperature at the suction pressure and the bubble
// temperature at the liquid pressure.
func lineTemps(f *refrigerant.Fluid, suction, liquid quantity.Pressure) (dew, bubble quantity.Temperature, err error) {
	low, err := f.SaturationAtPressure(suction)
	if err != nil {
		return 0, 0, inField(err, "suction_pressure")
	}
	high, err := f.SaturationAtPressure(liquid)
	return low.DewTemp, high.BubbleTemp, inField(err, "liquid_pressure")
}
