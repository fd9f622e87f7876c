package refrigerant

import (
	"math"

	"rung/internal/num"
)

// traced is a line of a blend as a chain of solved points, from which every
// other point of the line is within a few steps of Newton's method.
type traced struct {
	line  line
	nodes []node
}

// node is a solved point with the slopes of all its unknowns along ln T.
type node struct {
	boundary
	whole1 float64
	other1 vector
	lnp1   float64
}

// Limits of the lines of blends. The numbers are our choice.
const (
	traceStep  = 0.02 // of ln T, the longest step
	traceLeast = 2e-5 // of ln T, the shortest: some 0.007 K
	traceNear  = 0.2  // ln of the densities; nearer to the critical point the lines are not followed
	traceBend  = 0.2  // of that ln, its largest change over a step: near the critical point it falls as a root
)

// trace follows a line upward from the temperature from in K, to the critical
// point or as far as the line goes up in temperature.
func (b *blend) trace(l line, from float64) (traced, error) {
	tr := traced{line: l}
	at, err := b.first(l, from)
	if err != nil {
		return tr, err
	}
	n, err := b.node(at, l)
	if err != nil {
		return tr, err
	}
	tr.nodes = append(tr.nodes, n)
	for h := traceStep; h > traceLeast; {
		last := &tr.nodes[len(tr.nodes)-1]
		guess := last.ahead(len(b.fluids), h)
		next := guess
		if b.solve(&next, l, givenTemp) != nil || b.far(&next, &guess) > 0.2 {
			h /= 2
			continue
		}
		n, err := b.node(next, l)
		gap, before := math.Abs(next.gap(len(b.fluids))), math.Abs(last.gap(len(b.fluids)))
		if err != nil || !n.sane(l, len(b.fluids)) || gap < (1-traceBend)*before {
			h /= 2
			continue
		}
		tr.nodes = append(tr.nodes, n)
		if gap < traceNear {
			break
		}
		if b.far(&next, &guess) < 0.02 {
			h = math.Min(1.5*h, traceStep)
		}
	}
	return tr, nil
}

// gap returns how much denser the other phase is, as a logarithm.
func (at *boundary) gap(n int) float64 {
	var r float64
	for i := range n {
		r += math.Exp(at.other[i])
	}
	return math.Log(r) - at.whole
}

// sane reports whether the point is still on the line that is followed: the
// liquid the denser phase, and the pressure rising.
func (n *node) sane(l line, count int) bool {
	return n.lnp1 > 0 && (n.gap(count) > 0) == (l == dewLine)
}

// far returns the largest difference of two points in any logarithm.
func (b *blend) far(p, q *boundary) float64 {
	d := math.Abs(p.whole - q.whole)
	for i := range b.fluids {
		d = math.Max(d, math.Abs(p.other[i]-q.other[i]))
	}
	return d
}

// ahead returns the guess at a step of h along ln T.
func (n *node) ahead(count int, h float64) boundary {
	at := n.boundary
	at.lnT += h
	at.whole += h * n.whole1
	for i := range count {
		at.other[i] += h * n.other1[i]
	}
	at.lnp += h * n.lnp1
	return at
}

// node returns the slopes at a solved point: those that keep the phases equal
// when the temperature moves.
func (b *blend) node(at boundary, l line) (node, error) {
	var whole, other phase
	var a [maxUnknowns * maxUnknowns]float64
	var y [maxUnknowns]float64
	b.phases(&at, &whole, &other)
	n := b.system(&a, &y, &at, &whole, &other, l, givenTemp)
	count := len(b.fluids)
	for k := range count {
		y[k] = whole.lnfT[k] - other.lnfT[k]
	}
	scale := universalGas * whole.T * math.Min(whole.r, other.r)
	y[count] = (whole.pT - other.pT) / scale
	if err := num.Solve("refrigerant.node", a[:n*n], y[:n]); err != nil {
		return node{}, err
	}
	out := node{boundary: at, whole1: y[0]}
	copy(out.other1[:count], y[1:n])
	vapour := &other
	if l == dewLine {
		vapour = &whole
	}
	out.lnp1 = vapour.pT/vapour.p + b.pressureStep(vapour, y[:n], l)
	return out, nil
}

