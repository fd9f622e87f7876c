package visit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/journal"
)

// EffectDetail is what readings entered in one form did, at full length.
type EffectDetail struct {
	Points   []EffectPoint
	RuledOut []string // names of causes, the formerly likeliest first
	Likelier []string // with the odds before and after
	Open     []string // what stands, with its odds
}

// EffectPoint is a reading beside what was expected of it.
type EffectPoint struct {
	Name, Reading string
	Expect        []Expect // healthy first
	// Truth says what the reading truly says, where it invites a wrong belief.
	Truth string
}

// Limits of what a sentence or a line names. practice: more is not read.
const (
	mostRuledOut = 3  // causes that a sentence names as ruled out
	mostSeen     = 3  // points that a sentence names
	mostNamed    = 5  // causes of one line of the ruled out
	mostForms    = 8  // forms for which is told what they ruled out
	mostLetters  = 90 // of the names in a sentence
)

// form holds the readings that were entered together.
type form []diagnosis.Reading

// forms returns the readings that count, form by form.
func (d *desk) forms() []form {
	var list []form
	for _, r := range d.c.Readings {
		if r.Drop {
			continue
		}
		if n := len(list); n > 0 && together(list[n-1][0], r) {
			list[n-1] = append(list[n-1], r)
			continue
		}
		list = append(list, form{r})
	}
	return list
}

// mostPoints is more than the points of any check.
const mostPoints = 32

// together reports whether b was entered in the form that began with a.
func together(a, b diagnosis.Reading) bool {
	id, err := journal.ParseID(a.ID)
	if err != nil || a.Check != b.Check || a.Demand != b.Demand {
		return false
	}
	for n := 1; n < mostPoints; n++ {
		if id.Derive(n).String() == b.ID {
			return true
		}
	}
	return false
}

// without returns the case as it would be without some readings.
func (d *desk) without(skip func(diagnosis.Reading) bool) diagnosis.Case {
	c := d.c
	c.Readings = slices.DeleteFunc(slices.Clone(c.Readings), skip)
	return c
}

// odds returns the probability of each cause shown, given a case.
//
// The case is put as one that is stopped by a hazard: the odds are the same,
// and no time is spent on the next check.
func (d *desk) odds(c diagnosis.Case) (map[string]float64, error) {
	c.Hazards = []diagnosis.Hazard{diagnosis.HazardFire}
	a, err := d.ask(c)
	if err != nil {
		return nil, err
	}
	return oddsOf(a), nil
}

func oddsOf(a diagnosis.Advice) map[string]float64 {
	p := map[string]float64{}
	for _, c := range a.Causes {
		p[c.ID] = c.Probability
	}
	return p
}

// leastOdds stands in for a cause too unlikely to be listed.
// practice: what is listed at all begins at one in a thousand.
const leastOdds = 5e-4

// fell returns by how many decibans a cause lost against the leader.
func fell(id, leader string, before, after map[string]float64) float64 {
	ratio := func(p map[string]float64) float64 { return max(p[id], leastOdds) / max(p[leader], leastOdds) }
	return 10 * math.Log10(ratio(before)/ratio(after))
}

// A cause is ruled out by a form that made it ten times less likely against the
// leader and after which it stands below one in a hundred.
// practice: as the reasoner tells it of a single reading.
const (
	ruledDecibans = 10
	ruledBelow    = 0.01
)

// moved is how a form moved the causes.
type moved struct {
	ruledOut []string // formerly likeliest first
	likelier []diagnosis.Shift
}

// move compares the odds before and after a form.
func (d *desk) move(before, after map[string]float64) moved {
	var m moved
	leader := d.leader()
	for id := range before {
		if id != leader && after[id] < ruledBelow && fell(id, leader, before, after) >= ruledDecibans {
			m.ruledOut = append(m.ruledOut, id)
		}

	}
	byOdds(m.ruledOut, before)
	for id, p := range after {
		if p >= ruledBelow && percent(before[id]) != percent(p) && before[id] < p {
			m.likelier = append(m.likelier, diagnosis.Shift{ID: id, Before: before[id], After: p})
		}
	}
	slices.SortFunc(m.likelier, func(a, b diagnosis.Shift) int {
		if x, y := a.After-a.Before, b.After-b.Before; x != y {
			return sign(y - x)
		}
		return strings.Compare(a.ID, b.ID)
	})
	return m
}

func sign(x float64) int {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}

// byOdds sorts causes, the likeliest first.
func byOdds(ids []string, p map[string]float64) {
	slices.SortFunc(ids, func(a, b string) int {
		if p[a] != p[b] {
			return sign(p[b] - p[a])
		}
		return strings.Compare(a, b)
	})
}

// leader returns the likeliest cause.
func (d *desk) leader() string {
	if len(d.advice.Causes) == 0 {
		return Healthy
	}
	return d.advice.Causes[0].ID
}

