package calc

import (
	"fmt"
	"slices"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

func liquidLine() Calculator {
	return Calculator{
		Name:  "liquid-line",
		Title: "Liquid line: pressure drop, lift, flash gas",
		About: "Whether the liquid still is one when it reaches the metering device, after friction and lift. Heat taken up on the way is not in it: " +
			"give the temperature at the end of the line where it runs through a hot space.",
		Source: "published: Darcy and Weisbach with Churchill 1977, hydrostatics, viscosity and density as in package refrigerant; " +
			"practice: at most 300 fpm",
		Caution: lineCaution,
		Example: `{"refrigerant":"R-410A","size":"3/8","capacity":"3 ton","liquid_pressure":"340 psig","liquid_temperature":"93 F","length":"50 ft","fittings_length":"10 ft","lift":"15 ft"}`,
		Fields: slices.Concat([]Field{refrigerantField(), eitherOf(tubeField("size", "liquid line"))}, flowFields(), []Field{
			{Name: "liquid_pressure", Dim: quantity.DimPressure, About: "at the outdoor unit"},
			{Name: "liquid_temperature", Dim: quantity.DimTemperature, About: "at the outdoor unit"},
			{Name: "temperature_at_metering_device", Dim: quantity.DimTemperature, Optional: true, About: "where the line takes up heat; that at the outdoor unit if not given"},
			{Name: "lift", Dim: quantity.DimLength, Optional: true, Min: -100, Max: 100, About: "of the metering device above the outdoor unit; negative if below; none if not given"},
			{Name: "other_drop", Dim: quantity.DimPressureDiff, USUnit: "psi", Optional: true, Min: 0, Max: 1e6, About: "of a drier or valve; none if not given"},
			{Name: "saturated_suction_temperature", Dim: quantity.DimTemperature, Optional: true, UsualSI: "7 °C", About: "for the flow of a capacity; 45 °F if not given"},
			insideField, equationField, elevationField, ambientField,
		}),
		Results: []Field{
			{Name: "flash_gas", Bool: true, About: "before the metering device"},
			{Name: "subcooling_at_metering_device", Dim: quantity.DimTempDiff},
			{Name: "subcooling_at_outdoor_unit", Dim: quantity.DimTempDiff},
			{Name: "pressure_at_metering_device", Dim: quantity.DimPressure},
			{Name: "friction_drop", Dim: quantity.DimPressureDiff, USUnit: "psi"},
			{Name: "lift_drop", Dim: quantity.DimPressureDiff, USUnit: "psi"},
			{Name: "velocity", Dim: quantity.DimSpeed},
			{Name: "mass_flow", Dim: quantity.DimMassFlow},
			{Name: "density", Dim: quantity.DimDensity},
			{Name: "reynolds_number", Dim: quantity.DimRatio, USUnit: "1"},
			warningsField,
		},
		run: runLiquidLine,
	}
}

func runLiquidLine(in Values) (Values, error) {
	f, err := fluidOf(in)
	if err != nil {
		return nil, err
	}
	pipe, err := pipeOf(in, "size")
	if err != nil {
		return nil, err
	}
	p, t := in.pressure("liquid_pressure"), in.temperature("liquid_temperature")
	s, err := liquidAt(f, p, t)
	if err != nil {
		return nil, err
	}
	suction, err := f.SaturationAtTemp(quantity.Temperature(in.or("saturated_suction_temperature", fahrenheit(45))))
	if err != nil {
		return nil, inField(err, "saturated_suction_temperature")
	}
	w := flow{density: float64(s.Density), inside: pipe.inside}
	// The few degrees of superheat change the flow by a percent or two.
	if w.mass, err = massFlow(in, float64(suction.VapourEnthalpy-s.Enthalpy)); err != nil {
		return nil, err
	}
	if w.viscosity, err = viscosityAt(f, t, s.Density, "liquid_temperature"); err != nil {
		return nil, err
	}
	friction := w.drop(in.number("length") + in.or("fittings_length", 0))
	lift := w.density * gravity * in.or("lift", 0)
	out := Values{"friction_drop": friction, "lift_drop": lift, "velocity": w.velocity(), "mass_flow": w.mass,
		"density": w.density, "reynolds_number": w.reynolds()}
	return out, atMeteringDevice(f, in, out, p-quantity.Pressure(friction+lift+in.or("other_drop", 0)))
}

// atMeteringDevice adds what the liquid is at the end of the line, at p.
func atMeteringDevice(f *refrigerant.Fluid, in, out Values, p quantity.Pressure) error {
	start, err := f.SaturationAtPressure(in.pressure("liquid_pressure"))
	if err != nil {
		return err
	}
	end, err := f.SaturationAtPressure(p)
	if err != nil {
		return &Error{Kind: OutOfRange, Field: "size", Message: fmt.Sprintf("friction and lift leave no pressure for which the saturation of %s is known", f.Name())}
	}
	t := quantity.Temperature(in.or("temperature_at_metering_device", in.number("liquid_temperature")))
	left := end.BubbleTemp.Sub(t)
	out["pressure_at_metering_device"] = float64(p)
	out["subcooling_at_outdoor_unit"] = float64(start.BubbleTemp.Sub(in.temperature("liquid_temperature")))
	out["subcooling_at_metering_device"] = float64(left)
	out["flash_gas"] = left <= 0
	list := lineDoubts(f)
	const little = 2 // K. practice: what clamp, gauge and the way through the drier make uncertain
	switch {
	case left <= 0:
		list = append(list, "Flash gas before the metering device: it starves the evaporator, and reads like a restriction or low charge. A larger line or less lift, by the maker's tables; charge beyond the nameplate and its line allowance is not the cure.")
	case left < little:
		list = append(list, "Hardly any subcooling is left at the metering device: a warm attic or a loaded drier will make flash gas.")
	}
	if out.number("velocity") > liquidMost {
		list = append(list, "Fast for a liquid line (more than 300 fpm): a valve that shuts may hammer.")
	}
	out.withDoubts(list...)
	return nil
}
