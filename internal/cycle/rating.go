package cycle

import (
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// MeteringDevice is what feeds the evaporator.
type MeteringDevice uint8

// The metering devices the model knows.
const (
	FixedOrifice MeteringDevice = iota + 1
	TXV
)

// Compressor is how the refrigerant is compressed.
type Compressor uint8

// The kinds of compressor the model knows. The zero value is a scroll.
const (
	Scroll Compressor = iota
	Reciprocating
)

// Rating is what is known of one machine: its plate, and how this machine
// differs from the average of its plate.
//
// The plate figures are those at the rating point: 35 °C (95 °F) outdoors,
// 26.7 °C (80 °F) dry and 19.4 °C (67 °F) wet bulb indoors. A field left zero
// is replaced by the default named beside it.
type Rating struct {
	Refrigerant *refrigerant.Fluid
	Metering    MeteringDevice
	Compressor  Compressor
	NetCapacity quantity.Power // after the heat of the indoor fan
	// EER is net capacity per electrical power at the rating point, W/W, and
	// SEER the seasonal one, W/W. One of the two is needed; EER wins.
	EER, SEER quantity.Ratio

	TargetSubcooling quantity.TempDiff // at the service valve; 5.6 K (10 °F)
	TargetSuperheat  quantity.TempDiff // at the coil outlet; TXV 5.6 K (10 °F), fixed orifice 6.4 K (11.5 °F)
	LineLength       quantity.Length   // of each line; 7.6 m (25 ft)
	IndoorFan        quantity.Power    // in the rated power; by capacity and class
	OutdoorFan       quantity.Power    // by capacity

	// HeatPump says that the machine has a reversing valve and heats too. The
	// figures below hold at 8.3 °C (47 °F) dry and 6.1 °C (43 °F) wet bulb outdoors
	// and 21.1 °C (70 °F) indoors. What is not given follows from the coils and the
	// compressor that the cooling figures fix.
	HeatPump          bool
	HeatingMetering   MeteringDevice    // at the outdoor coil; the kind of the indoor one
	HeatingCapacity   quantity.Power    // with the heat of the indoor fan
	HeatingCOP        quantity.Ratio    // W/W, or from HSPF
	HSPF              quantity.Ratio    // seasonal, W/W
	HeatingSubcooling quantity.TempDiff // at the liquid service valve; 5.6 K (10 °F)

	Spread Spread
}

// Spread is by how much one machine differs from the average of its plate.
// The zero value is the average machine.
type Spread struct {
	CondensingOverAmbient quantity.TempDiff // added to the class average at the rating point
	Evaporating           quantity.TempDiff // added likewise
	Superheat             quantity.TempDiff // added to the target
	EER                   quantity.Ratio    // relative departure: -0.04 is 4 % worse than the plate
	ChargeSensitivity     quantity.Ratio    // added to the liquid-length factor of the charge balance, 0.82
	SlipExponent          quantity.Ratio    // added to the void-fraction exponent, 1/3
	OrificeExponent       quantity.Ratio    // added to the orifice's pressure exponent, see expansion.go
}