// effect says what the readings of the last form did: at most three sentences,
// and everything as detail.
func (d *desk) effect() ([]string, *EffectDetail, error) {
	forms := d.forms()
	if d.advice.Latest == nil || len(forms) == 0 {
		return nil, nil, nil
	}
	last := forms[len(forms)-1]
	before, err := d.odds(d.without(last.has))
	if err != nil {
		return nil, nil, err
	}
	after := oddsOf(d.advice)
	m := d.move(before, after)
	detail := &EffectDetail{}
	for _, r := range last {
		point, err := d.effectPoint(r)
		if err != nil {
			return nil, nil, err
		}
		detail.Points = append(detail.Points, point)
	}
	detail.RuledOut = d.names(m.ruledOut)
	for _, s := range m.likelier {
		detail.Likelier = append(detail.Likelier, d.shift(s))
	}
	for _, c := range d.advice.Causes {
		if c.Probability >= stands {
			detail.Open = append(detail.Open, d.phrase("standing", "cause", d.lower(d.causeName(c.ID)), "odds", d.inHundred(c.Probability)))
		}
	}
	return d.effectSentences(last, detail, m), detail, nil
}

func (f form) has(r diagnosis.Reading) bool {
	return slices.ContainsFunc(f, func(x diagnosis.Reading) bool { return x.ID == r.ID })
}

// repaired reports whether what led is mended: the leader says what was wrong,
// not what is.
func (d *desk) repaired() bool { return d.advice.Verdict == diagnosis.VerdictCured }

// effectPoint puts a reading beside what was expected of it, given all others.
func (d *desk) effectPoint(r diagnosis.Reading) (EffectPoint, error) {
	p, known := d.point(r.Ref)
	if !known {
		return EffectPoint{}, fmt.Errorf("effect of %s: no point %s", r.Check, r.Point)
	}
	x := EffectPoint{Name: d.pointName(r.Ref), Reading: d.shown(r.ID)}
	if r.Epoch != d.c.Epoch() {
		return x, nil // what was expected then is not what would be expected now
	}
	var err error
	expected := d.advice.Latest.Expected
	if r.ID != d.advice.Latest.Reading {
		expected, err = d.reasoner.Card(d.without(form{r}.has), r.Ref)
		if err != nil {
			return x, fmt.Errorf("effect of %s: %w", r.Check, err)
		}
	}
	for _, e := range expected {
		x.Expect = append(x.Expect, d.expect(p, e))
	}
	x.Truth, err = d.truth(r, x.Expect)
	return x, err
}

// effectSentences says an effect in at most three sentences.
func (d *desk) effectSentences(last form, x *EffectDetail, m moved) []string {
	list := []string{d.seen(last, x.Points)}
	if len(x.RuledOut) > 0 {
		list = append(list, d.say("effect-ruled-out", "causes", d.listed(d.lowered(x.RuledOut), mostRuledOut)))
	}
	switch {
	case len(m.likelier) > 0:
		list = append(list, d.say("effect-likelier", "causes", d.shift(m.likelier[0])))
	case len(x.RuledOut) == 0:
		leader := d.leader()
		if d.repaired() {
			return append(list, d.say("effect-agrees"))
		}
		list = append(list, d.say("effect-little", "cause", d.lower(d.causeName(leader)), "odds", d.inHundred(oddsOf(d.advice)[leader])))
	}
	return list
}

func (d *desk) shift(s diagnosis.Shift) string {
	return d.phrase("shift", "cause", d.lower(d.causeName(s.ID)), "before", d.hundredths(s.Before), "after", d.inHundred(s.After))
}

// seen says what was read against what a sound system shows, and for a single
// point also against what the leader shows. What is odd comes first.
func (d *desk) seen(last form, points []EffectPoint) string {
	if len(points) == 1 {
		return d.seenOne(points[0])
	}
	var odd, sound []string
	for i, x := range points {
		p, _ := d.point(last[i].Ref)
		if len(x.Expect) == 0 || x.Expect[0].Shows == "" || d.fits(last[i], x.Expect[0]) {
			sound = append(sound, d.phrase("seen-sound", "point", d.lower(d.text(p.Name)), "reading", x.Reading))
			continue
		}
		odd = append(odd, d.phrase("seen-odd", "point", d.lower(d.text(p.Name)), "reading", x.Reading, "sound", x.Expect[0].Shows))
	}
	all := append(odd, sound...)
	text := strings.Join(all[:min(mostSeen, len(all))], "; ")
	switch n := len(all) - len(odd); {
	case len(all) <= mostSeen:
	case len(odd) > mostSeen:
		text = d.phrase("others", "names", text, "count", d.others(len(all)-mostSeen))
	case len(odd) == 0:
		text = d.phrase("seen-all-sound", "count", fmt.Sprint(n))
	default:
		text = d.phrase("seen-rest-sound", "list", strings.Join(odd, "; "), "count", fmt.Sprint(n))
	}
	if p, _ := d.point(last[0].Ref); !p.Alone {
		text = d.phrase("seen-of-check", "check", d.checkName(last[0].Check), "list", text)
	}
	return d.say("effect-seen-several", "list", text)
}

