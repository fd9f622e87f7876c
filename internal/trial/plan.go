package trial

import (
	"fmt"
	"math/rand/v2"
	"sort"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
)

// Options say what is played.
type Options struct {
	Calls      int
	Seed       uint64
	Policies   []Policy // all if empty
	WrongShare float64  // share of wrong readings
	ModelError float64  // see modelError; 0 is a right model, 0.3 the planned one
	Split      Split
	Settings   diagnosis.Settings
}

// Plan is the calls of a trial, drawn and put together by configuration. Groups
// may be played at once and in any order; what comes out is the same.
type Plan struct {
	o      Options
	checks *fieldtest.Catalogue
	groups []group
}

// group is the calls of one configuration.
type group struct {
	w     *world
	calls []call
}

type call struct {
	n         int
	complaint string
	cause     cause
}

// NewPlan draws the calls.
func NewPlan(o Options) (*Plan, error) {
	switch {
	case o.Calls < 1:
		return nil, fmt.Errorf("trial: %d calls", o.Calls)
	case !(o.WrongShare >= 0 && o.WrongShare < 1) || !(o.ModelError >= 0 && o.ModelError <= 1):
		return nil, fmt.Errorf("trial: share of wrong readings %g or model error %g out of range 0 to 1", o.WrongShare, o.ModelError)
	}
	if len(o.Policies) == 0 {
		o.Policies = Policies()
	}
	list, err := configurations(o.Split)
	if err != nil {
		return nil, err
	}
	faults, err := fault.Load()
	if err != nil {
		return nil, fmt.Errorf("trial: %w", err)
	}
	p := &Plan{o: o}
	if p.checks, err = fieldtest.Load(); err != nil {
		return nil, fmt.Errorf("trial: %w", err)
	}
	for i, c := range list {
		w, err := newWorld(c, faults, rand.New(rand.NewPCG(o.Seed, uint64(i))))
		if err != nil {
			return nil, fmt.Errorf("trial: %s: %w", c.name, err)
		}
		p.groups = append(p.groups, group{w: w})
	}
	for n := range o.Calls {
		g := &p.groups[n%len(p.groups)]
		k, c := g.w.draw(luck{o.Seed, uint64(n)})
		g.calls = append(g.calls, call{n, k, c})
	}
	for _, g := range p.groups {
		sort.SliceStable(g.calls, func(i, j int) bool { return g.calls[i].complaint < g.calls[j].complaint })
	}
	return p, nil
}

// Groups returns how many groups of calls there are.
func (p *Plan) Groups() int { return len(p.groups) }

// Played is one call under every way of working, in the order of Options.Policies.
type Played struct {
	Call    int
	Results []Result
}

// Play plays the calls of a group.
func (p *Plan) Play(i int) ([]Played, error) {
	g := &p.groups[i]
	solver, err := g.w.plant.NewSolver()
	if err != nil {
		return nil, fmt.Errorf("trial: %w", err)
	}
	base, err := diagnosis.Open(diagnosis.Situation{Plant: g.w.plant, Faults: g.w.told, Checks: p.checks, At: g.w.at,
		OutdoorKnown: true, WetBulbKnown: true}, p.o.Settings)
	if err != nil {
		return nil, fmt.Errorf("trial: %s: %w", g.w.name, err)
	}
	var out []Played
	table := room{p: p, w: g.w, solver: solver}
	for _, c := range g.calls {
		if table.sys == nil || table.complaint != c.complaint {
			if err := table.open(base, c); err != nil {
				return nil, err
			}
		}
		played, err := table.play(c)
		if err != nil {
			return nil, err
		}
		out = append(out, played)
	}
	return out, nil
}

// room is where the calls of one complaint are played.
type room struct {
	p         *Plan
	w         *world
	solver    *plant.Solver
	complaint string
	sys       *asked
	ways      []way
}

// open turns to another complaint.
func (t *room) open(base *diagnosis.System, c call) error {
	sys, err := base.For(c.complaint)
	if err != nil {
		return err
	}
	t.sys = ask(sys)
	t.complaint, t.ways = c.complaint, nil
	for _, name := range t.p.o.Policies {
		w, err := wayOf(name, t.sys, t.hidden(c))
		if err != nil {
			return err
		}
		t.ways = append(t.ways, w)
	}
	return nil
}

// hidden returns a plant of which only the catalogues are asked.
func (t *room) hidden(c call) *hidden {
	return &hidden{luck: luck{t.p.o.Seed, uint64(c.n)}, w: t.w, checks: t.p.checks}
}

// play plays one call in every way of working.
func (t *room) play(c call) (Played, error) {
	out := Played{Call: c.n}
	l := luck{t.p.o.Seed, uint64(c.n)}
	h, err := t.w.hide(l, c.cause, errorOf(t.p.o.ModelError), t.p.o.WrongShare, t.p.checks, t.solver)
	if err != nil {
		return out, err
	}
	optimum := h.clairvoyant(t.sys)
	for i, w := range t.ways {
		clear(h.mended)
		v := newVisit(h, t.sys)
		r, err := v.play(w)
		if err != nil {
			return out, fmt.Errorf("trial: call %d, %s: %w", c.n, t.p.o.Policies[i], err)
		}
		r.Cause, r.Kind, r.Optimum = c.cause.id(), c.cause.kind(), optimum
		out.Results = append(out.Results, r)
	}
	return out, nil
}

// clairvoyant is the time of one who knows the cause: the repairs and their verification.
func (h *hidden) clairvoyant(sys *asked) float64 {
	clear(h.mended)
	v := newVisit(h, sys)
	done := map[string]bool{}
	for _, f := range h.cause.faults {
		if rep, known := h.w.whole.Repair(f.Repair); known && !done[rep.ID] {
			done[rep.ID] = true
			v.spent += v.switching(rep.Needs, nil) + rep.Minutes
		}
	}
	if len(done) == 0 {
		return closeMinutes
	}
	for _, id := range verifying {
		if check, known := h.checks.Check(id); known {
			v.spent += v.switching(check.Needs, check.Without) + check.Minutes
		}
	}
	return v.spent
}
