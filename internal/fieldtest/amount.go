package fieldtest

import (
	"fmt"
	"strconv"
	"strings"

	"rung/internal/quantity"
)

// Numbers in the data are SI with a decimal prefix: the bare factors of ten
// below are all there is to convert.
var siUnits = map[string]struct {
	dims  []quantity.Dimension
	scale float64
}{
	"V":    {[]quantity.Dimension{quantity.DimVoltage}, 1},
	"A":    {[]quantity.Dimension{quantity.DimCurrent}, 1},
	"uA":   {[]quantity.Dimension{quantity.DimCurrent}, 1e-6},
	"ohm":  {[]quantity.Dimension{quantity.DimResistance}, 1},
	"Mohm": {[]quantity.Dimension{quantity.DimResistance}, 1e6},
	"uF":   {[]quantity.Dimension{quantity.DimCapacitance}, 1e-6},
	"K":    {[]quantity.Dimension{quantity.DimTemperature, quantity.DimTempDiff}, 1},
	"Pa":   {[]quantity.Dimension{quantity.DimPressure, quantity.DimPressureDiff}, 1},
	"kPa":  {[]quantity.Dimension{quantity.DimPressure, quantity.DimPressureDiff}, 1e3},
	"MPa":  {[]quantity.Dimension{quantity.DimPressure, quantity.DimPressureDiff}, 1e6},
	"m3/s": {[]quantity.Dimension{quantity.DimVolumeFlow}, 1},
	"one":  {[]quantity.Dimension{quantity.DimRatio}, 1}, // "%" is of the reading
	"ppm":  {[]quantity.Dimension{quantity.DimTrace}, 1e-6},
}

// number reads "0.2 V" as an amount of dim.
func number(text, unit string, dim quantity.Dimension) (float64, error) {
	u, known := siUnits[unit]
	if !known {
		return 0, fmt.Errorf("unknown unit %q", unit)
	}
	fits := false
	for _, d := range u.dims {
		fits = fits || d == dim
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !fits || v-v != 0 {
		return 0, fmt.Errorf("\"%s %s\" is no %s", text, unit, dim)
	}
	return v * u.scale, nil
}

// spread reads "2 % + 0.1 A", either part alone, or nothing.
func spread(s string, dim quantity.Dimension) (fixed, ratio float64, err error) {
	for _, part := range strings.Split(s, "+") {
		text, unit, _ := strings.Cut(strings.TrimSpace(part), " ")
		if unit == "%" {
			ratio, err = strconv.ParseFloat(text, 64)
			ratio /= 100
		} else {
			fixed, err = number(text, unit, dim)
		}
		if err == nil && (fixed < 0 || ratio < 0 || ratio > 1) {
			err = fmt.Errorf("%q is below zero or above the reading", s)
		}
		if err != nil {
			return 0, 0, err
		}
	}
	return fixed, ratio, nil
}

// between reads "0 60 V" or "20 kPa 5.5 MPa".
func between(s string, dim quantity.Dimension) (low, high float64, err error) {
	w := strings.Fields(s)
	if len(w) == 3 {
		w = []string{w[0], w[2], w[1], w[2]}
	}
	if len(w) != 4 {
		return 0, 0, fmt.Errorf("%q: want two numbers with a unit", s)
	}
	if low, err = number(w[0], w[1], dim); err != nil {
		return 0, 0, err
	}
	if high, err = number(w[2], w[3], dim); err != nil {
		return 0, 0, err
	}
	if !(low < high) {
		return 0, 0, fmt.Errorf("%q is empty", s)
	}
	return low, high, nil
}
