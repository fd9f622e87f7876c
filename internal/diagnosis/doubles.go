package diagnosis

import (
	"strings"
	"sync"
)

// Two faults at once that nobody listed are considered where the readings ask for it.
const (
	doublesUnlisted = 0.3 // practice: share of unlisted causes from which two listed faults are tried
	mostFirst       = 3   // practice: of these, the first after a repair
	mostDoubled     = 6   // practice: pairs of the likeliest six, fifteen at most, keep the answer quick
)

// widerSystems keeps the last system with double faults.
type widerSystems struct {
	mu  sync.Mutex
	key string
	sys *Engine
}

// wantsDoubles says whether no single listed cause explains the readings well, or
// whether a repair changed them and is not proven to have cured.
func (s *System) wantsDoubles(c Case, a Advice) bool {
	if len(c.Readings) == 0 || c.Stopped() {
		return false
	}
	return a.UnlistedTotal >= doublesUnlisted || c.Epoch() > 0 && a.Cured < s.set.ProvenAt && s.changed(c)
}

// changed says whether a point reads otherwise now than before the last repair,
// beyond what the meter scatters.
func (s *System) changed(c Case) bool {
	now := readingsNow(c)
	for _, r := range c.Readings {
		if later, read := now[r.Ref]; read && !r.Drop && r.Epoch == c.Epoch()-1 {
			p, known := s.pointAt[r.Ref]
			if known && !s.agree(evidence{point: p, outcome: later.Outcome}, evidence{point: p, outcome: r.Outcome}) {
				return true
			}
		}
	}
	return false
}

// adviseDoubles asks again with the pairs of the likeliest faults among the causes.
// After a repair the second fault is sought among what explains the readings since:
// alone it explained nothing before.
func (s *System) adviseDoubles(c Case, a Advice, ask func(*Engine, Case) (Advice, error)) (Advice, error) {
	first, second := a.singles, a.singles
	if c.Epoch() > 0 {
		since := Case{Person: c.Person, Setup: c.Setup, Charge: c.Charge}
		for _, r := range readingsNow(c) {
			r.Epoch = 0
			since.Readings = append(since.Readings, r)
		}
		now, err := s.Engine.Decide(since)
		if err != nil {
			return a, err
		}
		first, second = first[:min(mostFirst, len(first))], now.singles
	}
	pairs := s.doublesOf(first, second)
	if len(pairs) == 0 {
		return a, nil
	}
	e, err := s.withDoubles(pairs)
	if err != nil {
		return a, err
	}
	b, err := ask(e, c)
	if err != nil {
		return a, err
	}
	w := Warning{Kind: WarnTwoFaults}
	for _, cause := range b.Causes {
		if strings.Contains(cause.ID, "+") {
			w.Value += cause.Probability
		}
	}
	if w.Value >= worthTelling {
		b.Warnings = append(b.Warnings, w)
	}
	return b, nil
}

// doublesOf lists the pairs of a first and a second fault that are no listed pair.
func (s *System) doublesOf(first, second []int) [][2]int {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out [][2]int
	seen := map[string]bool{}
	for _, g := range first {
		for _, h := range second {
			f := []Fault{s.hyps[g].Faults[0], s.hyps[h].Faults[0]}
			key := faultKey(f)
			if _, listed := s.byFault[key]; g == h || listed || seen[key] || !s.w.together(g, h) {
				continue
			}
			seen[key] = true
			out = append(out, [2]int{g, h})
		}
	}
	return out
}

// together says whether two faults can be applied to one plant.
func (w *plantWorld) together(g, h int) bool {
	const mid = 0.5
	ps := *w.soundParams(0)
	return w.faults[g][0].Apply(&ps, mid) == nil && w.faults[h][0].Apply(&ps, mid) == nil
}

// withDoubles returns an engine whose causes are those of the system and the pairs.
// The prior of a pair is the product of those of its faults: neither brought the other about.
func (s *System) withDoubles(pairs [][2]int) (*Engine, error) {
	s.wider.mu.Lock()
	defer s.wider.mu.Unlock()
	key := ""
	for _, p := range pairs {
		key += s.hyps[p[0]].ID + "+" + s.hyps[p[1]].ID + ";"
	}
	if key == s.wider.key {
		return s.wider.sys, nil
	}
	total := 0.0
	for _, h := range s.w.hyps {
		total += h.Prior
	}
	w := *s.w
	w.hyps = append([]Hypothesis(nil), s.w.hyps...)
	w.faults = w.faults[:len(w.faults):len(w.faults)]
	for _, p := range pairs {
		a, b := s.w.hyps[p[0]], s.w.hyps[p[1]]
		w.hyps = append(w.hyps, Hypothesis{ID: a.ID + "+" + b.ID, Faults: []Fault{a.Faults[0], b.Faults[0]}, Together: true,
			Subsystem: a.Subsystem, Prior: a.Prior * b.Prior / total, Charge: a.Charge || b.Charge})
		w.faults = append(w.faults, append(w.faults[p[0]][:1:1], w.faults[p[1]]...))
	}
	e, err := NewEngine(&w, s.set)
	if err != nil {
		return nil, err
	}
	e.mu = s.mu // the two share the solver
	s.mu.Lock()
	e.cache.copyFrom(&s.cache)
	s.mu.Unlock()
	s.wider.key, s.wider.sys = key, e
	return e, nil
}
