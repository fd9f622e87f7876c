package refrigerant

import (
	"fmt"
	"math"
	"strings"

	"rung/internal/num"
)

// ViscosityRow is a viscosity in Pa·s at T in K and a density in kg/m³.
type ViscosityRow struct{ T, Density, Viscosity float64 }

// FitViscosity fits the numbers of a pure refrigerant to the rows, for the
// program that generates their file, and returns its line there and the largest
// deviation, as a fraction. The least squares are of the logarithms.
func FitViscosity(name string, rows []ViscosityRow) (line string, worst float64, err error) {
	f, err := Lookup(name)
	if err != nil {
		return "", 0, err
	}
	if f.blend != nil || len(rows) < fitted {
		return "", 0, fmt.Errorf("refrigerant.FitViscosity: %s with %d rows; want an equation of its own and more rows", name, len(rows))
	}
	v := viscosityFit{fluid: f, rows: rows, m: f.eq.molarMass / avogadro}
	if err := v.run(); err != nil {
		return "", 0, err
	}
	for i := range rows {
		worst = math.Max(worst, math.Abs(math.Expm1(v.deviation(&v.at, i))))
	}
	return v.line(), worst, nil
}

// fitted is how many numbers are fitted: those of the molecule and the curve.
const fitted = 7

// viscosityFit is a fit under way; at holds ln σ, ln ε and n.
type viscosityFit struct {
	fluid *Fluid
	rows  []ViscosityRow
	m     float64
	s     []float64 // residual entropy of each row
	at    [fitted]float64
}

// run finds the least squares by the method of Levenberg and Marquardt.
func (v *viscosityFit) run() error {
	const rounds = 200
	f := v.fluid
	for _, r := range v.rows {
		v.s = append(v.s, f.eq.residualEntropy(r.T, r.Density/f.eq.molarMass))
	}
	// published: Chung, Lee, Starling 1984, as in texts on gas properties: σ is
	// 0.809 Å per cube root of the critical volume in cm³/mol, ε/k = Tc/1.2593.
	v.at = [fitted]float64{math.Log(0.809e-10 * math.Cbrt(1e6/f.critRho)), math.Log(f.critT / 1.2593), 0.3, 0, 0, 0, 0}
	damping, last := 1.0, v.sum(&v.at)
	for range rounds {
		step, err := v.step(damping)
		if err != nil {
			return err
		}
		next := v.at
		for k := range next {
			next[k] += step[k]
		}
		if sum := v.sum(&next); sum < last {
			v.at, last = next, sum
			damping /= 3
		} else {
			damping *= 4
		}
	}
	return nil
}

// deviation returns the logarithm of computed over given viscosity of a row.
func (v *viscosityFit) deviation(at *[fitted]float64, i int) float64 {
	r := v.rows[i]
	molecule := viscous{sigma: math.Exp(at[0]), epsilon: math.Exp(at[1])}
	n := [5]float64(at[2:])
	eta := molecule.dilute(r.T, v.m) + scaled(r.T, v.m, r.Density/v.m)*curve(&n, v.s[i], v.fluid.eq.reduceT/r.T)
	return math.Log(math.Max(eta, 1e-9) / r.Viscosity)
}

func (v *viscosityFit) sum(at *[fitted]float64) (sum float64) {
	for i := range v.rows {
		d := v.deviation(at, i)
		sum += d * d
	}
	return sum
}

// step solves the damped normal equations; the slopes are differences.
func (v *viscosityFit) step(damping float64) ([]float64, error) {
	const delta = 1e-6
	a, b := make([]float64, fitted*fitted), make([]float64, fitted)
	for i := range v.rows {
		here := v.deviation(&v.at, i)
		var slope [fitted]float64
		for k := range slope {
			moved := v.at
			moved[k] += delta
			slope[k] = (v.deviation(&moved, i) - here) / delta
		}
		for j := range slope {
			b[j] -= slope[j] * here
			for k := range slope {
				a[j*fitted+k] += slope[j] * slope[k]
			}
		}
	}
	for k := range fitted {
		a[k*fitted+k] *= 1 + damping
	}
	return b, num.Solve("refrigerant.FitViscosity", a, b)
}

// line writes what readViscous reads.
func (v *viscosityFit) line() string {
	const (
		coarse = 10   // K: limits to full tens, for the eye
		lowest = 210  // K: the rows begin at 213 to 223 K
		hot    = 420  // K: above its rows, thin gas rests on kinetic theory
		beyond = 1.02 // of the highest density
	)
	hi, dense := float64(hot), 0.0
	for _, r := range v.rows {
		hi, dense = math.Max(hi, math.Ceil(r.T/coarse)*coarse), math.Max(dense, r.Density)
	}
	words := []string{"own", v.fluid.name}
	words = append(words, fmt.Sprintf("%d %g %.5g", lowest, math.Min(hi, v.fluid.maxT), dense*beyond))
	words = append(words, fmt.Sprintf("%.6e %.6g", math.Exp(v.at[0]), math.Exp(v.at[1])))
	for _, n := range v.at[2:] {
		words = append(words, fmt.Sprintf("%.8g", n))
	}
	return strings.Join(words, " ")
}
