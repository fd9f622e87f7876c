package diagnosis

import (
	"math"
	"sort"
)

// Advise works out what the readings say and what to do next. It returns an
// error if a reading or repair does not belong to the world.
func (e *Engine) Advise(c Case) (Advice, error) { return e.advise(c, true) }

// Decide is Advise without what is only told: no effect of the last reading, no
// misfits and no warnings. What it says to do is the same.
func (e *Engine) Decide(c Case) (Advice, error) { return e.advise(c, false) }

func (e *Engine) advise(c Case, whole bool) (Advice, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	in, b, err := e.believe(c)
	if err != nil {
		return Advice{}, err
	}
	story := in.tell(b, whole)
	a := Advice{Unlisted: e.unlisted(b), Cured: e.cured(b), Charge: JudgeCharge(c.Charge, e.set), History: story.history}
	for _, u := range a.Unlisted {
		a.UnlistedTotal += u.Probability
	}
	a.For, a.Against = story.strongest()
	a.Causes = in.causes(b, story)
	for _, h := range e.ranked(b) {
		if len(e.hyps[h].Faults) == 1 && len(a.singles) < mostDoubled {
			a.singles = append(a.singles, h)
		}
	}
	for h, p := range b.hyp {
		a.Charge.Matters = a.Charge.Matters || e.hyps[h].Charge && p >= worthTelling
	}
	s := in.selectionOf(b)
	s.gate = a.Charge
	if !c.Stopped() && in.checksDone() < e.set.MostChecks {
		s.rank()
	}
	k := s.compile()
	if whole {
		a.Latest = in.latest(b, story)
		a.Warnings = in.warnings(b, story)
	}
	in.decide(&a, s, k, story)
	in.propose(&a, s, k, story)
	return a, nil
}

// checksDone counts the checks done, each demand and epoch by itself.
func (in *inference) checksDone() int {
	type done struct {
		check  string
		demand Demand
		epoch  int
	}
	seen := map[done]bool{}
	for _, v := range in.ev {
		r := in.e.points[v.point].Ref
		seen[done{r.Check, r.Demand, v.epoch}] = true
	}
	return len(seen)
}

// worthTelling is the probability from which a cause is worth a word.
// practice: one in twenty.
const worthTelling = 0.05

// unlisted lists the subsystems by the probability of an unlisted cause.
func (e *Engine) unlisted(b *belief) []Unlisted {
	out := make([]Unlisted, len(e.subs))
	for s := range e.subs {
		out[s] = Unlisted{e.subs[s].ID, b.sub[s]}
	}
	sort.SliceStable(out, func(i, j int) bool {
		if out[i].Probability != out[j].Probability {
			return out[i].Probability > out[j].Probability
		}
		return out[i].Subsystem < out[j].Subsystem
	})
	return out
}

// causes lists the hypotheses worth showing.
func (in *inference) causes(b *belief, st *story) []Cause {
	e := in.e
	var out []Cause
	for rank, h := range e.ranked(b) {
		if b.hyp[h] < e.set.ShowAbove {
			break
		}
		hy := &e.hyps[h]
		c := Cause{ID: hy.ID, Subsystem: hy.Subsystem, Prior: hy.prior, Probability: b.hyp[h], Severity: in.severity(b, h)}
		for _, f := range hy.Faults {
			c.Faults = append(c.Faults, f.ID)
		}
		for _, r := range e.classes[hy.class].repairs {
			c.Repairs = append(c.Repairs, e.repairs[r].ID)
		}
		if rank < causesWithMisfit && st.without != nil {
			c.Misfit = in.misfit(st, h)
		}
		out = append(out, c)
	}
	return out
}

// severity returns the 5, 50 and 95 % point of the severity of a hypothesis.
func (in *inference) severity(b *belief, h int) *Range {
	var all []sample
	for i := range b.rows {
		if b.rows[i].hyp != h {
			continue
		}
		for n, w := range b.weights(i) {
			all = append(all, sample{in.e.world.Severity(h, n), w * b.p[i]})
		}
	}
	if len(all) == 0 || math.IsNaN(all[0].y) {
		return nil
	}
	sort.Slice(all, func(i, j int) bool { return all[i].y < all[j].y })
	return &Range{quantile(all, 0.05), quantile(all, 0.5), quantile(all, 0.95)}
}

