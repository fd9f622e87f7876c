package quantity

// Dimension names what a bare SI number measures, where the number cannot
// carry a type of its own: a meter reading in a table of many kinds.
type Dimension string

// The dimensions in use. Values in SI; see the type of the same name.
const (
	DimNone             Dimension = ""
	DimTemperature      Dimension = "temperature"
	DimTempDiff         Dimension = "temperature-difference"
	DimPressure         Dimension = "pressure"            // absolute
	DimPressureDiff     Dimension = "pressure-difference" // static, drop
	DimPower            Dimension = "power"
	DimEnergy           Dimension = "energy"
	DimVoltage          Dimension = "voltage"
	DimCurrent          Dimension = "current"
	DimResistance       Dimension = "resistance"
	DimCapacitance      Dimension = "capacitance"
	DimFrequency        Dimension = "frequency"
	DimLength           Dimension = "length"
	DimArea             Dimension = "area"
	DimMass             Dimension = "mass"
	DimTime             Dimension = "time" // s
	DimTorque           Dimension = "torque"
	DimSpeed            Dimension = "speed"
	DimRotation         Dimension = "rotation" // revolutions per second
	DimDensity          Dimension = "density"
	DimSpecificVolume   Dimension = "specific-volume"
	DimMassFlow         Dimension = "mass-flow"
	DimVolumeFlow       Dimension = "volume-flow"
	DimSpecificEnthalpy Dimension = "specific-enthalpy"
	DimSpecificEntropy  Dimension = "specific-entropy"
	DimSpecificHeat     Dimension = "specific-heat"
	DimHumidityRatio    Dimension = "humidity-ratio"
	DimRatio            Dimension = "ratio"
	DimNumber           Dimension = "number" // a ratio not read in percent
	DimTrace            Dimension = "trace"  // a ratio read in parts per million
	DimVolume           Dimension = "volume"
	DimLiquidFlow       Dimension = "liquid-flow"   // volume flow of water and the like
	DimFuelFlow         Dimension = "fuel-flow"     // volume flow of fuel gas
	DimHeatingValue     Dimension = "heating-value" // energy per volume of fuel gas
	DimAirEnthalpy      Dimension = "air-enthalpy"  // per mass of dry air, above dry air at 0 °C
	DimViscosity        Dimension = "viscosity"     // dynamic
	DimConductivity     Dimension = "thermal-conductivity"
	DimHeatFlow         Dimension = "heat-flow"    // a power the trade counts in Btu/h
	DimAirFactor        Dimension = "air-factor"   // heat per volume and temperature of air
	DimWaterFactor      Dimension = "water-factor" // the same of a liquid
)
