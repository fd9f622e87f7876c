package moistair

import (
	"math"

	"rung/internal/quantity"
)

const (
	satMinT     = 173.15 // K; range of the two formulas below, by their source
	satMaxT     = 473.15 // K
	triplePoint = 273.16 // K; memory: the defining fixed point of the kelvin before 2019
	iceWater    = 273.15 // K; 0 °C, where the wick of a wet bulb is taken to freeze
)

// SatPressure returns the saturation pressure of water vapour at t, over ice
// below the triple point and over liquid water above.
//
// Range 173.15 to 473.15 K; outside the error is a *quantity.RangeError.
func SatPressure(t quantity.Temperature) (quantity.Pressure, error) {
	T := t.Kelvin()
	if err := quantity.CheckRange("moistair.SatPressure", "temperature", T, satMinT, satMaxT, "K"); err != nil {
		return 0, err
	}
	return quantity.Pressure(satPressure(T)), nil
}

// DewPoint returns the temperature at which p is the saturation pressure: the
// dew point, below 0 °C the frost point, of any gas with water vapour of that
// partial pressure.
//
// Range 0.0014 to 1 555 000 Pa, the saturation pressures at -100 and 200 °C;
// outside the error is a *quantity.RangeError.
func DewPoint(p quantity.Pressure) (quantity.Temperature, error) {
	if err := quantity.CheckRange("moistair.DewPoint", "vapour pressure", p.Pascal(), satPressure(satMinT), satPressure(satMaxT), "Pa"); err != nil {
		return 0, err
	}
	return quantity.Temperature(dewPoint(p.Pascal())), nil
}

// satPressure is SatPressure in plain numbers, Pa at K, range not checked.
func satPressure(T float64) float64 {
	if T < triplePoint {
		p, _ := overIce(T)
		return p
	}
	p, _ := overWater(T)
	return p
}

// overIce returns the saturation pressure over ice in Pa at T in K, and its
// slope in Pa/K.
//
// published: Hyland and Wexler 1983, as in ASHRAE Fundamentals 2017, ch. 1,
// eq. 5. The print not seen; the coefficients reproduce the published rows in
// testdata to their last digit.
func overIce(T float64) (p, slope float64) {
	const (
		c1 = -5.6745359e3
		c2 = 6.3925247
		c3 = -9.677843e-3
		c4 = 6.2215701e-7
		c5 = 2.0747825e-9
		c6 = -9.484024e-13
		c7 = 4.1635019
	)
	p = math.Exp(c1/T + c2 + T*(c3+T*(c4+T*(c5+T*c6))) + c7*math.Log(T))
	return p, p * (-c1/(T*T) + c3 + T*(2*c4+T*(3*c5+T*4*c6)) + c7/T)
}

// overWater returns the saturation pressure over liquid water in Pa at T in K,
// and its slope in Pa/K. Its source gives it from 0 to 200 °C; for supercooled
// water it is extrapolated.
//
// published: as overIce, eq. 6.
func overWater(T float64) (p, slope float64) {
	const (
		c8  = -5.8002206e3
		c9  = 1.3914993
		c10 = -4.8640239e-2
		c11 = 4.1764768e-5
		c12 = -1.4452093e-8
		c13 = 6.5459673
	)
	p = math.Exp(c8/T + c9 + T*(c10+T*(c11+T*c12)) + c13*math.Log(T))
	return p, p * (-c8/(T*T) + c10 + T*(2*c11+T*3*c12) + c13/T)
}

// dewPoint returns the temperature in K at which p in Pa is the saturation
// pressure. p must lie between the saturation pressures of the range.
//
// Newton's method on ln p over 1/T, in which saturation is nearly a straight
// line; four or five steps from anywhere in the range.
func dewPoint(p float64) float64 {
	const (
		maxIter = 50
		tol     = 1e-10 // K
	)
	T := triplePoint
	over := overIce
	if p >= satPressure(triplePoint) {
		over = overWater
	}
	for range maxIter {
		ps, slope := over(T)
		next := 1 / (1/T - math.Log(p/ps)*ps/(slope*T*T))
		if math.Abs(next-T) < tol {
			return next
		}
		T = next
	}
	return T
}