// first returns the point of the line at T in K. The law of Raoult and the
// pure fluids give a guess, successive substitution improves it until Newton's
// method can be trusted with it.
func (b *blend) first(l line, T float64) (boundary, error) {
	const (
		maxIter = 60
		close   = 0.02 // of ln of a fugacity
	)
	p, liquid, vapour := b.raoult(l, T)
	var liq, vap phase
	for range maxIter {
		b.compress(&liquid, T, p)
		liq.set(b.mixture, T, &liquid)
		vap.set(b.mixture, T, &vapour)
		// The phase that forms takes up what escapes more readily from the other.
		forming, sign := &vapour, 1.0
		if l == dewLine {
			forming, sign = &liquid, -1.0
		}
		var before, after, worst float64
		for i := range b.fluids {
			d := sign * (liq.lnf[i] - vap.lnf[i])
			worst = math.Max(worst, math.Abs(d))
			before += forming[i]
			forming[i] *= math.Exp(d)
			after += forming[i]
		}
		if l == bubbleLine {
			p *= after / before
		} else {
			p *= before / after
			for i := range b.fluids {
				liquid[i] *= before / after
				vapour[i] *= before / after
			}
		}
		if worst < close {
			break
		}
	}
	at := boundary{lnT: math.Log(T), lnp: math.Log(p)}
	whole, other := &liquid, &vapour
	if l == dewLine {
		whole, other = other, whole
	}
	var r float64
	for i := range b.fluids {
		r += whole[i]
		at.other[i] = math.Log(other[i])
	}
	at.whole = math.Log(r)
	return at, b.solve(&at, l, givenTemp)
}

// raoult returns the pressure in Pa and the concentrations in mol/m³ of both
// phases at T in K by the law of Raoult, the vapour an ideal gas.
func (b *blend) raoult(l line, T float64) (p float64, liquid, vapour vector) {
	var inverse float64 // 1/Pa
	for i, f := range b.fluids {
		p += b.x[i] * f.dewFit.at(T)
		inverse += b.x[i] / f.dewFit.at(T)
	}
	if l == dewLine {
		p = 1 / inverse
	}
	var volume float64 // m³/mol, of the liquid
	for i, f := range b.fluids {
		K := f.dewFit.at(T) / p
		x, y := b.x[i], b.x[i]
		if l == bubbleLine {
			y *= K
		} else {
			x /= K
		}
		vapour[i] = y * p / (universalGas * T)
		liquid[i] = x
		volume += x / f.liquidFit.at(T)
	}
	for i := range b.fluids {
		liquid[i] /= volume
	}
	return p, liquid, vapour
}

// compress scales the concentrations of a liquid until its pressure is p.
func (b *blend) compress(conc *vector, T, p float64) {
	const maxIter = 20
	var ph phase
	for range maxIter {
		ph.set(b.mixture, T, conc)
		var slope float64
		for i := range b.fluids {
			slope += ph.dp[i]
		}
		step := math.Max(-0.1, math.Min(0.1, (p-ph.p)/slope))
		for i := range b.fluids {
			conc[i] *= 1 + step
		}
		if math.Abs(step) < 1e-8 {
			return
		}
	}
}

// rounding is how far a logarithm may miss the end of a line by rounding.
const rounding = 1e-12

// atTemp returns the guess at ln T, and whether the line reaches it.
func (tr *traced) atTemp(lnT float64, count int) (boundary, bool) {
	if !(tr.nodes[0].lnT-rounding <= lnT && lnT <= tr.last().lnT+rounding) {
		return boundary{}, false
	}
	return onCubics(tr.cell(func(x *node) float64 { return x.lnT }, lnT), lnT, count), true
}

// atPressure returns the guess at ln p, and whether the line reaches it.
func (tr *traced) atPressure(lnp float64, count int) (boundary, bool) {
	if !(tr.nodes[0].lnp-rounding <= lnp && lnp <= tr.last().lnp+rounding) {
		return boundary{}, false
	}
	c := tr.cell(func(x *node) float64 { return x.lnp }, lnp)
	// The inverse of the cubic by the secant rule; it is nearly straight.
	a, z := &c[0], &c[1]
	lnT := a.lnT + (z.lnT-a.lnT)*(lnp-a.lnp)/(z.lnp-a.lnp)
	at := onCubics(c, lnT, count)
	for range 4 {
		at = onCubics(c, math.Max(a.lnT, math.Min(z.lnT, at.lnT+(lnp-at.lnp)*(z.lnT-a.lnT)/(z.lnp-a.lnp))), count)
	}
	at.lnp = lnp
	return at, true
}

// cell returns the two nodes around the place where of has the value v.
func (tr *traced) cell(of func(*node) float64, v float64) []node {
	lo, hi := 0, len(tr.nodes)-1
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if of(&tr.nodes[mid]) <= v {
			lo = mid
		} else {
			hi = mid
		}
	}
	return tr.nodes[lo : lo+2]
}

// onCubics returns the point at ln T on the cubics between two nodes.
func onCubics(c []node, lnT float64, count int) boundary {
	a, z := &c[0], &c[1]
	h := z.lnT - a.lnT
	w := place{t: (lnT - a.lnT) / h, h: h}.weights()
	at := boundary{
		lnT:   lnT,
		whole: w.f0*a.whole + w.m0*a.whole1 + w.f1*z.whole + w.m1*z.whole1,
		lnp:   w.f0*a.lnp + w.m0*a.lnp1 + w.f1*z.lnp + w.m1*z.lnp1,
	}
	for i := range count {
		at.other[i] = w.f0*a.other[i] + w.m0*a.other1[i] + w.f1*z.other[i] + w.m1*z.other1[i]
	}
	return at
}
