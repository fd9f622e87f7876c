package diagnosis

import "sort"

// Sizes of the problem that a belief is compiled into: practice: solved in a
// few milliseconds.
const (
	mostCompiledHypotheses = 9 // the rest is one more
	mostCompiledRepairs    = 5
	mostCompiledTests      = 5
	mostCompiledOutcomes   = 3
	compiledSituations     = 20_000
)

// compiled is a belief as a small Problem.
type compiled struct {
	problem *Problem
	offers  []int // of each test
	classes []int // of each repair; closeVisit for closing the visit
	sol     Solution
	exact   bool
	only    float64 // cost of repairing without another check
	first   Action  // what that begins with
	one     float64 // cost of one check and then repairing
}

// closeVisit stands for the class "nothing to repair: close the visit".
const closeVisit = -1

// lump is what acts now, with the share of each entry in it.
type lump struct {
	p       float64
	acting  int // −1 for unlisted causes and for the rest
	entries []int
}

// compile makes a small problem of the belief and solves it: the likeliest
// causes, the best offers with their outcomes drawn together, the repairs that may be done.
func (s *selection) compile() *compiled {
	for tests := min(mostCompiledTests, len(s.offers)); ; tests-- {
		c := s.compileWith(tests)
		k := newWalk(c.problem)
		start := k.start()
		c.only, c.first = k.repairsOnly(start)
		c.one, _ = k.oneMore(start)
		if !s.endgame() { // what would be solved is too small a part of what stands
			return c
		}
		c.sol, c.exact = c.problem.Solve(compiledSituations)
		if c.exact || tests == 0 {
			return c
		}
	}
}

func (s *selection) compileWith(tests int) *compiled {
	e := s.e
	lumps := s.lumps()
	c := &compiled{problem: &Problem{
		FalsePass: e.set.FalsePass, CallbackCost: e.set.CallbackMinutes, EscalateCost: e.set.EscalateMinutes + s.repairMinutes(),
	}}
	for _, l := range lumps {
		c.problem.Hypotheses = append(c.problem.Hypotheses, ProblemHypothesis{Prior: l.p})
	}
	bits := map[string]int{}
	for i := range tests {
		o := &s.offers[i]
		p := s.drawTogether(o, lumps)
		mask, want := s.require(c.problem, bits, e.checks[o.check].Needs)
		c.problem.Tests = append(c.problem.Tests, ProblemTest{
			ID: o.order, Cost: o.minutes(e), Mask: mask, Want: want, Outcomes: len(p[0]), P: p})
		c.offers = append(c.offers, i)
	}
	for _, class := range s.classesToTry() {
		c.classes = append(c.classes, class)
		c.problem.Repairs = append(c.problem.Repairs, s.compileRepair(c.problem, bits, class, lumps))
	}
	return c
}

// repairMinutes returns the mean time of the repairs that are needed. Who takes
// the visit over has to do them, too, so a long repair is no reason to hand over.
func (s *selection) repairMinutes() float64 {
	sum := 0.0
	for class, p := range s.classP[:len(s.e.classes)] {
		for _, r := range s.e.classes[class].repairs {
			sum += p * s.e.repairs[r].Minutes
		}
	}
	return sum
}

// lumps gathers the entries by what acts now: the likeliest each by itself, the others in one.
func (s *selection) lumps() []lump {
	at := map[int]int{}
	var all []lump
	for i, en := range s.entries {
		acting := en.acting
		if en.sub >= 0 {
			acting = -1
		}
		j, known := at[acting]
		if !known {
			j = len(all)
			at[acting] = j
			all = append(all, lump{acting: acting})
		}
		all[j].p += en.p
		all[j].entries = append(all[j].entries, i)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].p > all[j].p })
	if len(all) <= mostCompiledHypotheses {
		return all
	}
	rest := lump{acting: -1}
	for _, l := range all[mostCompiledHypotheses:] {
		rest.p += l.p
		rest.entries = append(rest.entries, l.entries...)
	}
	return append(all[:mostCompiledHypotheses:mostCompiledHypotheses], rest)
}

// drawTogether returns P[lump][outcome] for an offer, with the cells drawn
// together by what they would make likeliest: the two commonest such verdicts, and the rest.
func (s *selection) drawTogether(o *offer, lumps []lump) [][]float64 {
	cells := o.joint
	group := s.groups(cells)
	p := make([][]float64, len(lumps))
	for l := range lumps {
		p[l] = make([]float64, mostCompiledOutcomes)
		for _, i := range lumps[l].entries {
			for cell, m := range cells.mass[i] {
				p[l][group[cell]] += m * s.entries[i].p / lumps[l].p
			}
		}
	}
	return p
}

// verdictKey is what a cell would make likeliest, and whether beyond doubt.
type verdictKey struct {
	class  int
	strong bool
}

// groups returns for each cell which of mostCompiledOutcomes it belongs to.
func (s *selection) groups(c *cells) []int {
	keys := make([]verdictKey, c.n)
	var order []verdictKey
	mass := map[verdictKey]float64{}
	post := make([]float64, len(s.classP))
	for cell := range c.n {
		clear(post)
		total := 0.0
		for i, en := range s.entries {
			post[en.class] += en.p * c.mass[i][cell]
			total += en.p * c.mass[i][cell]
		}
		best := 0
		for class := range post {
			if post[class] > post[best] {
				best = class
			}
		}
		keys[cell] = verdictKey{best, post[best] >= s.e.set.Certain*total}
		if _, known := mass[keys[cell]]; !known {
			order = append(order, keys[cell])
		}
		mass[keys[cell]] += total
	}
	sort.SliceStable(order, func(i, j int) bool { return mass[order[i]] > mass[order[j]] })
	out := make([]int, c.n)
	for cell, key := range keys {
		for rank, k := range order {
			if k == key {
				out[cell] = min(rank, mostCompiledOutcomes-1)
			}
		}
	}
	return out
}

