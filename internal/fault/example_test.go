package fault_test

import (
	"fmt"

	"rung/internal/fault"
	"rung/internal/plant"
)

// A fault is a change of parameters, sized by its severity.
func ExampleFault_Apply() {
	catalogue, err := fault.Load()
	if err != nil {
		fmt.Println(err)
		return
	}
	system, err := plant.Build(plant.Nameplate{HermCapacitance: 45e-6})
	if err != nil {
		fmt.Println(err)
		return
	}
	weak, _ := catalogue.Fault("herm-cap-weak")
	params := system.Healthy()
	if err := weak.Apply(&params, 0.5); err != nil {
		fmt.Println(err)
		return
	}
	left, _, _ := weak.Severity(0.5)
	herm := plant.MustParam("run-capacitor/herm-capacitance")
	fmt.Println(weak.Text.EN)
	fmt.Printf("%s %.0f %%, %.1f µF\n", weak.SeverityText.EN, 100*left, 1e6*params.At(herm))
	// Output:
	// The capacitor section that serves the compressor has lost part of its capacitance.
	// capacitance left 70 %, 31.5 µF
}
