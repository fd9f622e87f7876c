package visit

import (
	"maps"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/record"
)

// The topics of what is learned; ids in the journal.
const (
	topicCauses   = "causes"   // how often each cause is proved, and what share has none
	topicAge      = "age"      // how families of parts age
	topicSeason   = "season"   // what the months bring
	topicMinutes  = "minutes"  // what checks and repairs take
	topicReadings = "readings" // how often a reading is wrong
	topicProofs   = "proofs"   // how often a proof holds and the fault stays
)

var topics = []string{topicCauses, topicAge, topicSeason, topicMinutes, topicReadings, topicProofs}

// totals are what closed calls add up to, by a path that begins with the topic:
//
//	causes/fault/herm-cap-open        weights; Sum: the same, each over what age and season did to it
//	causes/pair/ID                    weights of calls with its first fault; Sum: of them with both
//	causes/unlisted  causes/none  causes/fixed
//	age/capacitors/14                 weights, by family and age in years
//	season/cool/cooling/7             weights, by mode of the complaint, group and month
//	minutes/check/mechanic/cap-bench/Ada   logarithms of the time over the listed one
//	minutes/repair/mechanic/replace-run-capacitor/Ada
//	readings/cap-bench                readings that were put to the test; Sum: of them wrong
//	proofs                            proofs that held; Sum: of them called back for
type totals map[string]record.Total

// path joins the parts of a key.
func path(parts ...string) string {
	for i := range parts {
		parts[i] = url.PathEscape(parts[i])
	}
	return strings.Join(parts, "/")
}

// parts takes a key apart; nil if it is none of this program's.
func parts(key string) []string {
	list := strings.Split(key, "/")
	for i := range list {
		p, err := url.PathUnescape(list[i])
		if err != nil {
			return nil
		}
		list[i] = p
	}
	return list
}

func (t totals) add(count, sum float64, key ...string) {
	k := path(key...)
	x := t[k]
	t[k] = record.Total{Count: x.Count + count, Sum: x.Sum + sum, Squares: x.Squares}
}

func (t totals) at(key ...string) record.Total { return t[path(key...)] }

// under calls f with every total below a path, by the n parts that follow it, in the
// order of the paths: so that sums of them are the same to the last digit.
func (t totals) under(n int, f func(rest []string, x record.Total), key ...string) {
	for _, k := range slices.Sorted(maps.Keys(t)) {
		if p := parts(k); len(p) == len(key)+n && same(p[:len(key)], key) {
			f(p[len(key):], t[k])
		}
	}
}

func same(a, b []string) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// credible reports whether a total that another device gave can be one: a count and
// a part of it, or a sum of logarithms that are bounded.
func credible(key []string, x record.Total) bool {
	const most = 1e9 // calls
	if !(x.Count >= 0 && x.Count <= most) || !(x.Squares >= 0) {
		return false
	}
	if key[0] == topicMinutes {
		bound := x.Count * math.Log(mostRatio) * (1 + 1e-9)
		return math.Abs(x.Sum) <= bound && x.Squares <= bound*math.Log(mostRatio)
	}
	factor := 1.0
	if key[0] == topicCauses && len(key) > 1 && key[1] == "fault" {
		factor = diagnosis.FarthestFactor * diagnosis.FarthestFactor // a weight over what age and season did
	}
	return x.Sum >= 0 && x.Sum <= factor*x.Count
}

func sumOf(x record.Total) diagnosis.Sum { return diagnosis.Sum(x) }

// tally adds up lessons.
type tally struct {
	faults *fault.Catalogue
	checks *fieldtest.Catalogue
	sum    totals
}

