package refrigerant_test

import (
	"errors"
	"fmt"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// What a mechanic's chart says for R-410A at 40 °F. The vapour of a blend
// condenses at a slightly lower pressure than its liquid boils at.
func ExampleFluid_SaturationAtTemp() {
	fluid, err := refrigerant.Lookup("R-410A")
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := fluid.SaturationAtTemp(277.594)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("bubble %.1f kPa, dew %.1f kPa\n", s.BubblePressure/1e3, s.DewPressure/1e3)
	fmt.Printf("heat of evaporation %.1f kJ/kg\n", (s.VapourEnthalpy-s.LiquidEnthalpy)/1e3)
	// Output:
	// bubble 920.3 kPa, dew 917.4 kPa
	// heat of evaporation 215.9 kJ/kg
}

// Superheat is counted from the dew temperature at the suction pressure.
func ExampleFluid_StateAt() {
	fluid, _ := refrigerant.Lookup("R-22")
	const suction = 590e3 // Pa, absolute
	sat, err := fluid.SaturationAtPressure(suction)
	if err != nil {
		fmt.Println(err)
		return
	}
	gas, err := fluid.StateAt(suction, sat.DewTemp.Add(6))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, %.2f kg/m³, %.1f kJ/kg\n", gas.Phase, gas.Density, gas.Enthalpy/1e3)
	// Output:
	// vapour, 24.23 kg/m³, 411.5 kJ/kg
}

// Outside the range of its source nothing is answered.
func ExampleFluid_SaturationAtTemp_outOfRange() {
	fluid, _ := refrigerant.Lookup("R-410A")
	_, err := fluid.SaturationAtTemp(350) // 77 °C, above the critical point
	var out *quantity.RangeError
	if errors.As(err, &out) {
		fmt.Println(err)
	}
	// Output:
	// refrigerant.SaturationAtTemp: temperature 350 K is outside 200 to 343.494 K
}

// The tables answer in nanoseconds. A vapour is found by its distance from the
// dew line, so that no superheat is exactly saturation.
func ExampleTable_VapourPS() {
	fluid, _ := refrigerant.Lookup("R-410A")
	t := fluid.Table()
	const suction, discharge = 900e3, 2600e3 // Pa, absolute

	// Compression without loss of a gas 6 K superheated.
	in := t.Sat(suction)
	dh := t.VapourPT(suction, 6)
	_, _, s := t.VapourPH(suction, dh)
	out := t.Sat(discharge)
	rise := out.HVap + t.VapourPS(discharge, s-out.SVap) - (in.HVap + dh)
	fmt.Printf("work %.1f kJ/kg\n", rise/1e3)
	// Output:
	// work 30.0 kJ/kg
}

// A blend by composition, by mass. Its glide is what makes superheat count from
// the dew line and subcooling from the bubble line.
func ExampleLookup_composition() {
	fluid, err := refrigerant.Lookup("R-32/125/134a (23/25/52)")
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := fluid.SaturationAtPressure(550e3)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("bubble %.2f °C, dew %.2f °C, glide %.2f K\n", s.BubbleTemp-273.15, s.DewTemp-273.15, s.DewTemp.Sub(s.BubbleTemp))
	// Output:
	// bubble -0.98 °C, dew 5.17 °C, glide 6.15 K
}

// What flashes when liquid is let down to the evaporator's pressure.
func ExampleFluid_StateAtEnthalpy() {
	fluid, _ := refrigerant.Lookup("R-454B")
	liquid, err := fluid.StateAt(2.6e6, 308.15)
	if err != nil {
		fmt.Println(err)
		return
	}
	inlet, err := fluid.StateAtEnthalpy(900e3, liquid.Enthalpy)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, %.1f %% vapour, %.1f °C\n", inlet.Phase, 100*inlet.Quality, inlet.Temperature-273.15)
	// Output:
	// liquid and vapour, 19.3 % vapour, 5.3 °C
}

// Half the charge leaked as vapour: what boils readily is gone first.
func ExampleFluid_Leak() {
	fluid, _ := refrigerant.Blend("R-407C")
	left, err := fluid.Leak(295.15, 0.4, 0.5)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range left.Parts {
		fmt.Printf("%s %.1f %%\n", p.Refrigerant, 100*p.MassFraction)
	}
	// Output:
	// R-32 17.0 %
	// R-125 20.4 %
	// R-134a 62.7 %
}

// The liquid of R-410A in a line at 100 °F is about a seventh as thick as water.
func ExampleFluid_Viscosity() {
	fluid, _ := refrigerant.Lookup("R-410A")
	liquid, err := fluid.StateAt(2600e3, 310.9)
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := fluid.Viscosity(310.9, liquid.Density)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f µPa·s, within %.0f %%\n", v*1e6, 100*fluid.ViscosityDoubt())
	// Output:
	// 101 µPa·s, within 3 %
}
