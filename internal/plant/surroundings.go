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
	// OutdoorWetBulb counts for a heat pump that heats, whose coil freezes by it;
	// zero stands for air at 80 % relative humidity (practice: a damp winter day).
	OutdoorWetBulb quantity.Temperature
	Line           quantity.Voltage // leg to leg at the panel, without load
	Elevation      quantity.Length
}

// Check refuses surroundings that no house has, with one *quantity.RangeError
// for each objection.
func (s Surroundings) Check() error {
	const op = "plant.Surroundings"
	return errors.Join(
		// What a house can have: -30 to 52 °C outdoors, 5 to 41 °C indoors, no damper
		// than 33 °C of wet bulb (practice: beyond what anyone lives in).
		quantity.CheckRange(op, "outdoor air", float64(s.Outdoor), 243.15, 325.15, "K"),
		quantity.CheckRange(op, "return dry bulb", float64(s.ReturnDryBulb), 278.15, 314.15, "K"),
		quantity.CheckRange(op, "return wet bulb", float64(s.ReturnWetBulb), 263.15, min(float64(s.ReturnDryBulb), 306.15), "K"),
		s.checkOutdoorWetBulb(op),
		// practice: a 240 V service found at half its voltage is a fault of the service, not a surrounding.
		quantity.CheckRange(op, "line voltage", float64(s.Line), 180, 265, "V"),
		quantity.CheckRange(op, "elevation", float64(s.Elevation), -100, 3500, "m"),
	)
}

// checkOutdoorWetBulb refuses one above the dry bulb, or out of this world.
func (s Surroundings) checkOutdoorWetBulb(op string) error {
	if s.OutdoorWetBulb == 0 {
		return nil
	}
	return quantity.CheckRange(op, "outdoor wet bulb", float64(s.OutdoorWetBulb), 238.15, float64(s.Outdoor), "K")
}

// Demand is what the thermostat is set to ask for.
type Demand uint8

// The demands. Heat puts 24 V on W and runs the blower when W reaches the
// board; the burner or the heating elements themselves are not modelled, so
// the supply air of a heating State is that of the return. A heat pump is called
// by Y and G instead, its reversing valve being over; the wiring of O or B, defrost
// and auxiliary heat are not modelled here.
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
