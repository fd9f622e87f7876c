package circuit_test

import (
	"fmt"
	"strings"

	"rung/internal/circuit"
)

// A fuse is blown in one leg of a 240 V heater: to ground both sides of the
// fuse look live, across the fuse the meter shows the whole line.
func ExampleNet() {
	b := circuit.NewBuilder(60)
	p1, p2, l1 := b.Node("panel-1"), b.Node("panel-2"), b.Node("L1")
	b.Source("leg-1", p1, circuit.Ground, 120, 0.03)
	b.Source("leg-2", p2, circuit.Ground, -120, 0.03)
	fuse := b.Switch("fuse-1", p1, l1, 0.003)
	b.Resistor("heater", l1, p2, 12)
	n, err := b.Compile()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, whole := range []bool{true, false} {
		n.SetClosed(fuse, whole)
		if err := n.Solve(); err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("fuse whole %v: L1 to ground %.0f V, across the fuse %.0f V, clamp %.1f A\n", whole,
			n.Meter(l1, circuit.Ground, circuit.HighImpedance), n.Meter(p1, l1, circuit.HighImpedance),
			circuit.Amps(n.Current(fuse)))
	}
	// Output:
	// fuse whole true: L1 to ground 119 V, across the fuse 0 V, clamp 19.9 A
	// fuse whole false: L1 to ground 120 V, across the fuse 240 V, clamp 0.0 A
}

// A capacitor that has lost its start section: the compressor stands and hums.
func ExampleNet_Run() {
	m, err := circuit.SelectMotor(circuit.CompressorMotor, 10551, 230)
	if err != nil {
		fmt.Println(err)
		return
	}
	b := circuit.NewBuilder(60)
	r, s := b.Node("R"), b.Node("S")
	b.Source("line", r, circuit.Ground, 230, 0.1)
	motor := b.Motor("compressor", r, circuit.Ground, s, m.Motor)
	herm := b.Capacitor("herm", s, r, m.RunCapacitor)
	n, err := b.Compile()
	if err != nil {
		fmt.Println(err)
		return
	}
	drives := []circuit.Drive{{Motor: motor, Load: m.Load(), Rated: m.Volts}}
	for range 2 {
		if err := n.Run(drives); err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%v at %.0f A\n", drives[0].Motion, circuit.Amps(n.Current(motor)))
		n.SetCapacitance(herm, 0)
		drives[0].Motion = circuit.AtRest
	}
	// Output:
	// turning at 12 A
	// stalled at 79 A
}

func ExampleCase() {
	c, err := circuit.ReadCase(strings.NewReader(`{
		"reference_node": "N",
		"components": [
			{"id": "supply", "type": "vsource", "nodes": ["a", "N"], "vrms": 24, "deg": 0},
			{"id": "wire", "type": "resistor", "nodes": ["a", "b"], "ohms": 2},
			{"id": "coil", "type": "series_rx", "nodes": ["b", "N"], "ohms": 6, "x_ohms": 6}
		]}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := c.Solve()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f A in the coil\n", circuit.Amps(s.Currents["coil"].Complex()))
	// Output: 2.40 A in the coil
}

func ExampleCapacitanceUnderLoad() {
	c, err := circuit.CapacitanceUnderLoad(1.1, 383, 60)
	fmt.Printf("%.1f µF %v\n", c*1e6, err)
	// Output: 7.6 µF <nil>
}
