package combustion

import (
	"math"

	"rung/internal/quantity"
)

// Flue is the flue gas of a fuel at some excess of air.
type Flue struct {
	ExcessAir             quantity.Ratio // over the air needed; 0 none
	Oxygen, CarbonDioxide quantity.Ratio // of the dry gas, as analysers read
	Water                 quantity.Ratio // of the wet gas, before any condenses

	fuel                      Fuel
	dioxide, nitrogen, oxygen float64 // mol per mole of fuel
	water                     float64
	air, airWater             float64 // what came in
}

// maxExcess is the most excess air answered: 19.5 % oxygen and more is air with a
// trace of flue gas, and no analyser is good enough for it.
const maxExcess = 12.0

// FlueAt returns the flue gas of f at the excess of air, 0 to 12, with combustion
// air of the humidity ratio w.
func FlueAt(f Fuel, excess quantity.Ratio, w quantity.HumidityRatio) (Flue, error) {
	const (
		op        = "combustion.FlueAt"
		waterMass = 2*hydrogenMass + oxygenMass
		mostHumid = 0.1 // kg/kg; no air that people breathe
	)
	e := float64(excess)
	if err := quantity.CheckRange(op, "excess air", e, 0, maxExcess, ""); err != nil {
		return Flue{}, err
	}
	if err := quantity.CheckRange(op, "humidity ratio", float64(w), 0, mostHumid, "kg/kg"); err != nil {
		return Flue{}, err
	}
	fl := Flue{ExcessAir: excess, fuel: f}
	fl.air = f.air() * (1 + e)
	fl.airWater = fl.air * float64(w) * dryAirMass / waterMass
	fl.dioxide = f.carbon + f.carbonDioxide
	fl.nitrogen = f.nitrogen + (1-oxygenShare)*fl.air
	fl.oxygen = oxygenShare * f.air() * e
	fl.water = f.hydrogen/2 + fl.airWater
	dry := fl.dry()
	fl.Oxygen = quantity.Ratio(fl.oxygen / dry)
	fl.CarbonDioxide = quantity.Ratio(fl.dioxide / dry)
	fl.Water = quantity.Ratio(fl.water / (dry + fl.water))
	return fl, nil
}

// dry returns mol of dry flue gas per mole of fuel.
func (fl Flue) dry() float64 { return fl.dioxide + fl.nitrogen + fl.oxygen }

// FlueFromOxygen returns the flue gas whose dry part holds this share of oxygen.
func FlueFromOxygen(f Fuel, oxygen quantity.Ratio, w quantity.HumidityRatio) (Flue, error) {
	most := oxygenShare * f.air() * maxExcess / (f.dryProducts() + f.air()*maxExcess)
	o := float64(oxygen)
	if err := quantity.CheckRange("combustion.FlueFromOxygen", "oxygen", o, 0, most, ""); err != nil {
		return Flue{}, err
	}
	excess := o * f.dryProducts() / (f.air() * (oxygenShare - o))
	return FlueAt(f, quantity.Ratio(math.Min(excess, maxExcess)), w)
}

// FlueFromCO2 returns the flue gas whose dry part holds this share of carbon
// dioxide. More than the ultimate share is a wrong fuel or a wrong reading and out
// of range.
func FlueFromCO2(f Fuel, co2 quantity.Ratio, w quantity.HumidityRatio) (Flue, error) {
	least := (f.carbon + f.carbonDioxide) / (f.dryProducts() + f.air()*maxExcess)
	c := float64(co2)
	if err := quantity.CheckRange("combustion.FlueFromCO2", "carbon dioxide", c, least, float64(f.UltimateCO2()), ""); err != nil {
		return Flue{}, err
	}
	excess := ((f.carbon+f.carbonDioxide)/c - f.dryProducts()) / f.air()
	return FlueAt(f, quantity.Ratio(math.Max(0, math.Min(excess, maxExcess))), w)
}

// VapourPressure returns that of the water in the flue gas at the pressure p; its
// dew point is where it saturates.
func (fl Flue) VapourPressure(p quantity.Pressure) quantity.Pressure {
	return quantity.Pressure(float64(fl.Water) * p.Pascal())
}

