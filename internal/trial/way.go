package trial

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"rung/internal/diagnosis"
)

// Policy names a way of working.
type Policy string

// The ways of working. All but Rung stop checking at a fixed certainty.
const (
	Rung        Policy = "rung"
	Information Policy = "information-per-minute" // the check of most information per minute, at 0.9 the repair
	Chart       Policy = "fixed-chart"            // an order of checks by prior information per minute, for each complaint
	Cheapest    Policy = "cheapest-first"         // the cheapest check first
	Odds        Policy = "odds-per-cost"          // no checks: repairs by probability over cost
)

// Policies lists the ways of working.
func Policies() []Policy { return []Policy{Rung, Information, Chart, Cheapest, Odds} }

// certain is where the baselines stop checking, guess the least they try a repair at
// when nothing is left to check.
// practice: those of the engine.
const (
	certain = 0.9
	guess   = 0.3
)

// way says what to do next.
type way interface {
	next(v *visit) (step, error)
}

// wayOf returns a way of working for one system with one complaint.
func wayOf(p Policy, sys *asked, h *hidden) (way, error) {
	switch p {
	case Rung:
		return rungWay{}, nil
	case Information:
		return informationWay{}, nil
	case Odds:
		return oddsWay{}, nil
	case Chart, Cheapest:
		return chartFor(p, sys, h)
	}
	return nil, fmt.Errorf("trial: no policy %q", p)
}

// rungWay does what the advice says.
type rungWay struct{}

func (rungWay) next(v *visit) (step, error) {
	a, err := v.sys.Decide(v.c)
	if err != nil {
		return step{}, err
	}
	if a.Verdict == diagnosis.VerdictCheck && len(a.Next) > 0 {
		return step{kind: doCheck, check: a.Next[0]}, nil
	}
	if !v.decided { // what is told counts once
		if a, err = v.sys.sys.Advise(v.c); err != nil {
			return step{}, err
		}
	}
	s := step{kind: doHandOver, confidence: a.Stop.Certainty}
	if len(a.Causes) > 0 {
		s.misfit = a.Causes[0].Misfit
	}
	for _, w := range a.Warnings {
		if w.Kind == diagnosis.WarnWrongReading {
			s.flagged = append(s.flagged, w.Reading)
		}
	}
	if a.Repair != nil {
		s.lead = append([]string{a.Repair.ID}, a.Repair.Then...)
	}
	switch a.Verdict {
	case diagnosis.VerdictRepair:
		s.kind, s.repairs = doRepair, s.lead
	case diagnosis.VerdictNothingFound:
		s.kind, s.lead = doClose, nil
	case diagnosis.VerdictCured:
		s.kind = doClose
	}
	if !v.decided {
		err = v.nudge(a)
	}
	return s, err
}

// nudge moves one reading by one digit of its meter and looks whether the advice stays.
func (v *visit) nudge(a diagnosis.Advice) error {
	var values []int
	for i, r := range v.c.Readings {
		if r.Kind == diagnosis.IsValue {
			values = append(values, i)
		}
	}
	if len(values) == 0 {
		return nil
	}
	r := v.h.luck.source("nudge")
	i := values[r.IntN(len(values))]
	_, p, known := v.h.checks.Point(v.c.Readings[i].Check, v.c.Readings[i].Point)
	if !known {
		return fmt.Errorf("trial: no point %v", v.c.Readings[i].Ref)
	}
	c := v.c
	c.Readings = slices.Clone(v.c.Readings)
	c.Readings[i].Value += p.Meter.Resolution * float64(2*r.IntN(2)-1)
	b, err := v.sys.sys.Decide(c)
	v.r.Moved, v.r.Stable = true, inShort(a) == inShort(b)
	return err
}

// inShort is what an advice comes down to.
func inShort(a diagnosis.Advice) [3]string {
	out := [3]string{string(a.Verdict)}
	if a.Repair != nil {
		out[1] = a.Repair.ID
	}
	if a.Verdict == diagnosis.VerdictCheck && len(a.Next) > 0 {
		out[2] = a.Next[0].Check
	}
	return out
}

