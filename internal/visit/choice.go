package visit

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/record"
)

// Comparison holds a check that somebody would do next against the one proposed.
type Comparison struct {
	Chosen Card // with what each outcome would leave
	// Best is the check proposed; nil if it is the chosen one, or none is.
	Best    *Card
	Verdict string   // "A good choice"
	Good    bool     // it is, or it is the best
	Why     []string // sentences, the most important first
}

// weigher is a Reasoner that can tell what any check would be worth.
type weigher interface {
	Weigh(diagnosis.Case, string, diagnosis.Demand) (diagnosis.Weighed, error)
}

// Compare holds a check against the one proposed now. Without a demand it is
// the one at which the check tells most per minute.
func (s *Service) Compare(ctx context.Context, visit record.VisitID, check, demand string) (Comparison, error) {
	_, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return Comparison{}, err
	}
	c, err := s.check(check)
	if err != nil {
		return Comparison{}, err
	}
	d, err := s.desk(ctx, here, LanguageOf(ctx))
	if err == nil {
		err = d.blind
	}
	if err != nil {
		return Comparison{}, err
	}
	first, err := d.demandFor(c, demand)
	if err != nil {
		return Comparison{}, err
	}
	d.advice.Next = onceEach(d.advice.Next)
	demands := []Choice{{ID: string(first)}}
	if demand == "" {
		demands = d.demandsOf(c)
	}
	return d.compare(c, demands)
}

// demandFor returns the demand at which a check is read; the first at which it
// can be, where none is wanted.
func (d *desk) demandFor(c *fieldtest.Check, wanted string) (diagnosis.Demand, error) {
	demands := d.demandsOf(c)
	switch {
	case len(demands) == 0:
		return "", errorf(NotFound, "This system has nothing to read for %s.", English.lower(c.Name.EN))
	case wanted == "":
		wanted = demands[0].ID
	case !slices.ContainsFunc(demands, func(x Choice) bool { return x.ID == wanted }):
		return "", errorf(Invalid, "%s is not read at this call.", c.Name.EN)
	}
	return diagnosis.Demand(wanted), nil
}

// provesOnly is the worth of a check of which nothing is predicted: it shows that
// something works, and seeks no cause.
const provesOnly diagnosis.Worth = "proves-only"

// weigh returns what a check is worth at the demand at which it is worth most.
func (d *desk) weigh(c *fieldtest.Check, demands []Choice) (diagnosis.Weighed, error) {
	r, able := d.reasoner.(weigher)
	if !able {
		return diagnosis.Weighed{}, errors.New("compare: the reasoner weighs no single check")
	}
	var best diagnosis.Weighed
	for i, x := range demands {
		w, err := r.Weigh(d.c, c.ID, diagnosis.Demand(x.ID))
		if errors.Is(err, diagnosis.ErrNoCheck) {
			w = diagnosis.Weighed{Worth: provesOnly, Suggestion: diagnosis.Suggestion{Kind: diagnosis.Measure, Check: c.ID, Demand: diagnosis.Demand(x.ID), CheckMinutes: c.Minutes}}
		} else if err != nil {
			return best, fmt.Errorf("compare: %w", err)
		}
		worth := w.Worth == diagnosis.Worthwhile
		if i == 0 || worth && (best.Worth != diagnosis.Worthwhile || w.Suggestion.BitsPerMinute > best.Suggestion.BitsPerMinute) {
			best = w
		}
	}
	return best, nil
}

// compare holds a check against what the advice proposes.
func (d *desk) compare(c *fieldtest.Check, demands []Choice) (Comparison, error) {
	own, err := d.weigh(c, demands)
	if err != nil {
		return Comparison{}, err
	}
	x := Comparison{}
	if x.Chosen, err = d.suggested(own.Suggestion); err != nil {
		return Comparison{}, err
	}
	x.Chosen.Why = ""
	var best *diagnosis.Suggestion
	if len(d.advice.Next) > 0 {
		best = &d.advice.Next[0]
	}
	if best != nil && best.Check != c.ID {
		card, err := d.suggested(*best)
		if err != nil {
			return Comparison{}, err
		}
		x.Best = &card
	}
	d.judge(&x, own, best)
	return x, nil
}

// A choice is good if it tells nearly as much per minute as what is proposed.
// practice: within a fifth the estimates of minutes decide, not the mechanic.
const goodChoice = 0.8

// judge says how a choice stands beside the best.
func (d *desk) judge(x *Comparison, own diagnosis.Weighed, best *diagnosis.Suggestion) {
	var why string
	x.Verdict, why = d.stand(x, own, best)
	if why != "" {
		x.Why = append(x.Why, why)
	}
	if own.Worth == diagnosis.Worthwhile {
		if own.Suggestion.Separates[0] != "" {
			x.Why = append(x.Why, d.say("choice-yours", "what", d.worth(own.Suggestion)))
		}
		x.Why = append(x.Why, d.say("choice-place", "rank", strconv.Itoa(own.Rank), "of", strconv.Itoa(own.Of)))
	}
	if d.advice.Verdict == diagnosis.VerdictRepair && own.Worth != diagnosis.Barred {
		x.Why = append(x.Why, d.say("choice-repair"))
	}
}

// stand returns the verdict on a choice, and its first reason.
func (d *desk) stand(x *Comparison, own diagnosis.Weighed, best *diagnosis.Suggestion) (verdict, why string) {
	n := own.Suggestion
	switch {
	case own.Worth == diagnosis.Barred && len(d.c.Hazards) > 0:
		return d.say("choice-not-now"), d.say("choice-hazard", "hazard", d.andList(d.hazardNames()))
	case own.Worth == diagnosis.Barred:
		return d.say("choice-not-you"), d.say("choice-person")
	case own.Worth == provesOnly:
		return d.say("choice-proves"), d.say("choice-proves-why")
	case own.Worth == diagnosis.AlreadyRead:
		return d.say("choice-read"), d.say("choice-read-why")
	case own.Worth == diagnosis.Vague:
		return d.say("choice-vague"), d.say("choice-vague-why")
	case best == nil:
		return d.say("choice-none"), d.say("choice-none-why")
	case x.Best == nil:
		x.Good = true
		return d.say("choice-best"), ""
	}
	name := d.lower(x.Best.Name)
	switch {
	case best.Kind != diagnosis.Measure:
		return d.say("choice-other"), d.say("choice-first", "best", name, "what", d.worthOf(*best))
	case n.BitsPerMinute >= goodChoice*best.BitsPerMinute:
		x.Good = true
		return d.say("choice-good"), d.say("choice-good-why", "best", name)
	case n.Bits >= best.Bits:
		return d.say("choice-slow"), d.say("choice-slow-why", "own", d.inMinutes(n.CheckMinutes+n.SetupMinutes), "best", name, "minutes", d.inMinutes(best.CheckMinutes+best.SetupMinutes))
	}
	return d.say("choice-less"), d.say("choice-less-why", "best", name, "times", d.timesOf(best.BitsPerMinute/n.BitsPerMinute))
}

// worthOf says why a check of any kind comes first.
func (d *desk) worthOf(n diagnosis.Suggestion) string {
	if n.Kind == diagnosis.Remeasure {
		return d.phrase("choice-again")
	}
	return d.worth(n)
}
