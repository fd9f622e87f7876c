package diagnosis

import (
	"math"
	"sort"

	"rung/internal/fault"
	"rung/internal/fieldtest"
)

// listing is what a World tells of itself besides its predictions: what can be
// wrong with the system, what can be read on it, and what can be done.
type listing struct {
	catalogue *fault.Catalogue
	tests     *fieldtest.Catalogue
	complaint string
	modes     []string // heat, cool: those in which the system works
	// otherwise gives the share of a fault where the World knows better than the
	// catalogue; nil where it never does.
	otherwise func(f *fault.Fault, share float64) float64
	// experience bends the weights of the catalogue, weights are the bent ones by
	// fault; nil where nothing is.
	experience Experience
	weights    map[string]float64

	hyps    []Hypothesis
	faults  [][]*fault.Fault // of each hypothesis
	subs    []Subsystem
	checks  []Check
	repairs []Repair
	states  []SetupState
	points  []Point
}

// list lists what can be wrong, of the faults that the system can have, and
// what can be done about it.
func (w *listing) list(fits []*fault.Fault) {
	w.addHypotheses(fits)
	w.addPairs()
	w.addSubsystems()
	w.addRepairs()
	w.addStates()
}

// healthyShare is the least prior of a sound system among all calls; where the
// catalogue lists what brings sound systems to notice, its weight counts if it is more.
// practice: few calls end with nothing found; not counted.
const healthyShare = 0.03

// addHypotheses lists the single faults that this equipment can have, with
// their weight times how often they bring this complaint.
func (w *listing) addHypotheses(fits []*fault.Fault) {
	w.weights = w.experience.weights(fits)
	total := 0.0
	w.hyps = append(w.hyps, Hypothesis{ID: "healthy"})
	w.faults = append(w.faults, nil)
	atLimit := 0.0
	for _, f := range fits {
		if f.Healthy {
			atLimit += w.weight(f) * w.share(f)
			continue
		}
		h := Hypothesis{ID: f.ID, Faults: []Fault{{f.ID, f.Repair}}, Subsystem: f.Group,
			Prior: math.Max(w.weight(f)*w.share(f), leastLikelihood), Charge: f.Charge, Duty: f.Duty}
		total += h.Prior
		w.hyps = append(w.hyps, h)
		w.faults = append(w.faults, []*fault.Fault{f})
	}
	w.hyps[0].Prior = math.Max(orListed(w.experience.Sound, healthyShare)*total, atLimit)
}

// share returns how often a fault brings the complaint, 1 if there is none.
func (w *listing) share(f *fault.Fault) float64 {
	if w.complaint == "" {
		return 1
	}
	share := f.Share(w.complaint, len(w.catalogue.ComplaintsIn(w.modes...)))
	if w.otherwise != nil {
		return w.otherwise(f, share)
	}
	return share
}

// addPairs lists the causal pairs of which both faults are possible. Two pairs
// of the same faults, either way round, are one hypothesis.
func (w *listing) addPairs() {
	at, pair := map[string]int{}, map[string]int{}
	for i := range w.hyps {
		at[w.hyps[i].ID] = i
	}
	for _, p := range w.catalogue.Pairs {
		a, fits := at[p.First]
		b, too := at[p.Second]
		if !fits || !too {
			continue
		}
		first, second := w.faults[a][0], w.faults[b][0]
		h := Hypothesis{ID: p.ID, Faults: []Fault{{first.ID, first.Repair}, {second.ID, second.Repair}}, Subsystem: first.Group, Together: p.Together || p.Either,
			Charge: first.Charge || second.Charge}
		h.Prior = math.Max(w.weight(first)*learnedOr(w.experience.Pairs, p.ID, p.Rate)*math.Max(w.share(first), w.share(second)), leastLikelihood)
		if i, known := pair[faultKey(h.Faults)]; known {
			w.hyps[i].Prior += h.Prior
			continue
		}
		pair[faultKey(h.Faults)] = len(w.hyps)
		w.hyps = append(w.hyps, h)
		w.faults = append(w.faults, []*fault.Fault{first, second})
	}
}

