package num

import (
	"errors"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// Nothing is published for these systems: the residual is the check.
func TestSolveComplexResidual(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2)) // seed 1, 2
	for _, n := range []int{1, 2, 5, 30} {
		a, b := make([]complex128, n*n), make([]complex128, n)
		for i := range a {
			a[i] = complex(rng.NormFloat64(), rng.NormFloat64())
		}
		for i := range b {
			b[i] = complex(rng.NormFloat64(), rng.NormFloat64())
		}
		x, err := SolveComplex("test", a, b)
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			sum := -b[i]
			for j := range n {
				sum += a[i*n+j] * x[j]
			}
			if cmplx.Abs(sum) > 1e-12 { // a few hundred roundings of numbers near one
				t.Errorf("n = %d: row %d leaves %g, want 0", n, i, cmplx.Abs(sum))
			}
		}
	}
}

func TestSolveComplexNeedsPivoting(t *testing.T) {
	x, err := SolveComplex("test", []complex128{0, 1, 2i, 0}, []complex128{3, 4})
	if err != nil || x[0] != -2i || x[1] != 3 {
		t.Errorf("SolveComplex = %v, %v, want [-2i 3]", x, err)
	}
}

func TestSolveComplexSingular(t *testing.T) {
	_, err := SolveComplex("test", []complex128{1, 2, 2, 4}, []complex128{1, 1})
	var singular *SingularError
	if !errors.As(err, &singular) || singular.Column != 1 {
		t.Errorf("SolveComplex of a singular matrix: error %v, want SingularError at column 1", err)
	}
}
