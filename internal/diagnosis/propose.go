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
	remeasureShare  = 0.2  // a reading likelier wrong than this may be worth repeating
	remeasureMin    = 3.0  // minutes a repeat takes at most: the meter is still there
)

// propose fills in the checks worth doing next, the best first, and the
// warning that goes with the repair proposed.
func (in *inference) propose(a *Advice, s *selection, k *compiled, st *story) {
	if k.exact && k.sol.First.Kind == DoTest && s.endgame() {
		s.toFront(k.offers[k.sol.First.Index])
	}
	for i := range s.offers[:min(mostSuggestions, len(s.offers))] {
		a.Next = append(a.Next, s.suggestion(&s.offers[i]))
	}
	if !in.c.Stopped() && a.Verdict != VerdictCured {
		in.addRemeasure(a, s)
	}
	if a.Verdict == VerdictCheck && a.Repair != nil && s.enough {
		first := append([]Suggestion(nil), s.confirm...)
		if holds(a.Repair.Held, HeldCharge) {
			first = append(first, in.gateChecks(s)...)
		}
		a.Next = append(first, a.Next...)
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

// leastConfirm is the information in nat below which a check confirms nothing,
// where the leader and all its rivals stand one to one: practice: a seventh of what can be had.
const leastConfirm = 0.1

// confirming returns the check that would tell best between a class of repairs
// and all its present rivals, were they as likely as it: what is nearly certain
// on one reading is put at risk once more.
func (in *inference) confirming(s *selection, class int, st *story) []Suggestion {
	now := st.prefix[len(in.ev)]
	even := &belief{rows: in.rows, logw: now.logw, p: append([]float64(nil), now.p...)}
	own, others := 0.0, 0.0
	for i := range in.rows {
		if in.classNow(i) == class {
			own += now.p[i]
		} else {
			others += now.p[i]
		}
	}
	if own == 0 || others == 0 {
		return nil
	}
	for i := range in.rows {
		if in.classNow(i) == class {
			even.p[i] /= 2 * own
		} else {
			even.p[i] /= 2 * others
		}
	}
	t := in.selectionOf(even)
	t.gate = s.gate
	t.rank()
	used := in.checksRead()
	for i := range t.offers {
		if o := &t.offers[i]; o.gain >= leastConfirm && !used[in.e.checks[o.check].ID] {
			out := t.suggestion(o)
			out.Kind = Confirm
			return []Suggestion{out}
		}
	}
	return in.again(s, st)
}

// again proposes to repeat the reading that speaks most for the leader, where
// no other check would do: measured twice alike it counts for two.
func (in *inference) again(s *selection, st *story) []Suggestion {
	best := -1
	for k, w := range st.history {
		v := in.ev[k]
		if w.Decibans >= speaksFor && !v.repeated && v.epoch == in.c.Epoch() &&
			(best < 0 || w.Decibans > st.history[best].Decibans) {
			best = k
		}
	}
	if best < 0 || !in.e.mayCheck(in.e.checkAt[in.e.points[in.ev[best].point].Check], in.c) {
		return nil
	}
	out := in.repeat(best, s)
	out.Kind = Confirm
	return []Suggestion{out}
}

// repeat describes the repeating of a reading.
func (in *inference) repeat(k int, s *selection) Suggestion {
	r := &in.c.Readings[in.ev[k].reading]
	ck := &in.e.checks[in.e.checkAt[r.Check]]
	steps, minutes := in.e.switching(s.setup, ck.Needs)
	return Suggestion{Kind: Remeasure, Check: r.Check, Demand: r.Demand, Refs: []Ref{r.Ref}, Setup: steps, SetupMinutes: minutes,
		CheckMinutes: math.Min(remeasureMin, ck.Minutes), Safety: ck.Safety, Reading: r.ID, Seq: r.Seq}
}

// classNow returns the class of what acts now in a row, −1 for an unlisted cause.
func (in *inference) classNow(i int) int {
	if in.rows[i].hyp < 0 {
		return -1
	}
	return in.e.hyps[in.rows[i].now()].class
}

// checksRead returns the checks that were read in this epoch.
func (in *inference) checksRead() map[string]bool {
	used := map[string]bool{}
	for _, v := range in.ev {
		if v.epoch == in.c.Epoch() {
			used[in.e.points[v.point].Check] = true
		}
	}
	return used
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

// endgame says whether few causes are left.
func (s *selection) endgame() bool {
	n := 0
	for _, en := range s.entries {
		if en.p > endgameAbove {
			n++
		}
	}
	return n <= endgameCauses
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
	sug := in.repeat(worst, s)
	sug.Bits = in.remeasureBits(worst, b, s)
	sug.BitsPerMinute = sug.Bits / (sug.CheckMinutes + sug.SetupMinutes)
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
		for i, w := range en.w {
			share += w * in.wrongShare(k, &b.rows[en.row], en.n[i])
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
