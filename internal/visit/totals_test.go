package visit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"rung/internal/diagnosis"
	"rung/internal/ledger"
	"rung/internal/record"
)

// lesson is a visit closed long before the clock of these tests.
func lesson(change func(*ledger.Lesson)) ledger.Lesson {
	l := ledger.Lesson{Visit: "V", Complaint: "not-cooling", Closed: longAgo, Outcome: "fixed", Cause: "herm-cap-open", Weight: 1, Proved: true}
	if change != nil {
		change(&l)
	}
	return l
}

// sums adds up lessons as of the clock of these tests.
func (s *shop) sums(list ...ledger.Lesson) learnt {
	return s.learntFrom(taught{lessons: list}, dayOf(s.now()))
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-9*max(1, math.Abs(want))) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// TestTimedSteps: a check is held against its listed minutes and those of the
// setting up that it needed then; stamps that do not tell are left out.
func TestTimedSteps(t *testing.T) {
	s := newShop(t)
	step := func(check string, seconds float64) ledger.Step {
		return ledger.Step{Check: check, Points: 1, By: "Ada/B", Role: "mechanic", Seconds: seconds}
	}
	l := s.sums(lesson(func(l *ledger.Lesson) {
		l.Steps = []ledger.Step{
			step("cap-bench", 600),       // 3 min, panel 2, isolating 3, discharging 2
			step("cap-bench", 90),        // all that is done: 3 min
			step("esp-total", 0),         // nothing before it
			step("esp-total", 10),        // typed in a row
			step("filter-look", 40*3600), // over night
			step("cap-bench", 9*3600),
			{Repair: "replace-run-capacitor", By: "Ada/B", Role: "mechanic", Seconds: 1},
			{Check: "cap-bench", By: "Ben", Role: "apprentice", Seconds: 3000},
		}
	}))
	x := l.sum.at(topicMinutes, "check", "mechanic", "cap-bench", "Ada/B")
	near(t, "the number of timings", x.Count, 2)
	near(t, "their sum", x.Sum, math.Log(1.0)+math.Log(0.5))
	near(t, "their squares", x.Squares, math.Log(0.5)*math.Log(0.5))
	near(t, "what took far too long", l.sum.at(topicMinutes, "check", "apprentice", "cap-bench", "Ben").Sum, math.Log(mostRatio))
	timed := 0
	for k := range l.sum {
		if strings.HasPrefix(k, topicMinutes) {
			timed++
		}
	}
	if timed != 2 {
		t.Errorf("%d things were timed: %v", timed, l.sum)
	}
}

// TestLearnedMinutes: a mechanic's minutes are not an apprentice's, few timings
// change nothing, and who is quicker at everything is so at a check never timed of him.
func TestLearnedMinutes(t *testing.T) {
	s := newShop(t)
	d := &desk{faults: s.faults(), checks: s.checks()}
	timings := func(n, mean float64) record.Total {
		return record.Total{Count: n, Sum: n * mean, Squares: n * mean * mean}
	}
	sum := totals{
		path(topicMinutes, "check", "mechanic", "cap-bench", "Ada"):   timings(40, math.Log(2)),
		path(topicMinutes, "check", "apprentice", "cap-bench", "Ben"): timings(4, math.Log(3)),
		path(topicMinutes, "check", "mechanic", "esp-total", "Cy"):    timings(20, math.Log(0.5)),
		path(topicMinutes, "check", "mechanic", "cap-bench", "Cy"):    timings(20, math.Log(0.5)),
	}
	ada, cy := d.experienceOf(sum, diagnosis.Mechanic, "Ada").Minutes, d.experienceOf(sum, diagnosis.Mechanic, "Cy").Minutes
	if !(ada["cap-bench"] > 4 && ada["cap-bench"] < 6) || !(cy["cap-bench"] < 3) {
		t.Errorf("the capacitor of 3 minutes takes Ada %v, Cy %v", ada["cap-bench"], cy["cap-bench"])
	}
	if c, _ := s.checks().Check("filter-look"); !(ada[c.ID] > 1.1*c.Minutes && cy[c.ID] < c.Minutes) {
		t.Errorf("a check never timed takes Ada %v, Cy %v", ada[c.ID], cy[c.ID])
	}
	if got := d.experienceOf(sum, diagnosis.Apprentice, "Ben").Minutes; got != nil {
		t.Errorf("four timings change %v", got)
	}
	if got := d.experienceOf(totals{}, diagnosis.Mechanic, "Ada"); got.Closures != nil || got.Sound != 0 {
		t.Errorf("nothing learned gives %+v", got)
	}
}

