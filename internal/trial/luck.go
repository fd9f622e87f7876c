package trial

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// luck is the chance of one call: what is drawn for a purpose depends on the call
// and on the purpose alone, so that every way of working meets the same.
type luck struct{ seed, call uint64 }

// source returns the random numbers for a purpose.
func (l luck) source(purpose ...any) *rand.Rand {
	h := fnv.New64a()
	fmt.Fprint(h, purpose...)
	return rand.New(rand.NewPCG(l.seed*0x9e3779b97f4a7c15+l.call, h.Sum64()))
}

// happens says whether something of probability p comes about.
func (l luck) happens(p float64, purpose ...any) bool { return l.source(purpose...).Float64() < p }

// pick returns an index in proportion to the weights.
func pick(r *rand.Rand, weights []float64) int {
	total := 0.0
	for _, w := range weights {
		total += w
	}
	u := r.Float64() * total
	for i, w := range weights {
		if u -= w; u < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// widened returns the quantile of a standard normal deviate that is factor times
// the one at u.
func widened(u, factor float64) float64 {
	z := math.Sqrt2 * math.Erfinv(2*u-1)
	w := 0.5 * math.Erfc(-factor*z/math.Sqrt2)
	return math.Min(math.Max(w, 1e-9), 1-1e-9)
}
