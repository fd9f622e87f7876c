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
)

// configuration is a system on one day, as told to the engine.
type configuration struct {
	name  string
	plate plant.Nameplate
	at    plant.Surroundings
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
		{"R-410A valve, air handler, switches", plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(3), SEER: 4.1, Metering: cycle.TXV,
			Indoor: plant.AirHandler, HighPressureSwitch: plant.Yes, LowPressureSwitch: plant.Yes, Float: plant.FloatBreaksY,
			TimeDelay: plant.Yes, CondensatePump: plant.Yes}, day(35, 25.5, 18.5, 240)},
		{"R-22 orifice, furnace, fused", plant.Nameplate{Refrigerant: "R-22", NominalCooling: tons(2.5), Metering: cycle.FixedOrifice,
			Indoor: plant.Furnace, FusedDisconnect: plant.Yes, Blower: plant.PSCMotor}, day(31, 26, 19, 236)},
		{"R-410A orifice, constant airflow, battery", plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(3), Metering: cycle.FixedOrifice,
			Indoor: plant.AirHandler, Blower: plant.ConstantAirflowMotor, Thermostat: plant.Battery}, day(38, 27, 19.5, 243)},
		{"R-410A valve, furnace, one-pole contactor", plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(2), SEER: 4.1, Metering: cycle.TXV,
			Indoor: plant.Furnace, Poles: plant.OnePole}, day(29, 24.5, 17.5, 241)},
	},
	Testing: {
		{"R-410A valve, furnace, constant airflow", plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(4), SEER: 4.4, Metering: cycle.TXV,
			Indoor: plant.Furnace, Blower: plant.ConstantAirflowMotor, HighPressureSwitch: plant.Yes}, day(33, 25, 18, 239)},
		{"R-410A orifice, air handler, float", plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(2.5), Metering: cycle.FixedOrifice,
			Indoor: plant.AirHandler, LowPressureSwitch: plant.Yes, Float: plant.FloatBreaksR}, day(36, 26.5, 19.5, 242)},
		{"R-22 valve, furnace, fused", plant.Nameplate{Refrigerant: "R-22", NominalCooling: tons(3.5), Metering: cycle.TXV,
			Indoor: plant.Furnace, Blower: plant.PSCMotor, FusedDisconnect: plant.Yes}, day(32, 25.5, 18, 238)},
		{"R-410A valve, air handler, two-pole contactor, board", plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(3), SEER: 4.1, Metering: cycle.TXV,
			Indoor: plant.AirHandler, Poles: plant.TwoPole, OutdoorBoard: plant.Yes, CondensatePump: plant.Yes}, day(30, 24, 17.5, 240)},
		{"R-410A orifice, furnace, delay, battery", plant.Nameplate{Refrigerant: "R-410A", NominalCooling: tons(5), Metering: cycle.FixedOrifice,
			Indoor: plant.Furnace, TimeDelay: plant.Yes, Thermostat: plant.Battery}, day(39, 26, 19, 237)},
	},
}

// configurations returns the configurations of a split.
func configurations(s Split) ([]configuration, error) {
	list, known := splits[s]
	if !known {
		return nil, fmt.Errorf("trial: no split %q; there are %s and %s", s, Tuning, Testing)
	}
	return list, nil
}