// tallied returns what the lessons add up to as they stood on a day: of what a
// callback may still overthrow, those of which ledger.Callback was over.
func (s *Service) tallied(t taught, day time.Time) totals {
	a := tally{s.faults(), s.checks(), totals{}}
	since := map[string]time.Time{}
	for _, topic := range topics {
		since[topic], _ = t.shop.Since(topic)
	}
	counts := func(topic string, l *ledger.Lesson) bool { return !l.Closed.Before(since[topic]) }
	for i := range t.lessons {
		l := &t.lessons[i]
		if !l.Closed.Before(day) {
			continue
		}
		if counts(topicMinutes, l) {
			a.minutes(l)
		}
		if counts(topicReadings, l) {
			a.readings(l)
		}
		if l.Closed.Add(ledger.Callback).After(day) {
			continue
		}
		if counts(topicProofs, l) && l.Proved {
			called := 0.0
			if l.CalledBack {
				called = 1
			}
			a.sum.add(1, called, topicProofs)
		}
		if counts(topicAge, l) {
			a.age(l)
		}
		if counts(topicSeason, l) {
			a.season(l)
		}
	}
	// A second time, for now it is known what age and season did to each.
	tell := tellersOf(s.faults(), a.sum, t.shop)
	for i := range t.lessons {
		if l := &t.lessons[i]; counts(topicCauses, l) && !l.Closed.Add(ledger.Callback).After(day) {
			a.cause(l, tell)
		}
	}
	return a.sum
}

// faultOf returns the fault of the cause of a lesson: of a pair the one that brought
// the other about.
func (a *tally) faultOf(l *ledger.Lesson) (*fault.Fault, bool) {
	id := l.Cause
	if p, pair := a.faults.Pair(id); pair {
		id = p.First
	}
	f, known := a.faults.Fault(id)
	return f, known && l.Weight > 0
}

// halfTold is what a call counts whose fix nobody proved, as in the ledger.
const halfTold = 0.5

func (a *tally) cause(l *ledger.Lesson, tell tellers) {
	if f, known := a.faultOf(l); known {
		a.sum.add(l.Weight, l.Weight/tell.factor(l, f), topicCauses, "fault", f.ID)
		a.sum.add(l.Weight, 0, topicCauses, "fixed")
		a.pairs(l)
	}
	switch {
	case l.CalledBack:
	case l.Unnamed:
		w := halfTold
		if l.Proved {
			w = 1
		}
		a.sum.add(w, 0, topicCauses, "fixed")
		a.sum.add(w, 0, topicCauses, "unlisted")
	case l.Outcome == "no-fault-found":
		a.sum.add(1, 0, topicCauses, "none")
	}
}

// pairs counts each pair whose first fault was mended, and whether the second was
// on the same visit.
func (a *tally) pairs(l *ledger.Lesson) {
	had := func(id string) bool { return l.Cause == id || slices.Contains(l.Causes, id) }
	for i := range a.faults.Pairs {
		switch p := &a.faults.Pairs[i]; {
		case had(p.ID) || had(p.First) && had(p.Second):
			a.sum.add(l.Weight, l.Weight, topicCauses, "pair", p.ID)
		case had(p.First):
			a.sum.add(l.Weight, 0, topicCauses, "pair", p.ID)
		}
	}
}

func (a *tally) age(l *ledger.Lesson) {
	f, known := a.faultOf(l)
	if !known {
		return
	}
	family, ages := a.faults.Family(f.ID)
	if !ages {
		return
	}
	if years, known := ageOf(f, family, l.Made, l.Renewed, l.Closed); known {
		a.sum.add(l.Weight, 0, topicAge, family.ID, strconv.Itoa(int(math.Round(years))))
	}
}

func (a *tally) season(l *ledger.Lesson) {
	if f, known := a.faultOf(l); known {
		a.sum.add(l.Weight, 0, topicSeason, modeOf(a.faults, l.Complaint), f.Group, strconv.Itoa(int(l.Closed.Month())))
	}
}

// modeOf is the mode of a complaint: what a month brings is told among the calls
// of one mode, for that there are more calls for heat in winter is told by the complaint.
func modeOf(c *fault.Catalogue, complaint string) string {
	if k, known := c.Complaint(complaint); known && k.Mode != "" {
		return k.Mode
	}
	return "any"
}

