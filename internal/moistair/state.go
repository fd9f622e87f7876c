package moistair

import (
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// State is a state of moist air. Enthalpy and volume are per kilogram of dry
// air; relative humidity is a fraction.
type State struct {
	DryBulb, WetBulb, DewPoint quantity.Temperature
	RelativeHumidity           quantity.RelativeHumidity
	HumidityRatio              quantity.HumidityRatio
	Enthalpy                   quantity.SpecificEnthalpy
	SpecificVolume             quantity.SpecificVolume
	Pressure                   quantity.Pressure
}

// published: ASHRAE Fundamentals 2017, ch. 1; the equation is named where the
// constant is used. The print not seen; see testdata/published.
const (
	massRatio   = 0.621945 // molar mass of water over that of dry air
	gasConstant = 287.042  // J/(kg·K), of dry air
	airHeat     = 1006.0   // J/(kg·K), of dry air
	vapourHeat  = 1860.0   // J/(kg·K), of water vapour
	waterHeat   = 4186.0   // J/(kg·K), of liquid water
	iceHeat     = 2100.0   // J/(kg·K), of ice
	evaporation = 2501e3   // J/kg, of water at 0 °C
	sublimation = 2830e3   // J/kg, of ice at 0 °C
)

const (
	minPressure = 20e3  // Pa; about 12 000 m
	maxPressure = 150e3 // Pa; beyond it air is no longer near atmospheric pressure
)

// FromWetBulb returns the state at the dry bulb db and the thermodynamic wet
// bulb wb. A wet bulb below 0 °C is that of an iced wick.
//
// A wet bulb above the dry bulb, or lower than that of bone-dry air, gives a
// *quantity.RangeError with both limits.
func FromWetBulb(db, wb quantity.Temperature, p quantity.Pressure) (State, error) {
	const op = "moistair.FromWetBulb"
	if err := checkAir(op, db, p); err != nil {
		return State{}, err
	}
	T, Tw, P := db.Kelvin(), wb.Kelvin(), p.Pascal()
	W := ratioFromWetBulb(T, Tw, P)
	if Tw == T { // saturated, where rounding may lie on either side
		W = math.Min(W, most(T, P))
	}
	if !(satMinT <= Tw && Tw <= T && driestRatio(P) <= W && W <= most(T, P)) {
		driest, err := wetBulb(T, driestRatio(P), P)
		if err != nil {
			return State{}, err
		}
		return State{}, &quantity.RangeError{Op: op, Name: "wet bulb", Value: Tw, Min: driest, Max: math.Min(T, boilingBelow(P)), Unit: "K"}
	}
	s := state(T, W, P)
	s.WetBulb = wb
	return s, nil
}

// FromRelativeHumidity returns the state at the dry bulb db and the relative
// humidity rh, a fraction over 0 and up to 1.
func FromRelativeHumidity(db quantity.Temperature, rh quantity.RelativeHumidity, p quantity.Pressure) (State, error) {
	const op = "moistair.FromRelativeHumidity"
	if err := checkAir(op, db, p); err != nil {
		return State{}, err
	}
	ps, least := satPressure(db.Kelvin()), satPressure(satMinT)
	if err := quantity.CheckRange(op, "relative humidity", float64(rh), least/ps, mostHumid(ps, p.Pascal()), "of saturation"); err != nil {
		return State{}, err
	}
	return complete(db, ratioFromVapour(float64(rh)*ps, p.Pascal()), p)
}

// FromDewPoint returns the state at the dry bulb db and the dew point dp; below
// 0 °C dp is the frost point.
func FromDewPoint(db, dp quantity.Temperature, p quantity.Pressure) (State, error) {
	const op = "moistair.FromDewPoint"
	if err := checkAir(op, db, p); err != nil {
		return State{}, err
	}
	if err := quantity.CheckRange(op, "dew point", dp.Kelvin(), satMinT, db.Kelvin(), "K"); err != nil {
		return State{}, err
	}
	pw := satPressure(dp.Kelvin())
	if err := quantity.CheckRange(op, "vapour pressure at the dew point", pw, 0, maxVapourShare*p.Pascal(), "Pa"); err != nil {
		return State{}, err
	}
	return complete(db, ratioFromVapour(pw, p.Pascal()), p)
}

// FromHumidityRatio returns the state at the dry bulb db and the humidity
// ratio w. Air without any water has no dew point and is out of range.
func FromHumidityRatio(db quantity.Temperature, w quantity.HumidityRatio, p quantity.Pressure) (State, error) {
	const op = "moistair.FromHumidityRatio"
	if err := checkAir(op, db, p); err != nil {
		return State{}, err
	}
	P := p.Pascal()
	if err := quantity.CheckRange(op, "humidity ratio", float64(w), driestRatio(P), most(db.Kelvin(), P), "kg/kg"); err != nil {
		return State{}, err
	}
	return complete(db, float64(w), p)
}

// maxVapourShare is the largest share of water vapour in the pressure that is
// answered: beyond it the air is steam with a trace of air, and the humidity
// ratio grows without limit.
const maxVapourShare = 0.9

// most returns the highest humidity ratio possible at T in K and p in Pa.
func most(T, p float64) float64 {
	ps := satPressure(T)
	return ratioFromVapour(mostHumid(ps, p)*ps, p)
}

// mostHumid returns the highest relative humidity possible where saturation is ps.
func mostHumid(ps, p float64) float64 { return math.Min(1, maxVapourShare*p/ps) }

// driestRatio returns the lowest humidity ratio answered at p in Pa: a frost
// point of -100 °C, the end of the saturation formula.
func driestRatio(p float64) float64 { return ratioFromVapour(satPressure(satMinT), p) }

func checkAir(op string, db quantity.Temperature, p quantity.Pressure) error {
	if err := quantity.CheckRange(op, "dry bulb", db.Kelvin(), satMinT, satMaxT, "K"); err != nil {
		return err
	}
	return quantity.CheckRange(op, "pressure", p.Pascal(), minPressure, maxPressure, "Pa")
}

// complete returns the state at a humidity ratio W known to be possible.
func complete(db quantity.Temperature, W float64, p quantity.Pressure) (State, error) {
	s := state(db.Kelvin(), W, p.Pascal())
	Tw, err := wetBulb(db.Kelvin(), W, p.Pascal())
	s.WetBulb = quantity.Temperature(Tw)
	return s, err
}

// state returns all but the wet bulb at T in K, W in kg/kg and p in Pa.
func state(T, W, p float64) State {
	pw := vapourFromRatio(W, p)
	// Rounding may take saturated air a hair beyond saturation.
	rh := math.Min(pw/satPressure(T), 1)
	return State{
		DryBulb:          quantity.Temperature(T),
		DewPoint:         quantity.Temperature(math.Min(dewPoint(pw), T)),
		RelativeHumidity: quantity.RelativeHumidity(rh),
		HumidityRatio:    quantity.HumidityRatio(W),
		Enthalpy:         quantity.SpecificEnthalpy(enthalpy(T, W)),
		SpecificVolume:   quantity.SpecificVolume(volume(T, W, p)),
		Pressure:         quantity.Pressure(p),
	}
}

// volume returns m³ per kg of dry air at T in K, W in kg/kg and p in Pa.
//
// published: as above, eq. 26
func volume(T, W, p float64) float64 { return gasConstant * T * (1 + W/massRatio) / p }

// ratioFromVapour returns the humidity ratio at the vapour pressure pw, both
// pressures in Pa.
//
// published: as above, eq. 20
func ratioFromVapour(pw, p float64) float64 { return massRatio * pw / (p - pw) }

// vapourFromRatio is the inverse of ratioFromVapour.
func vapourFromRatio(W, p float64) float64 { return p * W / (massRatio + W) }

// enthalpy returns J per kg of dry air at T in K and W in kg/kg.
//
// published: as above, eq. 30
func enthalpy(T, W float64) float64 {
	t := T - iceWater // °C
	return airHeat*t + W*(evaporation+vapourHeat*t)
}

// ratioFromWetBulb returns the humidity ratio at the dry bulb T and the wet
// bulb Tw in K. It falls below zero where the wet bulb is impossibly low.
//
// published: as above, eq. 33 over liquid water and eq. 35 over ice
func ratioFromWetBulb(T, Tw, p float64) float64 {
	latent, heat := wickHeats(Tw)
	t, tw := T-iceWater, Tw-iceWater // °C
	Ws := ratioFromVapour(satPressure(Tw), p)
	return ((latent-(heat-vapourHeat)*tw)*Ws - airHeat*(t-tw)) / (latent + vapourHeat*t - heat*tw)
}

// wickHeats returns the latent heat at 0 °C and the heat capacity of what is on
// the wick at Tw: water, or ice below 0 °C.
func wickHeats(Tw float64) (latent, heat float64) {
	if Tw < iceWater {
		return sublimation, iceHeat
	}
	return evaporation, waterHeat
}

// wetBulb returns the thermodynamic wet bulb in K at T in K and W in kg/kg.
//
// At 0 °C the two laws do not meet: just there air of one humidity can hold a
// wet wick a little above freezing or an iced one a little below. The wet wick
// is preferred, as it is on the way down.
func wetBulb(T, W, p float64) (float64, error) {
	const tol = 1e-9 // K
	miss := func(Tw float64) float64 { return ratioFromWetBulb(T, Tw, p) - W }
	hi := math.Min(T, boilingBelow(p))
	lo := iceWater
	if T <= iceWater || miss(iceWater) > 0 {
		lo, hi = satMinT, math.Min(hi, math.Nextafter(iceWater, 0))
	}
	if miss(hi) <= 0 { // saturated
		return hi, nil
	}
	return num.Root("moistair.wetBulb", miss, lo, hi, tol)
}

// boilingBelow returns a temperature in K just below that at which water boils
// at p in Pa; no wet bulb lies above.
func boilingBelow(p float64) float64 { return dewPoint(0.999 * p) }
