package combustion_test

import (
	"fmt"

	"rung/internal/combustion"
)

// A furnace on natural gas with 8 % oxygen and 400 °F in the flue.
func ExampleFlueFromOxygen() {
	flue, err := combustion.FlueFromOxygen(combustion.NaturalGas, 0.08, 0.008)
	if err != nil {
		fmt.Println(err)
		return
	}
	loss, err := flue.Loss(477.6, 294.3, 1)
	fmt.Printf("%.0f %% excess air, %.1f %% CO2, %.1f %% efficient, %v\n",
		100*flue.ExcessAir, 100*flue.CarbonDioxide, 100*loss.Efficiency, err)
	// Output:
	// 55 % excess air, 7.3 % CO2, 80.1 % efficient, <nil>
}

func ExampleFuel_HigherHeating() {
	fmt.Printf("%.1f MJ/m³, needs %.1f m³ of air\n", combustion.Propane.HigherHeating()/1e6, combustion.Propane.AirPerVolume())
	// Output:
	// 93.8 MJ/m³, needs 23.9 m³ of air
}
