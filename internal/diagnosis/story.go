package diagnosis

import (
	"math"
	"sort"
)

// story is the belief reading by reading, in the order of Seq, and without
// each one of them.
type story struct {
	e       *Engine
	prefix  []*belief   // prefix[k] knows the first k readings
	without []*belief   // without[k] knows all but reading k; see tellWithout
	logw    [][]float64 // after all readings, see belief
	leader  int         // hypothesis
	rival   int         // the likeliest that shares no repair with it
	history []Weight
	// confirmed[k] says that reading k was repeated and came out alike.
	confirmed []bool
}

// tell works out the story that ends in belief b; what it would be without each
// reading only if the whole is asked for.
func (in *inference) tell(b *belief, whole bool) *story {
	st := &story{e: in.e}
	st.leader, st.rival = in.e.leaders(b)
	logw := make([][]float64, len(in.rows))
	for i := range in.rows {
		logw[i] = make([]float64, in.rows[i].n)
	}
	use := make([]bool, len(in.ev))
	st.prefix = append(st.prefix, in.beliefOf(copied(logw)))
	for k := range in.ev {
		in.take(logw, use, k)
		st.prefix = append(st.prefix, in.mutedBy(in.beliefOf(copied(logw)), use))
		st.confirmed = append(st.confirmed, in.ev[k].confirmed)
		st.history = append(st.history, in.weigh(k, st.prefix[k], st.prefix[k+1], st.leader, st.rival))
	}
	st.logw = logw
	if whole {
		in.tellWithout(st)
	}
	return st
}

// tellWithout works out what is believed without each reading.
func (in *inference) tellWithout(st *story) {
	if st.without != nil {
		return
	}
	st.without = []*belief{}
	for k := range in.ev {
		less := copied(st.logw)
		use := in.all()
		in.take(less, use, k)
		st.without = append(st.without, in.mutedBy(in.beliefOf(less), use))
	}
}

// take takes evidence k into use, or out of it, and what is held against it with it:
// a reading of before a repair may come in after one of the same point after it.
func (in *inference) take(logw [][]float64, use []bool, k int) {
	before := append([]bool(nil), use...)
	use[k] = !use[k]
	sign := 1.0
	if before[k] {
		sign = -1
	}
	for i := range in.rows {
		in.add(logw[i], &in.rows[i], k, in.earlier(k, use), sign)
	}
	for m := range in.ev {
		was, is := in.earlier(m, before), in.earlier(m, use)
		if m == k || !use[m] || was == is {
			continue
		}
		for i := range in.rows {
			in.add(logw[i], &in.rows[i], m, was, -1)
			in.add(logw[i], &in.rows[i], m, is, 1)
		}
	}
}

func copied(x [][]float64) [][]float64 {
	out := make([][]float64, len(x))
	for i := range x {
		out[i] = append([]float64(nil), x[i]...)
	}
	return out
}

// leaders returns the likeliest hypothesis and the likeliest that shares no
// repair with it; the runner-up, if all do.
func (e *Engine) leaders(b *belief) (leader, rival int) {
	order := e.ranked(b)
	leader, rival = order[0], order[0]
	for _, h := range order[1:] {
		if rival == leader {
			rival = h
		}
		if !e.shareRepair(h, leader) {
			return leader, h
		}
	}
	return leader, rival
}

// shareRepair says whether two hypotheses ask for a repair in common, or both for none.
func (e *Engine) shareRepair(g, h int) bool {
	a, b := e.classes[e.hyps[g].class].repairs, e.classes[e.hyps[h].class].repairs
	for _, r := range a {
		if contains(b, r) {
			return true
		}
	}
	return len(a) == 0 && len(b) == 0
}

// decibans returns ten times the common logarithm of a ratio of odds.
func decibans(before, after float64) float64 {
	return 10 * (math.Log10(math.Max(after, 1e-300)) - math.Log10(math.Max(before, 1e-300)))
}

// weigh returns the weight of evidence k for a cause against a rival.
//
// published: Good 1950, Probability and the Weighing of Evidence, as cited in
// the literature: the weight is the logarithm of the ratio of likelihoods, that
// is, the change of the log odds; successive weights add up.
func (in *inference) weigh(k int, before, after *belief, cause, rival int) Weight {
	r := &in.c.Readings[in.ev[k].reading]
	w := Weight{Reading: r.ID, Ref: r.Ref, Outcome: r.Outcome,
		Cause: in.e.hyps[cause].ID, Rival: in.e.hyps[rival].ID}
	if cause != rival {
		w.Decibans = decibans(before.hyp[cause], after.hyp[cause]) - decibans(before.hyp[rival], after.hyp[rival])
	}
	w.Strength = StrengthOf(w.Decibans)
	return w
}

