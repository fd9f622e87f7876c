package diagnosis

import "math"

// Action is a step in a Problem.
type Action struct {
	Kind  ActionKind
	Index int // of the test or the repair
}

// ActionKind is the kind of an Action.
type ActionKind int

// The kinds of action.
const (
	DoEscalate ActionKind = iota
	DoTest
	DoRepair
)

// Name returns the id of the test or repair, or "escalate".
func (p *Problem) Name(a Action) string {
	switch a.Kind {
	case DoTest:
		return p.Tests[a.Index].ID
	case DoRepair:
		return p.Repairs[a.Index].ID
	}
	return "escalate"
}

// solver finds least expected costs by recursion over all situations, each
// worked out once.
//
//	V = min( E·W ; c·W + Σ_o V(o) ; c·W + price of failing + V(failed) )
//
// with W the weight of the situation. An action is given up as soon as a bound
// from below on its cost reaches the best found, which does not change V.
type solver struct {
	walk
	values *memo
	least  [][]float64 // by the set of repairs tried, see leastCosts
	budget int         // situations it may still work out; spent when 0
}

func newSolver(p *Problem, budget int) *solver {
	return &solver{walk: *newWalk(p), values: newMemo(), least: make([][]float64, 1<<len(p.Repairs)), budget: budget}
}

// bound returns a cost that no course of action can undercut: if every
// hypothesis were known, the cheaper of handing over and of its best repair.
func (v *solver) bound(s *situation) float64 {
	least := v.least[s.repairs]
	if least == nil {
		least = v.p.leastCosts(s)
		v.least[s.repairs] = least
	}
	sum := 0.0
	for h, w := range s.w {
		sum += w * least[h]
	}
	return sum
}

// leastCosts returns for each hypothesis the cheaper of handing over and of the
// best repair not tried yet, with what its failing costs at least.
func (p *Problem) leastCosts(s *situation) []float64 {
	least := make([]float64, len(p.Hypotheses))
	for h := range least {
		least[h] = p.EscalateCost
	}
	for r, rep := range p.Repairs {
		for h, fix := range rep.Fix {
			if fix > 0 && !s.tried(r) {
				least[h] = math.Min(least[h], rep.Cost+(1-fix)*(rep.WrongPenalty+p.FalsePass*p.CallbackCost))
			}
		}
	}
	return least
}

// value returns the least expected cost from a situation times its weight. It
// is NaN once the budget is spent.
func (v *solver) value(s *situation) float64 {
	W := s.weight()
	if W == 0 {
		return 0
	}
	key := s.key()
	if known, seen := v.values.get(key); seen {
		return known
	}
	if v.budget--; v.budget < 0 {
		return math.NaN()
	}
	best, _ := v.best(s, W)
	v.values.put(key, best)
	return best
}

// best returns the least cost and the action that has it. Equal costs go to
// escalation, then to the earlier repair, then to the earlier test.
func (v *solver) best(s *situation, W float64) (float64, Action) {
	best, act := v.p.EscalateCost*W, Action{Kind: DoEscalate}
	for r := range v.p.Repairs {
		if s.tried(r) || v.fixes(s, r) == 0 {
			continue
		}
		if c := v.repairValue(s, r, W, best); !(c >= best) {
			best, act = c, Action{DoRepair, r}
		}
	}
	for t := range v.p.Tests {
		if v.tested(s, t) {
			continue
		}
		if c := v.testValue(s, t, W, best); !(c >= best) {
			best, act = c, Action{DoTest, t}
		}
	}
	return best, act
}

// repairValue returns the cost of repair r and going on best, or anything not
// below the limit.
func (v *solver) repairValue(s *situation, r int, W, limit float64) float64 {
	rep := &v.p.Repairs[r]
	setup, sw := v.switched(s.setup, rep.Mask, rep.Want)
	next, price := v.failed(s, r, setup)
	defer v.release(&next)
	cost := (rep.Cost+sw)*W + price
	if cost+v.bound(&next) >= limit {
		return limit
	}
	return cost + v.value(&next)
}

// testValue is repairValue for test t.
func (v *solver) testValue(s *situation, t int, W, limit float64) float64 {
	test := &v.p.Tests[t]
	setup, sw := v.switched(s.setup, test.Mask, test.Want)
	cost := (test.Cost + sw) * W
	ahead := v.bound(s) // of the outcomes not yet worked out; it adds up over outcomes
	if cost+ahead >= limit {
		return limit
	}
	for o := range test.Outcomes {
		next := v.after(s, t, o, setup)
		ahead -= v.bound(&next)
		cost += v.value(&next)
		v.release(&next)
		if cost+ahead >= limit {
			return limit
		}
	}
	return cost
}

// Solution is the exact solution of a Problem.
type Solution struct {
	Cost  float64 // least expected cost, minutes
	First Action
	// Situations worked out: a measure of the size.
	Situations int
}

// Solve returns the exact solution. ok is false if it would take more than
// budget situations.
func (p *Problem) Solve(budget int) (sol Solution, ok bool) {
	v := newSolver(p, budget)
	s := v.start()
	cost, first := v.best(s, s.weight())
	if math.IsNaN(cost) || v.budget < 0 {
		return Solution{}, false
	}
	return Solution{Cost: cost, First: first, Situations: v.values.n + 1}, true
}
