package visit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"rung/internal/diagnosis"
	"rung/internal/ledger"
)

// LearnedTopic is what closed calls teach about one thing, beside the causes.
type LearnedTopic struct {
	ID    string
	Name  string
	Lines []TopicLine
	// Aside is the entry that set the topic aside last, nil if none; Off that it was switched off.
	Aside *ledger.SetAside
	Off   bool
	// Switch says that it can be switched off.
	Switch bool
}

// TopicLine is one number that is learned.
type TopicLine struct {
	Of     string  // what it is of
	Begin  string  // what the program begins with
	Now    string  // what counts
	Count  string  // on what of the shop's own that rests
	Weight float64 // of the shop's own in it, 0 to 1
}

// topicsOf says what was learned, in the order of topics but the causes, which have
// tables of their own for each kind of system.
func (s *Service) topicsOf(l learnt, shop ledger.Shop) []LearnedTopic {
	lines := map[string][]TopicLine{
		topicCauses: s.rateLines(l.sum), topicAge: s.ageLines(l.tell), topicSeason: s.seasonLines(l.tell),
		topicMinutes: s.minuteLines(l.sum), topicReadings: s.readingLines(l.sum), topicProofs: proofLines(l.sum),
	}
	var list []LearnedTopic
	for _, id := range topics {
		t := LearnedTopic{ID: id, Name: English.say("topic-" + id), Lines: lines[id], Switch: id == topicAge}
		_, t.Off = shop.Since(id)
		for i := range shop.SetAsides {
			if shop.SetAsides[i].What == id {
				t.Aside = &shop.SetAsides[i]
			}
		}
		list = append(list, t)
	}
	return list
}

// ofHundred prints a share of 1 as one of a hundred.
func ofHundred(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) + " %" }

// rateLine is a line of a share.
func rateLine(of string, r diagnosis.Rate, n, k, now float64, counted string) TopicLine {
	return TopicLine{Of: of, Begin: ofHundred(r.Begin), Now: ofHundred(now), Weight: r.Own(n),
		Count: English.say(counted, "count", closuresText(k), "of", closuresText(n))}
}

func (s *Service) rateLines(sum totals) []TopicLine {
	fixed, none := sum.at(topicCauses, "fixed").Count, sum.at(topicCauses, "none").Count
	unlisted := sum.at(topicCauses, "unlisted").Count
	list := []TopicLine{
		rateLine(English.say("rate-none"), soundRate(), fixed+none, none, min(mostSound, soundRate().After(fixed+none, none)), "rate-counted"),
		rateLine(English.say("rate-unlisted"), unlistedRate(), fixed, unlisted, unlistedRate().After(fixed, unlisted), "rate-counted"),
	}
	for i := range s.faults().Pairs {
		p := &s.faults().Pairs[i]
		if x := sum.at(topicCauses, "pair", p.ID); x.Count > 0 {
			name, _ := s.faults().Name(p.ID)
			list = append(list, rateLine(name.EN, pairRate(p), x.Count, x.Sum, pairRate(p).After(x.Count, x.Sum), "rate-counted"))
		}
	}
	return list
}

func proofLines(sum totals) []TopicLine {
	p := sum.at(topicProofs)
	return []TopicLine{rateLine(English.say("rate-proof"), proofRate(), p.Count, p.Sum, proofRate().After(p.Count, p.Sum), "rate-proofs-counted")}
}

func (s *Service) readingLines(sum totals) []TopicLine {
	var list []TopicLine
	for i := range s.checks().Checks {
		c := &s.checks().Checks[i]
		if x := sum.at(topicReadings, c.ID); x.Count > 0 {
			r := wrongRate(c, diagnosis.Mechanic)
			list = append(list, rateLine(c.Name.EN, r, x.Count, x.Sum, wrongAfter(r, x.Count, x.Sum), "rate-readings-counted"))
		}
	}
	return mostFirst(list)
}

// mostFirst orders lines by the weight of what is the shop's own.
func mostFirst(list []TopicLine) []TopicLine {
	slices.SortStableFunc(list, func(a, b TopicLine) int { return cmp.Compare(b.Weight, a.Weight) })
	return list
}

func (s *Service) ageLines(tell tellers) []TopicLine {
	var list []TopicLine
	text := func(shape float64) string { return timesText(diagnosis.HazardRatio(2*diagnosis.ReferenceAge, shape)) }
	for _, f := range s.faults().Families {
		x := tell.shapes[f.ID]
		list = append(list, TopicLine{Of: f.Name.EN, Begin: text(x.Begin), Now: text(x.Now), Weight: x.Own, Count: English.say("age-counted", "shape", fmt.Sprintf("%.2f", x.Now), "count", closuresText(x.Closures))})
	}
	return list
}

func (s *Service) seasonLines(tell tellers) []TopicLine {
	var list []TopicLine
	for _, mode := range []string{"cool", "heat", "any"} {
		season := tell.seasons[mode]
		for _, g := range season.Groups() {
			most, at := 0.0, time.January
			for m := time.January; m <= time.December; m++ {
				if f := season.Factor(g, m); f > most {
					most, at = f, m
				}
			}
			list = append(list, TopicLine{Of: English.say("season-of", "group", strings.ReplaceAll(g, "-", " "), "mode", English.phrase("season-"+mode)), Begin: "1.0",
				Now: English.say("season-most", "factor", timesText(most), "month", at.String()), Count: English.say("season-counted", "count", closuresText(season.Closures)), Weight: season.Own(g)})
		}
	}
	return list
}

func (s *Service) minuteLines(sum totals) []TopicLine {
	var list []TopicLine
	for _, role := range []diagnosis.Role{diagnosis.Mechanic, diagnosis.Apprentice} {
		checks, repairs := sum.paces("check", string(role)), sum.paces("repair", string(role))
		line := func(p paces, id, name string, listed float64) {
			if p.of[id].Count == 0 {
				return
			}
			mean, weight := p.learned(id)
			list = append(list, TopicLine{Of: English.say("minutes-of", "what", name, "role", string(role)), Begin: minutesText(listed),
				Now: minutesText(listed * diagnosis.Paces.Factor(mean)), Count: English.say("minutes-counted", "count", closuresText(p.of[id].Count)), Weight: weight})
		}
		for i := range s.checks().Checks {
			c := &s.checks().Checks[i]
			line(checks, c.ID, c.Name.EN, c.Minutes)
		}
		for i := range s.faults().Repairs {
			r := &s.faults().Repairs[i]
			line(repairs, r.ID, r.Name.EN, r.Minutes)
		}
		for _, p := range []struct {
			of   string
			pace paces
		}{{"minutes-checks-by", checks}, {"minutes-repairs-by", repairs}} {
			for _, name := range p.pace.names() {
				mean, weight, timed := p.pace.pace(name)
				list = append(list, TopicLine{Of: English.say(p.of, "name", name, "role", string(role)), Begin: "1.0",
					Now: timesText(diagnosis.Paces.Factor(mean)), Count: English.say("minutes-counted", "count", closuresText(math.Round(timed))), Weight: weight})
			}
		}
	}
	return mostFirst(list)
}

func (p paces) names() []string {
	var list []string
	for name := range p.person {
		list = append(list, name)
	}
	slices.Sort(list)
	return list
}

func minutesText(m float64) string { return strconv.FormatFloat(m, 'f', 1, 64) + " min" }
