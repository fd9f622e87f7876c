package diagnosis

import (
	"math"

	"rung/internal/quantity"
)

// leastLikelihood keeps a logarithm finite where a World gives an empty range.
const leastLikelihood = 1e-12

func logOf(x float64) float64 { return math.Log(math.Max(x, leastLikelihood)) }

// sigma returns the standard deviation of the kernel of a meter at the
// prediction y, in SI units of the point.
func (e *Engine) sigma(p *Point, y float64) float64 { return e.set.KernelScale * p.Meter.Sigma(y) }

// epsilon returns the share of wrong readings at a point.
func (e *Engine) epsilon(p *Point, person Person) float64 {
	switch {
	case p.Wrong > 0:
		return p.Wrong
	case p.Sensed && person.Role != Mechanic:
		return e.set.EpsilonApprentice
	case p.Sensed:
		return e.set.EpsilonSensed
	}
	return e.set.Epsilon
}

// slip is the share of wrong observations of a graded point that take one
// degree for the next; the rest may be anything.
// practice: a clean filter is not taken for a blocked one, it is the wrong filter that is looked at.
const slip = 0.7

// straysOf returns what is said instead where the word of a point is not taken
// for what it is: [true word][word said], each row adding up to 1. Nil without words.
func straysOf(p *Point) [][]float64 {
	n := len(p.Words)
	all := make([][]float64, n)
	for y := range all {
		all[y] = make([]float64, n)
		for w := range all[y] {
			all[y][w] = 1 / float64(n)
		}
	}
	for k, y := range p.Degrees {
		next := append([]int(nil), p.Degrees[max(0, k-1):k]...)
		next = append(next, p.Degrees[k+1:min(n, k+2)]...)
		for w := range all[y] {
			all[y][w] *= 1 - slip
		}
		for _, w := range next {
			all[y][w] += slip / float64(len(next))
		}
	}
	return all
}

// confirmedShare is the factor on epsilon of a reading that a repeat confirmed.
// practice: tenfold fewer wrong readings once measured twice alike.
const confirmedShare = 0.1

// evidence is a counted reading made ready for likelihoods.
type evidence struct {
	reading int // index into Case.Readings
	point   int
	epoch   int
	outcome Outcome
	eps     float64
	widen   float64 // factor on sigma
	spread  float64 // added in quadrature, SI
	// earlier is the last evidence of the same point in an epoch before; −1 if there is none.
	earlier int
	// repeated says that it stands for an earlier reading of the same point, too;
	// confirmed, that it came out alike.
	repeated, confirmed bool
}

// likeKey identifies the likelihoods of an evidence; its epoch is irrelevant.
type likeKey struct {
	point              int
	outcome            Outcome
	eps, widen, spread float64
}

func (v evidence) key() likeKey { return likeKey{v.point, v.outcome, v.eps, v.widen, v.spread} }

// likelihoods holds log p(x | hypothesis, particle) for one evidence.
type likelihoods struct {
	of [][]float64 // [hypothesis][particle], as far as computed
	// pooled[s] is the prior-weighted mean likelihood over the hypotheses of subsystem s.
	pooled []float64
	broad  float64 // density of the broad term
}

// mostLikelihoods bounds the memory of an engine; the map is dropped when full.
const mostLikelihoods = 512

// likelihoodsOf returns the table of an evidence, with every hypothesis
// computed up to particles[h].
func (e *Engine) likelihoodsOf(v evidence, particles []int) *likelihoods {
	l, known := e.likes[v.key()]
	if !known {
		if len(e.likes) >= mostLikelihoods {
			clear(e.likes)
		}
		l = &likelihoods{of: make([][]float64, len(e.hyps)), broad: e.broad(v)}
		e.likes[v.key()] = l
	}
	for h := range e.hyps {
		e.extend(l, v, e.healthy, particles[h])
		e.extend(l, v, h, particles[h])
	}
	if l.pooled == nil {
		l.pooled = e.pooled(l)
	}
	return l
}

// extend computes the likelihoods of hypothesis h up to particle n−1. Where its
// fault does not act, or has no part in it, the system is as healthy: the healthy
// hypothesis is extended before.
func (e *Engine) extend(l *likelihoods, v evidence, h, n int) {
	for i := len(l.of[h]); i < n; i++ {
		x := e.shows(v.point, h, i)
		if h != e.healthy && !x.affected() {
			l.of[h] = append(l.of[h], l.of[e.healthy][i])
			continue
		}
		p := e.likelihood(v, x)
		if e.comesAndGoes(h) {
			duty := e.hyps[h].Duty
			p = duty*p + (1-duty)*math.Exp(l.of[e.healthy][i])
		}
		l.of[h] = append(l.of[h], logOf(p))
	}
}

// broad returns the density of the broad term: 1/words, or one over the
// credible range in 1/SI.
func (e *Engine) broad(v evidence) float64 {
	p := &e.points[v.point]
	if len(p.Words) > 0 {
		return 1 / float64(len(p.Words))
	}
	if v.outcome.Kind == IsNotReadable {
		return 1
	}
	return 1 / (p.Meter.High - p.Meter.Low)
}

// showing is what a point shows under a cause, and what it would show in the same
// system without: a value, the index of a word, or NaN if not readable.
type showing struct{ y, sound float64 }

// plain is a showing that no fault has a part in.
func plain(y float64) showing { return showing{y, y} }

