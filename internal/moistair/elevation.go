package moistair

import (
	"math"

	"rung/internal/quantity"
)

// PressureAtElevation returns the pressure of the standard atmosphere at the
// elevation z above sea level, from -500 to 11 000 m. Weather moves the true
// pressure by some 3 % about it (practice: usual barometer range, no source).
//
// published: ASHRAE Fundamentals 2017, ch. 1, eq. 3; the print not seen
func PressureAtElevation(z quantity.Length) (quantity.Pressure, error) {
	const (
		lapse = 2.25577e-5 // 1/m
		power = 5.2559
	)
	if err := quantity.CheckRange("moistair.PressureAtElevation", "elevation", float64(z), -500, 11000, "m"); err != nil {
		return 0, err
	}
	return quantity.Pressure(seaLevel * math.Pow(1-lapse*float64(z), power)), nil
}
