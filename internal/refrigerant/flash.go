package refrigerant

import (
	"math"

	"rung/internal/num"
)

// flashed is a blend parted into liquid and vapour in equilibrium, per mole of
// the whole.
type flashed struct {
	T              float64 // K
	p              float64 // Pa
	liquid, vapour vector  // concentrations, mol/m³
	// molar volumes that each phase takes up, m³ per mole of the whole; where
	// one is negative there is no such split
	volumeL, volumeV float64
}

// maxFlash is the size of the largest system of a flash.
const maxFlash = 2*maxComponents + 2

// splitAt returns the split at the pressure p in Pa and the temperature T in K,
// which lies between the temperatures of bub and dew, the ends at that pressure.
func (b *blend) splitAt(p, T float64, bub, dew *boundary) (flashed, error) {
	q := (T - math.Exp(bub.lnT)) / (math.Exp(dew.lnT) - math.Exp(bub.lnT))
	s := b.guessSplit(q, bub, dew)
	s.p, s.T = p, T
	return s, b.part(&s, givenPressure, 0)
}

// splitOf returns the split of the molar volume v in m³/mol at the temperature
// of bub and dew, the ends at that temperature.
func (b *blend) splitOf(v float64, bub, dew *boundary) (flashed, error) {
	q := (v - math.Exp(-bub.whole)) / (math.Exp(-dew.whole) - math.Exp(-bub.whole))
	s := b.guessSplit(q, bub, dew)
	s.T = math.Exp(bub.lnT)
	return s, b.part(&s, givenVolume, v)
}

// guessSplit returns what lies between the ends at the quality q.
func (b *blend) guessSplit(q float64, bub, dew *boundary) flashed {
	var s flashed
	var rL, rV float64
	for i := range b.fluids {
		lnx := math.Log(b.x[i])
		s.liquid[i] = math.Exp((1-q)*(lnx+bub.whole) + q*dew.other[i])
		s.vapour[i] = math.Exp((1-q)*bub.other[i] + q*(lnx+dew.whole))
		rL += s.liquid[i]
		rV += s.vapour[i]
	}
	s.volumeL, s.volumeV = (1-q)/rL, q/rV
	return s
}

// part moves a split by Newton's method until both phases are in equilibrium
// and hold all of every component, at the temperature of s and its pressure or
// the molar volume v.
//
// published: the conditions in any text. Concentrations and volumes as unknowns
// keep every equation explicit; a phase that vanishes gets no volume, and does
// no harm.
func (b *blend) part(s *flashed, fixed given, v float64) error {
	const (
		maxIter = 60
		tol     = 1e-9 // of ln of a concentration
		noise   = 1e-6
		far     = 0.5
	)
	n := len(b.fluids)
	size := 2*n + 2
	var liq, vap phase
	var a [maxFlash * maxFlash]float64
	var y [maxFlash]float64
	bad := num.ConvergenceError{Op: "refrigerant.flash", Lo: s.T, Hi: s.T}
	last := math.Inf(1)
	for range maxIter {
		bad.Iterations++
		liq.set(b.mixture, s.T, &s.liquid)
		vap.set(b.mixture, s.T, &s.vapour)
		clear(a[:])
		scale := universalGas * s.T * vap.r // Pa
		for k := range n {
			row, balance := a[k*size:(k+1)*size], a[(n+k)*size:(n+k+1)*size]
			for i := range n {
				row[i], row[n+i] = liq.dlnf[k][i], -vap.dlnf[k][i]
			}
			y[k] = vap.lnf[k] - liq.lnf[k]
			balance[k], balance[n+k] = s.volumeL*s.liquid[k], s.volumeV*s.vapour[k]
			balance[2*n], balance[2*n+1] = s.liquid[k], s.vapour[k]
			y[n+k] = b.x[k] - s.volumeL*s.liquid[k] - s.volumeV*s.vapour[k]
		}
		one, two := a[2*n*size:(2*n+1)*size], a[(2*n+1)*size:]
		for i := range n {
			one[i], two[n+i] = liq.dp[i]/scale, vap.dp[i]/scale
		}
		y[2*n], y[2*n+1] = (s.p-liq.p)/scale, (s.p-vap.p)/scale
		if fixed == givenVolume {
			for i := range n {
				one[n+i] = -vap.dp[i] / scale
				two[n+i] = 0
			}
			y[2*n] = (vap.p - liq.p) / scale
			two[2*n], two[2*n+1] = 1/v, 1/v
			y[2*n+1] = 1 - (s.volumeL+s.volumeV)/v
		}
		if num.Solve("refrigerant.flash", a[:size*size], y[:size]) != nil {
			return &bad
		}
		step := 0.0
		for _, d := range y[:2*n] {
			step = math.Max(step, math.Abs(d))
		}
		if !(step < math.Inf(1)) {
			return &bad
		}
		part := far / math.Max(far, step)
		for i := range n {
			s.liquid[i] *= math.Exp(part * y[i])
			s.vapour[i] *= math.Exp(part * y[n+i])
		}
		s.volumeL += part * y[2*n]
		s.volumeV += part * y[2*n+1]
		bad.Residual = step
		if step < tol || step < noise && step >= last {
			if fixed == givenVolume {
				s.p = vap.p
			}
			return nil
		}
		last = step
	}
	return &bad
}
