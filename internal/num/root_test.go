package num

import (
	"errors"
	"math"
	"testing"
)

func TestRoot(t *testing.T) {
	for _, c := range []struct {
		name   string
		f      func(float64) float64
		lo, hi float64
		want   float64
	}{
		{"linear", func(x float64) float64 { return 2*x - 1 }, 0, 3, 0.5},
		{"falling", func(x float64) float64 { return 1 - x*x*x }, 0, 5, 1},
		{"cosine", math.Cos, 0, 3, math.Pi / 2},
		{"steep", func(x float64) float64 { return math.Exp(20*x) - 1e5 }, -1, 2, math.Log(1e5) / 20},
		{"at an end", func(x float64) float64 { return x }, 0, 1, 0},
	} {
		got, err := Root(c.name, c.f, c.lo, c.hi, 1e-12)
		if err != nil || math.Abs(got-c.want) > 1e-11 {
			t.Errorf("%s: Root = %v, %v, want %v", c.name, got, err, c.want)
		}
	}
}

func TestRootWithoutSignChange(t *testing.T) {
	_, err := Root("square", func(x float64) float64 { return x*x + 1 }, -1, 1, 1e-9)
	var ce *ConvergenceError
	if !errors.As(err, &ce) || ce.Residual != 2 {
		t.Errorf("Root = %v, want a ConvergenceError with residual 2", err)
	}
}
