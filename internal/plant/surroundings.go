package plant

import (
	"errors"

	"rung/internal/quantity"
)

// Surroundings is what the system stands in during one look at it.
type Surroundings struct {
	Outdoor       quantity.Temperature // air entering the outdoor coil
	ReturnDryBulb quantity.Temperature // of the rooms, before any duct leak
	ReturnWetBulb quantity.Temperature
	Line          quantity.Voltage // leg to leg at the panel, without load
	Elevation     quantity.Length
}

// Check refuses surroundings in which the models do not hold, with one
// *quantity.RangeError for each objection.
func (s Surroundings) Check() error {
	const op = "plant.Surroundings"
	return errors.Join(
		// Where package cycle holds: 10 to 52 °C outdoors, 13 to 41 °C indoors.
		quantity.CheckRange(op, "outdoor air", float64(s.Outdoor), 283.15, 325.15, "K"),
		quantity.CheckRange(op, "return dry bulb", float64(s.ReturnDryBulb), 286.15, 311.15, "K"),
		quantity.CheckRange(op, "return wet bulb", float64(s.ReturnWetBulb), 273.15, float64(s.ReturnDryBulb), "K"),
		// practice: a 240 V service found at half its voltage is a fault of the service, not a surrounding.
		quantity.CheckRange(op, "line voltage", float64(s.Line), 180, 265, "V"),
		quantity.CheckRange(op, "elevation", float64(s.Elevation), -100, 3500, "m"),
	)
}

// Demand is what the thermostat is set to ask for.
type Demand uint8

// The demands. Heat puts 24 V on W and runs the blower when W reaches the
// board; the burner or the heating elements themselves are not modelled, so
// the supply air of a heating State is that of the return.
const (
	Off Demand = iota
	Cool
	Fan
	Heat
	numDemands
)

var demandWords = [...]string{"off", "cool", "fan", "heat"}

func (d Demand) String() string { return demandWords[d] }

// ParseDemand reads "off", "cool", "fan" or "heat".
func ParseDemand(s string) (Demand, error) {
	for i, w := range demandWords {
		if s == w {
			return Demand(i), nil
		}
	}
	return 0, &ChoiceError{Field: "demand", Value: s, Allowed: demandWords[:]}
}
