package system

import (
	"errors"
	"math"
	"testing"

	"rung/internal/quantity"
)

// A table gives back its points and what lies midway, and nothing outside it.
func TestAlong(t *testing.T) {
	for _, row := range []struct{ at, want float64 }{{0, 1}, {0.5, 2}, {1, 3}, {2, 0}, {3, -3}} {
		got, err := along([]float64{row.at, 0, 1, 1, 3, 3, -3})
		if err != nil || math.Abs(got-row.want) > 1e-12 { // rounding
			t.Errorf("along at %g = %g, %v, want %g", row.at, got, err, row.want)
		}
	}
	var re *quantity.RangeError
	for _, at := range []float64{-0.1, 3.1, math.NaN()} {
		if _, err := along([]float64{at, 0, 1, 1, 3, 3, -3}); !errors.As(err, &re) {
			t.Errorf("along at %g: %v, want a RangeError", at, err)
		}
	}
	for _, bad := range [][]float64{nil, {1}, {1, 0, 1}, {1, 0, 1, 2}, {0, 0, 1, 0, 3}} {
		if _, err := along(bad); err == nil {
			t.Errorf("along(%v) has an answer", bad)
		}
	}
}
