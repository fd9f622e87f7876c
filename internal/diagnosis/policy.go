package diagnosis

import (
	"math"

	"rung/internal/quantity"
)

// basePolicy is a simple way to act that the policy proper looks ahead with.
type basePolicy int

const (
	// informative takes the test of most information per minute while some one
	// test is worth its cost, then repairs.
	informative basePolicy = iota
	// certain takes the same tests until a repair cures with 0.9.
	certain
	// myopic takes the test after which repairing is cheapest, while that helps.
	myopic
	basePolicies
)

// certainCure is where the policy "certain" stops testing.
// practice: common threshold; the policy is only one of three looked ahead with.
const certainCure = 0.9

// Plan is Rung's own way through a Problem: the exact recursion where few enough
// situations are left, and before that one step of every action followed by the
// best of three base policies, each worked out exactly.
type Plan struct {
	solver
	endgame float64 // most situations for the exact recursion
	class   []int
	classes int
	base    [basePolicies]*memo
	own     *memo
	steps   int // steps it may still look at; what is found is NaN when they are spent
}

// EndgameSituations is the bound on the situations ahead below which a Plan
// solves exactly: well under a second.
const EndgameSituations = 300_000

// Bounds within which Way answers in less than half a second: situations of the
// exact recursion tried first, situations ahead for the endgame of the plan, and steps of
// the plan.
const (
	wholeSituations = 30_000
	wayEndgame      = 20_000
	waySteps        = 300_000
)

// Way is how Rung goes about a problem.
type Way struct {
	First   Action
	Cost    float64 // exact expected cost of following it to the end, minutes
	Optimal bool    // Cost is the least of all ways
}

// Way returns Rung's way: the exact recursion where that is short, else a Plan.
// A problem too large for either gives a *quantity.RangeError.
func (p *Problem) Way() (Way, error) {
	if sol, ok := p.Solve(wholeSituations); ok {
		return Way{First: sol.First, Cost: sol.Cost, Optimal: true}, nil
	}
	pl := NewPlan(p, wayEndgame)
	pl.steps = waySteps
	first, cost := pl.First()
	if pl.steps <= 0 {
		return Way{}, &quantity.RangeError{Op: "diagnosis.Way", Name: "situations of the problem",
			Value: pl.ahead(pl.start()), Min: 1, Max: largestWay, Unit: "1"}
	}
	return Way{First: first, Cost: cost}, nil
}

// largestWay is the number of situations up to which a plan was seen to be found.
// practice: ten hypotheses, eight tests and seven repairs have five million.
const largestWay = 1e7

// NewPlan returns the plan for a problem. endgame is the most situations ahead for which it
// solves exactly; 0 never does.
func NewPlan(p *Problem, endgame int) *Plan {
	pl := &Plan{solver: *newSolver(p, math.MaxInt), endgame: float64(endgame), own: newMemo(), steps: math.MaxInt}
	pl.class, pl.classes = p.classes()
	for b := range pl.base {
		pl.base[b] = newMemo()
	}
	return pl
}

// First returns the first action and the exact expected cost in minutes of
// following the plan to the end.
func (pl *Plan) First() (Action, float64) {
	s := pl.start()
	return pl.act(s), pl.follow(s)
}

// ahead bounds the number of situations that can follow.
func (pl *Plan) ahead(s *situation) float64 {
	n := math.Ldexp(1, len(pl.p.Setup))
	for t := range pl.p.Tests {
		if !pl.tested(s, t) {
			n *= float64(pl.p.Tests[t].Outcomes + 1)
		}
	}
	for r := range pl.p.Repairs {
		if !s.tried(r) {
			n *= 2
		}
	}
	return n
}

// act returns what the plan does in a situation.
func (pl *Plan) act(s *situation) Action {
	if pl.ahead(s) <= pl.endgame {
		_, a := pl.best(s, s.weight())
		return a
	}
	W := s.weight()
	best, act := pl.p.EscalateCost*W, Action{Kind: DoEscalate}
	try := func(a Action) {
		if c := pl.step(s, a, pl.bestBase); c < best {
			best, act = c, a
		}
	}
	for r := range pl.p.Repairs {
		if !s.tried(r) && pl.fixes(s, r) > 0 {
			try(Action{DoRepair, r})
		}
	}
	for t := range pl.p.Tests {
		if !pl.tested(s, t) {
			try(Action{DoTest, t})
		}
	}
	return act
}

// step returns the cost of an action when what follows costs next, times the weight.
func (pl *Plan) step(s *situation, a Action, next func(*situation) float64) float64 {
	W := s.weight()
	if pl.steps--; pl.steps < 0 {
		return math.NaN()
	}
	switch a.Kind {
	case DoRepair:
		rep := &pl.p.Repairs[a.Index]
		setup, sw := pl.switched(s.setup, rep.Mask, rep.Want)
		then, price := pl.failed(s, a.Index, setup)
		defer pl.release(&then)
		return (rep.Cost+sw)*W + price + next(&then)
	case DoTest:
		test := &pl.p.Tests[a.Index]
		setup, sw := pl.switched(s.setup, test.Mask, test.Want)
		cost := (test.Cost + sw) * W
		for o := range test.Outcomes {
			then := pl.after(s, a.Index, o, setup)
			cost += next(&then)
			pl.release(&then)
		}
		return cost
	}
	return pl.p.EscalateCost * W
}

// follow returns the cost of following the plan from a situation, times its weight.
func (pl *Plan) follow(s *situation) float64 {
	if s.weight() == 0 {
		return 0
	}
	if known, seen := pl.own.get(s.key()); seen {
		return known
	}
	var v float64
	if pl.ahead(s) <= pl.endgame {
		v = pl.value(s)
	} else {
		v = pl.step(s, pl.act(s), pl.follow)
	}
	pl.own.put(s.key(), v)
	return v
}

// bestBase returns the cost of the best base policy from a situation, times its weight.
func (pl *Plan) bestBase(s *situation) float64 {
	best := math.Inf(1)
	for b := range basePolicies {
		best = math.Min(best, pl.followBase(b, s))
	}
	return best
}

// followBase returns the cost of following a base policy, times the weight.
func (pl *Plan) followBase(b basePolicy, s *situation) float64 {
	if s.weight() == 0 {
		return 0
	}
	if known, seen := pl.base[b].get(s.key()); seen {
		return known
	}
	v := pl.step(s, pl.actBase(b, s), func(next *situation) float64 { return pl.followBase(b, next) })
	pl.base[b].put(s.key(), v)
	return v
}

// actBase returns what a base policy does in a situation.
func (pl *Plan) actBase(b basePolicy, s *situation) Action {
	now, repair := pl.repairsOnly(s)
	if b == certain {
		if t := pl.mostInformative(s, pl.class, pl.classes); t >= 0 && !pl.sure(s) {
			return Action{DoTest, t}
		}
		return repair
	}
	cost, t := pl.oneMore(s)
	if !(cost < now) {
		return repair
	}
	if b == informative {
		if i := pl.mostInformative(s, pl.class, pl.classes); i >= 0 {
			t = i
		}
	}
	return Action{DoTest, t}
}

// sure says whether some repair cures with certainCure.
func (pl *Plan) sure(s *situation) bool {
	W := s.weight()
	for r := range pl.p.Repairs {
		if !s.tried(r) && pl.fixes(s, r) >= certainCure*W {
			return true
		}
	}
	return false
}
