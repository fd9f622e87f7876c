package quantity

import "fmt"

// RangeError says that an argument lies outside the range for which the source
// of a formula vouches. No answer is given; nothing is clamped.
type RangeError struct {
	Op       string  // the function, e.g. "moistair.SatPressure"
	Name     string  // the argument
	Value    float64 // as given, in Unit
	Min, Max float64 // limits, in Unit
	Unit     string
}

// Error gives the limits to six digits: mechanics read them.
func (e *RangeError) Error() string {
	return fmt.Sprintf("%s: %s %g %s is outside %.6g to %.6g %s", e.Op, e.Name, e.Value, e.Unit, e.Min, e.Max, e.Unit)
}

// CheckRange returns nil if min ≤ value ≤ max and a *RangeError otherwise,
// also when value is not a number.
func CheckRange(op, name string, value, min, max float64, unit string) error {
	if min <= value && value <= max {
		return nil
	}
	return &RangeError{Op: op, Name: name, Value: value, Min: min, Max: max, Unit: unit}
}