// quantile returns the value below which the share q of the weight of the sorted samples lies.
func quantile(sorted []sample, q float64) float64 {
	total, sum := 0.0, 0.0
	for _, s := range sorted {
		total += s.weight
	}
	for _, s := range sorted {
		if sum += s.weight; sum >= q*total {
			return s.y
		}
	}
	return sorted[len(sorted)-1].y
}

// decide fills in the verdict, the repair and the costs compared.
func (in *inference) decide(a *Advice, s *selection, k *compiled, st *story) {
	lead := in.leadingRepair(s, k)
	a.Stop = StopCosts{RepairNow: k.only, OneMore: k.one, GoOn: k.only, Escalate: k.problem.EscalateCost, Exact: k.exact,
		Certainty: s.right(lead, s.entryP()), Raised: s.raised(lead)}
	if math.IsInf(k.one, 1) {
		a.Stop.OneMore = k.only
	}
	if k.exact {
		a.Stop.GoOn = k.sol.Cost
	} else {
		a.Stop.GoOn = math.Min(k.only, k.one)
	}
	s.enough = in.enough(a.Stop, s, k)
	if lead != closeVisit {
		a.Repair = in.repairAdvice(s, lead, s.cureNow(lead), st)
		switch {
		case !s.enough && len(s.offers) > 0: // checks come first; what could confirm it is not asked yet
		case holds(a.Repair.Held, HeldOneReading) || holds(a.Repair.Held, HeldUnrefutable):
			s.confirm = in.confirming(s, lead, st)
		default:
			in.holdIfHanging(a, s, lead, st)
		}
	}
	a.Verdict = in.verdict(a, s, lead, k)
}

// holdIfHanging holds a repair that would be done now until the reading it hangs on is repeated.
func (in *inference) holdIfHanging(a *Advice, s *selection, lead int, st *story) {
	if !s.enough || a.Stop.Certainty < in.e.set.LeastCertain || len(a.Repair.Held) > 0 {
		return
	}
	if r := in.hangsOn(lead, st); r >= 0 {
		a.Repair.Held = append(a.Repair.Held, HeldHangs)
		again := in.repeat(r, s)
		again.Kind = Confirm
		s.confirm = []Suggestion{again}
	}
}

// hangsOn returns the reading of this epoch, not yet repeated, without which a
// repair would not be likely; −1 if there is none. One reading in twenty
// is wrong, and to repeat it takes a minute or two.
func (in *inference) hangsOn(lead int, st *story) int {
	in.tellWithout(st)
	worst, least := -1, hangsFrom
	for i, v := range in.ev {
		if v.repeated || v.epoch != in.c.Epoch() || !in.e.mayCheck(in.e.checkAt[in.e.points[v.point].Check], in.c) {
			continue
		}
		if p := in.e.rightIn(lead, st.without[i]); p < least {
			worst, least = i, p
		}
	}
	return worst
}

// rightIn returns the probability in a belief that a class is right to begin with.
func (e *Engine) rightIn(class int, b *belief) float64 {
	sum := 0.0
	for i := range b.rows {
		if b.rows[i].hyp >= 0 && e.classes[class].begins[b.rows[i].now()] {
			sum += b.p[i]
		}
	}
	return sum
}

// leastTry is the probability below which a repair is not tried before a likelier
// one, however cheap. practice: what fails three times in four is no repair but a guess.
const leastTry = 0.25

// leadingRepair returns the class worth repairing first: one whose repairs are
// all but certainly needed, if others with them or not; else that of the greedy
// order; or, where handing over is cheaper or where the likeliest class may not be
// repaired now, the likeliest.
func (in *inference) leadingRepair(s *selection, k *compiled) int {
	if sure := s.surelyNeeded(); sure != closeVisit {
		return sure
	}
	best := closeVisit
	if k.first.Kind == DoRepair {
		best = k.classes[k.first.Index]
	}
	likeliest := closeVisit
	for class := range in.e.classes {
		if len(in.e.classes[class].repairs) > 0 && (likeliest == closeVisit || s.classP[class] > s.classP[likeliest]) {
			likeliest = class
		}
	}
	if likeliest == closeVisit {
		return best
	}
	named := k.first.Kind != DoRepair || s.classP[likeliest] >= 0.5 && len(s.barred(likeliest)) > 0 ||
		s.right(best, s.entryP()) < leastTry
	if named && s.classP[likeliest] > s.cureNow(closeVisit) {
		return likeliest
	}
	return best
}