// fits reports whether a reading is one that is expected.
func (d *desk) fits(r diagnosis.Reading, x Expect) bool {
	switch {
	case x.Number && r.Kind == diagnosis.IsValue:
		return x.Low <= r.Value && r.Value <= x.High
	case r.Kind == diagnosis.IsNotReadable:
		return x.unreadable
	case r.Kind == diagnosis.IsWord:
		return slices.Contains(x.words, r.Word)
	}
	return false
}

// wordOf returns a word of a point as it is shown.
func (l Language) wordOf(p *fieldtest.Point, i int) string {
	if l == Spanish && i < len(p.WordsES) {
		return p.WordsES[i]
	}
	return strings.ReplaceAll(p.Words[i], "-", " ")
}

func (d *desk) seenOne(x EffectPoint) string {
	sound, shows, leader := "", "", d.leader()
	for _, e := range x.Expect {
		switch e.Cause {
		case Healthy:
			sound = e.Shows
		case leader:
			shows = e.Shows
		}
	}
	id := "effect-seen"
	switch {
	case sound == "":
		id = "effect-seen-only"
	case leader == Healthy || shows == "" || d.repaired():
		id = "effect-seen-sound"
	case sound == shows:
		id = "effect-seen-alike"
	}
	return d.say(id, "point", x.Name, "reading", x.Reading, "sound", sound, "leader", d.lower(d.causeName(leader)), "shows", shows)
}

// ruledOut lists the causes that are out, by the form that ruled them out, the
// latest form first.
func (d *desk) ruledOut() ([]RuledLine, error) {
	forms := d.forms()
	if len(forms) == 0 {
		return nil, nil
	}
	first := max(0, len(forms)-mostForms)
	before, err := d.odds(d.upTo(forms, first))
	if err != nil {
		return nil, err
	}
	now, leader := oddsOf(d.advice), d.leader()
	most, by, then := map[string]float64{}, map[string]int{}, map[string]float64{}
	for i := first; i < len(forms); i++ {
		after := now
		if i+1 < len(forms) {
			if after, err = d.odds(d.upTo(forms, i+1)); err != nil {
				return nil, err
			}
		}
		for id, p := range before {
			lost := fell(id, leader, before, after)
			if id != leader && now[id] < ruledBelow && lost >= ruledDecibans && lost > most[id] {
				most[id], by[id], then[id] = lost, i, p
			}
		}
		before = after
	}
	return d.ruledLines(forms, by, then), nil
}

// upTo returns the case with the first n forms only.
func (d *desk) upTo(forms []form, n int) diagnosis.Case {
	return d.without(func(r diagnosis.Reading) bool {
		return !slices.ContainsFunc(forms[:n], func(f form) bool { return f.has(r) })
	})
}

// ruledLines makes a line for each form that ruled something out.
func (d *desk) ruledLines(forms []form, by map[string]int, then map[string]float64) []RuledLine {
	var list []RuledLine
	for i := len(forms) - 1; i >= 0; i-- {
		var line RuledLine
		for id, at := range by {
			if at == i {
				line.IDs = append(line.IDs, id)
			}
		}
		if len(line.IDs) == 0 {
			continue
		}
		byOdds(line.IDs, then)
		names := d.names(line.IDs)
		line.Name = upper(d.named(append(names[:1:1], d.lowered(names[1:])...), min(mostNamed, len(names))))
		var why []string
		for _, r := range forms[i] {
			why = append(why, d.phrase("ruled-by", "point", d.pointName(r.Ref), "reading", d.shown(r.ID)))
		}
		line.Why = upper(strings.Join(why[:min(mostSeen, len(why))], "; "))
		list = append(list, line)
	}
	return list
}

// names returns the names of causes.
func (d *desk) names(ids []string) []string {
	var list []string
	for _, id := range ids {
		list = append(list, d.causeName(id))
	}
	return list
}

func (l Language) lowered(names []string) []string {
	var list []string
	for _, n := range names {
		list = append(list, l.lower(n))
	}
	return list
}

// listed joins names: no more than most of them, nor than can be taken in at a
// glance, and how many others there are.
func (l Language) listed(names []string, most int) string {
	n, letters := 0, 0
	for n < len(names) && n < most {
		letters += len([]rune(names[n]))
		if n > 0 && letters > mostLetters {
			break
		}
		n++
	}
	return l.named(names, n)
}

// named joins the first n names and says how many others there are.
func (l Language) named(names []string, n int) string {
	joint := ", "
	if strings.Contains(strings.Join(names[:n], ""), ",") { // a pair has a comma of its own
		joint = "; "
	}
	switch {
	case n < len(names):
		return l.phrase("others", "names", strings.Join(names[:n], joint), "count", l.others(len(names)-n))
	case joint == ", ":
		return l.andList(names)
	}
	return strings.Join(names, joint)
}

// others counts what is not named.
func (l Language) others(n int) string {
	if n == 1 {
		return l.phrase("one-other")
	}
	return l.phrase("many-others", "count", fmt.Sprint(n))
}
