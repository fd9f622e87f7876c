package refrigerant

import (
	"math"

	"rung/internal/num"
)

// branch is the side of the isotherm on which a density is sought.
type branch int

const (
	vapourBranch branch = iota
	liquidBranch
	fluidBranch // above the critical temperature, where the isotherm rises throughout
)

// density returns the molar density at T in K and p in Pa on the branch b.
//
// It is Newton's method inside a bracket. Where the isotherm falls, between
// the two phases, the bracket is moved towards the branch wanted. Without such
// a state (p beyond the spinodal of the branch) the error is a
// *num.ConvergenceError.
func (f *Fluid) density(T, p float64, b branch) (float64, error) {
	const (
		maxIter = 100
		tol     = 1e-13 // relative; a few units in the last place of ρ
		noise   = 1e-9  // relative; below it a step that does not shrink is rounding
	)
	var it isotherm
	f.eq.isothermAt(&it, T)
	lo, hi, x := f.densityBracket(T, p, b)
	bad := num.ConvergenceError{Op: "refrigerant.density"}
	last := math.Inf(1)
	for range maxIter {
		px, slope := f.eq.pressure(&it, T, x)
		bad.Iterations++
		bad.Residual = px/p - 1
		tooLow := px < p
		if slope <= 0 && b != fluidBranch {
			tooLow = b == liquidBranch
		}
		if tooLow {
			lo = x
		} else {
			hi = x
		}
		next := x + (p-px)/slope
		if !(slope > 0 && lo <= next && next <= hi) {
			next = (lo + hi) / 2
		}
		step := math.Abs(next-x) / x
		if step <= tol || step < noise && step >= last {
			// A bracket that shrank onto a spinodal is no answer: the isotherm
			// does not reach p there.
			if slope > 0 && math.Abs(p-px) <= 10*noise*slope*x {
				return next, nil
			}
			break
		}
		x, last = next, step
	}
	bad.Lo, bad.Hi = lo, hi
	return math.NaN(), &bad
}

// densityBracket returns limits of the molar density on the branch b and a
// first guess between them.
func (f *Fluid) densityBracket(T, p float64, b branch) (lo, hi, guess float64) {
	// No equation here is used beyond four times its critical density; the
	// highest pressures of the fluids held reach 3.4 times.
	dense := 4 * f.critRho
	idealGas := p / (f.eq.gasConstant * T)
	switch b {
	case vapourBranch:
		return 0, f.critRho, math.Min(idealGas, 0.3*f.critRho)
	case liquidBranch:
		guess = f.guessLiquid(math.Max(f.satMinT, math.Min(T, f.satMaxT)))
		return 0.9 * f.critRho, dense, math.Min(1.05*guess, dense)
	}
	return 0, dense, math.Min(idealGas, f.critRho)
}

// guessLiquid returns about the molar density of the boiling liquid at T in K,
// within the range of the saturation line.
func (f *Fluid) guessLiquid(T float64) float64 {
	b := f.blend
	if b == nil {
		return f.liquidFit.at(T)
	}
	at, _ := b.bubble.atTemp(math.Max(b.bubble.nodes[0].lnT, math.Min(math.Log(T), b.bubble.last().lnT)), len(b.fluids))
	return math.Exp(at.whole)
}
