package calc

import (
	"fmt"
	"math"
	"slices"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// suctionGas is the state of a suction line.
type suctionGas struct {
	p        quantity.Pressure
	sat      refrigerant.Saturation // at p
	t        quantity.Temperature
	density  quantity.Density
	enthalpy quantity.SpecificEnthalpy
}

// suctionOf returns the state of the suction line of the input.
func suctionOf(f *refrigerant.Fluid, in Values) (suctionGas, error) {
	var g suctionGas
	given, err := in.exactlyOne("saturated_suction_temperature", "suction_pressure")
	if err != nil {
		return g, err
	}
	g.p = in.pressure("suction_pressure")
	if given == "saturated_suction_temperature" {
		s, err := f.SaturationAtTemp(in.temperature(given))
		if err != nil {
			return g, inField(err, given)
		}
		g.p = s.DewPressure
	}
	if g.sat, err = f.SaturationAtPressure(g.p); err != nil {
		return g, inField(err, given)
	}
	superheat := quantity.TempDiff(in.or("superheat", 10*fahrenheitDegree))
	g.t, g.density, g.enthalpy = g.sat.DewTemp, g.sat.VapourDensity, g.sat.VapourEnthalpy
	const dry = 1e-6 // K
	if superheat > dry {
		g.t = g.t.Add(superheat)
		s, err := f.StateAt(g.p, g.t)
		if err != nil {
			return g, inField(err, "superheat")
		}
		g.density, g.enthalpy = s.Density, s.Enthalpy
	}
	return g, nil
}

// suctionFields are the state of the suction line and of the liquid that feeds
// the evaporator.
func suctionFields() []Field {
	return []Field{
		{Name: "saturated_suction_temperature", Dim: quantity.DimTemperature, Optional: true, Either: true, About: "dew temperature, or the suction pressure"},
		{Name: "suction_pressure", Dim: quantity.DimPressure, Optional: true, About: "instead of the temperature"},
		{Name: "superheat", Dim: quantity.DimTempDiff, Optional: true, Min: 0, Max: 60, About: "of the suction gas; 10 °F if not given"},
		{Name: "liquid_temperature", Dim: quantity.DimTemperature, Optional: true, UsualSI: "35 °C", About: "before the metering device, for the flow of a capacity; 95 °F if not given"},
	}
}

// What the trade asks of suction lines.
//
// practice: figures handed on in the trade and in handbooks (memory: ASHRAE
// Handbook of Refrigeration, chapter on halocarbon lines).
var (
	riserAtLeast = fpm(1000)
	levelAtLeast = fpm(700)
	suctionMost  = fpm(4000)
	suctionLoss  = 2 * fahrenheitDegree
	liquidMost   = fpm(300)
)

func fpm(x float64) float64 { return mustSI(x, quantity.DimSpeed, "fpm") }

func suctionLine() Calculator {
	return Calculator{
		Name:  "suction-line",
		Title: "Suction line: velocity, oil return, pressure drop",
		About: "Whether the gas is fast enough to bring the oil back, and what the line costs in suction pressure. " +
			"For the lowest load at which the system runs, give that capacity: oil must come back then too.",
		Source: "published: Darcy and Weisbach with Churchill 1977, viscosity and density as in package refrigerant; " +
			"practice: at least 1000 fpm in risers and 700 fpm in level pipe, at most 4000 fpm and 2 °F of loss; " +
			"memory: Jacobs and others 1976 on the least flow that carries oil up",
		Caution: lineCaution,
		Example: `{"refrigerant":"R-410A","size":"3/4","capacity":"3 ton","saturated_suction_temperature":"45 F","length":"40 ft","fittings_length":"15 ft","rises":true}`,
		Fields: slices.Concat([]Field{refrigerantField(), eitherOf(tubeField("size", "suction line"))}, flowFields(), suctionFields(), []Field{
			{Name: "rises", Bool: true, Optional: true, About: "whether the gas has to carry oil up: a compressor above its evaporator"},
			insideField, equationField, elevationField, ambientField,
		}),
		Results: []Field{
			{Name: "velocity", Dim: quantity.DimSpeed},
			{Name: "least_velocity", Dim: quantity.DimSpeed, About: "the trade asks for oil return in this run"},
			{Name: "oil_carried_from", Dim: quantity.DimSpeed, About: "velocity below which gas carries no oil up this pipe at all; the trade asks for more, so that part load has room"},
			{Name: "pressure_drop", Dim: quantity.DimPressureDiff, USUnit: "psi"},
			{Name: "temperature_drop", Dim: quantity.DimTempDiff, About: "of saturation that the pressure drop amounts to"},
			{Name: "mass_flow", Dim: quantity.DimMassFlow},
			{Name: "density", Dim: quantity.DimDensity},
			{Name: "reynolds_number", Dim: quantity.DimRatio, USUnit: "1"},
			warningsField,
		},
		run: runSuctionLine,
	}
}

func runSuctionLine(in Values) (Values, error) {
	f, err := fluidOf(in)
	if err != nil {
		return nil, err
	}
	pipe, err := pipeOf(in, "size")
	if err != nil {
		return nil, err
	}
	g, err := suctionOf(f, in)
	if err != nil {
		return nil, err
	}
	liquid, err := f.SaturationAtTemp(quantity.Temperature(in.or("liquid_temperature", fahrenheit(95))))
	if err != nil {
		return nil, inField(err, "liquid_temperature")
	}
	w := flow{density: float64(g.density), inside: pipe.inside}
	if w.mass, err = massFlow(in, float64(g.enthalpy-liquid.LiquidEnthalpy)); err != nil {
		return nil, err
	}
	if w.viscosity, err = viscosityAt(f, g.t, g.density, "saturated_suction_temperature"); err != nil {
		return nil, err
	}
	drop := w.drop(in.number("length") + in.or("fittings_length", 0))
	after, err := afterDrop(f, g, drop)
	if err != nil {
		return nil, err
	}
	least := levelAtLeast
	if in["rises"] == true {
		least = riserAtLeast
	}
	out := Values{
		"velocity": w.velocity(), "least_velocity": least, "oil_carried_from": oilCarriedFrom(pipe.inside, w.density),
		"pressure_drop": drop, "temperature_drop": float64(g.sat.DewTemp.Sub(after.DewTemp)),
		"mass_flow": w.mass, "density": w.density, "reynolds_number": w.reynolds(),
	}
	return out.withDoubts(append(lineDoubts(f), suctionDoubts(out, in["rises"] == true)...)...), nil
}

// afterDrop returns the saturation at the end of the line. A line that loses
// more than a fifth of its pressure is outside what constant density answers.
func afterDrop(f *refrigerant.Fluid, g suctionGas, drop float64) (refrigerant.Saturation, error) {
	const most = 0.2
	if !(drop <= most*float64(g.p)) {
		return refrigerant.Saturation{}, &Error{Kind: OutOfRange, Field: "size", Message: fmt.Sprintf(
			"this flow in this pipe would lose %.0f %% of the pressure, and the sum holds up to %.0f %%: a larger pipe, or a smaller capacity", 100*drop/float64(g.p), 100*most)}
	}
	s, err := f.SaturationAtPressure(g.p - quantity.Pressure(drop))
	return s, inField(err, "suction_pressure")
}

// oilCarriedFrom returns the velocity in m/s at which gas of the density in
// kg/m³ just carries a film of oil up a pipe of the inside diameter in m.
//
// memory: M. L. Jacobs, F. C. Scheideman, F. C. Kazem, N. A. Macken, ASHRAE
// Transactions 82(2), 1976: the square root of the dimensionless gas velocity
// is 0.85; oil of 960 kg/m³.
func oilCarriedFrom(inside, density float64) float64 {
	const (
		root = 0.85
		oil  = 960.0 // kg/m³
	)
	return root * root * math.Sqrt(gravity*inside*(oil-density)/density)
}

func suctionDoubts(out Values, rises bool) []string {
	var list []string
	v := out.number("velocity")
	switch {
	case v < out.number("least_velocity") && rises:
		list = append(list, "Too slow for a riser: oil may stay in it. A smaller riser, or what the maker says for part load.")
	case v < out.number("least_velocity"):
		list = append(list, "Slow for a level suction line: pitch it towards the compressor, and ask the maker's tables for oil return.")
	case v > suctionMost:
		list = append(list, "Fast: noise, and a pressure drop that costs capacity. The next larger pipe, if oil still returns.")
	}
	if out.number("temperature_drop") > suctionLoss {
		list = append(list, "More than "+bothSteps(suctionLoss)+" of saturation is lost in the line: capacity and superheat at the unit suffer.")
	}
	return list
}
