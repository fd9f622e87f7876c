package diagnosis

import (
	"math"

	"rung/internal/fault"
)

// Experience is what is known about the causes beside the catalogue: what the
// shop itself has proved, and what happened to this system. The zero value
// leaves every weight as the catalogue has it.
type Experience struct {
	// Closures counts closed calls by the fault that was proved, 1 or a part of 1 each.
	Closures map[string]float64 `json:"closures,omitempty"`
	// Factors are on the weights, by fault; what is not named is 1.
	Factors map[string]float64 `json:"factors,omitempty"`
}

// Learned returns the weights of the faults that a system can have, by id, after
// the closures: the mean of the Dirichlet distribution that begins with the
// weights of the catalogue,
//
//	W·(α·w/W + n_h) / (α + n)
//
// w is the weight of a fault in the catalogue, W the sum of the weights, n_h the
// closures of the fault, n those of all faults given. α, the number of closures
// for which the catalogue stands, is the number of faults given. Factors do not
// enter. The weights add up to W, so that the faults together keep their place
// against the sound system and the unlisted causes.
//
// published: Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.4 (multinomial
// model with a Dirichlet prior), cited from memory; the test derives the mean anew.
// practice: α.
func (x Experience) Learned(fits []*fault.Fault) map[string]float64 {
	alpha, total, n := float64(len(fits)), 0.0, 0.0
	for _, f := range fits {
		total += f.Weight
		n += x.Closures[f.ID]
	}
	list := make(map[string]float64, len(fits))
	for _, f := range fits {
		list[f.ID] = f.Weight
		if n > 0 && total > 0 {
			list[f.ID] = total * (alpha*f.Weight/total + x.Closures[f.ID]) / (alpha + n)
		}
	}
	return list
}

// weights are the learned weights times the factors; nil for no experience.
func (x Experience) weights(fits []*fault.Fault) map[string]float64 {
	if len(x.Closures) == 0 && len(x.Factors) == 0 {
		return nil
	}
	list := x.Learned(fits)
	for id, factor := range x.Factors {
		if w, fits := list[id]; fits {
			list[id] = w * math.Max(factor, 0)
		}
	}
	return list
}

// weight returns the weight of a fault of this system among all calls.
func (w *listing) weight(f *fault.Fault) float64 {
	if learned, known := w.weights[f.ID]; known {
		return learned
	}
	return f.Weight
}
