package hydronic_test

import (
	"fmt"

	"rung/internal/hydronic"
)

// 8 US gallons a minute that lose 20 °F on the way round, at 170 °F on average.
func ExampleHeatCarried() {
	water, err := hydronic.WaterAt(349.82, 200e3)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f kW\n", hydronic.HeatCarried(water, 8*6.309e-5, 20/1.8)/1e3)
	// Output:
	// 22.9 kW
}

func ExampleSolution_FreezingPoint() {
	mixed, _ := hydronic.MassShare(hydronic.Propylene, 0.30)
	ice, err := mixed.FreezingPoint()
	fmt.Printf("%.0f °C, give or take %.1f K, %v\n", ice-273.15, hydronic.Uncertainty.FreezingPoint, err)
	// Output:
	// -13 °C, give or take 3.0 K, <nil>
}
