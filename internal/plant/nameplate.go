package plant

import (
	"rung/internal/cycle"
	"rung/internal/quantity"
)

// Fitted says whether a system has a piece of equipment.
type Fitted uint8

// The zero value is not knowing.
const (
	UnknownFitted Fitted = iota
	Yes
	No
)

// ContactorPoles is how many legs the contactor opens.
type ContactorPoles uint8

// A one-and-a-half-pole contactor has one contact and a bus bar for the other
// leg; a one-pole contactor lacks the bar and the leg is wired past it. Both
// leave one side of the motors live.
const (
	UnknownPoles ContactorPoles = iota
	OnePole
	OneAndAHalfPole
	TwoPole
)

// IndoorUnit is what carries the blower and the coil.
type IndoorUnit uint8

// The indoor units.
const (
	UnknownIndoor IndoorUnit = iota
	AirHandler
	Furnace // gas furnace with a cased coil; its heat is not modelled
)

// BlowerMotor is how the indoor blower is driven.
type BlowerMotor uint8

// The blower motors.
const (
	UnknownBlower BlowerMotor = iota
	PSCMotor
	ConstantAirflowMotor // electronically commutated, holds its programmed flow
)

// FloatBreaks is the conductor that the condensate float switch opens.
type FloatBreaks uint8

// The places of a float switch.
const (
	UnknownFloat FloatBreaks = iota
	NoFloat
	FloatBreaksR // everything on 24 V dies with it, thermostat included
	FloatBreaksY // only the outdoor unit
)

// ThermostatSupply is where the electronics of the thermostat get power.
type ThermostatSupply uint8

// The supplies of a thermostat.
const (
	UnknownSupply ThermostatSupply = iota
	CommonWire
	Battery
	PowerStealing // through the load it switches, without a C wire
)

// Nameplate is what is known of a system from its plates and by looking. A
// field left zero is unknown; Complete fills it in and says so.
type Nameplate struct {
	// outdoor unit
	Refrigerant      string // one of Refrigerants
	NominalCooling   quantity.Power
	SEER, EER        quantity.Ratio // W/W; one is enough
	Metering         cycle.MeteringDevice
	Compressor       CompressorKind
	TargetSubcooling quantity.TempDiff
	TargetSuperheat  quantity.TempDiff
	FactoryCharge    quantity.Mass
	LineLength       quantity.Length

	// HeatPump says that a reversing valve is fitted; unknown counts as no and is
	// not listed as assumed. Heating figures hold at 47/43 °F outdoors; one not
	// given follows from the cooling figures.
	HeatPump         Fitted
	HeatingCapacity  quantity.Power
	HSPF, HeatingCOP quantity.Ratio // W/W; one is enough

	RatedVoltage     quantity.Voltage // 208/230 plates: 230
	RatedLoadAmps    quantity.Current // compressor
	LockedRotorAmps  quantity.Current
	FanAmps          quantity.Current
	FanPower         quantity.Power // shaft
	HermCapacitance  quantity.Capacitance
	FanCapacitance   quantity.Capacitance
	CapacitorVoltage quantity.Voltage
	Poles            ContactorPoles
	MaxProtection    quantity.Current // marked maximum fuse or breaker

	HighPressureSwitch, LowPressureSwitch Fitted
	TimeDelay, OutdoorBoard               Fitted
	CrankcaseHeater, StartAssist          Fitted
	FusedDisconnect                       Fitted

	ConductorAWG    int             // copper: 14 to 4
	ConductorLength quantity.Length // one way, panel to unit

	// indoor unit
	Indoor         IndoorUnit
	Blower         BlowerMotor
	BlowerVoltage  quantity.Voltage // 115 or 230
	BlowerPower    quantity.Power   // shaft rating
	BlowerCap      quantity.Capacitance
	Airflow        quantity.VolumeFlow // design
	Transformer    quantity.Voltage    // primary tap: 120, 208 or 240
	TransformerVA  quantity.Power
	ControlFuse    quantity.Current
	Float          FloatBreaks
	CondensatePump Fitted

	// thermostat and cables
	Thermostat      ThermostatSupply
	ThermostatCable quantity.Length // one way
	OutdoorCable    quantity.Length // one way
}

// CompressorKind is how the compressor compresses.
type CompressorKind uint8

// The kinds of compressor.
const (
	UnknownCompressor CompressorKind = iota
	Scroll
	Reciprocating
)

// Has says whether a completed nameplate has a piece of equipment.
func (n *Nameplate) Has(e Equipment) bool {
	switch e {
	case Always:
		return true
	case FusedDisconnect:
		return n.FusedDisconnect == Yes
	case TwoPoleContactor:
		return n.Poles == TwoPole
	case TimeDelay:
		return n.TimeDelay == Yes
	case OutdoorBoard:
		return n.OutdoorBoard == Yes
	case HighPressureSwitch:
		return n.HighPressureSwitch == Yes
	case LowPressureSwitch:
		return n.LowPressureSwitch == Yes
	case CrankcaseHeater:
		return n.CrankcaseHeater == Yes
	case StartAssist:
		return n.StartAssist == Yes
	case FloatSwitch:
		return n.Float == FloatBreaksR || n.Float == FloatBreaksY
	case CondensatePump:
		return n.CondensatePump == Yes
	case BatteryThermostat:
		return n.Thermostat == Battery
	case PSCBlower:
		return n.Blower == PSCMotor
	case ECMBlower:
		return n.Blower == ConstantAirflowMotor
	case HasTXV:
		return n.Metering == cycle.TXV
	case HasFixedOrifice:
		return n.Metering == cycle.FixedOrifice
	case HeatPump:
		return n.HeatPump == Yes
	}
	return false
}
