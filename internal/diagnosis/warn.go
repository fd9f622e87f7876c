package diagnosis

import "math"

// Limits of the warnings: practice: thresholds of a prototype; not tuned.
const (
	misfitNote       = 2   // standard deviations
	wrongSuspect     = 0.5 // probability that a reading is wrong
	surpriseTail     = 0.01
	hangsFrom        = 0.5 // a leader below this leads nothing that could hang
	causesWithMisfit = 5
	mostForMoments   = 16 // particles: enough for two moments
)

// warnings gathers the doubts about a belief.
func (in *inference) warnings(b *belief, st *story) []Warning {
	var out []Warning
	for _, h := range in.c.Hazards {
		out = append(out, Warning{Kind: WarnHazard, Detail: string(h)})
	}
	counted := make([]Reading, len(in.ev))
	for k, v := range in.ev {
		counted[k] = in.c.Readings[v.reading]
	}
	if w, speaks := in.e.world.(Checker); speaks {
		out = append(out, w.Contradictions(counted)...)
	}
	if w, speaks := in.e.world.(Muter); speaks {
		for _, m := range w.Mutes(counted) {
			out = append(out, m.Warning)
		}
	}
	if z := in.misfit(st, st.leader); z > misfitNote {
		out = append(out, Warning{Kind: WarnMisfit, Cause: in.e.hyps[st.leader].ID, Value: z})
	}
	for s, p := range b.sub {
		if p > b.hyp[st.leader] {
			out = append(out, Warning{Kind: WarnUnlisted, Cause: in.e.subs[s].ID, Value: p})
		}
	}
	out = append(out, in.warnInduced(b)...)
	for k := range in.ev {
		out = append(out, in.warnAbout(k, b, st)...)
	}
	if n := in.checksDone(); n >= in.e.set.MostChecks {
		out = append(out, Warning{Kind: WarnManyReadings, Value: float64(n)})
	}
	return out
}

// inducedWorth is the probability from which a fault left behind is told.
// practice: one in five.
const inducedWorth = 0.2

// warnInduced names the likeliest fault that a repair may have left behind.
func (in *inference) warnInduced(b *belief) []Warning {
	p := make([]float64, len(in.e.hyps))
	for i := range b.rows {
		if r := &b.rows[i]; r.hyp >= 0 && !in.e.within(r.now(), r.hyp) {
			p[r.now()] += b.p[i]
		}
	}
	best := 0
	for h := range p {
		if p[h] > p[best] {
			best = h
		}
	}
	if p[best] < inducedWorth {
		return nil
	}
	return []Warning{{Kind: WarnInduced, Cause: in.e.hyps[best].ID, Value: p[best]}}
}

// within says whether all faults of hypothesis g are among those of h.
func (e *Engine) within(g, h int) bool {
	for _, f := range e.hyps[g].Faults {
		found := false
		for _, x := range e.hyps[h].Faults {
			found = found || x.ID == f.ID
		}
		if !found {
			return false
		}
	}
	return true
}

// warnAbout gathers the doubts about one reading.
func (in *inference) warnAbout(k int, b *belief, st *story) []Warning {
	r := &in.c.Readings[in.ev[k].reading]
	var out []Warning
	if p := in.wrong(k, b); p > wrongSuspect {
		out = append(out, Warning{Kind: WarnWrongReading, Reading: r.ID, Ref: r.Ref, Value: p})
	} else if tail := in.tail(k, st); tail < surpriseTail {
		out = append(out, Warning{Kind: WarnSurprise, Reading: r.ID, Ref: r.Ref, Value: tail})
	}
	if len(in.ev) < 2 || b.hyp[st.leader] < hangsFrom {
		return out
	}
	other, _ := in.e.leaders(st.without[k])
	if in.e.hyps[other].class != in.e.hyps[st.leader].class {
		out = append(out, Warning{Kind: WarnHangsOnOne, Reading: r.ID, Ref: r.Ref,
			Cause: in.e.hyps[other].ID, Value: st.without[k].hyp[st.leader]})
	}
	return out
}

// wrong returns the probability that evidence k is a wrong reading: the share
// of the broad term in its likelihood, averaged over the posterior.
func (in *inference) wrong(k int, b *belief) float64 {
	sum := 0.0
	for i := range b.rows {
		if b.p[i] < leastEntry {
			continue
		}
		for n, w := range b.weights(i) {
			if w > 0 {
				sum += b.p[i] * w * in.wrongShare(k, &b.rows[i], n)
			}
		}
	}
	return sum
}

// wrongShare returns how much of the likelihood of evidence k under a particle is the broad term.
func (in *inference) wrongShare(k int, r *row, n int) float64 {
	v, acting := in.ev[k], r.acting[in.ev[k].epoch]
	like := math.Exp(in.like[k].of[acting][n])
	broad := in.e.broadPart(v, in.e.shows(v.point, acting, n))
	if r.hyp < 0 && !r.mimic {
		p := in.e.points[v.point].Subsystem
		mix := mixFor(p, in.e.subs[r.sub].ID)
		broad *= mix.healthy
		like = mix.healthy*like + mix.pooled*in.like[k].pooled[r.sub] + mix.broad*in.like[k].broad
	}
	return math.Min(1, broad/math.Max(like, leastLikelihood))
}

// broadPart returns the part of a likelihood that stands for a wrong reading.
func (e *Engine) broadPart(v evidence, x showing) float64 {
	if !x.affected() {
		return e.broadPartAt(v, x.y)
	}
	_, m := e.effectOn(&e.points[v.point])
	return (1-m)*e.broadPartAt(v, x.y) + m*e.broadPartAt(v, x.sound)
}

