package calc

import (
	"fmt"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// gravity in m/s². published: the standard value, NIST SP 811.
const gravity = 9.80665

var foot = mustSI(1, quantity.DimLength, "ft")

const lineCaution = "Eye and hand protection: liquid refrigerant freezes skin. Joining and charging are for the certified; " +
	"the nameplate, the maker's line-set tables and local code come before any sum."

// optional returns the field as one that may be left out.
func optional(f Field) Field {
	f.Optional = true
	return f
}

// eitherOf returns the field as one of a few that say the same.
func eitherOf(f Field) Field {
	f.Optional, f.Either = true, true
	return f
}

// liquidAt returns the state of a liquid line, which must be liquid.
func liquidAt(f *refrigerant.Fluid, p quantity.Pressure, t quantity.Temperature) (refrigerant.State, error) {
	sat, err := f.SaturationAtPressure(p)
	if err != nil {
		return refrigerant.State{}, inField(err, "liquid_pressure")
	}
	if lowest, _ := f.SaturationRange(); t > sat.BubbleTemp {
		return refrigerant.State{}, &quantity.RangeError{Op: "liquid line at this pressure", Name: "liquid_temperature", Value: float64(t),
			Min: float64(lowest), Max: float64(sat.BubbleTemp), Unit: "K"}
	}
	if t == sat.BubbleTemp {
		return refrigerant.State{Phase: refrigerant.Liquid, Density: sat.LiquidDensity, Enthalpy: sat.LiquidEnthalpy}, nil
	}
	s, err := f.StateAt(p, t)
	return s, inField(err, "liquid_temperature")
}

func lineVelocity() Calculator {
	return Calculator{
		Name:    "line-velocity",
		Title:   "Velocity in a line",
		About:   "Velocity of a flow of given mass and density in a pipe.",
		Source:  "published: continuity, any text; memory: inside diameters by ASTM B280",
		Example: `{"mass_flow":"510 lb/h","density":"2.2 lb/ft³","size":"7/8"}`,
		Fields: []Field{
			{Name: "mass_flow", Dim: quantity.DimMassFlow, Min: 0, Max: 10, About: "of refrigerant"},
			{Name: "density", Dim: quantity.DimDensity, Min: 0.01, Max: 2000, About: "of gas or liquid"},
			eitherOf(tubeField("size", "pipe")),
			insideField,
		},
		Results: []Field{{Name: "velocity", Dim: quantity.DimSpeed}},
		run: func(in Values) (Values, error) {
			pipe, err := pipeOf(in, "size")
			if err != nil {
				return nil, err
			}
			w := flow{mass: in.number("mass_flow"), density: in.number("density"), inside: pipe.inside}
			return Values{"velocity": w.velocity()}, nil
		},
	}
}

// flowFields are how much flows, and along what.
func flowFields() []Field {
	return []Field{
		{Name: "capacity", Dim: quantity.DimPower, Optional: true, Either: true, Min: 1, Max: 1e6, About: "cooling, or the mass flow"},
		{Name: "mass_flow", Dim: quantity.DimMassFlow, Optional: true, Min: 1e-5, Max: 10, About: "instead of the capacity"},
		{Name: "length", Dim: quantity.DimLength, Min: 0, Max: 300, About: "of the pipe"},
		{Name: "fittings_length", Dim: quantity.DimLength, Optional: true, Min: 0, Max: 300, About: "of pipe to which elbows and valves are equal; none if not given"},
	}
}

// massFlow returns the flow in kg/s: given, or by the capacity and what a
// kilogram takes up, in J/kg.
func massFlow(in Values, effect float64) (float64, error) {
	given, err := in.exactlyOne("capacity", "mass_flow")
	if err != nil {
		return 0, err
	}
	if given == "mass_flow" {
		return in.number(given), nil
	}
	if !(effect > 0) {
		return 0, invalid("liquid_temperature", "liquid so warm cools nothing at this suction: give the mass flow")
	}
	return in.number("capacity") / effect, nil
}

// viscosityAt returns the viscosity of f in Pa·s.
func viscosityAt(f *refrigerant.Fluid, t quantity.Temperature, rho quantity.Density, field string) (float64, error) {
	v, err := f.Viscosity(t, rho)
	return float64(v), inField(err, field)
}

// lineDoubts says what is doubtful in properties and viscosity.
func lineDoubts(f *refrigerant.Fluid) []string {
	const told = 0.05 // practice: more than the roughness of the wall makes uncertain
	list := doubtOf(f)
	if d := float64(f.ViscosityDoubt()); d > told {
		list = append(list, fmt.Sprintf("The viscosity of %s is that of its parts mixed by a rule, within %.0f %%; the pressure drop, within %.0f %%.",
			f.Name(), 100*d, 100*d/4)) // turbulent drop goes with about the fourth root
	}
	return list
}
