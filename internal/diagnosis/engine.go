package diagnosis

import (
	"fmt"
	"sort"
	"strings"
	"sync"
)

// Engine gives advice about the system of one World. It keeps the predictions
// it has computed; they change the time an answer takes, never the answer. It
// may be used by several goroutines.
type Engine struct {
	set   Settings
	world World

	hyps    []hypothesis
	healthy int // index of the hypothesis without faults
	subs    []Subsystem
	byFault map[string]int // hypothesis with exactly these faults
	checks  []Check
	checkAt map[string]int
	repairs []Repair
	repair  map[string]int
	states  []SetupState
	stateAt map[string]int
	points  []Point
	strays  [][][]float64 // of a point with words, see straysOf
	pointAt map[Ref]int
	classes []class
	demands []demandPoints

	mu    *sync.Mutex // shared by the systems of one plant, see System.For
	cache predictions
	likes map[likeKey]*likelihoods
	// last is the inference last worked out, lastBelief what is believed after all of its evidence; see believe.
	last       *inference
	lastBelief *belief
}

// hypothesis is a Hypothesis with what the engine needs at hand.
type hypothesis struct {
	Hypothesis
	logPrior float64
	prior    float64
	class    int
	least    int // particles it has at least
	sub      int // index into subs, −1 if none
}

// class is a set of repairs that together cure some hypotheses.
type class struct {
	key     string
	repairs []int
	begins  []bool // by hypothesis: it is right to begin with this class
}

// demandPoints lists the points at one demand.
type demandPoints struct {
	demand Demand
	points []int // indices into Engine.points
}

// NewEngine returns an engine for the world. It returns an error if the world is
// inconsistent: an id twice, a pair without its single faults, a need of an unknown state.
func NewEngine(w World, s Settings) (*Engine, error) {
	if s.OutdoorLimit < lowestOutdoorLimit {
		return nil, fmt.Errorf("diagnosis: outdoor limit %.2f K is below 285.93 K (55 °F), the lowest at which charge may be judged", s.OutdoorLimit.Kelvin())
	}
	if !(s.Temper > 0 && s.Temper <= 1) {
		return nil, fmt.Errorf("diagnosis: temper %g, want above 0, at most 1", s.Temper)
	}
	if s.RareParticles < 1 || s.FewParticles < s.RareParticles || s.ManyParticles < s.FewParticles {
		return nil, fmt.Errorf("diagnosis: %d particles for rare, %d for usual and %d for leading hypotheses", s.RareParticles, s.FewParticles, s.ManyParticles)
	}
	e := &Engine{
		set: s, world: w, subs: w.Subsystems(),
		checks: w.Checks(), repairs: w.Repairs(), states: w.SetupStates(), points: w.Points(),
		byFault: map[string]int{}, checkAt: map[string]int{}, repair: map[string]int{},
		stateAt: map[string]int{}, pointAt: map[Ref]int{}, likes: map[likeKey]*likelihoods{}, mu: new(sync.Mutex),
	}
	for _, index := range []func() error{e.indexStates, e.indexRepairs, e.indexChecks, e.indexPoints, e.indexHypotheses} {
		if err := index(); err != nil {
			return nil, fmt.Errorf("diagnosis: %w", err)
		}
	}
	e.cache.init(len(e.hyps), s.ManyParticles, e.demands)
	return e, nil
}

func (e *Engine) indexStates() error {
	for i, s := range e.states {
		if _, twice := e.stateAt[s.ID]; twice {
			return fmt.Errorf("setup state %q twice", s.ID)
		}
		if s.On < 0 || s.Off < 0 {
			return fmt.Errorf("setup state %q: negative minutes", s.ID)
		}
		e.stateAt[s.ID] = i
	}
	return nil
}

func (e *Engine) indexRepairs() error {
	for i, r := range e.repairs {
		if _, twice := e.repair[r.ID]; twice {
			return fmt.Errorf("repair %q twice", r.ID)
		}
		if r.Fix <= 0 || r.Fix > 1 || r.Minutes < 0 || r.WrongMinutes < 0 {
			return fmt.Errorf("repair %q: fix %g, minutes %g or price of a wrong part %g out of range", r.ID, r.Fix, r.Minutes, r.WrongMinutes)
		}
		if err := e.knowStates(r.ID, r.Needs); err != nil {
			return err
		}
		e.repair[r.ID] = i
	}
	return nil
}

func (e *Engine) knowStates(who string, needs []Need) error {
	for _, n := range needs {
		if _, known := e.stateAt[n.State]; !known {
			return fmt.Errorf("%s needs the unknown setup state %q", who, n.State)
		}
	}
	return nil
}

func (e *Engine) indexChecks() error {
	for i, c := range e.checks {
		if _, twice := e.checkAt[c.ID]; twice {
			return fmt.Errorf("check %q twice", c.ID)
		}
		if c.Minutes <= 0 {
			return fmt.Errorf("check %q: %g minutes", c.ID, c.Minutes)
		}
		if err := e.knowStates(c.ID, c.Needs); err != nil {
			return err
		}
		e.checkAt[c.ID] = i
	}
	return nil
}

