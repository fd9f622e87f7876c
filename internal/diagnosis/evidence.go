package diagnosis

import (
	"fmt"
	"math"
	"sort"
)

// evidenceOf returns the counted readings of a case in the order of Seq, with
// repeats folded into one. It returns an error if a reading names an unknown
// point, a word out of range, a value that is no number, or an epoch yet to come.
func (e *Engine) evidenceOf(c Case) ([]evidence, error) {
	var out []evidence
	for i, r := range c.Readings {
		if r.Drop {
			continue
		}
		v, err := e.evidenceFrom(i, r, c)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	sort.SliceStable(out, func(i, j int) bool { return before(&c.Readings[out[i].reading], &c.Readings[out[j].reading]) })
	out = e.foldRepeats(out, c)
	for k := range out {
		out[k].earlier = -1
		for j := range out {
			if out[j].point == out[k].point && out[j].epoch < out[k].epoch && (out[k].earlier < 0 || out[j].epoch > out[out[k].earlier].epoch) {
				out[k].earlier = j
			}
		}
	}
	return out, nil
}

func (e *Engine) evidenceFrom(i int, r Reading, c Case) (evidence, error) {
	point, known := e.pointAt[r.Ref]
	if !known {
		return evidence{}, fmt.Errorf("diagnosis: no point %s/%s at demand %s", r.Check, r.Point, r.Demand)
	}
	p := &e.points[point]
	switch {
	case r.Epoch < 0 || r.Epoch > c.Epoch():
		return evidence{}, fmt.Errorf("diagnosis: reading %q has epoch %d, %d repairs were done", r.ID, r.Epoch, c.Epoch())
	case r.Kind == IsWord && (r.Word < 0 || r.Word >= len(p.Words)):
		return evidence{}, fmt.Errorf("diagnosis: point %v has no word number %d", r.Ref, r.Word)
	case r.Kind == IsValue && len(p.Words) > 0:
		return evidence{}, fmt.Errorf("diagnosis: point %v wants a word, not a number", r.Ref)
	case r.Kind == IsValue && (math.IsNaN(r.Value) || math.IsInf(r.Value, 0)):
		return evidence{}, fmt.Errorf("diagnosis: reading of %v is not a number", r.Ref)
	case !(r.Spread >= 0):
		return evidence{}, fmt.Errorf("diagnosis: reading of %v has the spread %g", r.Ref, r.Spread)
	}
	widen := 1.0
	if p.Slow && r.Unsettled {
		widen = e.set.UnsettledScale
	}
	return evidence{reading: i, point: point, epoch: r.Epoch, outcome: r.Outcome,
		eps: e.epsilon(p, c.Person), widen: widen, spread: r.Spread}, nil
}

// before orders readings by Seq; the rest only makes the order complete.
func before(a, b *Reading) bool {
	switch {
	case a.Seq != b.Seq:
		return a.Seq < b.Seq
	case a.Epoch != b.Epoch:
		return a.Epoch < b.Epoch
	case a.Ref != b.Ref:
		return a.Ref.Before(b.Ref)
	case a.Kind != b.Kind:
		return a.Kind < b.Kind
	case a.Word != b.Word:
		return a.Word < b.Word
	}
	return a.Value < b.Value
}

// disputed is the share of wrong readings of one that came out otherwise than
// before: either may be the wrong one.
const disputed = 0.5

// foldRepeats keeps of several readings of one point in one epoch the last. If
// it agrees with one before it, it is the more trusted; if with none, hardly at all, and it
// may be read once more.
func (e *Engine) foldRepeats(all []evidence, c Case) []evidence {
	var out []evidence
	for i, v := range all {
		last := true
		for _, later := range all[i+1:] {
			last = last && !(later.point == v.point && later.epoch == v.epoch)
		}
		if !last {
			continue
		}
		times := 0
		for _, w := range all[:i] {
			if w.point == v.point && w.epoch == v.epoch {
				times++
				v.confirmed = v.confirmed || e.agree(v, w)
			}
		}
		switch {
		case v.confirmed:
			v.repeated = true
			v.eps *= confirmedShare
		case times > 0:
			v.repeated = times > 1
			v.eps = math.Max(v.eps, disputed)
		}
		out = append(out, v)
	}
	return out
}

// agree says whether two readings of one point are alike within twice what the
// meter itself scatters: published: JCGM 100:2008, G.6.6, coverage factor 2.
func (e *Engine) agree(a, b evidence) bool {
	if a.outcome.Kind != b.outcome.Kind {
		return false
	}
	p := &e.points[a.point]
	switch {
	case a.outcome.Kind == IsNotReadable:
		return true
	case len(p.Words) > 0:
		return a.outcome.Word == b.outcome.Word
	}
	sigma := math.Sqrt2 * p.Meter.Instrument(a.outcome.Value) // of the difference of two
	return math.Abs(a.outcome.Value-b.outcome.Value) <= 2*sigma
}

// repairsOf returns the indices of the repairs done.
func (e *Engine) repairsOf(c Case) ([]int, error) {
	var out []int
	for _, id := range c.Repairs {
		i, known := e.repair[id]
		if !known {
			return nil, fmt.Errorf("diagnosis: no repair %q", id)
		}
		out = append(out, i)
	}
	return out, nil
}
