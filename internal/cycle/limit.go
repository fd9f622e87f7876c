package cycle

import "math"

// limit says whether Newton's method, which ended at z, ran into a limit that
// holds: with the unknown held there and the other two balanced, its own residual
// still pushes outwards. The outcome is 0 if not.
func (l *loop) limit(z [3]float64) (Outcome, [3]float64) {
	if z[1] > l.hi[1]-nearLimit {
		z[1] = l.hi[1]
		if at, f, ok := l.held(z, 1); ok && f < 0 {
			return HighPressureLimit, at
		}
	}
	if z[0] < l.lo[0]+nearLimit {
		z[0] = l.lo[0]
		if at, f, ok := l.held(z, 0); ok && f < 0 {
			return LowPressureLimit, at
		}
	}
	if z[1] < l.lo[1]+nearLimit && l.atHead(l.lo[1], &z) > 0 {
		return LowPressureLimit, z
	}
	return 0, z
}

// brims is limit for the liquid limit: with the wettest suction that is followed
// the coil still passes on more. There are balanced states beside such ends, so it is asked
// only when none was found.
func (l *loop) brims(z [3]float64) ([3]float64, bool) {
	if z[2] > l.lo[2]+1 {
		return z, false
	}
	z[2] = l.lo[2]
	at, f, ok := l.held(z, 2)
	return at, ok && f < 0
}

// answers says which residual belongs to which unknown: metered over pumped flow
// to the suction pressure, charge to the head, enthalpy to the suction's.
var answers = [3]int{1, 2, 0}

// held holds the unknown k of z, brings the residuals of the other two to nothing
// by Newton's method and returns the residual of k. It fails where another bound is met.
func (l *loop) held(z [3]float64, k int) (at [3]float64, f float64, ok bool) {
	const maxSteps = 15
	const balanced = 1e-9 // of both residuals: as far as the brackets go
	p := plane{loop: l, free: [2]int{(k + 1) % 3, (k + 2) % 3}, hi: l.hi}
	if k == 1 {
		p.hi[0] = l.top(z[1])
	}
	for _, i := range p.free {
		z[i] = math.Min(math.Max(z[i], l.lo[i]), p.hi[i])
	}
	r, n := p.at(&z)
	var J [2][2]float64
	fresh := false
	for range maxSteps {
		if n < balanced {
			return z, r[answers[k]], true
		}
		if !fresh {
			J = p.jacobian(z, &r)
		}
		zn, rn, nn, ok := p.search(z, &J, &r, n)
		if !ok {
			break
		}
		if fresh = nn < 0.1*n; fresh {
			p.broyden(&J, &z, &zn, &r, &rn)
		}
		z, r, n = zn, rn, nn
	}
	return z, 0, false
}

// plane is the loop with one unknown held.
type plane struct {
	*loop
	free [2]int // the other two
	hi   [3]float64
}

// of returns the residuals of the free unknowns.
func (p *plane) of(r *[3]float64) (a, b float64) { return r[answers[p.free[0]]], r[answers[p.free[1]]] }

// at passes once through the loop and returns the residuals and the norm of the
// two that are sought.
func (p *plane) at(z *[3]float64) (r [3]float64, n float64) {
	r = p.pass(z)
	a, b := p.of(&r)
	if n = math.Sqrt(a*a + b*b); math.IsNaN(n) {
		n = math.Inf(1)
	}
	return r, n
}

// jacobian returns the derivatives by forward differences, away from the upper bounds.
func (p *plane) jacobian(z [3]float64, r *[3]float64) (J [2][2]float64) {
	a, b := p.of(r)
	for k, i := range p.free {
		zk, h := z, difference[i]
		if zk[i]+h > p.hi[i] {
			h = -h
		}
		zk[i] += h
		rk := p.pass(&zk)
		ak, bk := p.of(&rk)
		J[0][k], J[1][k] = (ak-a)/h, (bk-b)/h
	}
	return J
}

// search takes a Newton step, shortened until the norm n falls.
func (p *plane) search(z [3]float64, J *[2][2]float64, r *[3]float64, n float64) (zn, rn [3]float64, nn float64, ok bool) {
	const tries, shrink = 4, 0.4
	a, b := p.of(r)
	det := J[0][0]*J[1][1] - J[0][1]*J[1][0]
	if det == 0 || math.IsNaN(det) {
		return z, *r, n, false
	}
	d := [2]float64{(J[0][1]*b - J[1][1]*a) / det, (J[1][0]*a - J[0][0]*b) / det}
	step := 1.0
	for k, i := range p.free {
		step = math.Min(step, stepLimit[i]/math.Abs(d[k]))
	}
	for range tries {
		zn = z
		for k, i := range p.free {
			zn[i] = math.Min(math.Max(z[i]+step*d[k], p.lo[i]), p.hi[i])
		}
		if rn, nn = p.at(&zn); nn < n {
			return zn, rn, nn, true
		}
		step *= shrink
	}
	return z, *r, n, false
}

// broyden adds the rank-one update of the step from z to zn to J.
func (p *plane) broyden(J *[2][2]float64, z, zn, r, rn *[3]float64) {
	i, j := p.free[0], p.free[1]
	d := [2]float64{zn[i] - z[i], zn[j] - z[j]}
	w := [2]float64{weights[i] * d[0], weights[j] * d[1]}
	dd := w[0]*d[0] + w[1]*d[1]
	if dd == 0 {
		return
	}
	a, b := p.of(r)
	an, bn := p.of(rn)
	for row, change := range [2]float64{an - a, bn - b} {
		x := (change - J[row][0]*d[0] - J[row][1]*d[1]) / dd
		J[row][0] += x * w[0]
		J[row][1] += x * w[1]
	}
}