// TestMinutesReachTheAdvice: entries of visits through the journal, of a mechanic who
// takes nearly twice the listed minutes at a check, make it dearer on his next visit, and nobody else's.
func TestMinutesReachTheAdvice(t *testing.T) {
	s := newShop(t)
	house, sys, _ := s.house()
	var all []past
	for i := range 30 {
		v, day := record.VisitID(fmt.Sprint("T", i)), time.Date(2025, 1, 1+i, 9, 0, 0, 0, time.UTC)
		add := func(after time.Duration, e record.Event) {
			day = day.Add(after)
			all = append(all, past{day.Format(time.RFC3339), e})
		}
		add(0, record.VisitOpened{Visit: v, System: sys, Who: record.Person{Name: "Ben", Role: "mechanic"}})
		add(time.Minute, record.NoteLeft{Visit: v, Text: "here"})
		add(7*time.Minute, record.ReadingTaken{Visit: v, Check: "look-listen", Point: "compressor", Demand: "cool", AsRead: record.AsRead{Text: "running"}, Role: "mechanic"})
		add(time.Minute, record.VisitClosed{Visit: v, Outcome: "declined"})
	}
	s.rememberAt(house, all...)
	listed, _ := s.checks().Check("look-listen")
	minutes := func(name, role string) float64 {
		v := must(s.OpenVisit(t.Context(), s.by(), sys, OpenInput{Complaint: "not-cooling", Who: record.Person{Name: name, Role: role}}))(t)
		for _, n := range must(s.Advise(t.Context(), v))(t).Raw.Next {
			if n.Check == listed.ID {
				return n.CheckMinutes
			}
		}
		t.Fatalf("%s (%s) is not asked to look", name, role)
		return 0
	}
	if got := minutes("Ada", "apprentice"); got != listed.Minutes {
		t.Errorf("an apprentice is to take %v minutes, listed are %v", got, listed.Minutes)
	}
	if got := minutes("Ben", "mechanic"); !(got > 1.3*listed.Minutes && got < 2.5*listed.Minutes) {
		t.Errorf("the mechanic is to take %v minutes, listed are %v", got, listed.Minutes)
	}
	var text string
	for _, x := range must(s.Learned(t.Context(), ""))(t).Topics {
		for _, l := range x.Lines {
			text += l.Of + " " + l.Count + "\n"
		}
	}
	for _, part := range []string{"(mechanic) 30 timed", "All checks of Ben"} {
		if !strings.Contains(text, part) {
			t.Errorf("the page does not say %q:\n%s", part, text)
		}
	}
}

// TestReadingsPutToTheTest: a reading counts as tried if it was read again or if
// its visit was proved, as wrong if the second was out of the meter's reach.
func TestReadingsPutToTheTest(t *testing.T) {
	s := newShop(t)
	repeat := func(check, point, first, second, unit string) ledger.Repeat {
		return ledger.Repeat{Check: check, Point: point, First: record.AsRead{Text: first, Unit: unit}, Second: record.AsRead{Text: second, Unit: unit}}
	}
	read := []ledger.Repeat{
		repeat("cap-bench", "herm", "45.0", "45.1", "µF"), repeat("cap-bench", "herm", "4.5", "45.1", "µF"),
		repeat("look-listen", "blower", "running", "silent", ""), repeat("no-such-check", "x", "1", "2", "V"),
		repeat("delta-t-air", "supply", "58", "70", "°F"), // settles: it moves by itself
	}
	steps := []ledger.Step{{Check: "cap-bench", Points: 5}, {Check: "esp-total", Points: 1}}
	unproved := s.sums(lesson(func(l *ledger.Lesson) { l.Read, l.Steps, l.Proved = read, steps, false }))
	for check, want := range map[string]record.Total{"cap-bench": {Count: 2, Sum: 1}, "look-listen": {Count: 1, Sum: 1}, "esp-total": {}, "delta-t-air": {}} {
		if got := unproved.sum.at(topicReadings, check); got != want {
			t.Errorf("%s, not proved: %+v, want %+v", check, got, want)
		}
	}
	proved := s.sums(lesson(func(l *ledger.Lesson) { l.Read, l.Steps = read, steps }))
	for check, want := range map[string]record.Total{"cap-bench": {Count: 5, Sum: 1}, "esp-total": {Count: 1}} {
		if got := proved.sum.at(topicReadings, check); got != want {
			t.Errorf("%s, proved: %+v, want %+v", check, got, want)
		}
	}
	r := diagnosis.Rate{Begin: 0.08, Worth: 100}
	near(t, "the share of wrong ones after a thousand right", wrongAfter(r, 1000, 0), 0.04)
	near(t, "after a hundred wrong", wrongAfter(r, 100, 100), 0.16)
	near(t, "after two of twenty", wrongAfter(r, 20, 2), 10.0/120)
}

