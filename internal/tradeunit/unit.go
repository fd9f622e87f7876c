// Package tradeunit reads and prints quantities in the units on the meters,
// gauges and plates of the trade, and in SI.
//
// A gauge unit (psig) is a unit of absolute pressure whose zero is the air
// pressure of the site; every conversion is therefore given that pressure.
// Nothing here rounds: Amount keeps the digits as typed, and Format prints the
// digits it is asked for.
package tradeunit

import (
	"rung/internal/quantity"
)

// Unit converts between its own numbers and SI: si = number·Scale + Offset,
// plus the air pressure of the site for a gauge unit.
type Unit struct {
	Symbol  string // as printed: "°F", "psig", "µF"
	Dim     quantity.Dimension
	Scale   float64
	Offset  float64
	Gauge   bool
	Aliases []string // as typed on a keyboard: "F", "degF"
}

// ASCII returns the symbol in plain ASCII, as it stands in JSON: "F", "uF",
// "m3/s".
func (u Unit) ASCII() string {
	for _, name := range append([]string{u.Symbol}, u.Aliases...) {
		if isASCII(name) {
			return name
		}
	}
	panic("tradeunit: no plain name for " + u.Symbol)
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= 0x80 {
			return false
		}
	}
	return true
}

// SI returns number, given in u, in SI; ambient is the air pressure of the site
// and matters for gauge units only.
func (u Unit) SI(number float64, ambient quantity.Pressure) float64 {
	si := number*u.Scale + u.Offset
	if u.Gauge {
		si += ambient.Pascal()
	}
	return si
}

// Of returns the SI value si in u; ambient as in SI.
func (u Unit) Of(si float64, ambient quantity.Pressure) float64 {
	if u.Gauge {
		si -= ambient.Pascal()
	}
	return (si - u.Offset) / u.Scale
}

// Conversion factors. Exact by definition unless a comment says otherwise.
// published: NIST SP 811 (2008), appendix B, and the definitions it cites.
const (
	degF      = 5.0 / 9.0                       // K per °F
	zeroF     = 459.67 * degF                   // K at 0 °F
	zeroC     = 273.15                          // K at 0 °C
	inch      = 0.0254                          // m
	foot      = 12 * inch                       // m
	pound     = 0.45359237                      // kg
	ounce     = pound / 16                      // kg
	gravity   = 9.80665                         // m/s²
	psi       = pound * gravity / (inch * inch) // Pa
	inHg      = 3386.389                        // Pa, conventional mercury at 0 °C, as printed in SP 811
	inWC      = 249.08891                       // Pa, conventional water at 4 °C: 9.80665 Pa/mm × 25.4, as printed in SP 811
	btu       = 1055.05585262                   // J, International Table
	tonCool   = 12000 * btu / 3600              // W, ton of refrigeration
	horse     = 550 * foot * pound * gravity    // W
	minute    = 60.0                            // s
	hour      = 3600.0                          // s
	cfm       = foot * foot * foot / minute     // m³/s
	gallonUS  = 231 * inch * inch * inch        // m³
	grain     = pound / 7000                    // kg
	btuPerLb  = btu / pound                     // J/kg
	btuPerLbF = btuPerLb / degF                 // J/(kg·K)
	litre     = 1e-3                            // m³
	ft3       = foot * foot * foot              // m³

	// Tables of moist air in US units count enthalpy from dry air at 0 °F, those
	// in SI from 0 °C.
	// published: ASHRAE Fundamentals 2017, ch. 1, eq. 30 (I-P), h = 0.240 t of dry air; 32 °F between
	airAtZeroC = 0.240 * 32 * btuPerLb // J/kg
)

