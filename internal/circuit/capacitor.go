package circuit

import (
	"math"

	"rung/internal/quantity"
)

// CapacitanceUnderLoad returns the capacitance of a run capacitor from the
// current in its lead and the voltage across it, C = I/(2π f V).
//
// The range of each argument is what a running motor can show: 0 to 1000 A,
// 1 to 2000 V, 1 to 1000 Hz; outside it the error is a *quantity.RangeError.
//
// published: the reactance of a capacitor, any textbook of alternating current;
// worked readings in testdata/published/capacitor.txt.
func CapacitanceUnderLoad(i quantity.Current, v quantity.Voltage, f quantity.Frequency) (quantity.Capacitance, error) {
	const op = "circuit.CapacitanceUnderLoad"
	if err := quantity.CheckRange(op, "current", float64(i), 0, 1000, "A"); err != nil {
		return 0, err
	}
	if err := quantity.CheckRange(op, "voltage", float64(v), 1, 2000, "V"); err != nil {
		return 0, err
	}
	if err := quantity.CheckRange(op, "frequency", float64(f), 1, 1000, "Hz"); err != nil {
		return 0, err
	}
	return quantity.Capacitance(float64(i) / (2 * math.Pi * float64(f) * float64(v))), nil
}
