package visit

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"rung/internal/diagnosis"
)

// whyNext says why a check is proposed: what it separates, and for the first
// why it comes before the second.
func (d *desk) whyNext(n diagnosis.Suggestion) string {
	if n.Kind == diagnosis.Remeasure {
		return d.say("next-again")
	}
	what, rival := d.worth(n), d.runnerUp(n)
	text := d.say("next-why", "what", what)
	if rival != nil {
		other := d.lower(d.checkName(rival.Check))
		if times := n.BitsPerMinute / rival.BitsPerMinute; times >= worthSaying {
			text = d.say("next-why-rate", "what", what, "times", d.timesOf(times), "other", other)
		} else if times > 1/worthSaying {
			text = d.say("next-why-alike", "what", what, "other", other)
		}
	}
	var with []string
	for _, r := range n.With {
		if name := d.lower(d.pointName(r)); !slices.Contains(with, name) {
			with = append(with, name)
		}
	}
	if len(with) > 0 {
		text += " " + d.say("next-with", "checks", d.listed(with, mostWith))
	}
	return text
}

// mostWith is how many points are named to be read along. practice: more is
// not read.
const mostWith = 2

// worthSaying is how many times as much a check must tell per minute for it to
// be said. practice: a quarter more.
const worthSaying = 1.25

// timesOf says a ratio: "1.5 times", "twice", "20 times".
func (l Language) timesOf(x float64) string {
	switch {
	case x > 20: // practice: beyond that the number says nothing more
		return l.phrase("more-than", "value", l.phrase("times", "n", "20"))
	case math.Round(2*x) == 4:
		return l.phrase("twice")
	case x < 3:
		return l.phrase("times", "n", strconv.FormatFloat(math.Round(2*x)/2, 'f', -1, 64))
	}
	return l.phrase("times", "n", strconv.Itoa(int(math.Round(x))))
}

// runnerUp returns the second check, for the first, where both were chosen for
// what they tell per minute.
func (d *desk) runnerUp(n diagnosis.Suggestion) *diagnosis.Suggestion {
	all := d.advice.Next
	if len(all) < 2 || all[0].Check != n.Check || all[0].Demand != n.Demand || all[1].Check == n.Check {
		return nil
	}
	if n.Kind != diagnosis.Measure || all[1].Kind != diagnosis.Measure || !(all[1].BitsPerMinute > 0) {
		return nil
	}
	return &all[1]
}

func (d *desk) checkName(id string) string {
	if c, known := d.checks.Check(id); known {
		return d.text(c.Name)
	}
	return id
}

// worth says what a check separates.
func (d *desk) worth(n diagnosis.Suggestion) string {
	a, b := n.Separates[0], n.Separates[1]
	if a == Healthy {
		a, b = b, a
	}
	first, second := d.lower(d.causeName(a)), d.lower(d.causeName(b))
	switch {
	case n.Opens != "":
		return d.phrase("next-gate", "what", d.phrase("gate-"+string(n.Opens)))
	case d.repaired():
		return d.phrase("next-after")
	case a != "" && n.Kind == diagnosis.Confirm:
		return d.phrase("next-confirm", "a", d.lower(d.causeName(n.Separates[0])))
	case a != "" && settles(n, n.Separates[0]):
		return d.phrase("next-settles", "a", d.lower(d.causeName(n.Separates[0])))
	case a == "" || b == "":
		return strings.TrimSuffix(d.phrase("next-tells", "minutes", d.inMinutes(n.CheckMinutes+n.SetupMinutes)), ".")
	case b == Healthy:
		return d.phrase("next-sound", "a", first)
	case d.cameWith(a, b) != "":
		return d.phrase("next-too", "a", first, "b", d.lower(d.causeName(d.cameWith(a, b))))
	case d.cameWith(b, a) != "":
		return d.phrase("next-too", "a", second, "b", d.lower(d.causeName(d.cameWith(b, a))))
	}
	return d.phrase("next-separates", "a", first, "b", second)
}

// cameWith returns the other fault of a pair of which one fault is a; empty if
// it is no such pair.
func (d *desk) cameWith(a, pair string) string {
	p, known := d.faults.Pair(pair)
	switch {
	case !known:
		return ""
	case p.First == a:
		return p.Second
	case p.Second == a:
		return p.First
	}
	return ""
}

// settled are the odds at which a cause is as good as proved, and ruled out.
// practice: what a repair is staked on, and what is not shown any more.
const settledIn, settledOut = 0.95, 0.02

// settles reports whether every outcome of a check proves a cause or rules it
// out, some the one and some the other.
func settles(n diagnosis.Suggestion, cause string) bool {
	in, out := false, false
	for _, b := range n.Outcomes {
		if b.Probability < leastShare/3 || len(b.Remain) == 0 {
			continue
		}
		p := 0.0
		for _, s := range b.Remain {
			if s.ID == cause {
				p = s.Probability
			}
		}
		switch {
		case p >= settledIn:
			in = true
		case p <= settledOut:
			out = true
		default:
			return false
		}
	}
	return in && out
}
