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