func (e *Engine) indexPoints() error {
	at := map[Demand]int{}
	for i, p := range e.points {
		if _, twice := e.pointAt[p.Ref]; twice {
			return fmt.Errorf("point %v twice", p.Ref)
		}
		if _, known := e.checkAt[p.Check]; !known {
			return fmt.Errorf("point %v of an unknown check", p.Ref)
		}
		if len(p.Words) == 0 && !(p.Meter.Low < p.Meter.High && e.sigma(&p, p.Meter.Low) > 0) {
			return fmt.Errorf("point %v: no credible range (%g to %g) or no uncertainty", p.Ref, p.Meter.Low, p.Meter.High)
		}
		e.pointAt[p.Ref] = i
		e.strays = append(e.strays, straysOf(&p))
		d, known := at[p.Demand]
		if !known {
			d = len(e.demands)
			at[p.Demand] = d
			e.demands = append(e.demands, demandPoints{demand: p.Demand})
		}
		e.demands[d].points = append(e.demands[d].points, i)
	}
	return nil
}

func (e *Engine) indexHypotheses() error {
	e.healthy = -1
	subAt := map[string]int{}
	total := 0.0
	for i, s := range e.subs {
		subAt[s.ID] = i
		total += s.Prior
	}
	classAt := map[string]int{}
	ids := map[string]bool{}
	for i, h := range e.world.Hypotheses() {
		key := faultKey(h.Faults)
		if _, twice := e.byFault[key]; twice || ids[h.ID] {
			return fmt.Errorf("hypothesis %q twice", h.ID)
		}
		if h.Prior <= 0 || h.Duty < 0 || h.Duty > 1 {
			return fmt.Errorf("hypothesis %q: prior %g or duty %g out of range", h.ID, h.Prior, h.Duty)
		}
		e.byFault[key], ids[h.ID] = i, true
		if len(h.Faults) == 0 {
			e.healthy = i
		}
		sub, known := subAt[h.Subsystem]
		if !known {
			sub = -1
		}
		c, err := e.classOf(h.Faults, classAt)
		if err != nil {
			return fmt.Errorf("hypothesis %q: %w", h.ID, err)
		}
		e.hyps = append(e.hyps, hypothesis{Hypothesis: h, prior: h.Prior, class: c, sub: sub})
		total += h.Prior
	}
	if e.healthy < 0 {
		return fmt.Errorf("no hypothesis without faults")
	}
	e.normalise(total)
	e.orderClasses()
	return e.closedUnderRemoval()
}

// classOf returns the index of the class of repairs that cure the faults.
func (e *Engine) classOf(faults []Fault, at map[string]int) (int, error) {
	var ids []string
	for _, f := range faults {
		if _, known := e.repair[f.Repair]; !known {
			return 0, fmt.Errorf("fault %q has the unknown repair %q", f.ID, f.Repair)
		}
		ids = append(ids, f.Repair)
	}
	sort.Strings(ids)
	var key string
	var repairs []int
	for i, id := range ids {
		if i > 0 && id == ids[i-1] {
			continue
		}
		key += id + "+"
		repairs = append(repairs, e.repair[id])
	}
	if c, known := at[key]; known {
		return c, nil
	}
	at[key] = len(e.classes)
	e.classes = append(e.classes, class{key: key, repairs: repairs})
	return at[key], nil
}

// orderClasses finds which class is right to begin with under which hypothesis:
// the one that cures it; and of a pair also what cures the fault that brought
// the other about, or either where the order is free.
func (e *Engine) orderClasses() {
	for c := range e.classes {
		begins := make([]bool, len(e.hyps))
		for h := range e.hyps {
			begins[h] = e.begins(&e.classes[c], &e.hyps[h])
		}
		e.classes[c].begins = begins
	}
}

func (e *Engine) begins(c *class, h *hypothesis) bool {
	all := e.classes[h.class].repairs
	switch {
	case len(c.repairs) == 0 || len(all) == 0:
		return len(c.repairs) == len(all)
	case len(c.repairs) == len(all) || h.Together:
		return subset(c.repairs, all)
	}
	return subset(c.repairs, all) && contains(c.repairs, e.repair[h.Faults[0].Repair])
}

// subset says whether all of a are in b.
func subset(a, b []int) bool {
	for _, x := range a {
		if !contains(b, x) {
			return false
		}
	}
	return true
}

func (e *Engine) normalise(total float64) {
	for i := range e.hyps {
		h := &e.hyps[i]
		h.prior /= total
		h.logPrior = logOf(h.prior)
		h.least = e.set.FewParticles
		if h.prior < e.set.RareBelow {
			h.least = e.set.RareParticles
		}
	}
	subs := make([]Subsystem, len(e.subs))
	for i, s := range e.subs {
		subs[i] = Subsystem{ID: s.ID, Prior: s.Prior / total}
	}
	e.subs = subs
}

// closedUnderRemoval checks that what a repair leaves of a pair is listed too.
func (e *Engine) closedUnderRemoval() error {
	for _, h := range e.hyps {
		for _, f := range h.Faults {
			if e.without(h.Faults, f.Repair) < 0 {
				return fmt.Errorf("hypothesis %q: what remains after repair %q is not listed", h.ID, f.Repair)
			}
		}
	}
	return nil
}

// without returns the hypothesis that remains of faults after a repair, −1 if none is listed.
func (e *Engine) without(faults []Fault, repair string) int {
	var left []Fault
	for _, f := range faults {
		if f.Repair != repair {
			left = append(left, f)
		}
	}
	if i, listed := e.byFault[faultKey(left)]; listed {
		return i
	}
	return -1
}

// faultKey returns a key of the set of faults.
func faultKey(faults []Fault) string {
	ids := make([]string, len(faults))
	for i, f := range faults {
		ids[i] = f.ID
	}
	sort.Strings(ids)
	return strings.Join(ids, "+")
}
