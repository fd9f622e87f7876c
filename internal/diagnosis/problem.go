package diagnosis

import (
	"encoding/json"
	"fmt"
	"math"
	"sort"
)

// Problem is a small troubleshooting problem in which everything is known: the
// hypotheses exclude each other, tests are independent given the hypothesis, and
// each test and each repair can be done once. Costs are minutes. The engine compiles
// its belief into one near the end of a visit; others come from outside as JSON
// of the schema troubleshooting-instance/1.
type Problem struct {
	ID         string
	Hypotheses []ProblemHypothesis
	Setup      []ProblemSetup
	Tests      []ProblemTest
	Repairs    []ProblemRepair
	// FalsePass is the chance that a repair which did not cure passes its
	// verification; the visit then ends with CallbackCost to pay.
	FalsePass, CallbackCost float64
	EscalateCost            float64
}

// ProblemHypothesis is a hypothesis with its prior probability.
type ProblemHypothesis struct {
	ID    string
	Prior float64
}

// ProblemSetup is a state that is on (1) or off (0), with the costs of switching.
type ProblemSetup struct {
	ID      string
	Initial int
	ToOn    float64 // from 0 to 1
	ToOff   float64
}

// ProblemTest is a test with P[h][o], the probability of outcome o given hypothesis h.
type ProblemTest struct {
	ID   string
	Cost float64
	// Mask has a bit for each setup state required, Want the values required of them.
	Mask, Want uint32
	Outcomes   int
	P          [][]float64
}

// ProblemRepair is a repair; Fix[h] is the probability that it removes hypothesis h.
type ProblemRepair struct {
	ID           string
	Cost         float64
	Mask, Want   uint32
	WrongPenalty float64
	Fix          []float64
}

// instance is the JSON form of a Problem.
type instance struct {
	Schema     string
	ID         string
	Hypotheses []struct {
		ID    string
		Prior float64
	}
	Setup []struct {
		ID      string
		Initial int
		ToOn    float64 `json:"cost_to_1"`
		ToOff   float64 `json:"cost_to_0"`
	}
	Tests []struct {
		ID       string
		Cost     float64
		Requires map[string]int
		Outcomes []string
		P        [][]float64
	}
	Repairs []struct {
		ID           string
		Cost         float64
		Requires     map[string]int
		WrongPenalty float64 `json:"wrong_penalty"`
		Fix          []float64
	}
	Verify struct {
		FalsePass    float64 `json:"false_pass"`
		CallbackCost float64 `json:"callback_cost"`
	}
	EscalateCost float64 `json:"escalate_cost"`
}

// problemSchema is the schema of the JSON form.
const problemSchema = "troubleshooting-instance/1"

// DecodeProblem reads a problem in the schema troubleshooting-instance/1.
// Unknown fields are ignored; what does not add up is an error.
func DecodeProblem(data []byte) (*Problem, error) {
	var in instance
	if err := json.Unmarshal(data, &in); err != nil {
		return nil, fmt.Errorf("troubleshooting problem: %w", err)
	}
	if in.Schema != problemSchema {
		return nil, fmt.Errorf("troubleshooting problem: schema %q, want %q", in.Schema, problemSchema)
	}
	p, err := in.problem()
	if err == nil {
		err = p.check()
	}
	if err != nil {
		return nil, fmt.Errorf("troubleshooting problem %s: %w", in.ID, err)
	}
	return p, nil
}

func (in *instance) problem() (*Problem, error) {
	p := &Problem{ID: in.ID, FalsePass: in.Verify.FalsePass, CallbackCost: in.Verify.CallbackCost, EscalateCost: in.EscalateCost}
	for _, h := range in.Hypotheses {
		p.Hypotheses = append(p.Hypotheses, ProblemHypothesis(h))
	}
	at := map[string]int{}
	for i, s := range in.Setup {
		at[s.ID] = i
		p.Setup = append(p.Setup, ProblemSetup(s))
	}
	for _, t := range in.Tests {
		mask, want, err := requires(t.Requires, at)
		if err != nil {
			return nil, fmt.Errorf("test %s: %w", t.ID, err)
		}
		p.Tests = append(p.Tests, ProblemTest{t.ID, t.Cost, mask, want, len(t.Outcomes), t.P})
	}
	for _, r := range in.Repairs {
		mask, want, err := requires(r.Requires, at)
		if err != nil {
			return nil, fmt.Errorf("repair %s: %w", r.ID, err)
		}
		p.Repairs = append(p.Repairs, ProblemRepair{r.ID, r.Cost, mask, want, r.WrongPenalty, r.Fix})
	}
	return p, nil
}

