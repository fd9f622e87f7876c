package diagnosis

import (
	"errors"
	"math"
	"testing"
)

// TestWeighAgreesWithAdvice: a check that is proposed is worth the same when a
// person chooses it, whatever was read before.
func TestWeighAgreesWithAdvice(t *testing.T) {
	for seed := range uint64(6) {
		w := newSynthetic(20, 14, seed)
		e, err := NewEngine(w, DefaultSettings())
		if err != nil {
			t.Fatal(err)
		}
		c, hidden := start(), w.hide(1, seed)
		for range 3 {
			a, err := e.Advise(c)
			if err != nil {
				t.Fatal(err)
			}
			for _, n := range a.Next {
				if n.Kind != Measure {
					continue
				}
				got, err := e.Weigh(c, n.Check, n.Demand)
				if err != nil {
					t.Fatal(err)
				}
				if got.Worth != Worthwhile || math.Abs(got.Suggestion.Bits-n.Bits) > 1e-9 || got.Suggestion.SetupMinutes != n.SetupMinutes {
					t.Errorf("seed %d, %s: %s with %.6f bits and %g min to set up, proposed with %.6f and %g", seed, n.Check, got.Worth, got.Suggestion.Bits, got.Suggestion.SetupMinutes, n.Bits, n.SetupMinutes)
				}
				if got.Rank < 1 || got.Rank > got.Of {
					t.Errorf("seed %d, %s: place %d of %d", seed, n.Check, got.Rank, got.Of)
				}
			}
			if len(a.Next) == 0 {
				break
			}
			for _, p := range w.points {
				if p.Check == a.Next[0].Check && p.Demand == a.Next[0].Demand {
					c.Readings = append(c.Readings, hidden.read(p.Ref, len(c.Readings)+1, 0))
				}
			}
			if got, err := e.Weigh(c, a.Next[0].Check, a.Next[0].Demand); err != nil || got.Worth != AlreadyRead {
				t.Errorf("seed %d, %s was just read: %s, %v", seed, a.Next[0].Check, got.Worth, err)
			}
		}
	}
}

// TestWeighBars: what a person may not do has no worth to him, and what nobody
// knows is an error.
func TestWeighBars(t *testing.T) {
	w := newSynthetic(20, 14, 1)
	e, err := NewEngine(w, DefaultSettings())
	if err != nil {
		t.Fatal(err)
	}
	learner := start()
	learner.Person = Person{Role: Apprentice}
	barred := 0
	for _, p := range w.points {
		got, err := e.Weigh(learner, p.Check, p.Demand)
		if err != nil {
			t.Fatal(err)
		}
		ck := e.checks[e.checkAt[p.Check]]
		if may := learner.mayDo(ck.Safety, ck.Licence); may == (got.Worth == Barred) {
			t.Errorf("%s may be done by him: %t, and is %s", p.Check, may, got.Worth)
		}
		if got.Worth == Barred {
			barred++
		}
	}
	if barred == 0 {
		t.Error("nothing is barred from an apprentice alone")
	}
	stopped := start()
	stopped.Hazards = []Hazard{HazardGasSmell}
	if got, err := e.Weigh(stopped, w.points[0].Check, w.points[0].Demand); err != nil || got.Worth != Barred {
		t.Errorf("under a smell of gas a check is %s, %v", got.Worth, err)
	}
	if _, err := e.Weigh(start(), "no-such-check", Cool); !errors.Is(err, ErrNoCheck) {
		t.Error("a check that nobody knows is weighed")
	}
	if _, err := e.Weigh(start(), w.points[0].Check, "no-such-demand"); !errors.Is(err, ErrNoCheck) {
		t.Error("a demand that nobody knows is weighed")
	}
}