// finish ends the checking of a baseline with the likeliest class of repairs.
func finish(v *visit, now diagnosis.Survey) step {
	best := now.Repairs[0]
	s := step{kind: doHandOver, confidence: best.Right, lead: best.IDs}
	switch {
	case best.Right < guess:
	case len(best.IDs) == 0:
		s.kind = doClose
	default:
		s.kind, s.repairs = doRepair, best.IDs
		if best.Charge && !now.GateOpen {
			v.spent += gateMinutes
		}
	}
	return s
}

// informationWay takes the check of most information per minute until a repair is certain.
type informationWay struct{}

func (informationWay) next(v *visit) (step, error) {
	now, err := v.sys.Survey(v.c, true)
	if err != nil {
		return step{}, err
	}
	if now.Repairs[0].Right >= certain || len(now.Offers) == 0 || v.checks >= mostChecks {
		return finish(v, now), nil
	}
	return step{kind: doCheck, check: now.Offers[0]}, nil
}

// chartWay goes down a list of checks.
type chartWay struct{ lines []line }

// line is one line of a chart.
type line struct {
	check  string
	demand diagnosis.Demand
	first  diagnosis.Ref // of its points
	gain   float64
	cost   float64
	seq    int
}

func lineOf(s diagnosis.Suggestion, seq int) line {
	return line{s.Check, s.Demand, s.Refs[0], s.Bits, s.CheckMinutes + s.SetupMinutes, seq}
}

// chartFor makes the chart of a system and complaint from what is known at the door.
func chartFor(p Policy, sys *asked, h *hidden) (way, error) {
	v := newVisit(h, sys)
	now, err := sys.Survey(v.c, true)
	if err != nil {
		return nil, err
	}
	var lines []line
	for i, s := range now.Offers {
		lines = append(lines, lineOf(s, i))
	}
	if p == Cheapest {
		sort.SliceStable(lines, func(i, j int) bool { return lines[i].cost < lines[j].cost })
		return chartWay{lines}, nil
	}
	var order []line
	for len(lines) > 0 { // the best next, with what is set up by then
		best, bestRate := 0, -1.0
		for i, l := range lines {
			if rate := l.gain / v.costOf(l); rate > bestRate {
				best, bestRate = i, rate
			}
		}
		check, _ := h.checks.Check(lines[best].check)
		v.switching(check.Needs, check.Without)
		order = append(order, lines[best])
		lines = slices.Delete(lines, best, best+1)
	}
	return chartWay{order}, nil
}

// costOf returns the minutes of a line from the present setup.
func (v *visit) costOf(l line) float64 {
	check, known := v.h.checks.Check(l.check)
	if !known {
		return math.Inf(1)
	}
	now := v.c.Setup
	minutes := check.Minutes + v.switching(check.Needs, check.Without)
	v.c.Setup = now
	return minutes
}

func (w chartWay) next(v *visit) (step, error) {
	now, err := v.sys.Survey(v.c, false)
	if err != nil {
		return step{}, err
	}
	for now.Repairs[0].Right < certain && v.chart < len(w.lines) && v.checks < mostChecks {
		l := w.lines[v.chart]
		v.chart++
		for _, s := range now.Offers {
			if s.Check == l.check && s.Demand == l.demand && s.Refs[0] == l.first {
				return step{kind: doCheck, check: s}, nil
			}
		}
	}
	return finish(v, now), nil
}

// oddsWay repairs by probability over cost.
type oddsWay struct{}

// leastOdds is the probability below which no repair is tried on its odds alone.
// practice: dearer than handing over.
const leastOdds = 0.02

func (oddsWay) next(v *visit) (step, error) {
	now, err := v.sys.Survey(v.c, false)
	if err != nil {
		return step{}, err
	}
	s, gate := step{kind: doHandOver}, 0.0
	best := 0.0
	for _, r := range now.Repairs {
		if len(r.IDs) == 0 || r.Right < leastOdds || v.tried[r.IDs[0]] > 0 {
			continue
		}
		minutes := 0.0
		if r.Charge && !now.GateOpen {
			minutes = gateMinutes
		}
		if ratio := r.Right / (minutes + r.Minutes + (1-r.Right)*r.Price); ratio > best {
			best, gate = ratio, minutes
			s = step{kind: doRepair, repairs: r.IDs, lead: r.IDs, confidence: r.Right}
		}
	}
	v.spent += gate
	return s, nil
}