// unlistedShare is the prior of all unlisted causes together.
// practice: 3 to 5 % of closed calls have a cause outside the list.
const unlistedShare = 0.04

// addSubsystems divides the prior of unlisted causes by the weight of the listed ones.
func (w *listing) addSubsystems() {
	at := map[string]int{}
	total := 0.0
	for _, h := range w.hyps {
		if h.Subsystem == "" {
			continue
		}
		i, known := at[h.Subsystem]
		if !known {
			i = len(w.subs)
			at[h.Subsystem] = i
			w.subs = append(w.subs, Subsystem{ID: h.Subsystem})
		}
		w.subs[i].Prior += h.Prior
		total += h.Prior
	}
	for i := range w.subs {
		// Half by weight, half alike: what the list lacks need not lie where it is long.
		w.subs[i].Prior = orListed(w.experience.Unlisted, unlistedShare) * (0.5*w.subs[i].Prior + 0.5*total/float64(len(w.subs)))
	}
	sort.Slice(w.subs, func(i, j int) bool { return w.subs[i].ID < w.subs[j].ID })
}

// surelyFixes bounds the chance that a repair of the right part cures.
// practice: about one new part or repair in thirty fails at once.
const surelyFixes = 0.97

func (w *listing) addRepairs() {
	for _, r := range w.catalogue.Repairs {
		needs := w.needs(r.Needs, nil)
		w.repairs = append(w.repairs, Repair{ID: r.ID, Minutes: learnedOr(w.experience.RepairMinutes, r.ID, r.Minutes), WrongMinutes: r.Wrong, Fix: math.Min(r.Fix, surelyFixes),
			Safety: safetyClass(r.Safety), Licence: w.licence(r.Licence, r.Needs), Needs: needs,
			Invasive: r.Invasive != "", Charge: r.Charge, AskWhy: r.Why.EN != "", Induces: r.Induces})
	}
}

// checkOf describes a check to the engine.
func (w *listing) checkOf(c *fieldtest.Check) Check {
	return Check{ID: c.ID, Minutes: learnedOr(w.experience.Minutes, c.ID, c.Minutes), PerPoint: c.PerPoint, Safety: safetyClass(c.Safety),
		Licence: w.licence(c.Licence, c.Needs), Needs: w.needs(c.Needs, c.Without)}
}

func (w *listing) addStates() {
	for _, s := range w.tests.Setups {
		w.states = append(w.states, SetupState{ID: s.ID, On: s.Minutes, Off: s.Undo})
	}
}

// needs returns the states that must and must not hold. What a needed state
// excludes must not hold either.
func (w *listing) needs(on, off []string) []Need {
	var out []Need
	add := func(n Need) {
		for _, have := range out {
			if have.State == n.State {
				return
			}
		}
		out = append(out, n)
	}
	for _, id := range off {
		add(Need{id, false})
	}
	for _, id := range on {
		if s, known := w.tests.Setup(id); known {
			for _, x := range s.Excludes {
				add(Need{x, false})
			}
		}
		add(Need{id, true})
	}
	return out
}

// licence returns the licence for a step, or for one of the states it needs.
func (w *listing) licence(own string, needs []string) Licence {
	for _, id := range needs {
		if s, known := w.tests.Setup(id); known && own == "" {
			own = s.Licence
		}
	}
	return Licence(own)
}

// safetyClass reads "s0" to "s6"; anything else is the highest.
func safetyClass(id string) SafetyClass {
	if len(id) == 2 && id[0] == 's' && id[1] >= '0' && id[1] <= '6' {
		return SafetyClass(id[1] - '0')
	}
	return S6
}

func (w *listing) Hypotheses() []Hypothesis  { return w.hyps }
func (w *listing) Subsystems() []Subsystem   { return w.subs }
func (w *listing) Repairs() []Repair         { return w.repairs }
func (w *listing) Checks() []Check           { return w.checks }
func (w *listing) Points() []Point           { return w.points }
func (w *listing) SetupStates() []SetupState { return w.states }
