package cycle_test

import (
	"fmt"

	"rung/internal/cycle"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// A three-ton machine with a TXV, a fifth of its charge gone on a 95 °F day:
// superheat has hardly moved, subcooling tells.
func ExampleMachine_Solve() {
	fluid, err := refrigerant.Lookup("R-410A")
	if err != nil {
		panic(err)
	}
	m, err := cycle.Calibrate(cycle.Rating{Refrigerant: fluid, Metering: cycle.TXV, NetCapacity: 10550, SEER: 3.8})
	if err != nil {
		panic(err)
	}
	fault := cycle.Healthy()
	for _, charge := range []quantity.Ratio{1, 0.8} {
		fault.Charge = charge
		s, err := m.Solve(m.RatingCondition(), fault, nil)
		if err != nil {
			panic(err)
		}
		fmt.Printf("charge %.1f: superheat %.0f K, subcooling %.0f K, capacity %.1f kW\n", charge, s.Superheat, s.Subcooling, s.Capacity/1000)
	}
	// Output:
	// charge 1.0: superheat 6 K, subcooling 6 K, capacity 10.8 kW
	// charge 0.8: superheat 8 K, subcooling 0 K, capacity 9.9 kW
}