// shows returns what a point shows under hypothesis h in particle n.
func (e *Engine) shows(point, h, n int) showing {
	y := e.predicted(point, h, n)
	if h == e.healthy {
		return plain(y)
	}
	return showing{y, e.predicted(point, e.healthy, n)}
}

// affected says whether the fault has a part in what is shown.
func (s showing) affected() bool { return s.y != s.sound && !(math.IsNaN(s.y) && math.IsNaN(s.sound)) }

// effectSigma returns by how much (sd, SI) the effect of the fault may differ from the
// model's, 0 where it is not a difference of two values.
func (e *Engine) effectSigma(p *Point, s showing) float64 {
	if len(p.Words) > 0 || math.IsNaN(s.y) || math.IsNaN(s.sound) {
		return 0
	}
	spread, _ := e.effectOn(p)
	return spread * math.Abs(s.y-s.sound)
}

// effectOn returns the spread of the effects on a point, as a share, and the share of
// them that do not come about. Volts, ohms and microfarads follow from the wiring or
// are the fault itself; all else goes through air, refrigerant and machines.
func (e *Engine) effectOn(p *Point) (spread, missing float64) {
	switch p.Dim {
	case quantity.DimVoltage, quantity.DimResistance, quantity.DimCapacitance:
		return e.set.WiringSpread, e.set.WiringMissing
	}
	return e.set.EffectSpread, e.set.EffectMissing
}

// likelihood returns p(x | what is shown): a probability for a word or for "not
// readable", a density in 1/SI for a value. The effect of the fault may be larger or
// smaller than that of the model, or missing.
func (e *Engine) likelihood(v evidence, s showing) float64 {
	if !s.affected() {
		return e.likelihoodAt(v, s.y)
	}
	return e.likelihoodBeside(v, s, e.likelihoodAt(v, s.sound))
}

// likelihoodBeside is likelihood where the fault has a part in what is shown; sound
// is that in a sound system.
func (e *Engine) likelihoodBeside(v evidence, s showing, sound float64) float64 {
	_, m := e.effectOn(&e.points[v.point])
	v.spread = math.Hypot(v.spread, e.effectSigma(&e.points[v.point], s))
	return (1-m)*e.likelihoodAt(v, s.y) + m*sound
}

// likelihoodAt is likelihood where the point certainly shows y.
func (e *Engine) likelihoodAt(v evidence, y float64) float64 {
	p := &e.points[v.point]
	unread := math.IsNaN(y)
	switch {
	case v.outcome.Kind == IsNotReadable && unread:
		return 1 - v.eps
	case v.outcome.Kind == IsNotReadable:
		return v.eps
	case unread:
		return v.eps * e.broad(v)
	case len(p.Words) > 0:
		miss := v.eps * e.strays[v.point][int(y)][v.outcome.Word]
		if v.outcome.Word == int(y) {
			return (1 - v.eps) * (1 - v.eps + miss)
		}
		return (1 - v.eps) * miss
	}
	return (1 - v.eps) * ((1-v.eps)*normal(v.outcome.Value-y, e.evidenceSigma(v, p, y)) + v.eps*e.broad(v))
}

func (e *Engine) evidenceSigma(v evidence, p *Point, y float64) float64 {
	sigma := v.widen * e.sigma(p, y)
	if v.spread == 0 {
		return sigma
	}
	return math.Hypot(sigma, v.spread)
}

// alike returns the likelihood of evidence v where what it is read from has not
// changed since evidence w of the same point.
func (e *Engine) alike(v, w evidence) float64 {
	p := &e.points[v.point]
	switch {
	case v.outcome.Kind == IsNotReadable || w.outcome.Kind == IsNotReadable:
		if v.outcome.Kind == w.outcome.Kind {
			return 1 - v.eps
		}
		return v.eps
	case len(p.Words) > 0:
		return e.likelihoodAt(v, float64(w.outcome.Word))
	}
	// Only the meter scatters between the two; each may be wrong.
	eps := 1 - (1-v.eps)*(1-w.eps)
	return (1-eps)*normal(v.outcome.Value-w.outcome.Value, math.Sqrt2*e.evidenceSigma(v, p, w.outcome.Value)) + eps*e.broad(v)
}

// normal returns the density of a normal deviate x of standard deviation
// sigma; 0 beyond eight of them, far below any share of wrong readings.
func normal(x, sigma float64) float64 {
	z := x / sigma
	if z*z > 64 {
		return 0
	}
	return math.Exp(-z*z/2) / (sigma * math.Sqrt(2*math.Pi))
}

// pooled returns for each subsystem the prior-weighted mean likelihood over
// its hypotheses and the particles that they have at least.
func (e *Engine) pooled(l *likelihoods) []float64 {
	sum, weight := make([]float64, len(e.subs)), make([]float64, len(e.subs))
	for h := range e.hyps {
		s := e.hyps[h].sub
		if s < 0 {
			continue
		}
		n := e.hyps[h].least
		for _, ll := range l.of[h][:n] {
			sum[s] += e.hyps[h].prior * math.Exp(ll) / float64(n)
		}
		weight[s] += e.hyps[h].prior
	}
	for s := range sum {
		if weight[s] > 0 {
			sum[s] /= weight[s]
		} else {
			sum[s] = l.broad
		}
	}
	return sum
}
