package visit

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rung/internal/diagnosis"
	"rung/internal/record"
)

// Healthy is the id of the cause that nothing is wrong.
const Healthy = "healthy"

// Advise says what stands and what to do next.
func (s *Service) Advise(ctx context.Context, visit record.VisitID) (Advice, error) {
	_, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return Advice{}, err
	}
	d, err := s.desk(ctx, here, LanguageOf(ctx))
	if err == nil {
		err = d.blind
	}
	if err != nil {
		return Advice{}, err
	}
	return d.inWords()
}

// inWords returns the advice of the desk in words.
func (d *desk) inWords() (Advice, error) {
	a := Advice{Verdict: d.advice.Verdict, Raw: d.advice, Standing: d.standing(), Hint: d.hint(), Beside: d.beside()}
	if r := d.advice.Repair; r != nil {
		line := d.repairLine(*r)
		a.Repair = &line
	}
	d.advice.Next = onceEach(d.advice.Next)
	a.Raw = d.advice
	for _, n := range d.advice.Next {
		card, err := d.suggested(n)
		if err != nil {
			return Advice{}, err
		}
		a.Next = append(a.Next, card)
	}
	if p := d.advice.UnlistedTotal; p >= 0.01 && len(d.advice.Unlisted) > 0 { // practice: below that it is not worth a line
		a.Unlisted = d.say("unlisted", "odds", d.inHundred(p), "cause", d.lower(d.causeName(diagnosis.UnlistedID(d.advice.Unlisted[0].Subsystem))))
	}
	if g := d.advice.Charge; g.Matters && !g.Open {
		a.NotJudged = d.notJudged()
	}
	a.Heading, a.Why, a.Cost = d.verdict(a)
	for _, w := range d.advice.Warnings {
		if d.overtaken(w) {
			continue
		}
		a.Warnings = append(a.Warnings, d.warning(w))
	}
	a.Warnings = append(a.Warnings, d.leftOut...)
	var err error
	if a.RuledOut, err = d.ruledOut(); err != nil {
		return Advice{}, err
	}
	if a.Effect, a.EffectDetail, err = d.effect(); err != nil {
		return Advice{}, err
	}
	a.Warnings = append(a.Warnings, d.truths(a.EffectDetail)...)
	return a, nil
}

// onceEach drops the second proposal of a check: one that is wanted for two
// reasons, or at two demands, is gone to once.
func onceEach(all []diagnosis.Suggestion) []diagnosis.Suggestion {
	var list []diagnosis.Suggestion
	for _, n := range all {
		again := func(m diagnosis.Suggestion) bool { return m.Check == n.Check }
		if !slices.ContainsFunc(list, again) {
			list = append(list, n)
		}
	}
	return list
}

// verdict returns heading, reason and cost of the verdict.
func (d *desk) verdict(a Advice) (heading, why, cost string) {
	lead := diagnosis.Cause{ID: Healthy}
	if len(d.advice.Causes) > 0 {
		lead = d.advice.Causes[0]
	}
	cause, odds := d.causeName(lead.ID), d.inHundred(lead.Probability)
	if d.c.Stopped() {
		return d.say("stopped-heading", "hazard", d.andList(d.hazardNames())), d.say("stopped-why", "do", d.hazardDo()), ""
	}
	switch d.advice.Verdict {
	case diagnosis.VerdictRepair:
		heading = d.say("repair-heading", "repair", d.lower(a.Repair.Name))
		why = d.say("repair-why", "cause", cause, "odds", odds, "cure", d.inHundred(d.advice.Repair.Cure))
	case diagnosis.VerdictCured:
		heading, why = d.say("cured-heading"), d.say("cured-why", "cure", d.inHundred(d.advice.Cured))
	case diagnosis.VerdictNothingFound:
		return d.say("nothing-found-heading"), d.say("nothing-found-why", "odds", d.inHundred(d.advice.Cured)), ""
	case diagnosis.VerdictEscalate:
		if a.NotJudged != nil && a.Repair != nil && slices.Contains(d.advice.Repair.Held, diagnosis.HeldCharge) {
			return d.say("charge-first-heading"), d.say("charge-first-why", "cause", cause, "odds", odds, "task", a.NotJudged.Task), ""
		}
		return d.say("escalate-heading"), d.say("escalate-why"), ""
	default:
		heading, why = d.onward(a, cause, odds, lead.Probability)
	}
	return heading, why, d.cost()
}

// onward returns heading and reason where the thing to do is to check on.
func (d *desk) onward(a Advice, cause, odds string, p float64) (heading, why string) {
	if len(a.Next) == 0 {
		return d.say("no-check-heading"), d.say("no-check-why", "cause", cause, "odds", odds)
	}
	why = d.say("check-why", "cause", cause, "odds", odds)
	if p < 0.5 { // practice: less than even odds is no lead
		why = d.say("check-why-open", "cause", d.lower(cause), "odds", odds)
	}
	return d.say("check-heading", "check", d.lower(a.Next[0].Name)), why
}

