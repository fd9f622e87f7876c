package diagnosis

import (
	"math"

	"rung/internal/fault"
)

// Experience is what is known beside the catalogue: what the shop itself has
// proved, and what happened to this system. The zero value leaves everything as
// the catalogue has it.
type Experience struct {
	// Closures counts closed calls by the fault that was proved, 1 or a part of 1 each.
	Closures map[string]float64 `json:"closures,omitempty"`
	// Factors are on the weights, by fault; what is not named is 1.
	Factors map[string]float64 `json:"factors,omitempty"`
	// Minutes and RepairMinutes stand in for those of the catalogue, by check and
	// by repair, for who works at the unit.
	Minutes       map[string]float64 `json:"minutes,omitempty"`
	RepairMinutes map[string]float64 `json:"repair_minutes,omitempty"`
	// Wrong stands in for the share of wrong readings of the settings, by check.
	Wrong map[string]float64 `json:"wrong,omitempty"`
	// Pairs stands in for the rate of a listed pair, by pair.
	Pairs map[string]float64 `json:"pairs,omitempty"`
	// Sound and Unlisted stand in for the priors of a sound system and of all
	// unlisted causes, as parts of that of all listed causes; 0 for those of the program.
	Sound    float64 `json:"sound,omitempty"`
	Unlisted float64 `json:"unlisted,omitempty"`
	// FalsePass stands in for that of the settings; 0 for none.
	FalsePass float64 `json:"false_pass,omitempty"`
}

// The number of closures for which the catalogue stands is that of the faults up
// to enoughClosures of a shop's own, and from then on the likeliest of strengths.
// practice: measured on made-up shops, where the choice was never far from the best
// fixed number, and below it too little was there to choose by.
const enoughClosures = 100

var strengths = []float64{10, 20, 40, 80, 160, 320, 640, 1280}

// Strength returns α, the number of closures for which the weights of the
// catalogue stand against the shop's own.
func (x Experience) Strength(fits []*fault.Fault) float64 {
	n := 0.0
	for _, f := range fits {
		n += x.Closures[f.ID]
	}
	if n < enoughClosures {
		return float64(len(fits))
	}
	best, at := math.Inf(-1), 0.0
	for _, alpha := range strengths {
		if l := x.evidence(fits, alpha); l > best {
			best, at = l, alpha
		}
	}
	return at
}

// evidence returns the logarithm of the probability of the closures, in the
// order in which they came, if the catalogue stands for alpha closures.
//
// published: Minka, Estimating a Dirichlet distribution, eq. 53 (the Pólya
// distribution), cited from memory; the test derives it anew, call by call.
func (x Experience) evidence(fits []*fault.Fault, alpha float64) float64 {
	total, n, sum := 0.0, 0.0, 0.0
	for _, f := range fits {
		total += f.Weight
	}
	for _, f := range fits {
		c, own := x.Closures[f.ID], alpha*f.Weight/total
		n += c
		sum += logGamma(own+c) - logGamma(own)
	}
	return sum + logGamma(alpha) - logGamma(alpha+n)
}

func logGamma(x float64) float64 {
	l, _ := math.Lgamma(x)
	return l
}

// Learned returns the weights of the faults that a system can have, by id, after
// the closures: the mean of the Dirichlet distribution that begins with the
// weights of the catalogue,
//
//	W·(α·w/W + n_h) / (α + n)
//
// w is the weight of a fault in the catalogue, W the sum of the weights, n_h the
// closures of the fault, n those of all faults given, α that of Strength. Factors do
// not enter. The weights add up to W, so that the faults together keep their place
// against the sound system and the unlisted causes.
//
// published: Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.4 (multinomial
// model with a Dirichlet prior), cited from memory; the test derives the mean anew.
func (x Experience) Learned(fits []*fault.Fault) map[string]float64 {
	alpha, total, n := x.Strength(fits), 0.0, 0.0
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

// learnedOr returns what was learned of an id, else what stands in the catalogue.
func learnedOr(learned map[string]float64, id string, listed float64) float64 {
	if v, known := learned[id]; known {
		return v
	}
	return listed
}

// orListed returns a learned share, else the one of the program.
func orListed(learned, listed float64) float64 {
	if learned > 0 {
		return learned
	}
	return listed
}

// settings returns the settings with what was learned in place.
func (x Experience) settings(s Settings) Settings {
	s.FalsePass = orListed(x.FalsePass, s.FalsePass)
	return s
}

// heed puts what was learned of checks into the points.
func (w *listing) heed() {
	for i := range w.points {
		w.points[i].Wrong = w.experience.Wrong[w.points[i].Check]
	}
}

// Shares that the program begins with, for who shows or learns them: those of a
// sound system and of all unlisted causes, as parts of all listed causes together.
const (
	SoundShare    = healthyShare
	UnlistedShare = unlistedShare
)

// WrongShare returns the share of wrong readings that the settings have for a
// point: seen or heard, or read off a meter.
func (s Settings) WrongShare(sensed bool, role Role) float64 {
	e := Engine{set: s}
	return e.epsilon(&Point{Sensed: sensed}, Person{Role: role})
}
