package visit

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
)

// What a share begins with, and how many calls or readings that is worth.
// practice: a hundred calls are a season of one mechanic; fewer say little of what comes
// up once in thirty calls.
const worthCalls, worthReadings, worthPairs = 100.0, 100.0, 50.0

// Bounds of what is learned.
const (
	// practice: a fifth of all calls is the most that may be taken for sound, whatever was
	// counted: else a shop that often finds nothing stops looking.
	mostSound = 0.2
	// practice: a reading that nobody repeats is not known to be right, so the share of
	// wrong ones is believed to within a factor of two of the program's.
	farWrong = 2.0
	// practice: with fewer timings of a check, or of a person, the listed minutes stand.
	leastTimed, leastPaced = 5.0, 10.0
)

// shareOf is a part of all as a part of the rest: what the reasoner wants.
func shareOf(p float64) float64 { return p / (1 - p) }

// partOf is the other way round.
func partOf(share float64) float64 { return share / (1 + share) }

func soundRate() diagnosis.Rate {
	return diagnosis.Rate{Begin: partOf(diagnosis.SoundShare), Worth: worthCalls}
}
func unlistedRate() diagnosis.Rate {
	return diagnosis.Rate{Begin: partOf(diagnosis.UnlistedShare), Worth: worthCalls}
}
func proofRate() diagnosis.Rate {
	return diagnosis.Rate{Begin: diagnosis.DefaultSettings().FalsePass, Worth: worthCalls}
}

// wrongRate is the share of wrong readings of a check that somebody begins with.
func wrongRate(c *fieldtest.Check, role diagnosis.Role) diagnosis.Rate {
	sensed := slices.ContainsFunc(c.Points, func(p fieldtest.Point) bool { return p.Words != nil })
	return diagnosis.Rate{Begin: diagnosis.DefaultSettings().WrongShare(sensed, role), Worth: worthReadings}
}

// wrongAfter is the share of wrong readings after n put to the test, k of them wrong.
func wrongAfter(r diagnosis.Rate, n, k float64) float64 {
	return min(max(r.After(n, k), r.Begin/farWrong), r.Begin*farWrong)
}

// experienceOf turns totals into what the reasoner heeds for a person.
func (d *desk) experienceOf(sum totals, role diagnosis.Role, name string) (x diagnosis.Experience) {
	if len(sum) == 0 {
		return x
	}
	if c := sum.closures(true); len(c) > 0 {
		x.Closures = c
	}
	fixed, none := sum.at(topicCauses, "fixed").Count, sum.at(topicCauses, "none").Count
	if fixed+none > 0 {
		x.Sound = shareOf(min(mostSound, soundRate().After(fixed+none, none)))
	}
	if fixed > 0 {
		x.Unlisted = shareOf(unlistedRate().After(fixed, sum.at(topicCauses, "unlisted").Count))
	}
	if p := sum.at(topicProofs); p.Count > 0 {
		x.FalsePass = proofRate().After(p.Count, p.Sum)
	}
	for _, p := range d.faults.Pairs {
		if n := sum.at(topicCauses, "pair", p.ID); n.Count > 0 {
			set(&x.Pairs, p.ID, pairRate(&p).After(n.Count, n.Sum))
		}
	}
	for i := range d.checks.Checks {
		c := &d.checks.Checks[i]
		if r := sum.at(topicReadings, c.ID); r.Count > 0 {
			set(&x.Wrong, c.ID, wrongAfter(wrongRate(c, role), r.Count, r.Sum))
		}
	}
	checks, repairs := sum.paces("check", string(role)), sum.paces("repair", string(role))
	for i := range d.checks.Checks {
		c := &d.checks.Checks[i]
		if f := checks.factor(c.ID, name); f != 1 {
			set(&x.Minutes, c.ID, c.Minutes*f)
		}
	}
	for i := range d.faults.Repairs {
		r := &d.faults.Repairs[i]
		if f := repairs.factor(r.ID, name); f != 1 {
			set(&x.RepairMinutes, r.ID, r.Minutes*f)
		}
	}
	return x
}

func set(all *map[string]float64, id string, v float64) {
	if *all == nil {
		*all = map[string]float64{}
	}
	(*all)[id] = v
}

func pairRate(p *fault.Pair) diagnosis.Rate { return diagnosis.Rate{Begin: p.Rate, Worth: worthPairs} }