// units lists every unit, by dimension; within a dimension the first is the
// unit of the US trade and the last without a factor is SI.
var units = []Unit{
	{Symbol: "°F", Dim: quantity.DimTemperature, Scale: degF, Offset: zeroF, Aliases: []string{"F", "degF"}},
	{Symbol: "°C", Dim: quantity.DimTemperature, Scale: 1, Offset: zeroC, Aliases: []string{"C", "degC"}},
	{Symbol: "K", Dim: quantity.DimTemperature, Scale: 1},

	{Symbol: "°F", Dim: quantity.DimTempDiff, Scale: degF, Aliases: []string{"F", "degF"}},
	{Symbol: "°C", Dim: quantity.DimTempDiff, Scale: 1, Aliases: []string{"C", "degC"}},
	{Symbol: "K", Dim: quantity.DimTempDiff, Scale: 1},

	{Symbol: "psig", Dim: quantity.DimPressure, Scale: psi, Gauge: true, Aliases: []string{"psi gauge"}},
	{Symbol: "psia", Dim: quantity.DimPressure, Scale: psi, Aliases: []string{"psi abs"}},
	{Symbol: "bar(g)", Dim: quantity.DimPressure, Scale: 1e5, Gauge: true, Aliases: []string{"barg"}},
	{Symbol: "bar", Dim: quantity.DimPressure, Scale: 1e5},
	{Symbol: "kPa(g)", Dim: quantity.DimPressure, Scale: 1e3, Gauge: true, Aliases: []string{"kPag"}},
	{Symbol: "kPa", Dim: quantity.DimPressure, Scale: 1e3},
	{Symbol: "MPa", Dim: quantity.DimPressure, Scale: 1e6},
	{Symbol: "inHg", Dim: quantity.DimPressure, Scale: inHg},
	{Symbol: "Pa", Dim: quantity.DimPressure, Scale: 1},

	{Symbol: "in. w.c.", Dim: quantity.DimPressureDiff, Scale: inWC, Aliases: []string{"inwc", "in wc", "in.w.c.", "inH2O", "in. wc"}},
	{Symbol: "psi", Dim: quantity.DimPressureDiff, Scale: psi},
	{Symbol: "kPa", Dim: quantity.DimPressureDiff, Scale: 1e3},
	{Symbol: "Pa", Dim: quantity.DimPressureDiff, Scale: 1},

	{Symbol: "ton", Dim: quantity.DimPower, Scale: tonCool, Aliases: []string{"tons"}},
	{Symbol: "Btu/h", Dim: quantity.DimPower, Scale: btu / hour, Aliases: []string{"BTU/h", "btuh", "Btuh"}},
	{Symbol: "hp", Dim: quantity.DimPower, Scale: horse},
	{Symbol: "kW", Dim: quantity.DimPower, Scale: 1e3},
	{Symbol: "VA", Dim: quantity.DimPower, Scale: 1},
	{Symbol: "W", Dim: quantity.DimPower, Scale: 1},

	{Symbol: "Btu", Dim: quantity.DimEnergy, Scale: btu},
	{Symbol: "kJ", Dim: quantity.DimEnergy, Scale: 1e3},
	{Symbol: "J", Dim: quantity.DimEnergy, Scale: 1},

	{Symbol: "V", Dim: quantity.DimVoltage, Scale: 1, Aliases: []string{"VAC", "volts"}},
	{Symbol: "mV", Dim: quantity.DimVoltage, Scale: 1e-3},
	{Symbol: "A", Dim: quantity.DimCurrent, Scale: 1, Aliases: []string{"amps"}},
	{Symbol: "mA", Dim: quantity.DimCurrent, Scale: 1e-3},
	{Symbol: "µA", Dim: quantity.DimCurrent, Scale: 1e-6, Aliases: []string{"uA"}},
	{Symbol: "Ω", Dim: quantity.DimResistance, Scale: 1, Aliases: []string{"ohm", "ohms"}},
	{Symbol: "kΩ", Dim: quantity.DimResistance, Scale: 1e3, Aliases: []string{"kohm"}},
	{Symbol: "MΩ", Dim: quantity.DimResistance, Scale: 1e6, Aliases: []string{"Mohm", "megohm"}},
	{Symbol: "µF", Dim: quantity.DimCapacitance, Scale: 1e-6, Aliases: []string{"uF", "mfd", "MFD"}},
	{Symbol: "F", Dim: quantity.DimCapacitance, Scale: 1},
	{Symbol: "Hz", Dim: quantity.DimFrequency, Scale: 1},

	{Symbol: "ft", Dim: quantity.DimLength, Scale: foot},
	{Symbol: "in.", Dim: quantity.DimLength, Scale: inch, Aliases: []string{"in", "inch"}},
	{Symbol: "mm", Dim: quantity.DimLength, Scale: 1e-3},
	{Symbol: "m", Dim: quantity.DimLength, Scale: 1},
	{Symbol: "ft²", Dim: quantity.DimArea, Scale: foot * foot, Aliases: []string{"ft2", "sq ft"}},
	{Symbol: "m²", Dim: quantity.DimArea, Scale: 1, Aliases: []string{"m2"}},

	{Symbol: "oz", Dim: quantity.DimMass, Scale: ounce},
	{Symbol: "lb", Dim: quantity.DimMass, Scale: pound, Aliases: []string{"lbs"}},
	{Symbol: "gr", Dim: quantity.DimMass, Scale: grain},
	{Symbol: "g", Dim: quantity.DimMass, Scale: 1e-3},
	{Symbol: "kg", Dim: quantity.DimMass, Scale: 1},

	{Symbol: "min", Dim: quantity.DimTime, Scale: minute},
	{Symbol: "h", Dim: quantity.DimTime, Scale: hour},
	{Symbol: "s", Dim: quantity.DimTime, Scale: 1},
	{Symbol: "rpm", Dim: quantity.DimRotation, Scale: 1 / minute},
	{Symbol: "1/s", Dim: quantity.DimRotation, Scale: 1},
	{Symbol: "fpm", Dim: quantity.DimSpeed, Scale: foot / minute, Aliases: []string{"ft/min"}},
	{Symbol: "m/s", Dim: quantity.DimSpeed, Scale: 1},
	{Symbol: "N·m", Dim: quantity.DimTorque, Scale: 1, Aliases: []string{"Nm"}},

	{Symbol: "lb/ft³", Dim: quantity.DimDensity, Scale: pound / (foot * foot * foot), Aliases: []string{"lb/ft3"}},
	{Symbol: "kg/m³", Dim: quantity.DimDensity, Scale: 1, Aliases: []string{"kg/m3"}},
	{Symbol: "ft³/lb", Dim: quantity.DimSpecificVolume, Scale: foot * foot * foot / pound, Aliases: []string{"ft3/lb"}},
	{Symbol: "m³/kg", Dim: quantity.DimSpecificVolume, Scale: 1, Aliases: []string{"m3/kg"}},
	{Symbol: "lb/h", Dim: quantity.DimMassFlow, Scale: pound / hour},
	{Symbol: "kg/s", Dim: quantity.DimMassFlow, Scale: 1},
	{Symbol: "CFM", Dim: quantity.DimVolumeFlow, Scale: cfm, Aliases: []string{"cfm", "ft3/min"}},
	{Symbol: "gpm", Dim: quantity.DimVolumeFlow, Scale: gallonUS / minute},
	{Symbol: "L/s", Dim: quantity.DimVolumeFlow, Scale: 1e-3},
	{Symbol: "m³/s", Dim: quantity.DimVolumeFlow, Scale: 1, Aliases: []string{"m3/s"}},

	{Symbol: "Btu/lb", Dim: quantity.DimSpecificEnthalpy, Scale: btuPerLb},
	{Symbol: "kJ/kg", Dim: quantity.DimSpecificEnthalpy, Scale: 1e3},
	{Symbol: "J/kg", Dim: quantity.DimSpecificEnthalpy, Scale: 1},
	{Symbol: "Btu/(lb·°F)", Dim: quantity.DimSpecificEntropy, Scale: btuPerLbF, Aliases: []string{"Btu/(lb F)", "Btu/lb-F"}},
	{Symbol: "J/(kg·K)", Dim: quantity.DimSpecificEntropy, Scale: 1, Aliases: []string{"J/(kg K)", "J/kgK"}},
	{Symbol: "Btu/(lb·°F)", Dim: quantity.DimSpecificHeat, Scale: btuPerLbF, Aliases: []string{"Btu/(lb F)", "Btu/lb-F"}},
	{Symbol: "J/(kg·K)", Dim: quantity.DimSpecificHeat, Scale: 1, Aliases: []string{"J/(kg K)", "J/kgK"}},
	{Symbol: "gr/lb", Dim: quantity.DimHumidityRatio, Scale: grain / pound},
	{Symbol: "g/kg", Dim: quantity.DimHumidityRatio, Scale: 1e-3},
	{Symbol: "kg/kg", Dim: quantity.DimHumidityRatio, Scale: 1, Aliases: []string{"lb/lb"}},
	{Symbol: "%", Dim: quantity.DimRatio, Scale: 0.01, Aliases: []string{"percent"}},
	{Symbol: "1", Dim: quantity.DimRatio, Scale: 1},
	{Symbol: "1", Dim: quantity.DimNumber, Scale: 1},
	{Symbol: "ppm", Dim: quantity.DimTrace, Scale: 1e-6},
	{Symbol: "%", Dim: quantity.DimTrace, Scale: 0.01, Aliases: []string{"percent"}},
	{Symbol: "1", Dim: quantity.DimTrace, Scale: 1},

	{Symbol: "gal", Dim: quantity.DimVolume, Scale: gallonUS, Aliases: []string{"gallon", "gallons"}},
	{Symbol: "ft³", Dim: quantity.DimVolume, Scale: ft3, Aliases: []string{"ft3", "cu ft"}},
	{Symbol: "L", Dim: quantity.DimVolume, Scale: litre},
	{Symbol: "m³", Dim: quantity.DimVolume, Scale: 1, Aliases: []string{"m3"}},
	{Symbol: "gpm", Dim: quantity.DimLiquidFlow, Scale: gallonUS / minute, Aliases: []string{"gal/min"}},
	{Symbol: "L/min", Dim: quantity.DimLiquidFlow, Scale: litre / minute},
	{Symbol: "L/s", Dim: quantity.DimLiquidFlow, Scale: litre},
	{Symbol: "m³/h", Dim: quantity.DimLiquidFlow, Scale: 1 / hour, Aliases: []string{"m3/h"}},
	{Symbol: "m³/s", Dim: quantity.DimLiquidFlow, Scale: 1, Aliases: []string{"m3/s"}},
	{Symbol: "ft³/h", Dim: quantity.DimFuelFlow, Scale: ft3 / hour, Aliases: []string{"ft3/h", "CFH"}},
	{Symbol: "m³/h", Dim: quantity.DimFuelFlow, Scale: 1 / hour, Aliases: []string{"m3/h"}},
	{Symbol: "m³/s", Dim: quantity.DimFuelFlow, Scale: 1, Aliases: []string{"m3/s"}},
	{Symbol: "Btu/ft³", Dim: quantity.DimHeatingValue, Scale: btu / ft3, Aliases: []string{"Btu/ft3"}},
	{Symbol: "MJ/m³", Dim: quantity.DimHeatingValue, Scale: 1e6, Aliases: []string{"MJ/m3"}},
	{Symbol: "J/m³", Dim: quantity.DimHeatingValue, Scale: 1, Aliases: []string{"J/m3"}},
	{Symbol: "Btu/lb", Dim: quantity.DimAirEnthalpy, Scale: btuPerLb, Offset: -airAtZeroC},
	{Symbol: "kJ/kg", Dim: quantity.DimAirEnthalpy, Scale: 1e3},
	{Symbol: "J/kg", Dim: quantity.DimAirEnthalpy, Scale: 1},
	{Symbol: "cP", Dim: quantity.DimViscosity, Scale: 1e-3, Aliases: []string{"mPa·s", "mPa s"}},
	{Symbol: "Pa·s", Dim: quantity.DimViscosity, Scale: 1, Aliases: []string{"Pa s"}},
	{Symbol: "Btu/(h·ft·°F)", Dim: quantity.DimConductivity, Scale: btu / (hour * foot * degF), Aliases: []string{"Btu/(h ft F)"}},
	{Symbol: "Btu/h", Dim: quantity.DimHeatFlow, Scale: btu / hour, Aliases: []string{"BTU/h", "btuh", "Btuh"}},
	{Symbol: "ton", Dim: quantity.DimHeatFlow, Scale: tonCool, Aliases: []string{"tons"}},
	{Symbol: "kW", Dim: quantity.DimHeatFlow, Scale: 1e3},
	{Symbol: "W", Dim: quantity.DimHeatFlow, Scale: 1},
	{Symbol: "Btu/(h·CFM·°F)", Dim: quantity.DimAirFactor, Scale: btu / (hour * cfm * degF), Aliases: []string{"Btu/(h CFM F)"}},
	{Symbol: "J/(m³·K)", Dim: quantity.DimAirFactor, Scale: 1, Aliases: []string{"J/(m3 K)"}},
	{Symbol: "Btu/(h·gpm·°F)", Dim: quantity.DimWaterFactor, Scale: btu * minute / (hour * gallonUS * degF), Aliases: []string{"Btu/(h gpm F)"}},
	{Symbol: "J/(m³·K)", Dim: quantity.DimWaterFactor, Scale: 1, Aliases: []string{"J/(m3 K)"}},
	{Symbol: "W/(m·K)", Dim: quantity.DimConductivity, Scale: 1, Aliases: []string{"W/(m K)", "W/mK"}},
}
