package replace

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"

	"rung/internal/fault"
	"rung/internal/quantity"
	"rung/internal/source"
)

// ConductorSize is a size of copper conductor.
type ConductorSize struct {
	AWG      int
	Amps     [3]quantity.Current // at 60, 75 and 90 °C; zero: not for power
	Solid    float64             // ohm per metre at 75 °C; 0: not made
	Stranded float64             // ohm per metre at 75 °C
	Source   source.Source
}

//go:embed data/conductors.txt
var conductorsText string

var conductors = mustConductors(conductorsText)

// Conductors lists the sizes, the thinnest first.
func Conductors() []ConductorSize { return append([]ConductorSize(nil), conductors...) }

// ConductorOf returns the size with a gauge number.
func ConductorOf(awg int) (ConductorSize, error) {
	for _, c := range conductors {
		if c.AWG == awg {
			return c, nil
		}
	}
	return ConductorSize{}, &quantity.RangeError{Op: "replace.ConductorOf", Name: "conductor size", Value: float64(awg), Min: 4, Max: 18, Unit: "AWG, even numbers"}
}

// OhmsPerMetre returns the resistance of one conductor, solid or stranded. A
// size that is not made solid has its resistance stranded.
func (c ConductorSize) OhmsPerMetre(solid bool) float64 {
	if solid && c.Solid > 0 {
		return c.Solid
	}
	return c.Stranded
}

const metresPerKilometre = 1000

func mustConductors(text string) []ConductorSize {
	f, err := fault.ParseFile("conductors.txt", text)
	if err != nil {
		panic("replace: " + err.Error())
	}
	keys := map[string]fault.Key[ConductorSize]{
		"amps": {Set: func(c *ConductorSize, s string) error {
			cells := strings.Fields(s)
			if len(cells) != len(c.Amps) {
				return fmt.Errorf("%d columns, want %d", len(cells), len(c.Amps))
			}
			for i, cell := range cells {
				x, err := strconv.ParseFloat(cell, 64)
				if err != nil {
					return err
				}
				c.Amps[i] = quantity.Current(x)
			}
			return nil
		}},
		"source":   fault.Sourced(func(c *ConductorSize) *source.Source { return &c.Source }),
		"solid":    fault.Number(func(c *ConductorSize) *float64 { return &c.Solid }, 0.1, 50),
		"stranded": fault.Required(fault.Number(func(c *ConductorSize) *float64 { return &c.Stranded }, 0.1, 50)),
	}
	var list []ConductorSize
	for _, b := range f.Blocks {
		c := ConductorSize{Source: f.Source}
		if err := fault.Decode(f, b, keys, &c); err != nil {
			panic("replace: " + err.Error())
		}
		if c.AWG, err = strconv.Atoi(strings.TrimPrefix(b.ID, "awg-")); err != nil {
			panic("replace: " + err.Error())
		}
		c.Solid /= metresPerKilometre
		c.Stranded /= metresPerKilometre
		list = append(list, c)
	}
	return list
}

// column returns the place of a temperature rating in ConductorSize.Amps.
func column(rating int) (int, error) {
	switch rating {
	case 60:
		return 0, nil
	case 75:
		return 1, nil
	case 90:
		return 2, nil
	}
	return 0, &quantity.RangeError{Op: "replace.column", Name: "temperature rating", Value: float64(rating), Min: 60, Max: 90, Unit: "°C: 60, 75 or 90"}
}

// ambientFactors are the corrections of ampacity by surrounding air.
//
// published: NEC 2023 table 310.15(B)(1), column 75 °C, as reproduced in public
// copies. memory: columns 60 and 90 °C of the same table.
var ambientFactors = []struct {
	upTo   float64 // °C
	factor [3]float64
}{
	{30, [3]float64{1, 1, 1}}, // cooler air is not counted
	{35, [3]float64{0.91, 0.94, 0.96}},
	{40, [3]float64{0.82, 0.88, 0.91}},
	{45, [3]float64{0.71, 0.82, 0.87}},
	{50, [3]float64{0.58, 0.75, 0.82}},
}

// AmbientFactor returns by what ampacity is multiplied in air of temperature t,
// for insulation rated 60, 75 or 90 °C.
//
// Valid from -40 to 50 °C; outside it returns a *quantity.RangeError.
func AmbientFactor(t quantity.Temperature, rating int) (float64, error) {
	i, err := column(rating)
	if err != nil {
		return 0, err
	}
	const zero = 273.15 // K at 0 °C
	if err := quantity.CheckRange("replace.AmbientFactor", "ambient temperature", t.Kelvin()-zero, -40, 50, "°C"); err != nil {
		return 0, err
	}
	for _, row := range ambientFactors {
		if t.Kelvin()-zero <= row.upTo+1e-9 {
			return row.factor[i], nil
		}
	}
	panic("replace: table of ambient factors ends below its range")
}

// Drop is a voltage drop on the way out and back.
type Drop struct {
	Volts quantity.Voltage
	Part  quantity.Ratio // of the nominal voltage
}

// VoltageDrop returns the drop along two conductors of length one way and
// ohmsPerMetre each, at current i on a supply of v. Reactance is left out: up
// to 1 AWG it is small beside resistance.
//
// Valid for lengths up to 300 m, currents up to 400 A, 1e-4 to 0.05 ohm/m, 5 to
// 600 V; outside it returns a *quantity.RangeError.
//
// published: Ohm's law over two conductors; NEC chapter 9 table 8 gives the ohms.
func VoltageDrop(ohmsPerMetre float64, length quantity.Length, i quantity.Current, v quantity.Voltage) (Drop, error) {
	const op = "replace.VoltageDrop"
	for _, c := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"resistance", ohmsPerMetre, 1e-4, 0.05, "ohm/m"},
		{"length", float64(length), 0, 300, "m"},
		{"current", float64(i), 0, 400, "A"},
		{"voltage", float64(v), 5, 600, "V"},
	} {
		if err := quantity.CheckRange(op, c.name, c.value, c.lo, c.hi, c.unit); err != nil {
			return Drop{}, err
		}
	}
	d := quantity.Voltage(2 * ohmsPerMetre * float64(length) * float64(i))
	return Drop{d, quantity.Ratio(d / v)}, nil
}