// TestLearnedRates: nothing found, unlisted causes, pairs and proofs count as
// they came up, and what a callback overthrew does not.
func TestLearnedRates(t *testing.T) {
	s := newShop(t)
	pair := s.faults().Pairs[0]
	var list []ledger.Lesson
	add := func(n int, change func(*ledger.Lesson)) {
		for range n {
			list = append(list, lesson(change))
		}
	}
	add(6, func(l *ledger.Lesson) { l.Cause = pair.First })
	add(1, func(l *ledger.Lesson) { l.Cause = pair.ID })
	add(1, func(l *ledger.Lesson) { l.Cause, l.Causes = pair.Second, []string{pair.First, pair.Second} })
	add(3, func(l *ledger.Lesson) { l.Cause, l.Weight, l.Unnamed = "", 0, true })
	add(1, func(l *ledger.Lesson) { l.Cause, l.Weight, l.Unnamed, l.CalledBack = "", 0, true, true })
	add(4, func(l *ledger.Lesson) { l.Cause, l.Weight, l.Proved, l.Outcome = "", 0, false, "no-fault-found" })
	add(1, func(l *ledger.Lesson) {
		l.Cause, l.Weight, l.Proved, l.Outcome, l.CalledBack = "", 0, false, "no-fault-found", true
	})
	add(5, func(l *ledger.Lesson) { l.Closed = tooLate })
	sum := s.sums(list...).sum
	near(t, "fixed", sum.at(topicCauses, "fixed").Count, 11)
	near(t, "unlisted", sum.at(topicCauses, "unlisted").Count, 3)
	near(t, "nothing found", sum.at(topicCauses, "none").Count, 4)
	near(t, "the first of the pair", sum.at(topicCauses, "fault", pair.First).Count, 7)
	near(t, "the pair", sum.at(topicCauses, "pair", pair.ID).Sum, 2)
	near(t, "calls with its first fault", sum.at(topicCauses, "pair", pair.ID).Count, 8)
	near(t, "proofs", sum.at(topicProofs).Count, 12)
	near(t, "of them called back for", sum.at(topicProofs).Sum, 1)
	x := (&desk{faults: s.faults(), checks: s.checks()}).experienceOf(sum, diagnosis.Mechanic, "Ada")
	near(t, "the pair's rate", x.Pairs[pair.ID], (50*pair.Rate+2)/58)
	near(t, "false passes", x.FalsePass, (100*0.02+1)/112)
	part := (100*0.04/1.04 + 3) / 111
	near(t, "unlisted causes", x.Unlisted, part/(1-part))
	none := (100*0.03/1.03 + 4) / 115
	near(t, "sound systems", x.Sound, none/(1-none))
	many := totals{path(topicCauses, "none"): {Count: 1e6}}
	near(t, "sound systems at most", (&desk{faults: s.faults(), checks: s.checks()}).experienceOf(many, diagnosis.Mechanic, "Ada").Sound, 0.25)
}

// TestAgeOfParts: the age is that of the part if it was replaced, else of its
// unit, else of any unit.
func TestAgeOfParts(t *testing.T) {
	s := newShop(t)
	f, _ := s.faults().Fault("herm-cap-weak")
	family, _ := s.faults().Family(f.ID)
	leak, _ := s.faults().Fault("low-charge-leak")
	leaks, _ := s.faults().Family(leak.ID)
	at, renewed := time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC), time.Date(2024, 7, 1, 0, 0, 0, 0, time.UTC)
	both := map[string]string{"outdoor-unit": "2006", "furnace": "2016-07"}
	for _, c := range []struct {
		name string
		got  func() (float64, bool)
		want float64
	}{
		{"its unit", func() (float64, bool) { return ageOf(f, family, both, nil, at) }, 20},
		{"another unit", func() (float64, bool) {
			return ageOf(f, family, map[string]string{"furnace": "2016-07"}, nil, at)
		}, 10},
		{"replaced", func() (float64, bool) { return ageOf(f, family, both, &renewed, at) }, 2},
		{"mended, which renews nothing", func() (float64, bool) { return ageOf(leak, leaks, both, &renewed, at) }, 20},
	} {
		if got, known := c.got(); !known || math.Abs(got-c.want) > 0.1 {
			t.Errorf("%s: %v years, want %v", c.name, got, c.want)
		}
	}
	if _, known := ageOf(f, family, map[string]string{"outdoor-unit": "old"}, nil, at); known {
		t.Error("an age is known of a plate that says old")
	}
}