// entryP returns the probability of each entry.
func (s *selection) entryP() []float64 {
	p := make([]float64, len(s.entries))
	for i := range s.entries {
		p[i] = s.entries[i].p
	}
	return p
}

// surelyNeeded returns the class of most repairs that is right to begin with
// with Settings.Certain, closeVisit if there is none. One that may be done now goes
// before one that has to wait: the ice is thawed, and then the charge can be judged.
func (s *selection) surelyNeeded() int {
	p := s.entryP()
	best, most, sure, free := closeVisit, 0, 0.0, false
	for c := range s.e.classes {
		n, q := len(s.e.classes[c].repairs), s.right(c, p)
		if n == 0 || q < s.e.set.Certain {
			continue
		}
		may := len(s.barred(c)) == 0
		if free && !may || may == free && (n < most || n == most && q <= sure) {
			continue
		}
		best, most, sure, free = c, n, q, may
	}
	return best
}

// raised returns the probability that the then likeliest class is right, on
// average after the best check.
func (s *selection) raised(lead int) float64 {
	now := s.right(lead, s.entryP())
	if len(s.offers) == 0 {
		return now
	}
	mass := s.offers[0].joint.mass
	sum := 0.0
	p := make([]float64, len(s.entries))
	for o := range mass[0] {
		for i, en := range s.entries {
			p[i] = en.p * mass[i][o]
		}
		best := 0.0
		for c := range s.e.classes {
			best = math.Max(best, s.right(c, p))
		}
		sum += best
	}
	return math.Max(now, sum)
}

// verdict says what to do now.
func (in *inference) verdict(a *Advice, s *selection, lead int, k *compiled) Verdict {
	e := in.e
	canCheck := len(s.offers) > 0
	worth := k.first.Kind == DoRepair && (a.Stop.Certainty >= e.set.LeastCertain || s.oneOfTwo()) || a.Stop.Certainty >= e.set.Certain
	switch {
	case in.c.Stopped():
		return VerdictEscalate
	case in.c.Epoch() > 0 && a.Cured >= e.set.ProvenAt && in.readNow():
		return VerdictCured
	case canCheck && !s.enough:
		return VerdictCheck
	case lead == closeVisit && in.c.Epoch() == 0 && worth && (a.Cured >= e.set.Certain || a.Cured >= 0.5 && s.onlyCrumbs()):
		return VerdictNothingFound
	case lead != closeVisit && worth:
		return in.verdictOn(a.Repair, s)
	case canCheck && lead == closeVisit && !s.onlyCrumbs():
		return VerdictCheck
	}
	return VerdictEscalate
}

// oneOfTwo says whether it is one of two repairs with Settings.Certain. Then the
// cheaper may be tried at odds at which it alone would be a guess: it tells which.
func (s *selection) oneOfTwo() bool {
	p := make([]float64, len(s.e.classes))
	for _, en := range s.entries {
		if en.sub < 0 && len(s.e.classes[en.class].repairs) > 0 {
			p[en.class] += en.p * s.hope(en.class, en.row)
		}
	}
	sort.Sort(sort.Reverse(sort.Float64Slice(p)))
	return len(p) > 1 && p[0]+p[1] >= s.e.set.Certain
}

// crumbs is the information in nats below which a check tells too little to go on for.
// practice: a twentieth of a nat; at full size going on for less cost more than it saved.
const crumbs = 0.05

// enough says whether one more check is not worth its minutes. The compiled
// problem sees a few checks ahead and a few repairs: its costs are too high while
// many causes stand, so they count only near the end, and they alone never end
// in handing over.
func (in *inference) enough(c StopCosts, s *selection, k *compiled) bool {
	switch {
	case c.Certainty >= in.e.set.Certain:
		return true
	case s.onlyCrumbs():
		return true
	case !s.endgame() || k.only > math.Min(c.OneMore, c.GoOn)+in.e.set.Margin:
		return false
	}
	return k.first.Kind == DoRepair && c.Certainty >= in.e.set.CostStop
}

