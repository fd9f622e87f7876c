package airflow

import (
	"rung/internal/quantity"
)

// BlowerKind is how the blower motor is driven.
type BlowerKind uint8

// The kinds of blower the model knows.
const (
	PSC             BlowerKind = iota + 1 // permanent split capacitor, on one of several taps
	ConstantAirflow                       // electronically commutated, programmed for a flow
)

// Design is what an air handler and its ducts were built for: the drops at the
// design flow with a clean filter and a dry coil, at standard air.
type Design struct {
	Blower BlowerKind
	Flow   quantity.VolumeFlow // design flow on the right tap, or as programmed

	Return, Filter, Coil, Supply quantity.PressureDiff // drops at Flow

	// CoilOutside says that the coil sits outside the cabinet that carries the
	// blower, as on a furnace: its drop then counts as external static.
	CoilOutside bool
	// Power is the blower's electrical power at the design point; zero: from
	// flow and drops at a usual efficiency.
	Power quantity.Power
}

// Setting is how the system stands now. Start from AsDesigned.
type Setting struct {
	Tap   quantity.Ratio // speed of the tap in use, or programmed flow, over the right one; 1
	Speed quantity.Ratio // motor speed over nominal of that tap; 1. A weak capacitor lowers it, a stopped motor is 0.
	Wheel quantity.Ratio // what a dirty wheel still does; 1 clean

	// Resistances over those of the design; 1 each.
	ReturnFactor, FilterFactor, CoilFactor, SupplyFactor quantity.Ratio

	WetCoil bool             // condensate on the fins
	Density quantity.Density // of the air; StandardDensity
}

// StandardDensity is that of standard air, 0.075 lb/ft³.
//
// published: AHRI 210/240, definition of standard air, as quoted in manuals of the trade.
const StandardDensity quantity.Density = 1.2014 // kg/m³

// AsDesigned is the Setting of a clean system on the right tap with a dry coil.
func AsDesigned() Setting {
	return Setting{Tap: 1, Speed: 1, Wheel: 1,
		ReturnFactor: 1, FilterFactor: 1, CoilFactor: 1, SupplyFactor: 1, Density: StandardDensity}
}

// State is what flows and what the instruments show.
type State struct {
	Flow           quantity.VolumeFlow
	ExternalStatic quantity.PressureDiff // total external static, between the two probes at the cabinet
	ReturnStatic   quantity.PressureDiff // below the room, at the probe before the cabinet, filter drop included
	SupplyStatic   quantity.PressureDiff // above the room, at the probe after the cabinet
	FilterDrop     quantity.PressureDiff
	CoilDrop       quantity.PressureDiff
	BlowerPressure quantity.PressureDiff // whole rise over the blower
	Speed          quantity.Ratio        // of the wheel, over the speed at the design point
	ShaftPower     quantity.Power
	Power          quantity.Power // electrical, at nominal motor efficiency
	AtLimit        bool           // a constant-airflow blower that cannot hold its flow
}
