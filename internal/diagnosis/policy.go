package diagnosis

import "math"

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
	base    [basePolicies]map[uint64]float64
	own     map[uint64]float64
}

// EndgameSituations is the bound on the situations ahead below which a Plan
// solves exactly: well under a second.
const EndgameSituations = 300_000

// NewPlan returns the plan for a problem. endgame is the most situations ahead for which it
// solves exactly; 0 never does.
func NewPlan(p *Problem, endgame int) *Plan {
	pl := &Plan{solver: *newSolver(p, math.MaxInt), endgame: float64(endgame), own: map[uint64]float64{}}
	pl.class, pl.classes = p.classes()
	for b := range pl.base {
		pl.base[b] = map[uint64]float64{}
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
	if known, seen := pl.own[s.key()]; seen {
		return known
	}
	var v float64
	if pl.ahead(s) <= pl.endgame {
		v = pl.value(s)
	} else {
		v = pl.step(s, pl.act(s), pl.follow)
	}
	pl.own[s.key()] = v
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
	if known, seen := pl.base[b][s.key()]; seen {
		return known
	}
	v := pl.step(s, pl.actBase(b, s), func(next *situation) float64 { return pl.followBase(b, next) })
	pl.base[b][s.key()] = v
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
