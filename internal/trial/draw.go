package trial

import (
	"math/rand/v2"

	"rung/internal/fault"
	"rung/internal/plant"
)

// Shares of the calls.
const (
	unlistedShare = 0.05 // practice: 3 to 5 % of closed calls have a cause outside the list
	soundShare    = 0.03 // practice: few calls end with nothing found
)

// cause is what is hidden in a call: no fault, one, or a listed pair.
type cause struct {
	faults   []*fault.Fault // the one that brought the other about first
	together bool           // it is right to begin with either
	unlisted bool
	weight   float64
}

// id names it for people.
func (c *cause) id() string {
	if len(c.faults) == 0 {
		return "sound"
	}
	id := c.faults[0].ID
	for _, f := range c.faults[1:] {
		id += "+" + f.ID
	}
	return id
}

// rightToBegin says whether doing these repairs first is right: those that cure;
// of a pair also what cures the fault that brought the other about, or either where
// the order is free. No repair is right for a sound system.
func (c *cause) rightToBegin(repairs []string) bool {
	if len(c.faults) == 0 || len(repairs) == 0 {
		return len(c.faults) == len(repairs)
	}
	first := false
	for _, r := range repairs {
		if !c.needs(r) {
			return false
		}
		first = first || r == c.faults[0].Repair
	}
	return first || c.together
}

// needs says whether a repair is for one of the faults.
func (c *cause) needs(repair string) bool {
	for _, f := range c.faults {
		if f.Repair == repair {
			return true
		}
	}
	return false
}

// world is a configuration with the catalogue that the engine is given and the
// causes left out of it.
type world struct {
	configuration
	plant  *plant.Plant
	whole  *fault.Catalogue
	told   *fault.Catalogue
	listed map[string][]cause // by complaint
	left   map[string][]cause
	any    []*fault.Fault // of this equipment, listed or not
}

// How many repairs are left out of the engine's catalogue, each of at most so
// much of the weight of all faults: practice: common faults are on any list.
const (
	repairsLeftOut = 8
	mostLeftOut    = 0.02
)

// newWorld leaves out some repairs with all the faults that they cure.
func newWorld(c configuration, all *fault.Catalogue, r *rand.Rand) (*world, error) {
	p, err := plant.Build(c.plate)
	if err != nil {
		return nil, err
	}
	w := &world{configuration: c, plant: p, whole: all, listed: map[string][]cause{}, left: map[string][]cause{}}
	weight, total := map[string]float64{}, 0.0
	var repairs []string
	for _, f := range all.Fits(p.Has) {
		if f.Healthy {
			continue
		}
		if weight[f.Repair] == 0 {
			repairs = append(repairs, f.Repair)
		}
		weight[f.Repair] += f.Weight
		total += f.Weight
		w.any = append(w.any, f)
	}
	r.Shuffle(len(repairs), func(i, j int) { repairs[i], repairs[j] = repairs[j], repairs[i] })
	out := map[string]bool{}
	for _, id := range repairs {
		if len(out) < repairsLeftOut && weight[id] <= mostLeftOut*total {
			out[id] = true
		}
	}
	w.told = without(all, out)
	w.list(out)
	return w, nil
}

// without returns the catalogue without the faults that the repairs cure, and
// without the pairs they are in.
func without(all *fault.Catalogue, out map[string]bool) *fault.Catalogue {
	c := *all
	c.Faults, c.Pairs = nil, nil
	gone := map[string]bool{}
	for _, f := range all.Faults {
		if out[f.Repair] {
			gone[f.ID] = true
			continue
		}
		c.Faults = append(c.Faults, f)
	}
	for _, p := range all.Pairs {
		if !gone[p.First] && !gone[p.Second] {
			c.Pairs = append(c.Pairs, p)
		}
	}
	return &c
}

// list fills in the causes with their weights, complaint by complaint.
func (w *world) list(out map[string]bool) {
	complaints := w.whole.ComplaintsIn("cool")
	n := len(complaints)
	fits := map[string]*fault.Fault{}
	for _, f := range w.any {
		fits[f.ID] = f
	}
	for _, k := range complaints {
		for _, f := range w.any {
			one := cause{faults: []*fault.Fault{f}, unlisted: out[f.Repair], weight: f.Weight * f.Share(k.ID, n)}
			if one.unlisted {
				w.left[k.ID] = append(w.left[k.ID], one)
			} else {
				w.listed[k.ID] = append(w.listed[k.ID], one)
			}
		}
		for _, p := range w.told.Pairs {
			a, b := fits[p.First], fits[p.Second]
			if a != nil && b != nil {
				w.listed[k.ID] = append(w.listed[k.ID], cause{faults: []*fault.Fault{a, b}, together: p.Together || p.Either,
					weight: a.Weight * p.Rate * max(a.Share(k.ID, n), b.Share(k.ID, n))})
			}
		}
		w.listed[k.ID] = append(w.listed[k.ID], cause{weight: w.soundWeight(k.ID)})
	}
}

// soundWeight is how often a sound system comes with a complaint: a share of all
// calls, or what the catalogue lists for it.
func (w *world) soundWeight(complaint string) float64 {
	total, atLimit := 0.0, 0.0
	n := len(w.whole.ComplaintsIn("cool"))
	for _, c := range w.listed[complaint] {
		if len(c.faults) == 1 {
			total += c.weight
		}
	}
	for _, f := range w.whole.Fits(w.plant.Has) {
		if f.Healthy {
			atLimit += f.Weight * f.Share(complaint, n)
		}
	}
	return max(soundShare*total, atLimit)
}

// draw returns a complaint and a cause.
func (w *world) draw(l luck) (complaint string, c cause) {
	from := w.listed
	if l.happens(unlistedShare, "unlisted") {
		from = w.left
	}
	var all []cause
	var words []string
	var weights []float64
	for _, k := range w.whole.ComplaintsIn("cool") {
		for _, c := range from[k.ID] {
			all, words, weights = append(all, c), append(words, k.ID), append(weights, c.weight)
		}
	}
	i := pick(l.source("cause"), weights)
	return words[i], all[i]
}
