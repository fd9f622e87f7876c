package num

import (
	"fmt"
	"math"
	"math/cmplx"
)

// SingularError says that a linear system has no single solution: elimination
// found nothing to divide by in the given column.
type SingularError struct {
	Op     string
	Column int
}

func (e *SingularError) Error() string {
	return fmt.Sprintf("%s: singular system, no pivot in column %d", e.Op, e.Column)
}

// SolveComplex solves A x = b for x by elimination with partial pivoting and
// one step of iterative refinement.
//
// a is n×n by rows and b has n elements; both are left as they are. Rows
// should be of like size, as pivots are compared across rows. A system without
// a single solution gives a *SingularError that names the column.
func SolveComplex(op string, a, b []complex128) ([]complex128, error) {
	n := len(b)
	if len(a) != n*n {
		panic("num.SolveComplex: matrix and right side differ in size")
	}
	lu := append([]complex128(nil), a...)
	perm, err := factor(op, lu, n)
	if err != nil {
		return nil, err
	}
	x := make([]complex128, n)
	substitute(x, lu, perm, b)

	residual := make([]complex128, n)
	for i := range residual {
		sum := b[i]
		for j, xj := range x {
			sum -= a[i*n+j] * xj
		}
		residual[i] = sum
	}
	dx := make([]complex128, n)
	substitute(dx, lu, perm, residual)
	for i := range x {
		x[i] += dx[i]
		if cmplx.IsNaN(x[i]) || cmplx.IsInf(x[i]) {
			return nil, &SingularError{Op: op, Column: i}
		}
	}
	return x, nil
}

// factor replaces the n×n matrix a by its L (unit diagonal) and U parts with
// rows exchanged, and returns the original row of each row.
func factor(op string, a []complex128, n int) ([]int, error) {
	perm := make([]int, n)
	for i := range perm {
		perm[i] = i
	}
	for k := range n {
		p, best := k, size(a[k*n+k])
		for i := k + 1; i < n; i++ {
			if s := size(a[i*n+k]); s > best {
				p, best = i, s
			}
		}
		if !(best > 0) || math.IsInf(best, 0) {
			return nil, &SingularError{Op: op, Column: k}
		}
		if p != k {
			perm[k], perm[p] = perm[p], perm[k]
			for j := range n {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
		}
		eliminate(a, n, k)
	}
	return perm, nil
}

// eliminate clears column k below the diagonal and keeps the multipliers there.
func eliminate(a []complex128, n, k int) {
	row := a[k*n+k+1 : k*n+n]
	for i := k + 1; i < n; i++ {
		if a[i*n+k] == 0 {
			continue
		}
		m := a[i*n+k] / a[k*n+k]
		a[i*n+k] = m
		below := a[i*n+k+1 : i*n+n]
		for j, u := range row {
			below[j] -= m * u
		}
	}
}

// substitute puts the solution for right side b into x.
func substitute(x, lu []complex128, perm []int, b []complex128) {
	n := len(x)
	for i := range n {
		sum := b[perm[i]]
		for j := range i {
			sum -= lu[i*n+j] * x[j]
		}
		x[i] = sum
	}
	for i := n - 1; i >= 0; i-- {
		sum := x[i]
		for j := i + 1; j < n; j++ {
			sum -= lu[i*n+j] * x[j]
		}
		x[i] = sum / lu[i*n+i]
	}
}

// size is a cheap stand-in for the modulus.
func size(z complex128) float64 { return math.Abs(real(z)) + math.Abs(imag(z)) }

// Solve puts the solution x of A x = b into b, by elimination with partial
// pivoting. a is n×n by rows, n the length of b, and is overwritten; nothing is
// allocated. A system without a single solution gives a *SingularError that
// names the column.
func Solve(op string, a, b []float64) error {
	n := len(b)
	if len(a) != n*n {
		panic("num.Solve: matrix and right side differ in size")
	}
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*n+k]) > math.Abs(a[p*n+k]) {
				p = i
			}
		}
		pivot := a[p*n+k]
		if !(math.Abs(pivot) > 0) || math.IsInf(pivot, 0) {
			return &SingularError{Op: op, Column: k}
		}
		if p != k {
			for j := k; j < n; j++ {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
			b[k], b[p] = b[p], b[k]
		}
		for i := k + 1; i < n; i++ {
			m := a[i*n+k] / pivot
			if m == 0 {
				continue
			}
			for j := k + 1; j < n; j++ {
				a[i*n+j] -= m * a[k*n+j]
			}
			b[i] -= m * b[k]
		}
	}
	for i := n - 1; i >= 0; i-- {
		sum := b[i]
		for j := i + 1; j < n; j++ {
			sum -= a[i*n+j] * b[j]
		}
		b[i] = sum / a[i*n+i]
	}
	return nil
}
