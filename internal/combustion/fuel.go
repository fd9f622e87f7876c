package combustion

import (
	"math"

	"rung/internal/quantity"
)

// Fuel is what burns, per mole.
type Fuel struct {
	carbon, hydrogen        float64 // atoms, of what burns
	carbonDioxide, nitrogen float64 // mol, that come with it
	mass                    float64 // kg/mol
	gross25                 float64 // J/mol, water condensed, at 25 °C
	gross60                 float64 // J/mol, at 60 °F
	gas                     bool
}

// Part is one gas of a mixture with its share of the volume.
type Part struct {
	Gas   string // see Gases
	Share quantity.Ratio
}

// published: IUPAC standard atomic weights, rounded
const (
	carbonMass   = 12.011e-3  // kg/mol
	hydrogenMass = 1.008e-3   // kg/mol
	nitrogenMass = 14.007e-3  // kg/mol
	oxygenMass   = 15.999e-3  // kg/mol
	dryAirMass   = 28.9647e-3 // kg/mol; memory: dry air of the standard atmosphere
)

// oxygenShare is the oxygen in dry air by volume; the rest counts as nitrogen.
//
// memory: dry air of the standard atmosphere, 0.20946
const oxygenShare = 0.2095

const (
	gasConstant  = 8.314462618 // J/(mol·K); published: CODATA 2018
	sixtyF       = 288.7056    // K, 60 °F, to which fuel gas is measured in the US
	seaLevel     = 101325.0    // Pa
	evaporation  = 44.013e3    // J/mol, of water at 25 °C; memory: ISO 6976; IAPWS-95 has 43.99 for the real vapour
	evaporation6 = 44.408e3    // J/mol, at 60 °F; memory: ISO 6976, 44.431 at 15 °C; IAPWS-95 44.39
)

// species are the gases a fuel gas is mixed from.
//
// published: the heats of formation of GRI-Mech 3.0 give those of methane and
// ethane to 0.02 kJ/mol and that of propane to 0.04 % (testdata/published). The
// digits, and the butanes, are those of ISO 6976:2016, table 3, at 25 °C and at
// 60 °F (memory).
var species = map[string]struct {
	carbon, hydrogen float64
	gross25, gross60 float64 // kJ/mol
}{
	"methane":  {1, 4, 890.58, 891.46},
	"ethane":   {2, 6, 1560.69, 1562.06},
	"propane":  {3, 8, 2219.17, 2220.99},
	"n-butane": {4, 10, 2877.40, 2879.63},
	"i-butane": {4, 10, 2868.20, 2870.45},
}

// Gases returns the names a Part may have.
func Gases() []string {
	return []string{"methane", "ethane", "propane", "n-butane", "i-butane", "carbon-dioxide", "nitrogen"}
}

// UnknownError says that a word names no gas or fuel.
type UnknownError struct{ Op, Name string }

func (e *UnknownError) Error() string { return e.Op + ": unknown " + e.Name }

// Mix returns the fuel gas of the given parts, whose shares add up to 1 within
// 0.1 %; they are scaled to 1.
func Mix(parts ...Part) (Fuel, error) {
	const (
		op   = "combustion.Mix"
		kilo = 1e3
	)
	sum := 0.0
	for _, p := range parts {
		if err := quantity.CheckRange(op, "share of "+p.Gas, float64(p.Share), 0, 1, ""); err != nil {
			return Fuel{}, err
		}
		sum += float64(p.Share)
	}
	if err := quantity.CheckRange(op, "sum of shares", sum, 0.999, 1.001, ""); err != nil {
		return Fuel{}, err
	}
	f := Fuel{gas: true}
	for _, p := range parts {
		x := float64(p.Share) / sum
		switch s, known := species[p.Gas]; {
		case known:
			f.carbon += x * s.carbon
			f.hydrogen += x * s.hydrogen
			f.gross25 += x * s.gross25 * kilo
			f.gross60 += x * s.gross60 * kilo
		case p.Gas == "carbon-dioxide":
			f.carbonDioxide += x
		case p.Gas == "nitrogen":
			f.nitrogen += x
		default:
			return Fuel{}, &UnknownError{op, "gas " + p.Gas}
		}
	}
	if err := quantity.CheckRange(op, "carbon that burns", f.carbon, 0.1, math.MaxFloat64, "mol"); err != nil {
		return Fuel{}, err
	}
	f.mass = f.carbon*carbonMass + f.hydrogen*hydrogenMass +
		f.carbonDioxide*(carbonMass+2*oxygenMass) + f.nitrogen*2*nitrogenMass
	return f, nil
}

func mustMix(parts ...Part) Fuel {
	f, err := Mix(parts...)
	if err != nil {
		panic("combustion: " + err.Error())
	}
	return f
}