// strongest returns up to three weights for the leader and the one most against it.
func (st *story) strongest() (pro []Weight, contra *Weight) {
	order := append([]Weight(nil), st.history...)
	sort.SliceStable(order, func(i, j int) bool { return order[i].Decibans > order[j].Decibans })
	for _, w := range order[:min(3, len(order))] {
		if w.Decibans > 0 {
			pro = append(pro, w)
		}
	}
	if n := len(order); n > 0 && order[n-1].Decibans < 0 {
		contra = &order[n-1]
	}
	return pro, contra
}

// Weights that the guards of an invasive repair ask for, in decibans.
const (
	speaksFor = 3 // practice: what counts as evidence at all
	// A reading of 7 decibans is five times likelier under the cause: under the
	// rival four in five readings would have been less kind to the cause.
	couldRefute = 7
	// All readings together, against all else, come to the same, and more is asked of them.
	couldRefuteTogether = 13
)

// againstAll returns the weight of evidence k for the leader against all else, in decibans.
func (st *story) againstAll(k int) float64 {
	p, q := st.prefix[k].hyp[st.leader], st.prefix[k+1].hyp[st.leader]
	return decibans(p, q) - decibans(1-p, 1-q)
}

// doubts returns why an invasive repair that is needed with probability p has to wait.
func (st *story) doubts(p, need float64) []HoldReason {
	var held []HoldReason
	if p < need {
		held = append(held, HeldUncertain)
	}
	checks := map[string]bool{}
	twice, together := 0, 0.0
	atRisk := false
	for k, w := range st.history {
		all := st.againstAll(k)
		together += all
		speaks := math.Max(w.Decibans, all)
		if speaks >= speaksFor {
			checks[w.Ref.Check] = true
			if st.confirmed[k] {
				twice = 1
			}
		}
		atRisk = atRisk || speaks >= couldRefute
	}
	if len(checks)+twice < 2 {
		held = append(held, HeldOneReading)
	}
	if !atRisk && !(len(checks) >= 2 && together >= couldRefuteTogether) {
		held = append(held, HeldUnrefutable)
	}
	return held
}

// Limits of what is told about a reading: practice: what can be taken in at a glance.
const (
	ruledOutDecibans = -10
	ruledOutBelow    = 0.01
	ruledOutFrom     = 0.001 // what stood lower before is not news
	causesExpected   = 5
)

// latest tells what the last reading did, nil if there is none.
func (in *inference) latest(b *belief, st *story) *Effect {
	if len(in.ev) == 0 {
		return nil
	}
	k := len(in.ev) - 1
	e, before := in.e, st.without[k]
	r := &in.c.Readings[in.ev[k].reading]
	out := &Effect{Reading: r.ID, Ref: r.Ref, Outcome: r.Outcome}
	for _, h := range in.worthExpecting(before, b) {
		out.Expected = append(out.Expected, in.expectation(before, h, in.ev[k].point, in.ev[k].epoch))
	}
	for _, h := range e.ranked(before) {
		w := in.weigh(k, before, b, h, st.leader).Decibans
		if w <= ruledOutDecibans && b.hyp[h] < ruledOutBelow && before.hyp[h] >= ruledOutFrom {
			out.RuledOut = append(out.RuledOut, Shift{e.hyps[h].ID, before.hyp[h], b.hyp[h], w})
		}
	}
	out.Likelier = e.gained(before, b)
	for _, h := range e.ranked(b) {
		if b.hyp[h] >= worthTelling {
			out.Open = append(out.Open, Standing{e.hyps[h].ID, b.hyp[h]})
		}
	}
	return out
}

// gained returns the two causes that gained most against all else, among those
// that now stand at all.
func (e *Engine) gained(before, after *belief) []Shift {
	var all []Shift
	for _, h := range e.ranked(after) {
		p, q := before.hyp[h], after.hyp[h]
		if q < ruledOutBelow {
			break
		}
		if w := decibans(p, q) - decibans(1-p, 1-q); w > 0 {
			all = append(all, Shift{e.hyps[h].ID, p, q, w})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Decibans > all[j].Decibans })
	return all[:min(2, len(all))]
}

// worthExpecting returns the hypotheses whose predictions are shown: healthy,
// and the likeliest after and before the reading.
func (in *inference) worthExpecting(before, after *belief) []int {
	out := []int{in.e.healthy}
	a, b := in.e.ranked(after), in.e.ranked(before)
	for i := 0; i < len(a) && len(out) < causesExpected; i++ {
		for _, h := range []int{a[i], b[i]} {
			if !contains(out, h) && len(out) < causesExpected {
				out = append(out, h)
			}
		}
	}
	return out
}