// requires packs required setup values into bits.
func requires(values map[string]int, at map[string]int) (mask, want uint32, err error) {
	ids := make([]string, 0, len(values))
	for id := range values {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	for _, id := range ids {
		i, known := at[id]
		if !known || values[id]&^1 != 0 {
			return 0, 0, fmt.Errorf("requires %s = %d", id, values[id])
		}
		mask |= 1 << i
		want |= uint32(values[id]) << i
	}
	return mask, want, nil
}

// The largest problem that the bit sets of a search state can hold.
const (
	mostProblemSetups  = 8
	mostProblemRepairs = 16
)

// check returns an error if the problem is not consistent.
func (p *Problem) check() error {
	switch {
	case len(p.Hypotheses) == 0:
		return fmt.Errorf("no hypotheses")
	case len(p.Setup) > mostProblemSetups:
		return fmt.Errorf("%d setup states, at most %d", len(p.Setup), mostProblemSetups)
	case len(p.Repairs) > mostProblemRepairs:
		return fmt.Errorf("%d repairs, at most %d", len(p.Repairs), mostProblemRepairs)
	case !share(p.FalsePass) || !(p.CallbackCost >= 0) || !(p.EscalateCost >= 0):
		return fmt.Errorf("verification or escalation cost out of range")
	}
	priors := make([]float64, len(p.Hypotheses))
	for i, h := range p.Hypotheses {
		priors[i] = h.Prior
	}
	if err := distribution("priors", priors); err != nil {
		return err
	}
	for _, s := range p.Setup {
		if !(s.ToOn >= 0) || !(s.ToOff >= 0) || s.Initial&^1 != 0 {
			return fmt.Errorf("setup %s out of range", s.ID)
		}
	}
	for i := range p.Tests {
		if err := p.Tests[i].check(len(p.Hypotheses)); err != nil {
			return fmt.Errorf("test %s: %w", p.Tests[i].ID, err)
		}
	}
	if _, fits := p.radix(); !fits {
		return fmt.Errorf("too many tests and outcomes")
	}
	return p.checkRepairs()
}

func (t *ProblemTest) check(hypotheses int) error {
	if !(t.Cost >= 0) || len(t.P) != hypotheses || t.Outcomes < 1 {
		return fmt.Errorf("cost %g, %d rows of probabilities, %d outcomes", t.Cost, len(t.P), t.Outcomes)
	}
	for h, row := range t.P {
		if len(row) != t.Outcomes {
			return fmt.Errorf("row %d has %d outcomes, want %d", h+1, len(row), t.Outcomes)
		}
		if err := distribution(fmt.Sprintf("row %d", h+1), row); err != nil {
			return err
		}
	}
	return nil
}

func (p *Problem) checkRepairs() error {
	for _, r := range p.Repairs {
		if !(r.Cost >= 0) || !(r.WrongPenalty >= 0) || len(r.Fix) != len(p.Hypotheses) {
			return fmt.Errorf("repair %s: cost %g, penalty %g, %d fixes", r.ID, r.Cost, r.WrongPenalty, len(r.Fix))
		}
		for _, f := range r.Fix {
			if !share(f) {
				return fmt.Errorf("repair %s: fix %g is no probability", r.ID, f)
			}
		}
	}
	return nil
}

func share(x float64) bool { return x >= 0 && x <= 1 }

// distribution checks that x adds up to 1, within the 1e-9 of the schema.
func distribution(name string, x []float64) error {
	sum := 0.0
	for _, v := range x {
		if !share(v) {
			return fmt.Errorf("%s: %g is no probability", name, v)
		}
		sum += v
	}
	if math.Abs(sum-1) > 1e-9 {
		return fmt.Errorf("%s add up to %.12g", name, sum)
	}
	return nil
}

// radix returns the place value of each test in the number that tells which
// tests were done and how they came out, and whether the number fits.
func (p *Problem) radix() ([]uint64, bool) {
	const room = 1 << (64 - mostProblemSetups - mostProblemRepairs)
	place := make([]uint64, len(p.Tests))
	n := uint64(1)
	for i, t := range p.Tests {
		place[i] = n
		if n > room/uint64(t.Outcomes+1) {
			return nil, false
		}
		n *= uint64(t.Outcomes + 1)
	}
	return place, true
}