// paces is what a role takes for checks, or for repairs.
type paces struct {
	of     map[string]diagnosis.Sum            // by check or repair
	all    []diagnosis.Sum                     // the same, in order
	person map[string]map[string]diagnosis.Sum // by person, then check or repair
}

// paces gathers the timings of a role, kind "check" or "repair".
func (t totals) paces(kind, role string) paces {
	p := paces{of: map[string]diagnosis.Sum{}, person: map[string]map[string]diagnosis.Sum{}}
	var keys []string
	for k := range t {
		keys = append(keys, k)
	}
	slices.Sort(keys) // so that the sums are the same to the last digit
	for _, k := range keys {
		x := parts(k)
		if len(x) != 5 || !same(x[:3], []string{topicMinutes, kind, role}) {
			continue
		}
		id, name, s := x[3], x[4], sumOf(t[k])
		p.of[id] = p.of[id].And(s)
		if p.person[name] == nil {
			p.person[name] = map[string]diagnosis.Sum{}
		}
		p.person[name][id] = s
		p.all = append(p.all, s)
	}
	return p
}

// learned returns the mean logarithm of what a role takes for something, and how
// much its own timings weigh; nothing below leastTimed.
func (p paces) learned(id string) (mean, weight float64) {
	if p.of[id].Count < leastTimed {
		return 0, 0
	}
	return diagnosis.Paces.After(p.of[id], p.all)
}

// pace returns what a person takes more or less than his role, over everything.
func (p paces) pace(name string) (mean, weight, timed float64) {
	var rest diagnosis.Sum
	var ids []string
	for id := range p.person[name] {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		s := p.person[name][id]
		usual, _ := p.learned(id)
		rest = rest.And(diagnosis.Sum{Count: s.Count, Sum: s.Sum - s.Count*usual})
	}
	if rest.Count < leastPaced {
		return 0, 0, rest.Count
	}
	mean, weight = diagnosis.Paces.After(rest, p.all)
	return mean, weight, rest.Count
}

// factor is what a person takes for something, over what is listed.
func (p paces) factor(id, name string) float64 {
	role, _ := p.learned(id)
	own, _, _ := p.pace(name)
	return diagnosis.Paces.Factor(role + own)
}

// leastLeaning is the logarithm of a factor that is worth a word.
// practice: a fifth more or less.
var leastLeaning = math.Log(1.2)

// leaningOf returns what age and season do to the causes of the visit, in whole
// sentences.
func (d *desk) leaningOf(tell tellers) []happening {
	var list []happening
	made := d.Property.Made(d.System.System)
	at := d.Visit.Opened.At
	mode := modeOf(d.faults, d.Visit.Complaint)
	for i := range d.faults.Faults {
		f := &d.faults.Faults[i]
		if family, ages := d.faults.Family(f.ID); ages {
			years, known := ageOf(f, family, made, d.Property.Renewed(d.Visit, f.Repair), at)
			if by := tell.byAge(f, years); known && by != 1 {
				list = append(list, happening{f.ID, by, d.ageText(f, family, tell.shapes[family.ID], years, by)})
			}
		}
		if by := tell.bySeason(f, mode, at.Month()); by != 1 {
			list = append(list, happening{f.ID, by, d.say("leaning-season", "cause", d.lower(d.causeName(f.ID)), "month", d.Month(at.Month()),
				"factor", timesText(by), "count", closuresText(math.Round(tell.seasons[mode].Closures)))})
		}
	}
	return list
}

// ageText says what age does to a cause, and whose opinion that is.
func (d *desk) ageText(f *fault.Fault, family *fault.Family, s diagnosis.Shape, years, by float64) string {
	whose := d.phrase("leaning-age-assumed")
	if s.Own >= 0.5 {
		whose = d.phrase("leaning-age-own", "count", closuresText(s.Closures))
	} else if s.Closures > 0 {
		whose = d.phrase("leaning-age-both", "count", closuresText(s.Closures))
	}
	return d.say("leaning-age", "cause", d.lower(d.causeName(f.ID)), "years", strconv.Itoa(int(math.Round(years))),
		"family", d.text(family.Name), "factor", timesText(by), "whose", whose)
}

// timesText prints a factor: "1.6".
func timesText(f float64) string { return fmt.Sprintf("%.1f", f) }
