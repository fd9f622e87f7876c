package calc

import (
	"encoding/json"

	"rung/internal/diagnosis"
)

func troubleshootingCalculators() []Calculator { return []Calculator{troubleshoot()} }

func troubleshoot() Calculator {
	return Calculator{
		Name: "troubleshoot",
		About: "A small troubleshooting problem: what to do first, and what following this program's own way to the end costs on average. " +
			"Exactly one of the hypotheses is true; each test and each repair can be done once; the visit ends with a repair that passes or with handing over.",
		Source: "published: expected cost by recursion over all situations (Bellman 1957, dynamic programming, any text); the way ahead by looking one step ahead of the best of three simple ways where that recursion would be too long",
		Fields: []Field{
			{Name: "schema", About: "troubleshooting-instance/1"},
			{Name: "id", Optional: true, About: "its name"},
			{Name: "hypotheses", About: "list of {id, prior}; the priors add up to 1"},
			{Name: "setup", Optional: true, About: "list of {id, initial, cost_to_1, cost_to_0}: states that tests and repairs may require, on (1) or off (0), with the minutes of switching"},
			{Name: "tests", Optional: true, About: "list of {id, cost, requires, outcomes, p}; p[h][o] is the probability of outcome o under hypothesis h"},
			{Name: "repairs", Optional: true, About: "list of {id, cost, requires, wrong_penalty, fix}; fix[h] is the probability that it removes hypothesis h"},
			{Name: "verify", Optional: true, About: "{false_pass, callback_cost}: a repair in vain passes with that probability, and is paid for later"},
			{Name: "escalate_cost", About: "minutes of handing over"},
		},
		Results: []Field{
			{Name: "first_action", About: "id of the test or repair to begin with, or escalate"},
			{Name: "expected_cost", About: "exact expected minutes of going on this program's way"},
			{Name: "optimal_cost", Optional: true, About: "the least expected minutes of any way, where it was worked out"},
		},
		raw: runTroubleshoot,
	}
}

// troubleshootAnswer is the result of the calculator troubleshoot, minutes.
type troubleshootAnswer struct {
	FirstAction  string   `json:"first_action"`
	ExpectedCost float64  `json:"expected_cost"`
	OptimalCost  *float64 `json:"optimal_cost,omitempty"`
}

func runTroubleshoot(doc json.RawMessage) (any, error) {
	p, err := diagnosis.DecodeProblem(doc)
	if err != nil {
		return nil, invalid("", "%v", err)
	}
	way, err := p.Way()
	if err != nil {
		return nil, err
	}
	out := troubleshootAnswer{FirstAction: p.Name(way.First), ExpectedCost: way.Cost}
	if way.Optimal {
		out.OptimalCost = &way.Cost
	}
	return out, nil
}
