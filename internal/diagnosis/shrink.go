package diagnosis

import "math"

// Rate is a share that is learned: Beta distributed, its mean what the program
// begins with, worth so many observations.
type Rate struct{ Begin, Worth float64 }

// After returns the mean after n observations, k of which were so.
//
// published: Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.4 (binomial
// model with a Beta prior), cited from memory: the mean of counts put together.
func (r Rate) After(n, k float64) float64 { return (r.Begin*r.Worth + k) / (r.Worth + n) }

// Own returns how much the observations weigh in what After returns, 0 to 1.
func (r Rate) Own(n float64) float64 { return n / (r.Worth + n) }

// Sum is what is kept of numbers observed: how many, their sum, and that of their squares.
type Sum struct{ Count, Sum, Squares float64 }

// And returns the sums of two sets of numbers together.
func (s Sum) And(t Sum) Sum {
	return Sum{s.Count + t.Count, s.Sum + t.Sum, s.Squares + t.Squares}
}

// Add returns the sums with one number more.
func (s Sum) Add(x float64) Sum { return s.And(Sum{1, x, x * x}) }

// Pace is how a time that somebody takes is learned: as the logarithm of its
// ratio to the listed time, normal about a mean that is itself normal about 0.
type Pace struct {
	// Between is the standard deviation of the means of those told apart, Within that
	// of one who does the same again, worth so many observations.
	Between, Within, Worth float64
}

// Paces begins where nothing was timed.
// practice: the same check takes one man two thirds or one and a half times as long
// another day, and so do checks against their listed minutes; worth twenty timings.
var Paces = Pace{Between: 0.4, Within: 0.5, Worth: 20}

// within returns the variance of one who does the same again, from all timings.
func (p Pace) within(all []Sum) float64 {
	squares, n := p.Within*p.Within*p.Worth, p.Worth
	for _, s := range all {
		if s.Count > 1 {
			squares += s.Squares - s.Sum*s.Sum/s.Count
			n += s.Count - 1
		}
	}
	return squares / n
}

// After returns the mean of the logarithms of one whose timings are own, given those of
// all, and how much his own weigh in it, 0 to 1.
//
// published: Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.5 (normal
// mean of known variance), cited from memory; the test derives it anew.
func (p Pace) After(own Sum, all []Sum) (mean, weight float64) {
	if own.Count == 0 {
		return 0, 0
	}
	between := p.Between * p.Between
	weight = between / (between + p.within(all)/own.Count)
	return weight * own.Sum / own.Count, weight
}

// Factor returns what a mean of logarithms is as a factor on the listed time. The listed
// time is the mean of its spread as the learned one is of its own, so no spread enters.
func (Pace) Factor(mean float64) float64 { return math.Exp(mean) }
