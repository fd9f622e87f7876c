package diagnosis

import "math"

// tilt is how the shares of some classes bend with features of a call: in the
// logarithm a level for each class and a slope for each feature, every slope normal
// about where it begins and every level about its own.
//
// published: Agresti, Categorical Data Analysis, section 8.1 (baseline-category
// logit), cited from memory; with normal priors. The test fits made-up calls.
type tilt struct {
	begin  [][]float64 // [class][feature]
	level  []float64   // [class]
	spread float64     // standard deviation of the slopes
	calls  []tiltCall
}

type tiltCall struct {
	class    int
	features []float64
	weight   float64
}

func (t *tilt) add(class int, features []float64, weight float64) {
	if weight > 0 {
		t.calls = append(t.calls, tiltCall{class, features, weight})
	}
}

const (
	// levelSpread is the standard deviation of the levels.
	// practice: wide, so that the calls tell them.
	levelSpread = 2.0
	// tiltRounds and tiltStill end the climb, which cannot go down.
	tiltRounds = 500
	tiltStill  = 1e-5
)

// fit returns the likeliest slopes, and how much the calls weigh in each, 0 to 1.
func (t *tilt) fit() (slopes, own [][]float64) {
	f := t.begun()
	if len(t.calls) > 0 {
		for range tiltRounds {
			most := 0.0
			for c := range f.at {
				most = math.Max(most, f.climb(c))
			}
			f.centre()
			if most < tiltStill {
				break
			}
		}
	}
	for c := range f.at {
		slopes, own = append(slopes, f.at[c][1:]), append(own, f.own(c))
	}
	return slopes, own
}

// tiltFit is a fit on its way. Level and slopes of a class stand in one row, and so do 1
// and the features of a call.
type tiltFit struct {
	*tilt
	at, prior [][]float64 // [class][1+feature]
	worth     []float64   // of the prior of each, 1/variance
	z         [][]float64 // [call][1+feature]
	e         [][]float64 // [call][class]: exp of the score
	sum       []float64   // [call]: of e
	down      [][]float64 // bound on the bend of the likelihood of one class, with the prior
}

func (t *tilt) begun() *tiltFit {
	f := &tiltFit{tilt: t, worth: []float64{1 / (levelSpread * levelSpread)}}
	for c := range t.begin {
		row := append([]float64{t.level[c]}, t.begin[c]...)
		f.prior, f.at = append(f.prior, row), append(f.at, append([]float64(nil), row...))
	}
	for range t.begin[0] {
		f.worth = append(f.worth, 1/(t.spread*t.spread))
	}
	f.down = make([][]float64, len(f.worth))
	for j := range f.down {
		f.down[j] = make([]float64, len(f.worth))
		f.down[j][j] = f.worth[j]
	}
	for _, call := range t.calls {
		z := append([]float64{1}, call.features...)
		e, sum := make([]float64, len(f.at)), 0.0
		for c := range e {
			e[c] = math.Exp(dot(f.at[c], z))
			sum += e[c]
		}
		f.z, f.e, f.sum = append(f.z, z), append(f.e, e), append(f.sum, sum)
		for j := range z {
			for k := range z {
				f.down[j][k] += call.weight * z[j] * z[k] / 4
			}
		}
	}
	return f
}

// climb moves level and slopes of one class uphill and returns by how much at most. With
// the bend bounded from below no step leads down.
//
// published: Böhning and Lindsay 1988: p(1−p) ≤ ¼ bounds the Hessian of a logit; cited from memory.
func (f *tiltFit) climb(c int) float64 {
	up := make([]float64, len(f.worth))
	for j := range up {
		up[j] = -f.worth[j] * (f.at[c][j] - f.prior[c][j])
	}
	for i, call := range f.calls {
		gap := -f.e[i][c] / f.sum[i]
		if call.class == c {
			gap++
		}
		for j, z := range f.z[i] {
			up[j] += call.weight * gap * z
		}
	}
	most := 0.0
	for j, by := range solved(f.down, up) {
		f.at[c][j] += by
		most = math.Max(most, math.Abs(by))
	}
	for i := range f.calls {
		f.sum[i] -= f.e[i][c]
		f.e[i][c] = math.Exp(dot(f.at[c], f.z[i]))
		f.sum[i] += f.e[i][c]
	}
	return most
}

// centre takes out of all classes what they have moved by in common: no call tells
// it, and the priors are likeliest without.
func (f *tiltFit) centre() {
	for j := range f.worth {
		common := 0.0
		for c := range f.at {
			common += (f.at[c][j] - f.prior[c][j]) / float64(len(f.at))
		}
		for c := range f.at {
			f.at[c][j] -= common
		}
	}
	for i, z := range f.z {
		f.sum[i] = 0
		for c := range f.at {
			f.e[i][c] = math.Exp(dot(f.at[c], z))
			f.sum[i] += f.e[i][c]
		}
	}
}

// own returns how much the calls weigh in the slopes of a class, 0 to 1.
func (f *tiltFit) own(c int) []float64 {
	own := make([]float64, len(f.worth)-1)
	for j := range own {
		told := 0.0
		for i, call := range f.calls {
			p := f.e[i][c] / f.sum[i]
			told += call.weight * p * (1 - p) * f.z[i][j+1] * f.z[i][j+1]
		}
		own[j] = told / (told + f.worth[j+1])
	}
	return own
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// solved returns x with a·x = b for a symmetric positive definite a of few rows,
// by elimination, which then needs no exchange of rows.
func solved(a [][]float64, b []float64) []float64 {
	n := len(b)
	m := make([][]float64, n)
	for i := range m {
		m[i] = append(append([]float64(nil), a[i]...), b[i])
	}
	for i := range m {
		for k := i + 1; k < n; k++ {
			q := m[k][i] / m[i][i]
			for j := i; j <= n; j++ {
				m[k][j] -= q * m[i][j]
			}
		}
	}
	x := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		x[i] = m[i][n]
		for j := i + 1; j < n; j++ {
			x[i] -= m[i][j] * x[j]
		}
		x[i] /= m[i][i]
	}
	return x
}
