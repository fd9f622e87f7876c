package diagnosis

import (
	"math"
	"sort"
)

// Sizes of the proposal: practice: what can be taken in at a glance.
const (
	mostSuggestions = 3
	mostRemaining   = 4
	endgameCauses   = 10   // the endgame begins at so many
	endgameAbove    = 0.01 // causes above this
	remeasureShare  = 0.05 // a reading likelier wrong than this may be worth repeating
	remeasureMin    = 3.0  // minutes a repeat takes at most: the meter is still there
)

// propose fills in the checks worth doing next, the best first, and the
// warning that goes with the repair proposed.
func (in *inference) propose(a *Advice, s *selection, k *compiled, st *story) {
	if k.exact && k.sol.First.Kind == DoTest && s.causesAbove(endgameAbove) <= endgameCauses {
		s.toFront(k.offers[k.sol.First.Index])
	}
	for i := range s.offers[:min(mostSuggestions, len(s.offers))] {
		a.Next = append(a.Next, s.suggestion(&s.offers[i]))
	}
	if !in.c.Stopped() && a.Verdict != VerdictCured {
		in.addRemeasure(a, s)
	}
	if a.Verdict == VerdictCheck && a.Repair != nil && s.enough && holds(a.Repair.Held, HeldCharge) {
		a.Next = append(append([]Suggestion(nil), s.forCharge...), a.Next...)
		a.Next = a.Next[:min(mostSuggestions, len(a.Next))]
	}
	if a.Verdict == VerdictRepair && in.e.repairs[in.e.repair[a.Repair.ID]].AskWhy {
		a.Warnings = append(a.Warnings, Warning{Kind: WarnAskWhy, Cause: in.e.hyps[st.leader].ID})
	}
}

func holds(all []HoldReason, r HoldReason) bool {
	for _, h := range all {
		if h == r {
			return true
		}
	}
	return false
}

// gateChecks returns the checks that would open the charge gate.
func (in *inference) gateChecks(s *selection) []Suggestion {
	w, knows := in.e.world.(GateOpener)
	if !knows || s.gate.Open {
		return nil
	}
	var now []Reading
	for _, v := range in.ev {
		if v.epoch == in.c.Epoch() {
			now = append(now, in.c.Readings[v.reading])
		}
	}
	var out []Suggestion
	for _, reason := range s.gate.Reasons {
		for _, ref := range w.Opens(reason, now) {
			if p, known := in.e.pointAt[ref]; known && !in.refused(ref) && in.e.mayCheck(in.e.checkAt[ref.Check], in.c) {
				out = append(out, s.forGate(p, reason))
			}
		}
	}
	return out
}

// refused says whether a point could not be read in this epoch.
func (in *inference) refused(ref Ref) bool {
	for _, r := range in.c.Refused {
		if r.Ref == ref && r.Epoch == in.c.Epoch() {
			return true
		}
	}
	return false
}

// forGate describes a check read for the charge gate.
func (s *selection) forGate(point int, reason ChargeReason) Suggestion {
	ref := s.e.points[point].Ref
	o := offer{check: s.e.checkAt[ref.Check], points: []int{point}, demand: ref.Demand}
	o.lead, o.joint, o.gain = s.readTogether(o.points)
	_, minutes := s.e.switching(s.setup, s.e.checks[o.check].Needs)
	o.rate = o.gain / (o.minutes(s.e) + minutes)
	out := s.suggestion(&o)
	out.Kind, out.Opens = ForCharge, reason
	return out
}

// causesAbove counts the entries above a probability.
func (s *selection) causesAbove(p float64) int {
	n := 0
	for _, en := range s.entries {
		if en.p > p {
			n++
		}
	}
	return n
}

// toFront moves an offer to the front, the others keeping their order.
func (s *selection) toFront(i int) {
	chosen := s.offers[i]
	copy(s.offers[1:i+1], s.offers[:i])
	s.offers[0] = chosen
}

// suggestion describes an offer.
func (s *selection) suggestion(o *offer) Suggestion {
	ck := &s.e.checks[o.check]
	steps, minutes := s.e.switching(s.setup, ck.Needs)
	out := Suggestion{Kind: Measure, Check: ck.ID, Demand: o.demand, Setup: steps,
		CheckMinutes: ck.Minutes, SetupMinutes: minutes, Safety: ck.Safety,
		Bits: o.gain / math.Ln2, BitsPerMinute: o.rate / math.Ln2}
	for _, p := range o.points {
		out.Refs = append(out.Refs, s.e.points[p].Ref)
	}
	for _, p := range o.with {
		out.With = append(out.With, s.e.points[p].Ref)
	}
	out.Outcomes = s.branches(s.cellsFor(o.lead.point, intervalsAlone))
	out.Separates = s.separates(o.joint)
	return out
}

// branches tells what each outcome of a point would leave. Neighbouring
// intervals that leave the same leader are one.
func (s *selection) branches(c *cells) []Branch {
	p := &s.e.points[c.point]
	var out []Branch
	var post []float64 // of the branch being gathered
	leader := -1
	flush := func() {
		if n := len(out); n > 0 {
			out[n-1].Remain = s.remaining(post, out[n-1].Probability)
		}
	}
	for cell := range c.n {
		br := Branch{Ref: p.Ref, Kind: IsValue, Low: math.Inf(-1), High: math.Inf(1)}
		switch {
		case cell == c.n-1:
			br.Kind = IsNotReadable
		case len(p.Words) > 0:
			br.Kind, br.Word = IsWord, cell
		default:
			if cell > 0 {
				br.Low = c.edges[cell-1]
			}
			if cell < len(c.edges) {
				br.High = c.edges[cell]
			}
		}
		joint, total, best := s.jointAt(c, cell)
		if n := len(out); n > 0 && br.Kind == IsValue && best == leader {
			out[n-1].High = br.High
			out[n-1].Probability += total
			for i := range post {
				post[i] += joint[i]
			}
			continue
		}
		flush()
		br.Probability, post, leader = total, joint, best
		out = append(out, br)
	}
	flush()
	return likely(out)
}

