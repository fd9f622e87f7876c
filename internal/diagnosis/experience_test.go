package diagnosis

import (
	"math"
	"testing"

	"rung/internal/fault"
	"rung/internal/plant"
)

// fits returns the faults of a usual split system.
func fits(t testing.TB) []*fault.Fault {
	t.Helper()
	c, err := fault.Load()
	if err != nil {
		t.Fatal(err)
	}
	full, _ := plant.Nameplate{}.Complete()
	return c.Fits(full.Has)
}

// TestLearnedWeights: the weights keep their sum, one that was closed twenty
// times moves as the formula says, and none moves without closures.
func TestLearnedWeights(t *testing.T) {
	list := fits(t)
	total, f := 0.0, list[3]
	for _, x := range list {
		total += x.Weight
	}
	x := Experience{Closures: map[string]float64{f.ID: 20, "no-such-fault": 50}}
	got, sum := x.Learned(list), 0.0
	for _, w := range got {
		sum += w
	}
	if math.Abs(sum-total) > 1e-9*total {
		t.Errorf("the weights add up to %v, want %v", sum, total)
	}
	alpha := float64(len(list))
	base := f.Weight / total
	if share, want := got[f.ID]/total, (alpha*base+20)/(alpha+20); math.Abs(share-want) > 1e-12 {
		t.Errorf("20 closures of %s move its share from %v to %v, want %v", f.ID, base, share, want)
	}
	other := list[5]
	if share, want := got[other.ID]/total, alpha*other.Weight/total/(alpha+20); math.Abs(share-want) > 1e-12 {
		t.Errorf("the share of another is %v, want %v", share, want)
	}
	for id, w := range (Experience{}).Learned(list) {
		for _, f := range list {
			if f.ID == id && w != f.Weight {
				t.Errorf("without closures %s weighs %v, want %v", id, w, f.Weight)
			}
		}
	}
}

// TestExperienceInPriors: the prior of the cause and of its pairs moves in
// proportion, that of the sound system keeps its place.
func TestExperienceInPriors(t *testing.T) {
	c, err := fault.Load()
	if err != nil {
		t.Fatal(err)
	}
	list := fits(t)
	prior := func(x Experience) map[string]float64 {
		w := listing{catalogue: c, complaint: "not-cooling", modes: []string{"cool"}, experience: x}
		w.addHypotheses(list)
		w.addPairs()
		all := map[string]float64{}
		for _, h := range w.hyps {
			all[h.ID] = h.Prior
		}
		return all
	}
	f := list[3]
	before, after := prior(Experience{}), prior(Experience{Factors: map[string]float64{f.ID: 2}})
	for id := range before {
		want := before[id]
		if id == f.ID {
			want *= 2
		}
		if p, pair := c.Pair(id); pair && p.First == f.ID {
			want *= 2
		}
		if id != "healthy" && math.Abs(after[id]-want) > 1e-9*want {
			t.Errorf("twice the weight of %s: the prior of %s is %v, want %v", f.ID, id, after[id], want)
		}
	}
}