// require adds the setup states to the problem and returns the bits required.
func (s *selection) require(p *Problem, bits map[string]int, needs []Need) (mask, want uint32) {
	for _, n := range needs {
		bit, known := bits[n.State]
		if !known {
			if len(p.Setup) == mostProblemSetups {
				continue
			}
			bit = len(p.Setup)
			bits[n.State] = bit
			i := s.e.stateAt[n.State]
			st := ProblemSetup{ID: n.State, ToOn: s.e.states[i].On, ToOff: s.e.states[i].Off}
			if s.setup[i] {
				st.Initial = 1
			}
			p.Setup = append(p.Setup, st)
		}
		mask |= 1 << bit
		if n.On {
			want |= 1 << bit
		}
	}
	return mask, want
}

// classesToTry returns the likeliest repair classes that may be done now, and closing the visit.
func (s *selection) classesToTry() []int {
	order := make([]int, len(s.e.classes))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return s.classP[order[i]] > s.classP[order[j]] })
	out := []int{closeVisit}
	for _, class := range order {
		if len(out) == mostCompiledRepairs || s.classP[class] < leastEntry {
			break
		}
		if len(s.e.classes[class].repairs) > 0 && len(s.forbidden(class)) == 0 {
			out = append(out, class)
		}
	}
	return out
}

// compileRepair returns a class of repairs as one repair of the problem.
func (s *selection) compileRepair(p *Problem, bits map[string]int, class int, lumps []lump) ProblemRepair {
	r := ProblemRepair{ID: "close", Cost: s.e.set.CloseMinutes, WrongPenalty: s.e.set.CallbackMinutes, Fix: make([]float64, len(lumps))}
	if class != closeVisit {
		r.ID, r.Cost, r.WrongPenalty = s.e.classes[class].key, 0, 0
		for _, i := range s.e.classes[class].repairs {
			rep := &s.e.repairs[i]
			r.Cost += rep.Minutes
			r.WrongPenalty += rep.WrongMinutes
			if rep.Charge && !s.gate.Open {
				r.Cost += s.e.set.GateMinutes
			}
			mask, want := s.require(p, bits, rep.Needs)
			r.Mask, r.Want = r.Mask|mask, r.Want|want
		}
	}
	for l := range lumps {
		for _, i := range lumps[l].entries {
			r.Fix[l] += s.cure(class, i) * s.entries[i].p / lumps[l].p
		}
		r.Fix[l] = min(r.Fix[l], 1) // rounding
	}
	return r
}

// cure returns the probability that a class of repairs leaves nothing wrong if entry i is true.
func (s *selection) cure(class, i int) float64 {
	en := &s.entries[i]
	if en.sub >= 0 {
		return 0
	}
	if en.acting == s.e.healthy {
		if class == closeVisit {
			return 1
		}
		return 0
	}
	if class == closeVisit {
		return 0
	}
	fix := 1.0
	for _, need := range s.e.classes[en.class].repairs {
		has := false
		for _, r := range s.e.classes[class].repairs {
			has = has || r == need
		}
		if !has {
			return 0
		}
		fix *= s.e.fix(need, s.rows[en.row].vain)
	}
	return fix
}

// cureNow returns the probability that a class of repairs leaves nothing wrong.
func (s *selection) cureNow(class int) float64 {
	sum := 0.0
	for i, en := range s.entries {
		sum += en.p * s.cure(class, i)
	}
	return sum
}

// right returns the probability that a class of repairs is right to begin
// with: it may still fail, and another may be needed after it. p is the
// probability of each entry.
func (s *selection) right(class int, p []float64) float64 {
	if class == closeVisit {
		class = s.e.hyps[s.e.healthy].class
	}
	sum := 0.0
	for i, en := range s.entries {
		if en.sub < 0 && s.e.classes[class].begins[en.acting] {
			sum += p[i] * s.hope(class, en.row)
		}
	}
	return sum
}

// hope is what is left of a class of repairs after those of it that were done in vain.
func (s *selection) hope(class, row int) float64 {
	left := 1.0
	for _, r := range s.rows[row].vain {
		if contains(s.e.classes[class].repairs, r) {
			left *= s.e.again(r)
		}
	}
	return left
}

// barred returns why a class of repairs may not be done in this case.
func (s *selection) barred(class int) []HoldReason {
	held := s.forbidden(class)
	for _, i := range s.e.classes[class].repairs {
		if s.e.repairs[i].Charge && !s.gate.Open {
			return append(held, HeldCharge)
		}
	}
	return held
}

// forbidden returns what no reading can change of why a class may not be done.
func (s *selection) forbidden(class int) []HoldReason {
	for _, i := range s.e.classes[class].repairs {
		r := &s.e.repairs[i]
		switch {
		case s.c.bars(r.Safety):
			return []HoldReason{HeldHazard}
		case !s.c.mayDo(r.Safety, r.Licence):
			return []HoldReason{HeldPerson}
		}
	}
	return nil
}