// likely drops branches that come up less than once in a hundred times.
func likely(all []Branch) []Branch {
	var out []Branch
	for _, b := range all {
		if b.Probability >= 0.01 {
			out = append(out, b)
		}
	}
	return out
}

// jointAt returns the probability of each entry together with a cell, their
// sum, and the entry most likely with it.
func (s *selection) jointAt(c *cells, cell int) (joint []float64, total float64, best int) {
	joint = make([]float64, len(s.entries))
	for i, en := range s.entries {
		joint[i] = en.p * c.mass[i][cell]
		total += joint[i]
		if joint[i] > joint[best] {
			best = i
		}
	}
	return joint, total, best
}

// remaining lists the causes above worthTelling in a branch, the likeliest
// first. A cause has several entries after a repair.
func (s *selection) remaining(post []float64, total float64) []Standing {
	at := map[string]int{}
	var all []Standing
	for i, p := range post {
		name := s.nameOf(i)
		j, known := at[name]
		if !known {
			j = len(all)
			at[name] = j
			all = append(all, Standing{ID: name})
		}
		all[j].Probability += p / total
	}
	sort.SliceStable(all, func(i, j int) bool {
		if all[i].Probability != all[j].Probability {
			return all[i].Probability > all[j].Probability
		}
		return all[i].ID < all[j].ID
	})
	n := 0
	for n < len(all) && n < mostRemaining && all[n].Probability >= worthTelling {
		n++
	}
	return all[:n]
}

// nameOf returns the id of the cause of an entry.
func (s *selection) nameOf(i int) string {
	if en := &s.entries[i]; en.sub >= 0 {
		return UnlistedID(s.e.subs[en.sub].ID)
	}
	return s.e.hyps[s.rows[s.entries[i].row].hyp].ID
}

// separates names the two causes of different repairs that the cells tell
// apart best, weighted by their probabilities; by the distance of Hellinger.
func (s *selection) separates(c *cells) [2]string {
	var out [2]string
	best := 0.0
	for i, a := range s.entries {
		for j, b := range s.entries[:i] {
			if a.class == b.class || a.p*b.p <= best {
				continue
			}
			overlap := 0.0
			for o, m := range c.mass[i] {
				overlap += math.Sqrt(m * c.mass[j][o])
			}
			if w := a.p * b.p * (1 - overlap); w > best {
				best = w
				first, second := i, j
				if b.p > a.p {
					first, second = j, i
				}
				out = [2]string{s.nameOf(first), s.nameOf(second)}
			}
		}
	}
	return out
}

// addRemeasure proposes to repeat the reading that is likeliest wrong, once, at the
// place among the suggestions that its information per minute gives it.
func (in *inference) addRemeasure(a *Advice, s *selection) {
	b := in.posterior(in.all())
	worst, p := -1, remeasureShare
	for k, v := range in.ev {
		if q := in.wrong(k, b); q > p && !v.repeated && v.epoch == in.c.Epoch() && in.e.mayCheck(in.e.checkAt[in.e.points[v.point].Check], in.c) {
			worst, p = k, q
		}
	}
	if worst < 0 {
		return
	}
	r := &in.c.Readings[in.ev[worst].reading]
	ck := &in.e.checks[in.e.checkAt[r.Check]]
	steps, minutes := in.e.switching(s.setup, ck.Needs)
	sug := Suggestion{Kind: Remeasure, Check: r.Check, Demand: r.Demand, Refs: []Ref{r.Ref}, Setup: steps, SetupMinutes: minutes,
		CheckMinutes: math.Min(remeasureMin, ck.Minutes), Safety: ck.Safety, Reading: r.ID, Seq: r.Seq}
	sug.Bits = in.remeasureBits(worst, b, s)
	sug.BitsPerMinute = sug.Bits / (sug.CheckMinutes + minutes)
	if sug.Bits < in.e.set.LeastGain/math.Ln2 {
		return
	}
	at := 0
	for at < len(a.Next) && a.Next[at].BitsPerMinute >= sug.BitsPerMinute {
		at++
	}
	a.Next = append(a.Next[:at:at], append([]Suggestion{sug}, a.Next[at:]...)...)
	a.Next = a.Next[:min(mostSuggestions, len(a.Next))]
}

// remeasureBits returns the information about the repair class in knowing
// whether evidence k is wrong.
func (in *inference) remeasureBits(k int, b *belief, s *selection) float64 {
	ifWrong, ifRight := make([]float64, len(s.classP)), make([]float64, len(s.classP))
	for _, en := range s.entries {
		share := 0.0
		for n, w := range en.w {
			share += w * in.wrongShare(k, &b.rows[en.row], n)
		}
		ifWrong[en.class] += en.p * share
		ifRight[en.class] += en.p * (1 - share)
	}
	after := 0.0
	for _, joint := range [][]float64{ifWrong, ifRight} {
		total := 0.0
		for _, p := range joint {
			after -= xlogx(p)
			total += p
		}
		after += xlogx(total)
	}
	return math.Max(0, s.entropy-after) / math.Ln2
}
