package moistair_test

import (
	"errors"
	"fmt"

	"rung/internal/moistair"
	"rung/internal/quantity"
)

// Return air of 80 °F dry bulb and 67 °F wet bulb, the rating condition of
// residential equipment, at sea level.
func ExampleFromWetBulb() {
	air, err := moistair.FromWetBulb(299.817, 292.594, 101325)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("relative humidity %.0f %%, dew point %.1f °C\n", 100*air.RelativeHumidity, air.DewPoint-273.15)
	fmt.Printf("%.5f kg/kg, %.1f kJ/kg\n", air.HumidityRatio, air.Enthalpy/1e3)
	// Output:
	// relative humidity 51 %, dew point 15.7 °C
	// 0.01117 kg/kg, 55.3 kJ/kg
}

// A wet bulb above the dry bulb is a misread thermometer.
func ExampleFromWetBulb_impossible() {
	_, err := moistair.FromWetBulb(295, 297, 101325)
	var out *quantity.RangeError
	if errors.As(err, &out) {
		fmt.Printf("%s must lie between %.1f and %.1f %s\n", out.Name, out.Min, out.Max, out.Unit)
	}
	// Output:
	// wet bulb must lie between 279.9 and 295.0 K
}

func ExamplePressureAtElevation() {
	p, _ := moistair.PressureAtElevation(1609) // one mile
	fmt.Printf("%.1f kPa\n", p/1e3)
	// Output:
	// 83.4 kPa
}

// Return air and outdoor air in one duct.
func ExampleMix() {
	room, _ := moistair.From(moistair.DryBulbIs(297.04), moistair.RelativeHumidityIs(0.5), 101325)
	outdoor, _ := moistair.From(moistair.DryBulbIs(308.15), moistair.WetBulbIs(298.15), 101325)
	mixed, err := moistair.Mix(moistair.StreamOf(room, 0.472), moistair.StreamOf(outdoor, 0.094))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f °C, %.0f %%\n", mixed.Air.DryBulb-273.15, 100*mixed.Air.RelativeHumidity)
	// Output:
	// 25.7 °C, 50 %
}

// A wet bulb and an enthalpy tell nearly the same and fix no state.
func ExampleFrom_undetermined() {
	_, err := moistair.From(moistair.WetBulbIs(290), moistair.EnthalpyIs(47e3), 101325)
	fmt.Println(err)
	// Output:
	// moistair.From: wet bulb and enthalpy do not fix the answer: their lines are nearly parallel
}
