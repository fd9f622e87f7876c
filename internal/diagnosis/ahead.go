package diagnosis

// Ahead returns what to do while the mechanic measures: each call solves one more
// plant that the advice after a is likely to ask for, and reports whether there
// may be another. What is solved ahead is what would be solved then, so that only
// the time of later answers changes. The list is bounded: a few particles of
// every cause, and all of the leading ones, some twenty thousand plants at most.
func (e *Engine) Ahead(c Case, a Advice) func() bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	list := e.spansAhead(c, a)
	return func() bool {
		e.mu.Lock()
		defer e.mu.Unlock()
		for len(list) > 0 {
			s := &list[0]
			for ; s.from < s.to; s.from++ {
				if e.cache.of[s.demand][s.hyp][s.from] == nil {
					e.particle(s.demand, s.hyp, s.from)
					return true
				}
			}
			list = list[1:]
		}
		return false
	}
}

// span is some particles of a hypothesis at a demand.
type span struct{ demand, hyp, from, to int }

// mostLeading is for how many leading causes all particles are solved ahead, from
// half of Settings.ManyAbove on.
// practice: what stands lower seldom leads after one more reading.
const mostLeading = 24

// spansAhead lists what to solve ahead: first what the readings proposed will be
// held against, then what may then ask for more particles, then what the comparison
// of checks at the other demands draws on.
func (e *Engine) spansAhead(c Case, a Advice) []span {
	next, read, other := e.demandsAhead(c, a)
	var list []span
	add := func(demands []int, hyps []int, most func(h int) int) {
		for _, d := range demands {
			for _, h := range hyps {
				list = append(list, span{d, h, 0, most(h)})
			}
		}
	}
	all := make([]int, len(e.hyps))
	for h := range all {
		all[h] = h
	}
	few := func(int) int { return e.set.FewParticles }
	add(next, all, few)
	add(append(next, read...), e.leading(a), func(int) int { return e.set.ManyParticles })
	add(read, all, few)
	add(other, all, func(h int) int { return e.hyps[h].least })
	add(other, e.leading(a), func(int) int { return e.set.ManyParticles })
	return list
}

// demandsAhead parts the demands: those of the checks proposed, the others at
// which something was read, and the rest.
func (e *Engine) demandsAhead(c Case, a Advice) (next, read, other []int) {
	seen := make([]bool, len(e.demands))
	mark := func(list []int, ref Ref) []int {
		point, known := e.pointAt[ref]
		if !known || seen[e.cache.place[point].demand] {
			return list
		}
		d := e.cache.place[point].demand
		seen[d] = true
		return append(list, d)
	}
	for _, s := range a.Next {
		for _, ref := range s.Refs {
			next = mark(next, ref)
		}
	}
	for _, r := range c.Readings {
		read = mark(read, r.Ref)
	}
	for d := range e.demands {
		if !seen[d] {
			other = append(other, d)
		}
	}
	return next, read, other
}

// leading returns the causes that stand high enough to be given all particles, and
// the sound system, which they are held against.
func (e *Engine) leading(a Advice) []int {
	list := []int{e.healthy}
	for _, cause := range a.Causes {
		for h := range e.hyps {
			if e.hyps[h].ID == cause.ID && cause.Probability >= e.set.ManyAbove/2 && len(list) <= mostLeading && h != e.healthy {
				list = append(list, h)
			}
		}
	}
	return list
}
