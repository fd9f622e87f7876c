package trial

import (
	"fmt"

	"rung/internal/cycle"
	"rung/internal/plant"
	"rung/internal/quantity"
)

// Split names a part of the configurations.
type Split string

// The splits.
const (
	Tuning  Split = "tuning"
	Testing Split = "testing"
	Heating Split = "heating" // described systems at heating calls; no number was chosen on them
)

// configuration is a system on one day, as told to the engine: one that cools,
// by its plate, or one that heats, by its description.
type configuration struct {
	name      string
	plate     plant.Nameplate
	at        plant.Surroundings
	described string // id of a description
}

// celsius returns t °C: published: SI brochure 2019, 2.3.1, the degree Celsius.
func celsius(t float64) quantity.Temperature { return quantity.Temperature(t + 273.15) }

// day returns warm surroundings: outdoors, return air dry and wet bulb in °C, line voltage.
func day(outdoor, dry, wet, line float64) plant.Surroundings {
	return plant.Surroundings{Outdoor: celsius(outdoor), ReturnDryBulb: celsius(dry), ReturnWetBulb: celsius(wet), Line: quantity.Voltage(line)}
}

// tons returns the cooling of t tons of refrigeration.
// published: NIST SP 811, B.8: one ton of refrigeration is 3516.853 W.
func tons(t float64) quantity.Power { return quantity.Power(3516.853 * t) }

// Made-up systems of usual make, and days on which calls come.
var splits = map[Split][]configuration{
	Tuning: {
		{name: "R-410A valve, air handler, switches", plate: plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(3), SEER: 4.1, Metering: cycle.TXV,
			Indoor: plant.AirHandler, HighPressureSwitch: plant.Yes, LowPressureSwitch: plant.Yes, Float: plant.FloatBreaksY,
			TimeDelay: plant.Yes, CondensatePump: plant.Yes}, at: day(35, 25.5, 18.5, 240)},
		{name: "R-22 orifice, furnace, fused", plate: plant.Nameplate{Refrigerant: "R-22", NominalCooling: tons(2.5), Metering: cycle.FixedOrifice,
			Indoor: plant.Furnace, FusedDisconnect: plant.Yes, Blower: plant.PSCMotor}, at: day(31, 26, 19, 236)},
		{name: "R-410A orifice, constant airflow, battery", plate: plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(3), Metering: cycle.FixedOrifice,
			Indoor: plant.AirHandler, Blower: plant.ConstantAirflowMotor, Thermostat: plant.Battery}, at: day(38, 27, 19.5, 243)},
		{name: "R-410A valve, furnace, one-pole contactor", plate: plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(2), SEER: 4.1, Metering: cycle.TXV,
			Indoor: plant.Furnace, Poles: plant.OnePole}, at: day(29, 24.5, 17.5, 241)},
	},
	Testing: {
		{name: "R-410A valve, furnace, constant airflow", plate: plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(4), SEER: 4.4, Metering: cycle.TXV,
			Indoor: plant.Furnace, Blower: plant.ConstantAirflowMotor, HighPressureSwitch: plant.Yes}, at: day(33, 25, 18, 239)},
		{name: "R-410A orifice, air handler, float", plate: plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(2.5), Metering: cycle.FixedOrifice,
			Indoor: plant.AirHandler, LowPressureSwitch: plant.Yes, Float: plant.FloatBreaksR}, at: day(36, 26.5, 19.5, 242)},
		{name: "R-22 valve, furnace, fused", plate: plant.Nameplate{Refrigerant: "R-22", NominalCooling: tons(3.5), Metering: cycle.TXV,
			Indoor: plant.Furnace, Blower: plant.PSCMotor, FusedDisconnect: plant.Yes}, at: day(32, 25.5, 18, 238)},
		{name: "R-410A valve, air handler, two-pole contactor, board", plate: plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(3), SEER: 4.1, Metering: cycle.TXV,
			Indoor: plant.AirHandler, Poles: plant.TwoPole, OutdoorBoard: plant.Yes, CondensatePump: plant.Yes}, at: day(30, 24, 17.5, 240)},
		{name: "R-410A orifice, furnace, delay, battery", plate: plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(5), Metering: cycle.FixedOrifice,
			Indoor: plant.Furnace, TimeDelay: plant.Yes, Thermostat: plant.Battery}, at: day(39, 26, 19, 237)},
	},
	Heating: {
		{name: "gas furnace", described: "gas-furnace"},
		{name: "condensing gas furnace", described: "furnace-condensing"},
		{name: "heat pump", described: "heat-pump"},
		{name: "air handler with electric heat", described: "air-handler-electric-heat"},
		{name: "boiler with zone valves", described: "boiler-zone-valves"},
		{name: "boiler with zone circulators", described: "boiler-zone-circulators"},
		{name: "boiler and air handler", described: "boiler-and-air-handler"},
		{name: "hydronic air handler", described: "hydro-air-handler"},
	},
}

// configurations returns the configurations of a split.
func configurations(s Split) ([]configuration, error) {
	list, known := splits[s]
	if !known {
		return nil, fmt.Errorf("trial: no split %q; there are %s, %s and %s", s, Tuning, Testing, Heating)
	}
	return list, nil
}