// cost compares repairing now with one more check.
func (d *desk) cost() string {
	stop := d.advice.Stop
	switch {
	case d.advice.Repair == nil || !(stop.RepairNow > 0):
		return ""
	case len(d.advice.Next) == 0 || !(stop.OneMore > 0):
		return d.say("repair-cost", "repair", d.inMinutes(stop.RepairNow))
	}
	if d.inHundred(stop.Certainty) == d.inHundred(stop.Raised) {
		return d.say("one-more-sure", "repair", d.inMinutes(stop.RepairNow), "check", d.inMinutes(stop.OneMore))
	}
	return d.say("one-more", "now", d.inHundred(stop.Certainty), "then", d.inHundred(stop.Raised),
		"repair", d.inMinutes(stop.RepairNow), "check", d.inMinutes(stop.OneMore))
}

// hint says why the odds should not be trusted yet.
func (d *desk) hint() string {
	list := d.taken
	switch n := len(d.c.Readings); {
	case d.repaired():
		list = append([]string{d.say("cured-hint")}, list...)
	case n == 0:
		list = append([]string{d.say("no-readings")}, list...)
	case n == 1:
		list = append([]string{d.say("few-readings")}, list...)
	}
	return strings.Join(list, " ")
}

// standing lists the causes that stand.
func (d *desk) standing() []CauseLine {
	var list []CauseLine
	for i, c := range d.advice.Causes {
		if c.Probability < stands {
			break
		}
		line := CauseLine{ID: c.ID, Name: d.causeName(c.ID), Probability: c.Probability, Odds: d.inHundred(c.Probability), Detail: d.causeText(c.ID), Severity: d.severity(c)}
		if len(c.Repairs) > 0 {
			line.RepairID, line.Repair = c.Repairs[0], d.repairNamesOf(c)
		}
		if len(c.Faults) > 0 {
			if f, known := d.faults.Fault(c.Faults[0]); known {
				line.Part = f.Part
			}
		}
		if i == 0 {
			line.Reasons = d.reasons()
		}
		list = append(list, line)
	}
	return list
}

// repairNamesOf names the repairs of a cause; of a pair that of the first fault
// first.
func (d *desk) repairNamesOf(c diagnosis.Cause) string {
	var names []string
	for _, id := range c.Faults {
		f, known := d.faults.Fault(id)
		if !known {
			continue
		}
		if name := d.repairName(f.Repair); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return d.repairName(c.Repairs[0])
	}
	return strings.Join(names, "; ")
}

// stands is the probability from which a cause is shown as standing.
// practice: one in a hundred.
const stands = 0.01

// reasons says which readings speak for the leader, and which against it.
func (d *desk) reasons() []string {
	var list []string
	for _, w := range d.advice.For {
		if w.Strength == diagnosis.Hardly {
			continue
		}
		list = append(list, d.say("reason-for", "point", d.pointName(w.Ref), "reading", d.shown(w.Reading),
			"strength", d.phrase("strength-"+string(w.Strength)), "rival", d.lower(d.causeName(w.Rival))))
	}
	if w := d.advice.Against; w != nil && w.Strength != diagnosis.Hardly {
		list = append(list, d.say("reason-against", "point", d.pointName(w.Ref), "reading", d.shown(w.Reading), "strength", d.phrase("strength-"+string(w.Strength))))
	}
	return list
}

// notJudged says why the charge is not judged, and what to do about it.
func (d *desk) notJudged() *NotJudged {
	g := d.advice.Charge
	n := &NotJudged{IDs: g.Reasons, ReturnAbove: g.ReturnAbove, Task: d.say("charge-mend")}
	for _, r := range g.Reasons {
		n.Reasons = append(n.Reasons, d.say("charge-"+string(r), "outdoor", fahrenheit(d.situation.Surroundings.Outdoor), "limit", fahrenheit(g.OutdoorLimit)))
	}
	if g.ReturnAbove > 0 {
		n.Task = d.say("charge-return", "limit", fahrenheit(g.ReturnAbove))
	}
	return n
}

// warning says a warning of the engine.
func (d *desk) warning(w diagnosis.Warning) string {
	pairs := []string{
		"point", d.pointName(w.Ref), "reading", d.shown(w.Reading), "cause", d.lower(d.causeName(w.Cause)),
		"value", strings.TrimSuffix(fmt.Sprintf("%.1f", w.Value), ".0"), "detail", w.Detail,
	}
	switch w.Kind {
	case diagnosis.WarnContradiction:
		return d.say("contradiction-"+w.Detail, pairs...)
	case diagnosis.WarnUnlisted: // its cause is a subsystem
		pairs = append([]string{"cause", d.lower(d.causeName(diagnosis.UnlistedID(w.Cause)))}, pairs...)
	case diagnosis.WarnHazard:
		for _, a := range answers()["hazard"] {
			if a.id == w.Detail {
				pairs = append(pairs, "hazard", d.text(a.name), "do", d.text(a.do))
			}
		}
	case diagnosis.WarnAskWhy:
		if f, known := d.faults.Fault(w.Cause); known {
			repair, _ := d.faults.Repair(f.Repair)
			pairs = append(pairs, "why", d.text(repair.Why))
		}
	}
	return d.say("warn-"+string(w.Kind), pairs...)
}
