package num

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"rung/internal/quantity"
)

// norris is calibration data of ozone monitors: y, x.
//
// published: NIST Statistical Reference Datasets, linear regression, Norris.
var norris = [][2]float64{
	{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5}, {668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6},
	{778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4}, {0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
	{557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3}, {0.6, 0.3}, {557.6, 556.8}, {339.3, 339.1},
	{888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0}, {10.2, 11.1}, {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5},
}

func norrisLine(t testing.TB, leave int) Line {
	t.Helper()
	var x, y []float64
	for i, p := range norris {
		if i != leave {
			x, y = append(x, p[1]), append(y, p[0])
		}
	}
	l, err := FitLine(x, y)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestFitLine holds the fit against certified values. They are reached only if
// every figure of the data is right, which checks the data too.
func TestFitLine(t *testing.T) {
	l := norrisLine(t, -1)
	for what, x := range map[string][2]float64{ // tolerance: 1e-10, certified to 15 digits
		"intercept": {l.Intercept, -0.262323073774029},
		"slope":     {l.Slope, 1.00211681802045},
		"scatter":   {l.Scatter, 0.884796396144373},
	} {
		if math.Abs(x[0]-x[1]) > 1e-10 {
			t.Errorf("%s is %.15g, certified %.15g", what, x[0], x[1])
		}
	}
}

// TestPredict holds the prediction of each point, from all others, against the
// studentised deleted residual worked out from the full fit: another derivation
// (Sherman and Morrison) of the same number.
func TestPredict(t *testing.T) {
	full := norrisLine(t, -1)
	n := float64(len(norris))
	for i, p := range norris {
		y, scale := norrisLine(t, i).Predict(p[1], 0)
		got := (p[0] - y) / scale
		e := p[0] - full.Intercept - full.Slope*p[1]
		h := 1/n + (p[1]-full.mean)*(p[1]-full.mean)/full.spread
		s2 := ((n-2)*full.Scatter*full.Scatter - e*e/(1-h)) / (n - 3)
		if want := e / math.Sqrt(s2*(1-h)); math.Abs(got-want) > 1e-8*(1+math.Abs(want)) { // tolerance: rounding
			t.Errorf("point %d lies %v scales off its prediction, want %v", i, got, want)
		}
	}
	if _, scale := (Line{Points: 3, spread: 1, Scatter: 0}).Predict(0, 2); math.Abs(scale-2*math.Sqrt(4.0/3)) > 1e-12 {
		t.Errorf("points on a line by chance have the scale %v", scale)
	}
}

// TestPredictCovers: of further points nine in ten lie within the range of nine in ten,
// with as few as three points. Seed 7.
func TestPredictCovers(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	for _, n := range []int{3, 5, 9} {
		const tries = 20000
		q, err := StudentQuantile(0.95, n-2)
		if err != nil {
			t.Fatal(err)
		}
		inside := 0
		for range tries {
			x, y := make([]float64, n), make([]float64, n)
			for i := range x {
				x[i], y[i] = float64(i), 3-0.5*float64(i)+0.2*random.NormFloat64()
			}
			l, err := FitLine(x, y)
			if err != nil {
				t.Fatal(err)
			}
			at := float64(n) + 0.7
			mid, scale := l.Predict(at, 0)
			if math.Abs(3-0.5*at+0.2*random.NormFloat64()-mid) < q*scale {
				inside++
			}
		}
		if share := float64(inside) / tries; math.Abs(share-0.9) > 0.01 { // tolerance: 4.7 standard deviations of a share of 20 000
			t.Errorf("with %d points %.3f lie inside, want 0.9", n, share)
		}
	}
}

// TestStudent holds the quantiles against the printed table, and n = 1 against
// the Cauchy distribution.
//
// published: NIST/SEMATECH e-Handbook, section 1.3.6.7.2, critical values of
// Student's t, column 0.975; tolerance: half the last printed digit.
func TestStudent(t *testing.T) {
	for n, want := range map[int]float64{1: 12.706, 2: 4.303, 3: 3.182, 4: 2.776, 5: 2.571, 6: 2.447, 7: 2.365, 8: 2.306, 9: 2.262, 10: 2.228, 20: 2.086, 30: 2.042} {
		if got, err := StudentQuantile(0.975, n); err != nil || math.Abs(got-want) > 0.0005 {
			t.Errorf("the quantile of 0.975 for %d is %v, %v, want %v", n, got, err, want)
		}
	}
	for _, x := range []float64{-3, -0.1, 0, 1, 40} {
		if got, _ := StudentBelow(x, 1); math.Abs(got-(0.5+math.Atan(x)/math.Pi)) > 1e-14 {
			t.Errorf("below %v: %v", x, got)
		}
	}
}

func TestLineRefuses(t *testing.T) {
	var limit *quantity.RangeError
	nan := math.NaN()
	for _, c := range [][2][]float64{{{1, 2}, {1, 2}}, {{1, 1, 1}, {1, 2, 3}}, {{1, 2, nan}, {1, 2, 3}}, {{1, 2, 3}, {1, nan, 3}}, {{1, 2, math.Inf(1)}, {1, 2, 3}}} {
		if l, err := FitLine(c[0], c[1]); !errors.As(err, &limit) {
			t.Errorf("FitLine%v gives %+v, %v", c, l, err)
		}
	}
	for _, n := range []int{0, -1} {
		if _, err := StudentBelow(0, n); !errors.As(err, &limit) {
			t.Errorf("%d degrees of freedom give %v", n, err)
		}
	}
	if _, err := StudentBelow(nan, 3); !errors.As(err, &limit) {
		t.Errorf("StudentBelow(NaN) gives %v", err)
	}
	for _, p := range []float64{0, 1, nan} {
		if _, err := StudentQuantile(p, 3); !errors.As(err, &limit) {
			t.Errorf("StudentQuantile(%v) gives %v", p, err)
		}
	}
}
