package quantity

import (
	"errors"
	"math"
	"testing"
)

func TestDifferencesComeBack(t *testing.T) {
	a, b := Temperature(300), Temperature(280.5)
	if got := b.Add(a.Sub(b)); got != a {
		t.Errorf("b.Add(a.Sub(b)) = %v, want %v", got, a)
	}
	p, q := Pressure(9e5), Pressure(1e5)
	if got := p.Sub(q).Above(q); got != p {
		t.Errorf("p.Sub(q).Above(q) = %v, want %v", got, p)
	}
}

func TestCheckRange(t *testing.T) {
	for _, v := range []float64{1, 1.5, 2} {
		if err := CheckRange("op", "x", v, 1, 2, "m"); err != nil {
			t.Errorf("CheckRange(%v) = %v, want nil", v, err)
		}
	}
	for _, v := range []float64{0.999, 2.001, math.NaN(), math.Inf(1)} {
		var re *RangeError
		if err := CheckRange("op", "x", v, 1, 2, "m"); !errors.As(err, &re) {
			t.Errorf("CheckRange(%v) = %v, want a RangeError", v, err)
		}
	}
}

func TestRangeErrorRoundsItsLimits(t *testing.T) {
	err := CheckRange("f", "outdoor", 460, 80*5.0/9, 1050.0/3.1, "K")
	if got, want := err.Error(), "f: outdoor 460 K is outside 44.4444 to 338.71 K"; got != want {
		t.Errorf("Error() = %q, want %q", got, want)
	}
}
