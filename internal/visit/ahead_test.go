package visit

import (
	"testing"

	"rung/internal/diagnosis"
)

// farsighted is an oracle that has always more to work out ahead.
type farsighted struct {
	*oracle
	steps int
}

func (f *farsighted) Ahead(diagnosis.Case, diagnosis.Advice) func() bool {
	return func() bool { f.steps++; return true }
}

// What is worked out ahead begins after the answer, and ends when somebody asks
// about the same system again.
func TestAheadEndsWhenAskedAgain(t *testing.T) {
	s := newShop(t)
	f := &farsighted{oracle: &oracle{advice: opinion("")}}
	s.engines = newEngines(func(Situation) (Reasoner, error) { return f, nil })
	var steps []func() bool
	s.ahead = func(step func() bool) { steps = append(steps, step) }
	v, _ := s.call()
	must(s.Advise(t.Context(), v))(t)
	if len(steps) != 1 || f.steps != 0 {
		t.Fatalf("%d works begun, %d steps done before anybody called", len(steps), f.steps)
	}
	if first, second := steps[0](), steps[0](); !first || !second || f.steps != 2 {
		t.Errorf("%d steps done, want 2 and more to come", f.steps)
	}
	must(s.Advise(t.Context(), v))(t)
	if steps[0]() || f.steps != 2 {
		t.Errorf("asked again: %d steps done, want the work ended after 2", f.steps)
	}
	if len(steps) != 2 || !steps[1]() {
		t.Error("no work begun after the second answer")
	}
}