// onlyCrumbs says whether no check would tell much.
func (s *selection) onlyCrumbs() bool {
	for i := range s.offers {
		if s.offers[i].gain >= crumbs {
			return false
		}
	}
	return true
}

// verdictOn says whether a repair worth doing can be done now, after more checks, or not here.
func (in *inference) verdictOn(r *RepairAdvice, s *selection) Verdict {
	if len(r.Held) == 0 {
		return VerdictRepair
	}
	for _, h := range r.Held {
		switch {
		case h == HeldPerson, h == HeldHazard, h == HeldCharge && s.gate.ReturnAbove > 0:
			return VerdictEscalate
		case h == HeldUncertain && len(s.offers) == 0:
			return VerdictEscalate
		case (h == HeldOneReading || h == HeldUnrefutable || h == HeldHangs) && len(s.confirm) == 0:
			return VerdictEscalate
		}
	}
	if len(s.offers)+len(s.confirm) == 0 && !(holds(r.Held, HeldCharge) && len(in.gateChecks(s)) > 0) {
		return VerdictEscalate // what would release it cannot be done
	}
	return VerdictCheck
}

// readNow says whether anything was read since the last repair.
func (in *inference) readNow() bool {
	for _, v := range in.ev {
		if v.epoch == in.c.Epoch() {
			return true
		}
	}
	return false
}

// repairAdvice describes a class of repairs and why it is held back, if it is.
func (in *inference) repairAdvice(s *selection, class int, cure float64, st *story) *RepairAdvice {
	e := in.e
	out := &RepairAdvice{Cure: cure, Held: s.barred(class)}
	now := append([]bool(nil), s.setup...)
	invasive := false
	for i, r := range s.inOrder(class) {
		rep := &e.repairs[r]
		if i == 0 {
			out.ID = rep.ID
		} else {
			out.Then = append(out.Then, rep.ID)
		}
		steps, minutes := e.switching(now, rep.Needs)
		for _, n := range rep.Needs {
			now[e.stateAt[n.State]] = n.On
		}
		out.Setup = append(out.Setup, steps...)
		out.Minutes += rep.Minutes + minutes
		out.Safety = max(out.Safety, rep.Safety)
		invasive = invasive || rep.Invasive
	}
	out.Causes = in.curedBy(s, class)
	if invasive {
		out.Held = append(out.Held, st.doubts(s.needed(class), e.set.CertainInvasive)...)
	}
	return out
}

// inOrder returns the repairs of a class, the one most likely needed first.
func (s *selection) inOrder(class int) []int {
	repairs := append([]int(nil), s.e.classes[class].repairs...)
	sort.SliceStable(repairs, func(i, j int) bool { return s.neededRepair(repairs[i]) > s.neededRepair(repairs[j]) })
	return repairs
}

// neededRepair returns the probability that what is wrong now asks for a repair.
func (s *selection) neededRepair(r int) float64 {
	sum := 0.0
	for _, en := range s.entries {
		if en.sub < 0 && contains(s.e.classes[en.class].repairs, r) {
			sum += en.p
		}
	}
	return sum
}

// needed returns the least probability with which an invasive repair of a class is needed.
func (s *selection) needed(class int) float64 {
	least := 1.0
	for _, r := range s.e.classes[class].repairs {
		if s.e.repairs[r].Invasive {
			least = math.Min(least, s.neededRepair(r))
		}
	}
	return least
}

// curedBy lists the hypotheses that a class of repairs cures, the likeliest first.
func (in *inference) curedBy(s *selection, class int) []string {
	p := make([]float64, len(in.e.hyps))
	for i, en := range s.entries {
		if h := in.rows[en.row].hyp; h >= 0 && s.cure(class, i) > 0 {
			p[h] += en.p
		}
	}
	var ids []string
	for _, h := range in.e.ranked(&belief{hyp: p}) {
		if p[h] > 0 {
			ids = append(ids, in.e.hyps[h].ID)
		}
	}
	return ids
}
