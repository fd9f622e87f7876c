package airflow_test

import (
	"fmt"

	"rung/internal/airflow"
)

// The same clogged filter on the two kinds of blower: one moves less air, the
// other takes more power.
func ExampleSystem_Solve() {
	for _, kind := range []airflow.BlowerKind{airflow.PSC, airflow.ConstantAirflow} {
		s, err := airflow.New(airflow.Design{Blower: kind, Flow: 0.566, Return: 40, Filter: 25, Coil: 62, Supply: 60})
		if err != nil {
			panic(err)
		}
		at := airflow.AsDesigned()
		at.FilterFactor = 6
		got, err := s.Solve(at)
		if err != nil {
			panic(err)
		}
		fmt.Printf("flow %.2f m³/s, external static %.0f Pa, filter %.0f Pa, %.0f W\n",
			got.Flow, got.ExternalStatic, got.FilterDrop, got.Power)
	}
	// Output:
	// flow 0.49 m³/s, external static 185 Pa, filter 111 Pa, 371 W
	// flow 0.57 m³/s, external static 250 Pa, filter 150 Pa, 402 W
}