// TestAgeInTheOdds: on an old unit what wears is likelier by the assumption, the page
// says whose it is, and it can be switched off; on one without a year nothing moves.
func TestAgeInTheOdds(t *testing.T) {
	odds := func(made string, off bool) (map[string]float64, []string) {
		s := newShop(t)
		if off {
			s.ok(s.SetLearningAside(t.Context(), s.by(), topicAge, true, "no faith in it"))
		}
		v := s.ready("not-cooling")
		here := must(s.Visit(t.Context(), v))(t)
		if made != "" {
			for _, u := range here.System.Units {
				if u.Kind == "outdoor-unit" {
					s.ok(s.RecordPlate(t.Context(), s.by(), u.Unit, map[string]string{"made": made}))
				}
			}
		}
		return s.odds(v), must(s.Advise(t.Context(), v))(t).Beside
	}
	const wears, fails = "herm-cap-open", "stat-failed"
	plain, _ := odds("", false)
	for _, c := range []struct {
		made string
		off  bool
		want float64
	}{{"2006", false, 2}, {"2024", false, 0.5}, {"2006", true, 1}, {"", true, 1}} {
		got, says := odds(c.made, c.off)
		ratio := got[wears] / got[fails] / (plain[wears] / plain[fails])
		if math.Abs(ratio-c.want) > 0.02*c.want {
			t.Errorf("made in %q, off %v: %v times the odds, want %v", c.made, c.off, ratio, c.want)
		}
		told := strings.Contains(strings.Join(says, " "), "by assumption")
		if told != (c.want != 1) {
			t.Errorf("made in %q, off %v: the page says %q", c.made, c.off, says)
		}
		nothingOpen(t, says...)
	}
	s := newShop(t)
	_, _, u := s.house()
	wants(t, s.RecordPlate(t.Context(), s.by(), u, map[string]string{"made": "long ago"}), Invalid, "2014-05")
	wants(t, s.RecordPlate(t.Context(), s.by(), u, map[string]string{"made": "1914"}), OutOfRange, "1960")
	if err := s.SetLearningAside(t.Context(), s.by(), topicMinutes, true, "x"); err == nil {
		t.Error("minutes were switched off")
	}
}

// TestClosuresLessTheirReason: closures that age explains move the share of their
// cause by less than as many of machines of every age.
func TestClosuresLessTheirReason(t *testing.T) {
	s := newShop(t)
	shop := func(made string) map[string]float64 {
		var list []ledger.Lesson
		for range 10 {
			list = append(list, lesson(func(l *ledger.Lesson) { l.Made = map[string]string{"outdoor-unit": made} }),
				lesson(func(l *ledger.Lesson) { l.Cause = "stat-failed" }))
		}
		return s.sums(list...).sum.closures(true)
	}
	usual, old := shop("2016"), shop("2004")
	if r := old["herm-cap-open"] / old["stat-failed"]; !(r < 0.7) || math.Abs(usual["herm-cap-open"]/usual["stat-failed"]-1) > 0.2 {
		t.Errorf("of old machines %v, of usual ones %v", old, usual)
	}
	near(t, "all of them", total(old), 20)
}

// TestTopicsReset: each topic is set aside by itself, and comes back.
func TestTopicsReset(t *testing.T) {
	s := newShop(t)
	s.teach(3, "herm-cap-open", longAgo, true)
	lines := func(id string) (LearnedTopic, string) {
		for _, x := range must(s.Learned(t.Context(), ""))(t).Topics {
			if x.ID == id {
				var b strings.Builder
				for _, l := range x.Lines {
					b.WriteString(l.Of + " " + l.Begin + " " + l.Now + " " + l.Count + "\n")
				}
				nothingOpen(t, b.String())
				return x, b.String()
			}
		}
		t.Fatalf("no topic %s", id)
		return LearnedTopic{}, ""
	}
	if _, text := lines(topicProofs); !strings.Contains(text, "0 of 3 proofs") {
		t.Errorf("of proofs it says %q", text)
	}
	s.ok(s.SetLearningAside(t.Context(), s.by(), topicProofs, false, "new people"))
	x, text := lines(topicProofs)
	if !strings.Contains(text, "0 of 0 proofs") || x.Aside == nil || x.Aside.Why != "new people" || x.Off {
		t.Errorf("set aside, of proofs it says %q, %+v", text, x.Aside)
	}
	if l := must(s.Learned(t.Context(), ""))(t); l.Sides[0].Closures != 3 || l.Aside != nil {
		t.Errorf("with proofs set aside %v closures count", l.Sides[0].Closures)
	}
	s.ok(s.CountAgain(t.Context(), s.by(), x.Aside.Stamp.Entry))
	if _, text := lines(topicProofs); !strings.Contains(text, "0 of 3 proofs") {
		t.Errorf("brought back, of proofs it says %q", text)
	}
	s.ok(s.SetLearningAside(t.Context(), s.by(), topicAge, true, "no faith"))
	if x, _ := lines(topicAge); !x.Off || len(x.Lines) != len(s.faults().Families) {
		t.Errorf("switched off, of age there is %+v", x)
	}
	wants(t, s.SetLearningAside(t.Context(), s.by(), "weather", false, "x"), Invalid, "Nothing of this name")
}

