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
	theta := 1 - T/f.T0
	var sum float64
	for _, k := range f.terms {
		sum += k.c * math.Pow(theta, k.x)
	}
	switch f.form {
	case "exp":
		return f.scale * math.Exp(sum)
	case "exp-tau":
		return f.scale * math.Exp(f.T0/T*sum)
	}
	return f.scale * (1 + sum)
}