// Loss is where the heat of the fuel goes, as shares of its higher heating value.
type Loss struct {
	Dry        quantity.Ratio // with the dry gas, above the air's temperature
	Water      quantity.Ratio // with the water that stays vapour, its heat of evaporation included
	Efficiency quantity.Ratio // what is left
	Condensate quantity.Ratio // of the water that came as vapour, condensed
}

// Loss returns what leaves with flue gas of the temperature flue when the air for
// combustion comes at the temperature air.
//
// most is the largest share of vapour that the gas can hold where it leaves,
// saturation over pressure there, 1 or more when hot: what is beyond it is taken
// to have condensed and run off, which real equipment only comes near to.
//
// Range: flue from 273 to 1000 K, air from 230 to 350 K; outside the error is a
// *quantity.RangeError. The loss through the jacket, of standing pilots and of
// cycling is not in it: this is combustion efficiency, not that of a season.
func (fl Flue) Loss(flue, air quantity.Temperature, most quantity.Ratio) (Loss, error) {
	const op = "combustion.Flue.Loss"
	T, Ta := flue.Kelvin(), air.Kelvin()
	if err := quantity.CheckRange(op, "flue temperature", T, 273, 1000, "K"); err != nil {
		return Loss{}, err
	}
	if err := quantity.CheckRange(op, "air temperature", Ta, 230, 350, "K"); err != nil {
		return Loss{}, err
	}
	if err := quantity.CheckRange(op, "largest share of vapour", float64(most), 0, math.MaxFloat64, ""); err != nil {
		return Loss{}, err
	}
	vapour := fl.water
	if m := float64(most); m < 1 {
		vapour = math.Min(vapour, fl.dry()*m/(1-m))
	}
	dry := fl.dioxide*dioxideGas.over25(T) + fl.nitrogen*nitrogenGas.over25(T) + fl.oxygen*oxygenGas.over25(T)
	brought := fl.air * ((1-oxygenShare)*nitrogenGas.over25(Ta) + oxygenShare*oxygenGas.over25(Ta))
	water := vapour*(waterGas.over25(T)+evaporation) - fl.airWater*(waterGas.over25(Ta)+evaporation) +
		(fl.water-vapour)*waterMolarHeat*(T-298.15)
	gross := fl.fuel.gross25
	l := Loss{
		Dry:        quantity.Ratio((dry - brought) / gross),
		Water:      quantity.Ratio(water / gross),
		Condensate: quantity.Ratio(1 - vapour/fl.water),
	}
	l.Efficiency = 1 - l.Dry - l.Water
	return l, nil
}

// waterMolarHeat is the heat capacity of liquid water.
//
// memory: CODATA key values, 75.3 J/(mol·K)
const waterMolarHeat = 75.3

// AirFree returns a reading of a gas in the dry flue as it would be without excess
// air, from the oxygen beside it. The trade counts 20.9 % of oxygen in air.
//
// Range of oxygen: 0 to 18 %; beyond it the reading is mostly air and so is the
// answer.
//
// practice: dilution, CO·20.9/(20.9 − O2)
func AirFree(reading, oxygen quantity.Ratio) (quantity.Ratio, error) {
	const (
		inAir = 0.209
		most  = 0.18
	)
	if err := quantity.CheckRange("combustion.AirFree", "oxygen", float64(oxygen), 0, most, ""); err != nil {
		return 0, err
	}
	if err := quantity.CheckRange("combustion.AirFree", "reading", float64(reading), 0, 1, ""); err != nil {
		return 0, err
	}
	return reading * inAir / (inAir - oxygen), nil
}

// OrificeFlow returns the share of its rated flow that an orifice passes when the
// pressure across it is measured instead of rated.
//
// practice: flow goes with the root of the pressure; the gas and its temperature
// unchanged
func OrificeFlow(measured, rated quantity.PressureDiff) (quantity.Ratio, error) {
	const op, most = "combustion.OrificeFlow", 20e3 // Pa, far above any manifold
	if err := quantity.CheckRange(op, "rated pressure", rated.Pascal(), 1, most, "Pa"); err != nil {
		return 0, err
	}
	if err := quantity.CheckRange(op, "measured pressure", measured.Pascal(), 0, most, "Pa"); err != nil {
		return 0, err
	}
	return quantity.Ratio(math.Sqrt(float64(measured / rated))), nil
}
