package refrigerant

import (
	"math"

	"rung/internal/num"
)

// critical returns the critical point of the blend near the guess: T in K,
// molar density and pressure in Pa.
//
// It is where the Helmholtz energy per volume, as a function of the
// concentrations, has no curvature in one direction and no third derivative
// along it. Newton's method in T and density; the slopes are differences.
//
// memory: Heidemann, Khalil 1980, AIChE Journal 26(5), the conditions; written
// for concentrations as Deiters and Bell do.
func (b *blend) critical(T, r float64) (Tc, rc, pc float64, err error) {
	const (
		maxIter = 30
		delta   = 1e-5 // relative
		tol     = 1e-9 // relative
		far     = 0.1  // relative, of a step
	)
	step := math.Inf(1)
	for range maxIter {
		c2, c3 := b.curvature(T, r)
		a2, a3 := b.curvature(T*(1+delta), r)
		d2, d3 := b.curvature(T, r*(1+delta))
		// slopes over ln T and ln r
		a2, a3, d2, d3 = (a2-c2)/delta, (a3-c3)/delta, (d2-c2)/delta, (d3-c3)/delta
		det := a2*d3 - a3*d2
		dT := (-c2*d3 + c3*d2) / det
		dr := (-c3*a2 + c2*a3) / det
		last := step
		step = math.Max(math.Abs(dT), math.Abs(dr))
		if !(step < math.Inf(1)) {
			break
		}
		part := far / math.Max(far, step)
		T *= 1 + part*dT
		r *= 1 + part*dr
		// The differences limit how well the point can be found.
		if step < tol || step < 1e-6 && step >= last {
			var ph phase
			conc := b.at(r)
			ph.set(b.mixture, T, &conc)
			return T, r, ph.p, nil
		}
	}
	return 0, 0, 0, &num.ConvergenceError{Op: "refrigerant.critical", Iterations: maxIter, Residual: step, Lo: T, Hi: T}
}

// at returns the concentrations at the molar density r.
func (b *blend) at(r float64) vector {
	var conc vector
	for i := range b.fluids {
		conc[i] = b.x[i] * r
	}
	return conc
}

// curvature returns the least curvature of the Helmholtz energy per volume over
// RT, scaled so that an ideal gas has 1 in every direction, and its slope along
// that direction. A phase is stable against small changes where the curvature
// is positive.
func (b *blend) curvature(T, r float64) (c2, c3 float64) {
	const s = 1e-4 // length of the step along the direction, relative
	n := len(b.fluids)
	conc := b.at(r)
	scaled := b.hessian(T, &conc, &conc)
	c2, v := leastEigen(scaled, n)
	// along Δρᵢ = s·√ρᵢ·vᵢ, scaled to the density
	along := func(s float64) float64 {
		moved := conc
		for i := range n {
			moved[i] += s * math.Sqrt(conc[i]*r) * v[i]
		}
		h := b.hessian(T, &moved, &conc)
		var sum float64
		for i := range n {
			for j := range n {
				sum += v[i] * v[j] * h[i][j]
			}
		}
		return sum
	}
	return c2, (along(s) - along(-s)) / (2 * s)
}

// hessian returns ∂ ln f_k/∂ρ_l at the concentrations conc, times √(ρ_k ρ_l) of
// the concentrations by.
func (b *blend) hessian(T float64, conc, by *vector) matrix {
	var ph phase
	ph.set(b.mixture, T, conc)
	var h matrix
	for k := range b.fluids {
		for l := range b.fluids {
			h[k][l] = ph.dlnf[k][l] / conc[l] * math.Sqrt(by[k]*by[l])
		}
	}
	return h
}

// leastEigen returns the least eigenvalue of a symmetric matrix and its
// eigenvector, by Jacobi's rotations.
func leastEigen(a matrix, n int) (float64, vector) {
	const sweeps = 30
	var v matrix
	for i := range n {
		v[i][i] = 1
	}
	for range sweeps {
		var off float64
		for p := range n {
			for q := p + 1; q < n; q++ {
				off += math.Abs(a[p][q])
				rotate(&a, &v, n, p, q)
			}
		}
		if off < 1e-15 {
			break
		}
	}
	least := 0
	for i := range n {
		if a[i][i] < a[least][least] {
			least = i
		}
	}
	var e vector
	for i := range n {
		e[i] = v[i][least]
	}
	return a[least][least], e
}

// rotate clears the element p, q.
func rotate(a, v *matrix, n, p, q int) {
	if a[p][q] == 0 {
		return
	}
	theta := (a[q][q] - a[p][p]) / (2 * a[p][q])
	t := 1 / (math.Abs(theta) + math.Sqrt(theta*theta+1))
	if theta < 0 {
		t = -t
	}
	c := 1 / math.Sqrt(t*t+1)
	s := t * c
	for k := range n {
		a[k][p], a[k][q] = c*a[k][p]-s*a[k][q], s*a[k][p]+c*a[k][q]
	}
	for k := range n {
		a[p][k], a[q][k] = c*a[p][k]-s*a[q][k], s*a[p][k]+c*a[q][k]
		v[k][p], v[k][q] = c*v[k][p]-s*v[k][q], s*v[k][p]+c*v[k][q]
	}
}
