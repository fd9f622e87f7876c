package refrigerant

import "math"

// fit is an explicit function of temperature along the saturation line; with
// θ = 1 − T/T0
//
//	exp      scale·exp(Σ c θ^x)
//	exp-tau  scale·exp(T0/T·Σ c θ^x)
//	sum      scale·(1 + Σ c θ^x)
//
// For a blend treated as one fluid the two pressure fits are the definition of
// its bubble and dew lines. All other fits are first guesses only.
type fit struct {
	form  string
	scale float64
	T0    float64 // K
	terms []coefficient
}

// at returns the value at T, in the unit of the scale; NaN above T0.
func (f *fit) at(T float64) float64 {
	sum, _ := f.sum(T)
	switch f.form {
	case "exp":
		return f.scale * math.Exp(sum)
	case "exp-tau":
		return f.scale * math.Exp(f.T0/T*sum)
	}
	return f.scale * (1 + sum)
}

// lnAt returns the logarithm of an exponential fit and its slope with T.
func (f *fit) lnAt(T float64) (ln, slope float64) {
	sum, sum1 := f.sum(T)
	if f.form == "exp-tau" {
		sum, sum1 = f.T0/T*sum, f.T0/T*(sum1-sum/T)
	}
	return math.Log(f.scale) + sum, sum1
}

// sum returns Σ c θ^x and its slope with T.
func (f *fit) sum(T float64) (sum, slope float64) {
	theta := 1 - T/f.T0
	ln := math.Log(theta)
	for _, k := range f.terms {
		a := k.c * math.Exp(k.x*ln)
		sum += a
		slope += a * k.x
	}
	return sum, -slope / (theta * f.T0)
}