// readings counts those that were put to the test: read again, or on a visit whose
// cause was proved. Of one read otherwise the second time, one of the two was wrong.
func (a *tally) readings(l *ledger.Lesson) {
	repeats := map[string]float64{}
	for _, r := range l.Read {
		c, known := a.checks.Check(r.Check)
		if !known {
			continue
		}
		p, known := pointOf(c, r.Point)
		if !known || p.Settle > 0 {
			continue // it moves by itself
		}
		wrong := 0.0
		if differ(p, r.First, r.Second) {
			wrong = 1
		}
		repeats[c.ID]++
		a.sum.add(1, wrong, topicReadings, c.ID)
	}
	if !l.Proved || l.CalledBack {
		return
	}
	points := map[string]float64{}
	for _, st := range l.Steps {
		points[st.Check] += float64(st.Points)
	}
	for check, n := range points {
		if _, known := a.checks.Check(check); known && n > repeats[check] {
			a.sum.add(n-repeats[check], 0, topicReadings, check)
		}
	}
}

// differ reports whether two readings of a point are further apart than its meter
// scatters: published: JCGM 100:2008, G.6.6, coverage factor 2.
func differ(p *fieldtest.Point, a, b record.AsRead) bool {
	if p.Words != nil || a.Text == "" || b.Text == "" || a.Text == overload || b.Text == overload {
		return a.Text != b.Text
	}
	x, ok := inSI(p.Dim, a, standardAir)
	y, too := inSI(p.Dim, b, standardAir)
	return ok && too && math.Abs(x-y) > 2*math.Sqrt2*p.Meter.Instrument(y)
}

// Bounds of honest stamps.
const (
	// practice: what is entered within a quarter of a minute of another entry was done
	// before it, and typed in a row.
	typedSeconds = 15.0
	// practice: an hour without an entry is lunch, the supply house, or a talk; for a
	// repair a half day.
	idleCheck, idleRepair = 3600.0, 4 * 3600.0
	// practice: a tenth of the listed time is no doing of it, and beyond four times or under a
	// quarter of it something else went on as well: that counts as four times or a quarter.
	leastRatio, mostRatio = 0.1, 4.0
)

// minutes adds what checks and repairs took, against what is listed for them and for
// the setting up that they needed then.
func (a *tally) minutes(l *ledger.Lesson) {
	var up setUp
	spoilt := typedInARow(l.Steps)
	for i, st := range l.Steps {
		kind, id, listed, idle := "check", st.Check, 0.0, idleCheck
		if c, known := a.checks.Check(st.Check); known {
			listed = up.take(a.checks, c.Needs, c.Without) + c.Minutes
			if c.PerPoint {
				listed += c.Minutes * float64(max(st.Points, 1)-1)
			}
		} else if r, known := a.faults.Repair(st.Repair); known {
			kind, id, idle = "repair", r.ID, idleRepair
			listed = up.take(a.checks, r.Needs, nil) + r.Minutes
		}
		ratio := st.Seconds / 60 / listed
		if listed == 0 || spoilt[i] || st.Seconds > idle || ratio < leastRatio || st.Role == "" {
			continue
		}
		log := math.Log(min(max(ratio, 1/mostRatio), mostRatio))
		key := path(topicMinutes, kind, st.Role, id, st.By)
		a.sum[key] = record.Total(sumOf(a.sum[key]).Add(log))
	}
}

// typedInARow says which steps tell no time: those entered right after another,
// and that one.
func typedInARow(steps []ledger.Step) []bool {
	spoilt := make([]bool, len(steps))
	for i, st := range steps {
		if st.Seconds < typedSeconds {
			spoilt[i] = true
			if i > 0 && st.Seconds > 0 {
				spoilt[i-1] = true
			}
		}
	}
	return spoilt
}

// setUp is what is switched and put on, as the steps of a visit go on.
type setUp struct{ holds []string }

// take puts a setup right for what is to be done, and returns the listed minutes of that.
func (u *setUp) take(c *fieldtest.Catalogue, needs, without []string) (minutes float64) {
	undo := func(states []string) {
		for _, id := range states {
			for i, h := range u.holds {
				if h == id {
					st, _ := c.Setup(id)
					minutes += st.Undo
					u.holds = append(u.holds[:i:i], u.holds[i+1:]...)
					break
				}
			}
		}
	}
	undo(without)
	for _, need := range needs {
		st, known := c.Setup(need)
		if !known {
			continue
		}
		undo(st.Excludes)
		held := false
		for _, h := range u.holds {
			held = held || h == need
		}
		if !held {
			minutes += st.Minutes
			u.holds = append(u.holds, need)
		}
	}
	return minutes
}

