package plant_test

import (
	"fmt"

	"rung/internal/circuit"
	"rung/internal/plant"
)

// A system of which only the refrigerant and the capacitor are known; its
// compressor section has failed open.
func Example() {
	p, err := plant.Build(plant.Nameplate{Refrigerant: "R-410A", HermCapacitance: 45e-6})
	if err != nil {
		fmt.Println(err)
		return
	}
	faulty := p.Healthy()
	if err := faulty.Scale(plant.MustParam("run-capacitor/herm-capacitance"), 0); err != nil {
		fmt.Println(err)
		return
	}
	day := plant.Surroundings{Outdoor: 308, ReturnDryBulb: 299, ReturnWetBulb: 291, Line: 240}
	st, err := p.Solve(&faulty, day, plant.Cool)
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := st.Volts(plant.Settled, plant.T1, plant.T2, circuit.HighImpedance)
	if err != nil {
		fmt.Println(err)
		return
	}
	hum, _ := st.Amps(plant.Running, "compressor/common-terminal")
	after, _ := st.Amps(plant.Settled, "compressor/common-terminal")
	fmt.Printf("T1-T2 %.0f V, compressor %.0f A, then %.0f A\n", v, hum, after)
	fmt.Println("compressor hums:", st.Compressor == plant.MotorHums, "- fan runs:", st.OutdoorFan == plant.MotorRuns)
	// Output:
	// T1-T2 240 V, compressor 83 A, then 0 A
	// compressor hums: true - fan runs: true
}

// Any two points of the wiring can be read, as a meter with its own load does.
func ExampleState_Volts() {
	p, err := plant.Build(plant.Nameplate{FusedDisconnect: plant.Yes})
	if err != nil {
		fmt.Println(err)
		return
	}
	ps := p.Healthy()
	if err := ps.PutWord(plant.MustParam("disconnect/fuse-1"), "blown"); err != nil {
		fmt.Println(err)
		return
	}
	day := plant.Surroundings{Outdoor: 308, ReturnDryBulb: 299, ReturnWetBulb: 291, Line: 240}
	st, err := p.Solve(&ps, day, plant.Cool)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, pair := range [][2]plant.Node{{plant.L1, plant.Ground}, {plant.L2, plant.Ground}, {plant.L1, plant.L2}, {plant.DiscOut1, plant.L1}} {
		v, err := st.Volts(plant.Settled, pair[0], pair[1], circuit.HighImpedance)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s to %s: %.0f V\n", pair[0], pair[1], v)
	}
	// Output:
	// L1 to G: 120 V
	// L2 to G: 120 V
	// L1 to L2: 0 V
	// F1 to L1: 240 V
}
