package num

import (
	"fmt"
	"math"

	"rung/internal/quantity"
)

// Line is a straight line through points, by ordinary least squares. It holds
// where the points scatter about the line alike everywhere, each on its own.
type Line struct {
	Intercept, Slope float64
	// Scatter is the standard deviation of the points about the line, with
	// Points − 2 degrees of freedom.
	Scatter float64
	Points  int

	mean, spread float64 // of the abscissas: mean, sum of squares about it
}

// FitLine fits a line to the points (x, y). It wants three points at least, of
// which two differ in x, all finite; else it returns a *quantity.RangeError.
//
// published: NIST/SEMATECH e-Handbook of Statistical Methods, section 4.1.4.1 (linear
// least squares); written about the mean of x, so that nothing cancels.
func FitLine(x, y []float64) (Line, error) {
	if len(x) != len(y) {
		panic("num: points without a partner")
	}
	n := float64(len(x))
	if err := quantity.CheckRange("num.FitLine", "points", n, 3, math.Inf(1), ""); err != nil {
		return Line{}, err
	}
	var mx, my float64
	for i := range x {
		mx, my = mx+x[i]/n, my+y[i]/n
	}
	var sxx, sxy float64
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	if !(sxx > 0) || math.IsInf(sxx, 0) || math.IsNaN(sxy) || math.IsInf(sxy, 0) {
		return Line{}, &quantity.RangeError{Op: "num.FitLine", Name: "spread of the abscissas", Value: sxx, Min: math.SmallestNonzeroFloat64, Max: math.MaxFloat64}
	}
	l := Line{Slope: sxy / sxx, Points: len(x), mean: mx, spread: sxx}
	l.Intercept = my - l.Slope*mx
	var rest float64
	for i := range x {
		e := y[i] - my - l.Slope*(x[i]-mx)
		rest += e * e
	}
	l.Scatter = math.Sqrt(rest / (n - 2))
	return l, nil
}

// Predict returns where a further point at x is expected, and the scale of
// Student's distribution, with Points − 2 degrees of freedom, of that point about
// it: scatter and doubt of the line together. The scatter counts as least at the least,
// for points read with an instrument may lie on a line by chance.
//
// published: NIST/SEMATECH e-Handbook of Statistical Methods, section 4.5.1.2
// (prediction intervals), written out for a straight line.
func (l Line) Predict(x, least float64) (y, scale float64) {
	y = l.Intercept + l.Slope*x
	s := math.Max(l.Scatter, least)
	d := x - l.mean
	return y, s * math.Sqrt(1+1/float64(l.Points)+d*d/l.spread)
}

// StudentBelow returns the probability that Student's t with n degrees of
// freedom is below t. n below 1 is a *quantity.RangeError.
//
// published: Abramowitz and Stegun 1964, eqs. 26.7.3 and 26.7.4: finite sums.
func StudentBelow(t float64, n int) (float64, error) {
	if err := quantity.CheckRange("num.StudentBelow", "degrees of freedom", float64(n), 1, 1e6, ""); err != nil {
		return 0, err
	}
	if math.IsNaN(t) {
		return 0, fmt.Errorf("num.StudentBelow: %w", &quantity.RangeError{Op: "num.StudentBelow", Name: "t", Value: t, Min: math.Inf(-1), Max: math.Inf(1)})
	}
	theta := math.Atan(t / math.Sqrt(float64(n)))
	sin, cos := math.Sincos(theta)
	// a is the probability of lying within ±t, with the sign of t.
	var a float64
	if n%2 == 0 {
		sum, term := 0.0, 1.0
		for k := 0; k <= n-2; k += 2 {
			sum += term
			term *= cos * cos * float64(k+1) / float64(k+2)
		}
		a = sin * sum
	} else {
		sum, term := 0.0, cos
		for k := 1; k <= n-2; k += 2 {
			sum += term
			term *= cos * cos * float64(k+1) / float64(k+2)
		}
		a = 2 / math.Pi * (theta + sin*sum)
	}
	return (1 + a) / 2, nil
}

// StudentQuantile returns t such that StudentBelow is p, 0 < p < 1, found by
// bisection. Arguments outside are a *quantity.RangeError.
func StudentQuantile(p float64, n int) (float64, error) {
	if err := quantity.CheckRange("num.StudentQuantile", "probability", p, 1e-6, 1-1e-6, ""); err != nil {
		return 0, err
	}
	low, high := -1e6, 1e6 // beyond the quantiles of 1e-6 for one degree of freedom
	for range 200 {
		mid := (low + high) / 2
		below, err := StudentBelow(mid, n)
		if err != nil {
			return 0, err
		}
		if below < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, nil
}
