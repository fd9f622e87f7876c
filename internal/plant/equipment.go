package plant

// Equipment names a piece of equipment that a system has or lacks.
type Equipment string

// The pieces on which parameters, causes and checks may depend.
const (
	Always             Equipment = "always"
	FusedDisconnect    Equipment = "fused-disconnect"
	TwoPoleContactor   Equipment = "two-pole-contactor"
	TimeDelay          Equipment = "time-delay"
	OutdoorBoard       Equipment = "outdoor-board"
	HighPressureSwitch Equipment = "high-pressure-switch"
	LowPressureSwitch  Equipment = "low-pressure-switch"
	CrankcaseHeater    Equipment = "crankcase-heater"
	StartAssist        Equipment = "start-assist"
	FloatSwitch        Equipment = "float-switch"
	CondensatePump     Equipment = "condensate-pump"
	BatteryThermostat  Equipment = "battery-thermostat"
	PSCBlower          Equipment = "psc-blower"
	ECMBlower          Equipment = "ecm-blower"
	HasTXV             Equipment = "txv"
	HasFixedOrifice    Equipment = "fixed-orifice"
	HeatPump           Equipment = "heat-pump"
)

var knownEquipment = map[Equipment]bool{
	Always: true, FusedDisconnect: true, TwoPoleContactor: true, TimeDelay: true, OutdoorBoard: true,
	HighPressureSwitch: true, LowPressureSwitch: true, CrankcaseHeater: true, StartAssist: true,
	FloatSwitch: true, CondensatePump: true, BatteryThermostat: true, PSCBlower: true, ECMBlower: true,
	HasTXV: true, HasFixedOrifice: true, HeatPump: true,
}
