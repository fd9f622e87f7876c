package protocol

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"

	"rung/internal/quantity"
)

//go:embed data/target-split.txt
var splitText string

// splits holds the target split, °F, by return dry and wet bulb, °F.
var splits = mustSplits(splitText)

type splitKey struct{ dry, wet int }

func mustSplits(text string) map[splitKey]float64 {
	m, err := parseSplits(text)
	if err != nil {
		panic("protocol: target-split.txt: " + err.Error())
	}
	return m
}

func parseSplits(text string) (map[splitKey]float64, error) {
	m := map[splitKey]float64{}
	for i, line := range strings.Split(text, "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(line, " | ")
		if len(f) != 3 {
			return nil, fmt.Errorf("line %d: %d columns, want 3", i+1, len(f))
		}
		dry, err := strconv.Atoi(f[0])
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", i+1, err)
		}
		wet, err := strconv.Atoi(f[1])
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", i+1, err)
		}
		if m[splitKey{dry, wet}], err = strconv.ParseFloat(f[2], 64); err != nil {
			return nil, fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	return m, nil
}

// The rows that stand in the table, °F.
const (
	firstRow = 70
	lastRow  = 75
	firstWet = 50
)

// TargetSplit returns the split that the procedure wants between return and
// supply; ok is false outside its table, which here covers return air of 70 to
// 75 °F (21.1 to 23.9 °C) from 50 °F (10 °C) wet bulb. Between the rows and
// columns it is taken linearly.
func TargetSplit(dryBulb, wetBulb quantity.Temperature) (target quantity.TempDiff, ok bool) {
	dry, wet := fahrenheit(dryBulb), fahrenheit(wetBulb)
	// A reading in whole degrees is not put outside by the last bit of a conversion.
	const slack = 1e-9
	if !(firstRow-slack <= dry && dry <= lastRow+slack && firstWet-slack <= wet && wet <= dry) {
		return 0, false
	}
	lo := math.Max(math.Floor(wet+slack), firstWet)
	at := func(row int) (float64, bool) {
		a, okA := splits[splitKey{row, int(lo)}]
		b, okB := splits[splitKey{row, int(lo) + 1}]
		if x := wet - lo; x > slack {
			return a + x*(b-a), okA && okB
		}
		return a, okA
	}
	a, okA := at(firstRow)
	b, okB := at(lastRow)
	x := (dry - firstRow) / (lastRow - firstRow)
	switch {
	case x < slack:
		return degrees(a), okA
	case x > 1-slack:
		return degrees(b), okB
	}
	return degrees(a + x*(b-a)), okA && okB
}

// The procedure is printed in °F; both conversions stand here alone.
const (
	kelvinPerFahrenheit = 5.0 / 9
	fahrenheitZero      = 459.67 * kelvinPerFahrenheit // K
)

func fahrenheit(t quantity.Temperature) float64 {
	return (float64(t) - fahrenheitZero) / kelvinPerFahrenheit
}

func degrees(f float64) quantity.TempDiff { return quantity.TempDiff(f * kelvinPerFahrenheit) }
