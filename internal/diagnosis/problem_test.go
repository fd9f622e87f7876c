package diagnosis

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"rung/internal/quantity"
)

// reference is what an instance says about its own solution.
type reference struct {
	ID      string
	Optimal struct {
		ExpectedCost float64 `json:"expected_cost"`
		FirstAction  string  `json:"first_action"`
		SecondBest   float64 `json:"second_best_first_action_cost"`
	}
}

// readProblems returns the ten reference instances.
func readProblems(tb testing.TB) ([]*Problem, []reference) {
	tb.Helper()
	names, err := filepath.Glob("testdata/troubleshooting/*.json")
	if err != nil || len(names) != 10 {
		tb.Fatalf("found %d instances, want 10 (%v)", len(names), err)
	}
	var problems []*Problem
	var refs []reference
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			tb.Fatal(err)
		}
		p, err := DecodeProblem(data)
		if err != nil {
			tb.Fatal(err)
		}
		var r reference
		if err := json.Unmarshal(data, &r); err != nil {
			tb.Fatal(err)
		}
		problems, refs = append(problems, p), append(refs, r)
	}
	return problems, refs
}

// The optima were computed by another program; its stated agreement with a
// third is 1e-6 minutes. The last instance, two million situations, is left to the sweep.
func TestSolveReachesTheReferenceOptima(t *testing.T) {
	problems, refs := readProblems(t)
	if !sweepAll() {
		problems = problems[:len(problems)-1]
	}
	for i, p := range problems {
		sol, ok := p.Solve(math.MaxInt)
		want := refs[i].Optimal
		if !ok || math.Abs(sol.Cost-want.ExpectedCost) > 1e-6 {
			t.Errorf("%s: cost %.9g, %v, want %.9g", p.ID, sol.Cost, ok, want.ExpectedCost)
		}
		clear := want.SecondBest > want.ExpectedCost*1.001
		if clear && p.Name(sol.First) != want.FirstAction {
			t.Errorf("%s: first %s, want %s", p.ID, p.Name(sol.First), want.FirstAction)
		}
		t.Logf("%s: %.6f, first %s, %d situations", p.ID, sol.Cost, p.Name(sol.First), sol.Situations)
	}
}

// ratios returns the exact cost of the plan over the optimum for each instance.
func ratios(t *testing.T, endgame int) (mean, worst float64) {
	t.Helper()
	problems, refs := readProblems(t)
	for i, p := range problems {
		first, cost := NewPlan(p, endgame).First()
		ratio := cost / refs[i].Optimal.ExpectedCost
		t.Logf("%s: first %s, cost %.4f, ratio %.4f", p.ID, p.Name(first), cost, ratio)
		if ratio < 1-1e-8 { // the optima are given to about 1e-8 of their size
			t.Errorf("%s: cost %.9g is below the optimum", p.ID, cost)
		}
		mean += ratio / float64(len(problems))
		worst = math.Max(worst, ratio)
	}
	t.Logf("mean %.4f, worst %.4f", mean, worst)
	return mean, worst
}

// The limits are the aim set for the policy: 1 % on the mean, 3 % on any one.
func TestPlanIsNearTheOptimum(t *testing.T) {
	if mean, worst := ratios(t, EndgameSituations); mean > 1.01 || worst > 1.03 {
		t.Errorf("mean ratio %.4f, worst %.4f, want at most 1.01 and 1.03", mean, worst)
	}
}

// So is Way, which takes the exact recursion where it is short.
func TestWayIsNearTheOptimum(t *testing.T) {
	problems, refs := readProblems(t)
	mean, worst := 0.0, 0.0
	for i, p := range problems {
		way, err := p.Way()
		if err != nil {
			t.Errorf("%s: %v", p.ID, err)
			continue
		}
		want := refs[i].Optimal
		ratio := way.Cost / want.ExpectedCost
		t.Logf("%s: first %s, cost %.4f, ratio %.4f", p.ID, p.Name(way.First), way.Cost, ratio)
		// The optima are given to about 1e-8 of their size.
		if ratio < 1-1e-8 || way.Optimal && math.Abs(way.Cost-want.ExpectedCost) > 1e-6 {
			t.Errorf("%s: cost %.9g, optimal %v, want %.9g", p.ID, way.Cost, way.Optimal, want.ExpectedCost)
		}
		if clear := want.SecondBest > want.ExpectedCost*1.03; clear && p.Name(way.First) != want.FirstAction {
			t.Errorf("%s: first %s, want %s", p.ID, p.Name(way.First), want.FirstAction)
		}
		mean += ratio / float64(len(problems))
		worst = math.Max(worst, ratio)
	}
	t.Logf("mean %.4f, worst %.4f", mean, worst)
	if mean > 1.01 || worst > 1.03 {
		t.Errorf("mean ratio %.4f, worst %.4f, want at most 1.01 and 1.03", mean, worst)
	}
}

// A problem beyond reach is refused, not worked at for ever.
func TestWayRefusesWhatIsTooLarge(t *testing.T) {
	p := &Problem{EscalateCost: 1000}
	const n = 12
	for h := range n {
		p.Hypotheses = append(p.Hypotheses, ProblemHypothesis{Prior: 1.0 / n})
		rep := ProblemRepair{Cost: float64(20 + h), WrongPenalty: 60, Fix: make([]float64, n)}
		rep.Fix[h] = 0.9
		p.Repairs = append(p.Repairs, rep)
	}
	for k := range 14 {
		test := ProblemTest{Cost: float64(1 + k), Outcomes: 3}
		for h := range n {
			test.P = append(test.P, [][]float64{{0.6, 0.3, 0.1}, {0.2, 0.5, 0.3}, {0.1, 0.2, 0.7}}[(h*7+k*5)%3])
		}
		p.Tests = append(p.Tests, test)
	}
	if err := p.check(); err != nil {
		t.Fatal(err)
	}
	var far *quantity.RangeError
	if way, err := p.Way(); !errors.As(err, &far) {
		t.Errorf("%+v, %v, want a *quantity.RangeError", way, err)
	}
}

// Looking ahead one step with the best of three policies, without the exact
// recursion, has the same aim: it is what larger problems get.
func TestPlanWithoutEndgame(t *testing.T) {
	if mean, worst := ratios(t, 0); mean > 1.01 || worst > 1.03 {
		t.Errorf("mean ratio %.4f, worst %.4f, want at most 1.01 and 1.03", mean, worst)
	}
}
