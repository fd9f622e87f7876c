package system

import (
	"fmt"
	"math"

	"rung/internal/quantity"
)

// along(x,x1,y1,x2,y2,...) reads a table by straight lines between its points,
// x rising; outside of it there is no answer.
func init() { formulas["along"] = formula{-1, along} }

func along(x []float64) (float64, error) {
	if len(x) < 5 || len(x)%2 == 0 {
		return 0, fmt.Errorf("along wants a place and two points or more")
	}
	at, table := x[0], x[1:]
	for i := 2; i < len(table); i += 2 {
		if !(table[i] > table[i-2]) {
			return 0, fmt.Errorf("along: its points do not rise at %g", table[i])
		}
	}
	if err := quantity.CheckRange("system.along", "place", at, table[0], table[len(table)-2], ""); err != nil {
		return 0, err
	}
	for i := 2; ; i += 2 {
		if at <= table[i] {
			share := (at - table[i-2]) / (table[i] - table[i-2])
			return math.FMA(share, table[i+1]-table[i-1], table[i-1]), nil
		}
	}
}
