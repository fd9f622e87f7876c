// Package num holds the few numerical methods that physics shares: bracketed
// roots, Chebyshev series, and the solution of linear systems.
//
// Methods are plain float64 or complex128; units belong to the caller.
package num

import (
	"fmt"
	"math"
)

// ConvergenceError says how far an iteration got before it gave up.
type ConvergenceError struct {
	Op         string
	Iterations int
	Residual   float64
	Lo, Hi     float64 // last bracket
}

func (e *ConvergenceError) Error() string {
	return fmt.Sprintf("%s: no convergence after %d iterations, residual %g, bracket [%g, %g]",
		e.Op, e.Iterations, e.Residual, e.Lo, e.Hi)
}

// Root finds x in [lo, hi] with f(x) = 0 to within xtol, given that f(lo) and
// f(hi) differ in sign.
//
// It uses Ridders' method, which keeps the bracket and needs two evaluations
// per step. Without a change of sign, or if f returns NaN, the error is a
// *ConvergenceError.
//
// published: Ridders 1979, IEEE Trans. Circuits Syst. 26(11), the method as
// described in numerical-analysis texts; the paper itself not seen.
func Root(op string, f func(float64) float64, lo, hi, xtol float64) (float64, error) {
	flo, fhi := f(lo), f(hi)
	if flo == 0 {
		return lo, nil
	}
	if fhi == 0 {
		return hi, nil
	}
	if !(flo*fhi < 0) {
		return math.NaN(), &ConvergenceError{Op: op, Residual: math.Min(math.Abs(flo), math.Abs(fhi)), Lo: lo, Hi: hi}
	}
	const maxIter = 100
	x, fx := lo, flo
	for range maxIter {
		mid := lo + (hi-lo)/2
		fmid := f(mid)
		s := math.Sqrt(fmid*fmid - flo*fhi)
		if s == 0 {
			return mid, nil
		}
		dx := (mid - lo) * fmid / s
		if flo < fhi {
			dx = -dx
		}
		x = mid + dx
		fx = f(x)
		if fx == 0 || math.IsNaN(fx) {
			break
		}
		switch {
		case fmid*fx < 0:
			lo, flo, hi, fhi = mid, fmid, x, fx
		case flo*fx < 0:
			hi, fhi = x, fx
		default:
			lo, flo = x, fx
		}
		if math.Abs(hi-lo) <= xtol || math.Abs(dx) <= xtol/4 && math.Abs(fx) < math.Abs(fmid) {
			return x, nil
		}
	}
	if fx == 0 {
		return x, nil
	}
	return math.NaN(), &ConvergenceError{Op: op, Iterations: maxIter, Residual: fx, Lo: lo, Hi: hi}
}
