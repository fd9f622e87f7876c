package refrigerant

import (
	"math"

	"rung/internal/num"
)

// line is a limit of the two-phase region of a blend: the bubble line, on which
// the liquid has the composition of the blend, or the dew line, on which the
// vapour has it.
type line int

const (
	bubbleLine line = iota
	dewLine
)

// maxUnknowns is the size of the largest system solved here.
const maxUnknowns = maxComponents + 2

// boundary is a point on a line of a blend. The other phase is the first
// bubble or the first drop.
type boundary struct {
	lnT   float64
	whole float64 // ln of the density of the phase with the composition of the blend, mol/m³
	other vector  // ln of the concentrations in the other phase, mol/m³
	lnp   float64 // ln of the pressure in Pa
}

// blend is a mixture at fixed mole fractions.
type blend struct {
	*mixture
	x vector
}

// phases evaluates both phases of a point.
func (b *blend) phases(at *boundary, whole, other *phase) {
	T, r := math.Exp(at.lnT), math.Exp(at.whole)
	var conc vector
	for i := range b.fluids {
		conc[i] = b.x[i] * r
	}
	whole.set(b.mixture, T, &conc)
	for i := range b.fluids {
		conc[i] = math.Exp(at.other[i])
	}
	other.set(b.mixture, T, &conc)
}

// given says what is held fixed on a line.
type given int

const (
	givenTemp given = iota
	givenPressure
	givenVolume
)

// solve moves a point by Newton's method until both phases have the same
// fugacities and pressure, at the point's own temperature or pressure.
//
// The unknowns are logarithms: of the density of the whole, of the
// concentrations of the other phase, and of the temperature if the pressure is
// given.
func (b *blend) solve(at *boundary, l line, fixed given) error {
	const (
		maxIter = 40
		tol     = 1e-7 // of a step; Newton's next error is its square
		noise   = 1e-6 // below it a step that does not shrink is rounding
		apart   = 1e-3 // ln of the densities; nearer, both phases are one
	)
	var whole, other phase
	var a [maxUnknowns * maxUnknowns]float64
	var y [maxUnknowns]float64
	bad := num.ConvergenceError{Op: "refrigerant.boundary", Lo: math.Exp(at.lnT), Hi: math.Exp(at.lnT)}
	last := math.Inf(1)
	for range maxIter {
		bad.Iterations++
		b.phases(at, &whole, &other)
		n := b.system(&a, &y, at, &whole, &other, l, fixed)
		if num.Solve("refrigerant.boundary", a[:n*n], y[:n]) != nil {
			return &bad
		}
		step := b.move(at, y[:n], l)
		bad.Residual = step
		if !(step < math.Inf(1)) {
			return &bad
		}
		if step < tol || step < noise && step >= last {
			if math.Abs(math.Log(other.r)-at.whole) < apart {
				return &bad
			}
			if fixed == givenTemp {
				vapour := &other
				if l == dewLine {
					vapour = &whole
				}
				at.lnp = math.Log(vapour.p) + b.pressureStep(vapour, y[:n], l)
			}
			return nil
		}
		last = step
	}
	return &bad
}

// pressureStep returns by how much the logarithm of the pressure of the vapour
// changes by the last step.
func (b *blend) pressureStep(vapour *phase, step []float64, l line) float64 {
	var sum float64
	for i := range b.fluids {
		if l == dewLine {
			sum += vapour.dp[i] * step[0]
		} else {
			sum += vapour.dp[i] * step[1+i]
		}
	}
	return sum / vapour.p
}

// system sets up the linear system of a step of Newton's method and returns
// its size.
func (b *blend) system(a *[maxUnknowns * maxUnknowns]float64, y *[maxUnknowns]float64, at *boundary, whole, other *phase, l line, fixed given) int {
	n := len(b.fluids)
	size := n + 1
	if fixed == givenPressure {
		size++
	}
	scale := universalGas * whole.T * math.Min(whole.r, other.r) // Pa
	for k := range n {
		row := a[k*size : (k+1)*size]
		var sum float64
		for i := range n {
			sum += whole.dlnf[k][i]
			row[1+i] = other.dlnf[k][i]
		}
		row[0] = -sum
		y[k] = whole.lnf[k] - other.lnf[k]
	}
	row := a[n*size : (n+1)*size]
	var sum float64
	for i := range n {
		sum += whole.dp[i]
		row[1+i] = other.dp[i] / scale
	}
	row[0] = -sum / scale
	y[n] = (whole.p - other.p) / scale
	if fixed == givenTemp {
		return size
	}
	for k := range n {
		a[k*size+n+1] = other.lnfT[k] - whole.lnfT[k]
	}
	a[n*size+n+1] = (other.pT - whole.pT) / scale
	p := math.Exp(at.lnp)
	row = a[(n+1)*size : (n+2)*size]
	if l == dewLine {
		clear(row)
		row[0], row[n+1] = sum/p, whole.pT/p
		y[n+1] = 1 - whole.p/p
		return size
	}
	row[0] = 0
	for i := range n {
		row[1+i] = other.dp[i] / p
	}
	row[n+1] = other.pT / p
	y[n+1] = 1 - other.p/p
	return size
}

// move adds a step to the point, shortened where it leads too far to be
// trusted, and returns the size of the full step.
func (b *blend) move(at *boundary, step []float64, l line) float64 {
	const (
		farLiquid = 0.1 // of ln of a density: a liquid hardly yields
		farVapour = 1.0
		farTemp   = 0.05
	)
	n := len(b.fluids)
	var size, over float64
	for i, s := range step {
		s = math.Abs(s)
		if math.IsNaN(s) {
			return math.NaN()
		}
		far := farVapour
		switch {
		case i == 0 && l == bubbleLine:
			far = farLiquid
		case i == n+1:
			far = farTemp
		}
		size, over = math.Max(size, s), math.Max(over, s/far)
	}
	part := 1 / math.Max(1, over)
	at.whole += part * step[0]
	for i := range n {
		at.other[i] += part * step[1+i]
	}
	if len(step) > n+1 {
		at.lnT += part * step[n+1]
	}
	return size
}