// FuzzSharedTotals: whatever another device gives out, what is learned of it stays
// a share, a time or a weight.
func FuzzSharedTotals(f *testing.F) {
	for seed := range uint64(60) {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, seed uint64) {
		s := newShop(t)
		r := rand.New(rand.NewPCG(seed, 8))
		ids := func(part string) string {
			return []string{part, "herm-cap-open", "cap-bench", "capacitors", "cool", "mechanic", "7", s.faults().Pairs[r.IntN(len(s.faults().Pairs))].ID, "", "cooling", "a/b"}[r.IntN(11)]
		}
		number := func() float64 { return []float64{0, 1, -3, 40, 1e12, r.NormFloat64() * 100, r.Float64()}[r.IntN(7)] }
		given := map[string]record.Total{path(topicCauses, "fault", "herm-cap-open"): {Count: 30, Sum: 30}}
		for range 60 {
			key := []string{topics[r.IntN(len(topics))]}
			for range r.IntN(5) {
				key = append(key, ids([]string{"fault", "pair", "check", "repair", "fixed", "none", "unlisted"}[r.IntN(7)]))
			}
			given[path(key...)] = record.Total{Count: number(), Sum: number(), Squares: number()}
		}
		l := s.learntFrom(taught{shop: ledger.Shop{Counted: []ledger.Counted{{ClosuresCounted: record.ClosuresCounted{Totals: given}}}}}, dayOf(s.now()))
		x := (&desk{faults: s.faults(), checks: s.checks()}).experienceOf(l.sum, diagnosis.Mechanic, "mechanic")
		share := func(what string, v float64) {
			if !(v >= 0 && v < 1) {
				t.Errorf("%s is %v", what, v)
			}
		}
		share("the share of sound systems", x.Sound)
		share("false proofs", x.FalsePass)
		if !(x.Unlisted >= 0) || math.IsInf(x.Unlisted, 0) {
			t.Errorf("unlisted causes have %v", x.Unlisted)
		}
		for id, v := range x.Pairs {
			share(id, v)
		}
		for id, v := range x.Wrong {
			share(id, v)
		}
		for _, all := range []map[string]float64{x.Minutes, x.RepairMinutes, x.Closures} {
			for id, v := range all {
				if !(v >= 0) || math.IsInf(v, 0) {
					t.Errorf("%s has %v", id, v)
				}
			}
		}
		for i := range s.faults().Faults {
			fault := &s.faults().Faults[i]
			for m := time.January; m <= time.December; m++ {
				if by := l.tell.byAge(fault, 20) * l.tell.bySeason(fault, "cool", m); !(by >= 0.25 && by <= 4) {
					t.Errorf("%s counts %v times", fault.ID, by)
				}
			}
		}
	})
}

// BenchmarkTallied has a budget of 200 ms: the calls of ten years of a shop of ten, added up
// once for each day on which an open visit began, while somebody looks.
func BenchmarkTallied(b *testing.B) {
	s := newShop(b)
	r := rand.New(rand.NewPCG(1, 9))
	var list []ledger.Lesson
	for i := range 10_000 {
		list = append(list, lesson(func(l *ledger.Lesson) {
			l.Closed = longAgo.AddDate(0, 0, -i%3000)
			l.Cause = s.faults().Faults[r.IntN(len(s.faults().Faults))].ID
			l.Made = map[string]string{"outdoor-unit": fmt.Sprint(2000 + r.IntN(20))}
			for range 12 {
				l.Steps = append(l.Steps, ledger.Step{Check: s.checks().Checks[r.IntN(len(s.checks().Checks))].ID, Points: 1, By: "Ada", Role: "mechanic", Seconds: 600 * r.Float64()})
			}
		}))
	}
	for b.Loop() {
		s.sums(list...)
	}
}