// ageOf returns how many years old the part of a fault is at a time: since it was last
// replaced by the repair of the fault, else since its unit was made; since any unit was made where its own plate is silent.
func ageOf(x *fault.Fault, f *fault.Family, made map[string]string, renewed *time.Time, at time.Time) (years float64, known bool) {
	if renewed != nil && strings.HasPrefix(x.Repair, "replace-") {
		return at.Sub(*renewed).Hours() / yearHours, true
	}
	for _, own := range []bool{true, false} {
		for _, kind := range []string{"outdoor-unit", "air-handler", "furnace", "boiler"} {
			where := "indoor"
			if kind == "outdoor-unit" {
				where = "outdoor"
			}
			day, told := madeOn(made[kind])
			if told && (!own || f.Unit == where || f.Unit == "either") {
				return max(0, at.Sub(day).Hours()/yearHours), true
			}
		}
	}
	return 0, false
}

// madeOn reads "2014" or "2014-05": the middle of the year or of the month.
func madeOn(text string) (time.Time, bool) {
	if day, err := time.Parse("2006", text); err == nil {
		return day.AddDate(0, 6, 0), true
	}
	day, err := time.Parse("2006-01", text)
	return day.AddDate(0, 0, 14), err == nil
}

// tellers tell what age and season do to the weight of a cause.
type tellers struct {
	faults  *fault.Catalogue
	shapes  map[string]diagnosis.Shape
	seasons map[string]diagnosis.Season // by mode
	ageOff  bool
}

func tellersOf(faults *fault.Catalogue, sum totals, shop ledger.Shop) tellers {
	t := tellers{faults: faults, seasons: map[string]diagnosis.Season{}}
	_, t.ageOff = shop.Since(topicAge)
	ages := map[string]map[int]float64{}
	sum.under(2, func(p []string, x record.Total) {
		if years, err := strconv.Atoi(p[1]); err == nil {
			put(ages, p[0], years, x.Count)
		}
	}, topicAge)
	t.shapes = diagnosis.Shapes(faults.Families, ages)
	months := map[string]map[string]map[time.Month]float64{}
	sum.under(3, func(p []string, x record.Total) {
		if m, err := strconv.Atoi(p[2]); err == nil {
			if months[p[0]] == nil {
				months[p[0]] = map[string]map[time.Month]float64{}
			}
			put(months[p[0]], p[1], time.Month(m), x.Count)
		}
	}, topicSeason)
	for mode, groups := range months {
		t.seasons[mode] = diagnosis.Seasons(groups)
	}
	return t
}

func put[K comparable](all map[string]map[K]float64, name string, at K, n float64) {
	if all[name] == nil {
		all[name] = map[K]float64{}
	}
	all[name][at] += n
}

// byAge is what age does to a fault; 1 if it does nothing.
func (t tellers) byAge(f *fault.Fault, years float64) float64 {
	family, ages := t.faults.Family(f.ID)
	if !ages || t.ageOff {
		return 1
	}
	return diagnosis.HazardRatio(years, t.shapes[family.ID].Now)
}

// bySeason is what a month does to a fault among the calls of a mode.
func (t tellers) bySeason(f *fault.Fault, mode string, m time.Month) float64 {
	return t.seasons[mode].Factor(f.Group, m)
}

// factor is what both did to the cause of a lesson. What they explain, its cause need not.
func (t tellers) factor(l *ledger.Lesson, f *fault.Fault) float64 {
	by := t.bySeason(f, modeOf(t.faults, l.Complaint), l.Closed.Month())
	if family, ages := t.faults.Family(f.ID); ages {
		if years, known := ageOf(f, family, l.Made, l.Renewed, l.Closed); known {
			by *= t.byAge(f, years)
		}
	}
	return by
}
