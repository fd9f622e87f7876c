package fieldtest_test

import (
	"fmt"

	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/quantity"
)

// What the meter shows follows from the state of the plant.
func ExampleCatalogue_Predict() {
	checks, err := fieldtest.Load()
	if err != nil {
		fmt.Println(err)
		return
	}
	system, err := plant.Build(plant.Nameplate{})
	if err != nil {
		fmt.Println(err)
		return
	}
	params := system.Healthy()
	if err := params.Put(plant.MustParam("outdoor-cable/y-resistance"), float64(plant.Open)); err != nil {
		fmt.Println(err)
		return
	}
	afternoon := plant.Surroundings{Outdoor: 305, ReturnDryBulb: 299, ReturnWetBulb: 291, Line: quantity.Voltage(238)}
	state, err := system.Solve(&params, afternoon, plant.Cool)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, check := range []string{"v-y-c-board", "v-coil-contactor"} {
		o, err := checks.Predict(state, fieldtest.Ref{Check: check, Point: "volts", Demand: plant.Cool})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s: %.0f V\n", check, o.Value)
	}
	// Output:
	// v-y-c-board: 27 V
	// v-coil-contactor: 0 V
}