// The fuels of houses.
var (
	// NaturalGas is a usual pipeline gas. The gas supplier knows the real one.
	// practice: composition within what pipelines publish, no one source
	NaturalGas = mustMix(Part{"methane", 0.945}, Part{"ethane", 0.035}, Part{"propane", 0.006},
		Part{"n-butane", 0.001}, Part{"i-butane", 0.001}, Part{"nitrogen", 0.007}, Part{"carbon-dioxide", 0.005})
	// Methane is natural gas at its purest.
	Methane = mustMix(Part{"methane", 1})
	// Propane is pure; what is sold holds some propylene and butane.
	Propane = mustMix(Part{"propane", 1})
	// FuelOil is no. 2 heating oil: 87.3 % carbon and 12.7 % hydrogen by mass,
	// 45.4 MJ/kg. memory: Steam, its generation and use; usual values of no. 2 oil
	FuelOil = oil(0.873, 0.127, 45.4e6)
)

// oil returns a liquid fuel per mole of carbon from its shares of mass and its
// gross heat in J/kg. The heats at 25 °C and 60 °F are taken as equal.
func oil(carbon, hydrogen, gross float64) Fuel {
	atoms := hydrogen / hydrogenMass / (carbon / carbonMass)
	mass := carbonMass + atoms*hydrogenMass
	return Fuel{carbon: 1, hydrogen: atoms, mass: mass, gross25: gross * mass, gross60: gross * mass}
}

// Lookup returns the fuel of a name: natural-gas, methane, propane or fuel-oil.
func Lookup(name string) (Fuel, error) {
	switch name {
	case "natural-gas":
		return NaturalGas, nil
	case "methane":
		return Methane, nil
	case "propane":
		return Propane, nil
	case "fuel-oil":
		return FuelOil, nil
	}
	return Fuel{}, &UnknownError{"combustion.Lookup", "fuel " + name}
}

// Fuels returns the names that Lookup knows.
func Fuels() []string { return []string{"natural-gas", "methane", "propane", "fuel-oil"} }

// IsGas reports whether f is a gas, with heating values by volume and a specific
// gravity.
func (f Fuel) IsGas() bool { return f.gas }

// molarVolume returns m³/mol at 60 °F and sea level.
func molarVolume() float64 { return gasConstant * sixtyF / seaLevel }

// HigherHeating returns the heat of a volume of gas at 60 °F and 101.325 kPa, the
// water condensed; 0 for a liquid.
func (f Fuel) HigherHeating() quantity.HeatingValue {
	if !f.gas {
		return 0
	}
	return quantity.HeatingValue(f.gross60 / molarVolume())
}

// LowerHeating is HigherHeating with the water left as vapour.
func (f Fuel) LowerHeating() quantity.HeatingValue {
	if !f.gas {
		return 0
	}
	return quantity.HeatingValue((f.gross60 - f.hydrogen/2*evaporation6) / molarVolume())
}

// HigherHeatingPerMass returns the heat at 25 °C, the water condensed.
func (f Fuel) HigherHeatingPerMass() quantity.SpecificEnthalpy {
	return quantity.SpecificEnthalpy(f.gross25 / f.mass)
}

// LowerHeatingPerMass is HigherHeatingPerMass with the water left as vapour.
func (f Fuel) LowerHeatingPerMass() quantity.SpecificEnthalpy {
	return quantity.SpecificEnthalpy(f.net25() / f.mass)
}

func (f Fuel) net25() float64 { return f.gross25 - f.hydrogen/2*evaporation }

// SpecificGravity returns the density of a gas over that of dry air; 0 for a
// liquid.
func (f Fuel) SpecificGravity() quantity.Ratio {
	if !f.gas {
		return 0
	}
	return quantity.Ratio(f.mass / dryAirMass)
}

// oxygen returns mol of oxygen that one mole of fuel needs.
func (f Fuel) oxygen() float64 { return f.carbon + f.hydrogen/4 }

// air returns mol of dry air that one mole of fuel needs.
func (f Fuel) air() float64 { return f.oxygen() / oxygenShare }

// AirPerVolume returns the volume of dry air a volume of gas needs; 0 for a
// liquid.
func (f Fuel) AirPerVolume() quantity.Ratio {
	if !f.gas {
		return 0
	}
	return quantity.Ratio(f.air())
}

// AirPerMass returns the mass of dry air a mass of fuel needs.
func (f Fuel) AirPerMass() quantity.Ratio { return quantity.Ratio(f.air() * dryAirMass / f.mass) }

// WaterPerMass returns the mass of water a mass of fuel burns to.
func (f Fuel) WaterPerMass() quantity.Ratio {
	return quantity.Ratio(f.hydrogen / 2 * (2*hydrogenMass + oxygenMass) / f.mass)
}

// dryProducts returns mol of dry flue gas of one mole of fuel without excess air.
func (f Fuel) dryProducts() float64 {
	return f.carbon + f.carbonDioxide + f.nitrogen + (1-oxygenShare)*f.air()
}

// UltimateCO2 returns the share of carbon dioxide in the dry flue gas without
// excess air, the most there can be.
func (f Fuel) UltimateCO2() quantity.Ratio {
	return quantity.Ratio((f.carbon + f.carbonDioxide) / f.dryProducts())
}
