package moistair

import (
	"fmt"
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Given is one property of moist air as known: a reading, or a number from a
// table. Make one with DryBulbIs and its kin.
type Given struct {
	kind  property
	value float64 // SI
}

type property int

const (
	dryBulb property = iota
	wetBulbProp
	dewPointProp
	humidityRatio
	relativeHumidity
	airEnthalpy
	specificVolume
)

func (k property) String() string {
	return [...]string{"dry bulb", "wet bulb", "dew point", "humidity ratio", "relative humidity", "enthalpy", "specific volume"}[k]
}

// DryBulbIs gives the dry bulb.
func DryBulbIs(t quantity.Temperature) Given { return Given{dryBulb, t.Kelvin()} }

// WetBulbIs gives the thermodynamic wet bulb; below 0 °C that of an iced wick.
func WetBulbIs(t quantity.Temperature) Given { return Given{wetBulbProp, t.Kelvin()} }

// DewPointIs gives the dew point; below 0 °C it is the frost point.
func DewPointIs(t quantity.Temperature) Given { return Given{dewPointProp, t.Kelvin()} }

// HumidityRatioIs gives the mass of water per mass of dry air.
func HumidityRatioIs(w quantity.HumidityRatio) Given { return Given{humidityRatio, float64(w)} }

// RelativeHumidityIs gives the relative humidity, a fraction.
func RelativeHumidityIs(rh quantity.RelativeHumidity) Given {
	return Given{relativeHumidity, float64(rh)}
}

// EnthalpyIs gives the enthalpy per mass of dry air, above dry air and liquid
// water at 0 °C.
func EnthalpyIs(h quantity.SpecificEnthalpy) Given { return Given{airEnthalpy, float64(h)} }

// SpecificVolumeIs gives the volume per mass of dry air.
func SpecificVolumeIs(v quantity.SpecificVolume) Given { return Given{specificVolume, float64(v)} }

// PairError says that two things known of moist air do not fix what is asked.
type PairError struct {
	Op            string
	First, Second string // what is known, such as the names of two properties
	Why           string
}

func (e *PairError) Error() string {
	return fmt.Sprintf("%s: %s and %s do not fix the answer: %s", e.Op, e.First, e.Second, e.Why)
}

// From returns the state that has both properties at the pressure p, in either
// order.
//
// Three pairs are refused with a *PairError: the same property twice, the dew
// point with the humidity ratio, which say the same, and the wet bulb with the
// enthalpy, whose lines are so nearly parallel that a tenth of a degree of wet
// bulb would move the answer by many degrees. A property outside what the other
// one allows is a *quantity.RangeError that names the limits.
func From(a, b Given, p quantity.Pressure) (State, error) {
	if b.kind < a.kind {
		a, b = b, a
	}
	if why := undetermined(a.kind, b.kind); why != "" {
		return State{}, &PairError{Op: "moistair.From", First: a.kind.String(), Second: b.kind.String(), Why: why}
	}
	if a.kind == dryBulb {
		return fromDryBulb(quantity.Temperature(a.value), b, p)
	}
	P := p.Pascal()
	if err := quantity.CheckRange("moistair.From", "pressure", P, minPressure, maxPressure, "Pa"); err != nil {
		return State{}, err
	}
	switch a.kind {
	case wetBulbProp:
		return alongWetBulb(a.value, b, P)
	case dewPointProp, humidityRatio:
		return alongHumidityRatio(a, b, P)
	case relativeHumidity:
		return alongRelativeHumidity(a.value, b, P)
	}
	return fromEnthalpyAndVolume(a, b, P)
}

// undetermined says why two properties fix no state, "" if they do; a ≤ b.
func undetermined(a, b property) string {
	switch {
	case a == b:
		return "they are the same"
	case a == dewPointProp && b == humidityRatio:
		return "each follows from the other, and the temperature stays open"
	case a == wetBulbProp && b == airEnthalpy:
		return "their lines are nearly parallel"
	}
	return ""
}

// fromDryBulb returns the state at the dry bulb db and another property.
func fromDryBulb(db quantity.Temperature, g Given, p quantity.Pressure) (State, error) {
	switch g.kind {
	case wetBulbProp:
		return FromWetBulb(db, quantity.Temperature(g.value), p)
	case dewPointProp:
		return FromDewPoint(db, quantity.Temperature(g.value), p)
	case humidityRatio:
		return FromHumidityRatio(db, quantity.HumidityRatio(g.value), p)
	case relativeHumidity:
		return FromRelativeHumidity(db, quantity.RelativeHumidity(g.value), p)
	}
	if err := checkAir("moistair.From", db, p); err != nil {
		return State{}, err
	}
	T, P := db.Kelvin(), p.Pascal()
	driest, wettest := driestRatio(P), most(T, P)
	x, err := g.within(propertyAt(g.kind, T, driest, P), propertyAt(g.kind, T, wettest, P))
	if err != nil {
		return State{}, err
	}
	W := ratioWithEnthalpy(T, x)
	if g.kind == specificVolume {
		W = massRatio * (x*P/(gasConstant*T) - 1)
	}
	return complete(db, math.Max(driest, math.Min(W, wettest)), p)
}

// alongWetBulb returns the state at the wet bulb Tw and another property but
// the dry bulb and the enthalpy. On that line the air gets hotter and dryer
// from saturation on.
func alongWetBulb(Tw float64, g Given, P float64) (State, error) {
	if err := quantity.CheckRange("moistair.From", "wet bulb", Tw, satMinT+1, math.Min(satMaxT, dewPoint(maxVapourShare*P)), "K"); err != nil {
		return State{}, err
	}
	hottest := math.Min(satMaxT, dryBulbOfWetBulb(Tw, driestRatio(P), P))
	ratio := func(T float64) float64 {
		if T == Tw {
			return ratioFromVapour(satPressure(Tw), P)
		}
		return ratioFromWetBulb(T, Tw, P)
	}
	T, err := g.onLine(ratio, Tw, hottest, P)
	if err != nil {
		return State{}, err
	}
	s := state(T, ratio(T), P)
	s.WetBulb = quantity.Temperature(Tw)
	return s, nil
}

// alongHumidityRatio returns the state at the dew point or humidity ratio d and
// a relative humidity, enthalpy or volume. On that line the air gets hotter
// from the dew point on.
func alongHumidityRatio(d, g Given, P float64) (State, error) {
	W := d.value
	if d.kind == dewPointProp {
		if err := quantity.CheckRange("moistair.From", "dew point", d.value, satMinT, math.Min(satMaxT, dewPoint(maxVapourShare*P)), "K"); err != nil {
			return State{}, err
		}
		W = ratioFromVapour(satPressure(d.value), P)
	} else if err := quantity.CheckRange("moistair.From", "humidity ratio", W, driestRatio(P), most(satMaxT, P), "kg/kg"); err != nil {
		return State{}, err
	}
	coldest := dewPoint(vapourFromRatio(W, P))
	T, err := g.onLine(func(float64) float64 { return W }, coldest, satMaxT, P)
	if err != nil {
		return State{}, err
	}
	return complete(quantity.Temperature(T), math.Min(W, most(T, P)), quantity.Pressure(P))
}

// alongRelativeHumidity returns the state at the relative humidity rh and an
// enthalpy or volume, both of which grow with temperature on that line.
func alongRelativeHumidity(rh float64, g Given, P float64) (State, error) {
	least := satPressure(satMinT)
	if err := quantity.CheckRange("moistair.From", "relative humidity", rh, least/satPressure(satMaxT-1), 1, "of saturation"); err != nil {
		return State{}, err
	}
	coldest, hottest := dewPoint(least/rh), satMaxT
	if most := maxVapourShare * P / rh; most < satPressure(satMaxT) {
		hottest = dewPoint(most)
	}
	ratio := func(T float64) float64 { return ratioFromVapour(rh*satPressure(T), P) }
	T, err := g.onLine(ratio, coldest, hottest, P)
	if err != nil {
		return State{}, err
	}
	W := math.Max(driestRatio(P), math.Min(ratio(T), most(T, P)))
	return complete(quantity.Temperature(T), W, quantity.Pressure(P))
}

// fromEnthalpyAndVolume follows the line of the enthalpy h from saturation to
// where it is driest, on which the volume grows.
func fromEnthalpyAndVolume(h, v Given, P float64) (State, error) {
	saturated, err := alongRelativeHumidity(1, h, P)
	if err != nil {
		return State{}, err
	}
	hottest := math.Min(satMaxT, dryBulbOfEnthalpy(h.value, driestRatio(P)))
	ratio := func(T float64) float64 { return ratioWithEnthalpy(T, h.value) }
	T, err := v.onLine(ratio, saturated.DryBulb.Kelvin(), hottest, P)
	if err != nil {
		return State{}, err
	}
	W := math.Max(driestRatio(P), math.Min(ratio(T), most(T, P)))
	return complete(quantity.Temperature(T), W, quantity.Pressure(P))
}

// onLine returns the temperature between lo and hi at which g holds on the line
// ratio, the humidity ratio over temperature.
func (g Given) onLine(ratio func(T float64) float64, lo, hi, P float64) (float64, error) {
	const tol = 1e-10 // K
	at := func(T float64) float64 { return propertyAt(g.kind, T, ratio(T), P) }
	first, last := at(lo), at(hi)
	x, err := g.within(math.Min(first, last), math.Max(first, last))
	if err != nil {
		return 0, err
	}
	switch x {
	case first:
		return lo, nil
	case last:
		return hi, nil
	}
	return num.Root("moistair.From", func(T float64) float64 { return at(T) - x }, lo, hi, tol)
}

// within returns the value, or an error if it lies outside the limits by more
// than rounding.
func (g Given) within(lo, hi float64) (float64, error) {
	slack := 1e-10 * (hi - lo) // of a saturated state that comes back through its other properties
	if err := quantity.CheckRange("moistair.From", g.kind.String(), g.value, lo-slack, hi+slack, g.unit()); err != nil {
		return 0, err
	}
	return math.Max(lo, math.Min(g.value, hi)), nil
}

func (g Given) unit() string {
	return [...]string{"K", "K", "K", "kg/kg", "of saturation", "J/kg", "m³/kg"}[g.kind]
}

// propertyAt returns a property of air at T in K, W in kg/kg and P in Pa; not
// the wet bulb.
func propertyAt(k property, T, W, P float64) float64 {
	switch k {
	case dewPointProp:
		return dewPoint(vapourFromRatio(W, P))
	case humidityRatio:
		return W
	case relativeHumidity:
		return vapourFromRatio(W, P) / satPressure(T)
	case airEnthalpy:
		return enthalpy(T, W)
	case specificVolume:
		return volume(T, W, P)
	}
	panic("moistair: no property " + k.String() + " on a line")
}

// ratioWithEnthalpy returns the humidity ratio at T in K and the enthalpy h.
func ratioWithEnthalpy(T, h float64) float64 {
	t := T - iceWater
	return (h - airHeat*t) / (evaporation + vapourHeat*t)
}

// dryBulbOfEnthalpy returns the temperature in K at the enthalpy h and W.
func dryBulbOfEnthalpy(h, W float64) float64 {
	return iceWater + (h-W*evaporation)/(airHeat+W*vapourHeat)
}

// dryBulbOfWetBulb returns the temperature in K of air of the wet bulb Tw and
// the humidity ratio W: ratioFromWetBulb solved for its first argument.
func dryBulbOfWetBulb(Tw, W, P float64) float64 {
	latent, heat := wickHeats(Tw)
	tw := Tw - iceWater
	Ws := ratioFromVapour(satPressure(Tw), P)
	return iceWater + ((latent-(heat-vapourHeat)*tw)*Ws+airHeat*tw-W*(latent-heat*tw))/(airHeat+W*vapourHeat)
}