// broadPartAt is broadPart where the point certainly shows y.
func (e *Engine) broadPartAt(v evidence, y float64) float64 {
	unread := math.IsNaN(y)
	switch {
	case v.outcome.Kind == IsNotReadable && unread:
		return 0
	case v.outcome.Kind == IsNotReadable:
		return v.eps
	case unread:
		return v.eps * e.broad(v)
	}
	if len(e.points[v.point].Words) > 0 {
		return (1 - v.eps) * v.eps * e.strays[v.point][int(y)][v.outcome.Word]
	}
	return (1 - v.eps) * v.eps * e.broad(v)
}

// tail returns how likely a reading at least as far out as evidence k was,
// given all others.
func (in *inference) tail(k int, st *story) float64 {
	v, b := in.ev[k], st.without[k]
	var values []prediction
	same, words := 0.0, len(in.e.points[v.point].Words) > 0
	for h, p := range b.hyp {
		if p < leastEntry {
			continue
		}
		for _, q := range in.withMissing(v.point, in.predictionsOf(b, h, v.point, v.epoch, in.e.set.FewParticles)) {
			q.weight *= p
			unread := math.IsNaN(q.y)
			switch {
			case unread != (v.outcome.Kind == IsNotReadable):
			case unread, words && int(q.y) == v.outcome.Word:
				same += q.weight
			case !words:
				same += q.weight
				values = append(values, q)
			}
		}
	}
	if len(values) == 0 {
		return same
	}
	low := mixtureCDF(values, v.outcome.Value)
	return same * 2 * math.Min(low, 1-low)
}

// misfit returns by how many standard deviations the readings are less likely
// under hypothesis h than readings from h would be on average.
//
//	z = Σ (E[ln p(x)] − ln p(x)) / √Σ Var[ln p(x)]
func (in *inference) misfit(st *story, h int) float64 {
	sum, variance := 0.0, 0.0
	for k, v := range in.ev {
		all := in.predictionsOf(st.without[k], h, v.point, v.epoch, mostForMoments)
		if len(all) == 0 {
			continue
		}
		mean, square := in.surpriseMoments(v, all)
		sum += mean - logOf(in.mixture(v, all))
		variance += math.Max(0, square-mean*mean)
	}
	if variance < 1e-6 { // readings that could only come out as they did tell nothing
		return 0
	}
	return sum / math.Sqrt(variance)
}

// withMissing parts each prediction in which a fault has a part into two: with its effect and without.
func (in *inference) withMissing(point int, all []prediction) []prediction {
	e := in.e
	_, m := e.effectOn(&e.points[point])
	out := make([]prediction, 0, 2*len(all))
	for _, q := range all {
		if !q.affected() || m == 0 {
			out = append(out, q)
			continue
		}
		without := prediction{showing: plain(q.sound), weight: m * q.weight}
		if p := &e.points[point]; len(p.Words) == 0 && !math.IsNaN(q.sound) {
			without.sigma = e.sigma(p, q.sound)
		}
		q.weight *= 1 - m
		out = append(out, q, without)
	}
	return out
}

// mixture returns the likelihood of an evidence under weighted predictions.
func (in *inference) mixture(v evidence, all []prediction) float64 {
	sum := 0.0
	for _, p := range all {
		sum += p.weight * in.e.likelihood(v, p.showing)
	}
	return sum
}

// surpriseMoments returns the mean and mean square of ln p(x) for readings x
// drawn from the predictions.
//
// published: Abramowitz and Stegun 1964, table 25.10: three-point Gauss-Hermite
// rule for the normal distribution: nodes 0 and ±√3 with weights 2/3 and 1/6.
func (in *inference) surpriseMoments(v evidence, all []prediction) (mean, square float64) {
	add := func(x Outcome, weight float64) {
		w := v
		w.outcome = x
		l := logOf(in.mixture(w, all))
		mean += weight * l
		square += weight * l * l
	}
	p := &in.e.points[v.point]
	for _, q := range in.withMissing(v.point, all) {
		right := q.weight * (1 - v.eps)
		switch {
		case math.IsNaN(q.y):
			add(NotReadable(), right)
		case len(p.Words) > 0:
			add(Word(int(q.y)), right)
		default:
			sigma := math.Hypot(v.widen*q.sigma, v.spread)
			add(Value(q.y), right*2/3)
			add(Value(q.y-math.Sqrt(3)*sigma), right/6)
			add(Value(q.y+math.Sqrt(3)*sigma), right/6)
		}
	}
	in.addWrong(v, all, add)
	return mean, square
}

// addWrong adds the share of wrong readings to the moments.
func (in *inference) addWrong(v evidence, all []prediction, add func(Outcome, float64)) {
	p := &in.e.points[v.point]
	if len(p.Words) > 0 {
		said := make([]float64, len(p.Words))
		for _, q := range all {
			if math.IsNaN(q.y) {
				continue
			}
			for w, share := range in.e.strays[v.point][int(q.y)] {
				said[w] += q.weight * share
			}
		}
		for w, share := range said {
			add(Word(w), v.eps*share)
		}
		return
	}
	const places = 4 // practice: the broad density is flat
	for i := range places {
		x := p.Meter.Low + (p.Meter.High-p.Meter.Low)*(float64(i)+0.5)/places
		add(Value(x), v.eps/places)
	}
}
