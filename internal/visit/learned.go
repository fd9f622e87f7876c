package visit

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/journal"
	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/record"
)

// taught is what the closed calls of the shop teach.
type taught struct {
	lessons []ledger.Lesson // by time of closing
	shop    ledger.Shop
}

// orShared returns the totals of the whole shop, as last given before the end of
// a day, where they rest on more calls than own ones: a phone holds few of the calls. Of
// topics that were set aside since nothing is left of them.
func (t taught) orShared(own totals, day time.Time) totals {
	for i := len(t.shop.Counted) - 1; i >= 0; i-- {
		x := &t.shop.Counted[i]
		if !x.Stamp.At.Before(day) {
			continue
		}
		shared := totals{}
		for key, v := range x.Totals {
			if p := parts(key); len(p) > 0 && credible(p, v) {
				if since, _ := t.shop.Since(p[0]); !x.Stamp.At.Before(since) {
					shared[key] = v
				}
			}
		}
		if x.Totals == nil { // of an earlier program
			for id, n := range x.Counts {
				shared.add(n, n, topicCauses, "fault", id)
			}
		}
		if closed(shared) > closed(own) {
			return shared
		}
		break
	}
	return own
}

// closed is on how many proved calls totals rest.
func closed(t totals) float64 { return total(t.closures(false)) }

// closures returns the closures by fault: as they are, or leaning as far as neither
// age nor season explains them.
func (t totals) closures(unexplained bool) map[string]float64 {
	counts, all, left := map[string]float64{}, 0.0, 0.0
	t.under(1, func(p []string, x record.Total) {
		counts[p[0]] = x.Count
		all, left = all+x.Count, left+x.Sum
		if unexplained {
			counts[p[0]] = x.Sum
		}
	}, topicCauses, "fault")
	if unexplained && left > 0 && all != left {
		for id := range counts {
			counts[id] *= all / left
		}
	}
	return counts
}

func total(counts map[string]float64) float64 {
	sum := 0.0
	for _, id := range slices.Sorted(maps.Keys(counts)) {
		sum += counts[id]
	}
	return sum
}

// lessons keeps what was read last, so that a page costs no reading of the
// closings of the whole shop, and what it adds up to on the days that were asked for.
type lessons struct {
	mu   sync.Mutex
	read time.Time
	kept taught
	days map[time.Time]learnt
}

const (
	// keepLessons is for how long. practice: what counts is a day old at least, so a
	// minute is nothing.
	keepLessons = time.Minute
	// mostDays bounds the days kept. practice: open visits are of few days.
	mostDays = 32
)

// learnt is what the shop had learned on a day.
type learnt struct {
	sum  totals
	tell tellers
}

// learntOn returns what the shop had learned on a day.
func (s *Service) learntOn(ctx context.Context, day time.Time) (learnt, error) {
	s.lessons.mu.Lock()
	defer s.lessons.mu.Unlock()
	now := s.now()
	if age := now.Sub(s.lessons.read); s.lessons.read.IsZero() || age < 0 || age >= keepLessons {
		t, err := s.learn(ctx)
		if err != nil {
			return learnt{}, err
		}
		s.lessons.read, s.lessons.kept, s.lessons.days = now, t, nil
	}
	if len(s.lessons.days) >= mostDays || s.lessons.days == nil {
		s.lessons.days = map[time.Time]learnt{}
	}
	l, known := s.lessons.days[day]
	if !known {
		l = s.learntFrom(s.lessons.kept, day)
		s.lessons.days[day] = l
	}
	return l, nil
}

func (s *Service) learntFrom(t taught, day time.Time) learnt {
	sum := t.orShared(s.tallied(t, day), day)
	return learnt{sum, tellersOf(s.faults(), sum, t.shop)}
}

// learn reads what the shop proved.
func (s *Service) learn(ctx context.Context) (taught, error) {
	list, err := lines[ledger.Lesson](ctx, s, ledger.ListLessons)
	if err != nil {
		return taught{}, fmt.Errorf("learned: %w", err)
	}
	envelopes, err := s.log.Stream(ctx, record.ShopStream)
	if err != nil {
		return taught{}, fmt.Errorf("learned: %w", err)
	}
	return taught{list, ledger.FoldShop(envelopes)}, nil
}

// dayOf is the day as of which something counts.
func dayOf(at time.Time) time.Time { return at.UTC().Truncate(24 * time.Hour) }

// experience gives both sides of the desk what the shop had learned on the day
// on which the visit was opened, so that the odds do not move under the mechanic's hands,
// and what happened to this system before.
func (d *desk) experience(l learnt) {
	x := d.experienceOf(l.sum, diagnosis.Role(d.Visit.Who.Role), d.Visit.Who.Name)
	d.closures = l.sum.closures(false)
	d.happened = happened(d.Here, d.faults, d.Language)
	d.leaning = d.leaningOf(l.tell)
	factors := map[string]float64{}
	for _, h := range d.happened {
		factors[h.fault] = max(factors[h.fault], h.factor)
	}
	for _, h := range d.leaning {
		if _, happened := factors[h.fault]; !happened {
			factors[h.fault] = 1
		}
		factors[h.fault] *= h.factor
	}
	if len(factors) > 0 {
		x.Factors = factors
	}
	if reflect.ValueOf(x).IsZero() {
		return
	}
	text, err := json.Marshal(x) // the keys of a map are sorted: the same experience is the same text
	if err != nil {
		panic("visit: " + err.Error()) // the weights are finite
	}
	for _, of := range []*side{d.side, d.other} {
		if of != nil {
			of.situation.Experience = string(text)
		}
	}
}

// happening is what happened to the system and speaks for a fault.
type happening struct {
	fault  string
	factor float64 // on its weight
	why    string
}

// What happened before the visit and still speaks for a fault.
const (
	// practice: what was mended within a year and fails again was mended badly, with
	// a bad part, or without the reason; against that, a new part is not worn. Twice
	// the weight; not counted.
	againFor, againFactor = 365 * 24 * time.Hour, 2.0
	// practice: within a month of a repair what it leaves behind where it is done
	// without care, a wire off, a valve closed, is looked at first. Four times the weight; not counted.
	behindFor, behindFactor = 30 * 24 * time.Hour, 4.0
)

// happened returns what the repairs of earlier visits to the system speak for,
// in the order in which they were done.
func happened(h Here, c *fault.Catalogue, l Language) []happening {
	var list []happening
	for _, v := range h.Property.Visits {
		if v.System != h.Visit.System || v.Visit == h.Visit.Visit {
			continue
		}
		for _, r := range v.Repairs {
			repair, known := c.Repair(r.Repair)
			age := h.Visit.Opened.At.Sub(r.Stamp.At)
			if !known || age < 0 {
				continue
			}
			days := strconv.Itoa(int(age.Hours() / 24))
			if _, fault := c.Fault(r.Cause); fault && age <= againFor {
				list = append(list, happening{r.Cause, againFactor, l.say("happened-again", "repair", l.lower(l.text(repair.Name)), "days", days)})
			}
			for _, id := range repair.Induces {
				if age <= behindFor {
					list = append(list, happening{id, behindFactor, l.say("happened-behind", "repair", l.lower(l.text(repair.Name)), "days", days)})
				}
			}
		}
	}
	return list
}

// leastCounted is from how many closures a cause is worth a word.
// practice: one.
const leastCounted = 1

// beside says what weighs in beside the readings, of the causes that stand.
func (d *desk) beside() []string {
	var list []string
	add := func(text string) {
		if !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	for _, c := range d.advice.Causes {
		if c.Probability < stands || len(list) >= mostRemain {
			break
		}
		for _, id := range c.Faults {
			if n := d.closures[id]; n >= leastCounted {
				add(d.say("learned-counts", "count", closuresText(n), "cause", d.lower(d.causeName(id))))
			}
			for _, h := range d.happened {
				if h.fault == id {
					add(d.say("happened", "cause", d.lower(d.causeName(id)), "why", h.why, "factor", closuresText(h.factor)))
				}
			}
			for _, h := range d.leaning {
				if h.fault == id && math.Abs(math.Log(h.factor)) >= leastLeaning {
					add(h.why)
				}
			}
		}
	}
	return list
}

// closuresText prints a number of closures: halves at most.
func closuresText(n float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(n, 'f', 1, 64), ".0")
}

// Learned says what the closed calls of the shop do to the weights of the causes
// of one kind of system, as of now, and what else they teach.
type Learned struct {
	Kind   Choice
	Sides  []LearnedSide
	Topics []LearnedTopic
	// Waiting is how many closures do not count yet because the customer may still call again.
	Waiting int
	// Shared is when the counts of the whole shop were last given to the phones; zero if never.
	Shared time.Time
	// Asides are the entries that set something aside, oldest first.
	Asides []ledger.SetAside
	// Aside is the last that set all aside, nil if all closures count.
	Aside *ledger.SetAside
}

// LearnedSide is what is reasoned over at once: the plant, or the wiring.
type LearnedSide struct {
	Name     string
	Stands   float64 // closures for which the catalogue stands
	Chosen   bool    // by the shop's own closures, not by the number of causes
	Closures float64 // counted, of these causes
	Lines    []LearnedLine
}

// LearnedLine is one cause. Base and Now are shares of 1 of all listed causes,
// before any complaint.
type LearnedLine struct {
	Cause    string
	Name     string
	Base     float64
	Origin   string // where the base weight comes from
	Closures float64
	Now      float64
}

// Learned returns what the shop's closed calls do to the weights of a kind of
// system; an empty kind is the split air conditioner.
func (s *Service) Learned(ctx context.Context, kind string) (Learned, error) {
	if kind == "" {
		kind = SplitAirConditioner
	}
	kinds := s.SystemKinds()
	i := slices.IndexFunc(kinds, func(c Choice) bool { return c.ID == kind })
	if i < 0 {
		return Learned{}, errorf(NotFound, "There is no such kind of system.")
	}
	t, err := s.learn(ctx)
	if err != nil {
		return Learned{}, err
	}
	l := Learned{Kind: kinds[i], Asides: t.shop.SetAsides}
	for i := range l.Asides {
		if l.Asides[i].What == "" {
			l.Aside = &l.Asides[i]
		}
	}
	if n := len(t.shop.Counted); n > 0 {
		l.Shared = t.shop.Counted[n-1].Stamp.At
	}
	today := dayOf(s.now())
	since, _ := t.shop.Since(topicCauses)
	for _, c := range t.lessons {
		if c.Weight > 0 && !c.Closed.Before(since) && c.Closed.Add(ledger.Callback).After(today) {
			l.Waiting++
		}
	}
	now := s.learntFrom(t, today)
	l.Topics = s.topicsOf(now, t.shop)
	x, plain := diagnosis.Experience{Closures: now.sum.closures(true)}, now.sum.closures(false)
	k := s.sides(&ledger.System{SystemAdded: record.SystemAdded{Kind: kind}}, "")
	if k.cooled {
		full := agree(plant.Nameplate{}).full
		l.Sides = append(l.Sides, learnedSide("Cooling and air", s.faults().Fits(full.Has), x, plain))
	}
	if k.wired != nil {
		l.Sides = append(l.Sides, learnedSide("Wiring and heat", diagnosis.FaultsOf(s.faults(), k.wired.System), x, plain))
	}
	return l, nil
}

// learnedSide lists the faults, those with the most closures first, then by weight.
func learnedSide(name string, fits []*fault.Fault, x diagnosis.Experience, plain map[string]float64) LearnedSide {
	side := LearnedSide{Name: name, Stands: x.Strength(fits)}
	side.Chosen = side.Stands != float64(len(fits))
	total := 0.0
	for _, f := range fits {
		total += f.Weight
		side.Closures += plain[f.ID]
	}
	now := x.Learned(fits)
	for _, f := range fits {
		side.Lines = append(side.Lines, LearnedLine{Cause: f.ID, Name: f.Name.EN, Base: f.Weight / total, Origin: f.Origin.String(),
			Closures: plain[f.ID], Now: now[f.ID] / total})
	}
	slices.SortStableFunc(side.Lines, func(a, b LearnedLine) int {
		switch {
		case a.Closures != b.Closures && a.Closures > b.Closures, a.Closures == b.Closures && a.Now > b.Now:
			return -1
		case a.Closures == b.Closures && a.Now == b.Now:
			return strings.Compare(a.Cause, b.Cause)
		}
		return 1
	})
	return side
}

// SetLearningAside records that what calls closed before now teach about a topic
// no longer counts, of an empty topic all of it; off, that neither does what the program
// brings along, which only age can do without.
func (s *Service) SetLearningAside(ctx context.Context, by By, what string, off bool, why string) error {
	var wrong fieldErrors
	why = wrong.needed("why", why, "Say why, for who looks later.")
	if what != "" && !slices.Contains(topics, what) {
		wrong.add("what", Invalid, "Nothing of this name is learned.")
	}
	if off && what != topicAge {
		wrong.add("off", Invalid, "Only what age does can be switched off.")
	}
	if err := wrong.err(); err != nil {
		return err
	}
	return s.writeShop(ctx, by, record.LearningSetAside{Why: why, What: what, Off: off})
}

// ShareCounts gives what the calls that this device holds add up to, to all others.
func (s *Service) ShareCounts(ctx context.Context, by By) error {
	t, err := s.learn(ctx)
	if err != nil {
		return err
	}
	sum := s.tallied(t, s.now().UTC()) // own ones alone
	return s.writeShop(ctx, by, record.ClosuresCounted{Counts: sum.closures(false), Totals: sum})
}

// CountAgain takes the entry back that set learning aside.
func (s *Service) CountAgain(ctx context.Context, by By, entry record.EntryID) error {
	t, err := s.learn(ctx)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(t.shop.SetAsides, func(x ledger.SetAside) bool { return x.Stamp.Entry == entry }) {
		return errorf(NotFound, "There is no such entry here, or it was taken back.")
	}
	return s.writeShop(ctx, by, record.EntryWithdrawn{Entry: entry})
}

// writeShop appends an event to the stream of the shop. A form sent again
// changes nothing.
func (s *Service) writeShop(ctx context.Context, by By, event record.Event) error {
	form, err := by.form()
	if err != nil {
		return err
	}
	kept, err := s.log.Stream(ctx, record.ShopStream)
	if err != nil {
		return fmt.Errorf("record: %w", err)
	}
	for _, e := range kept {
		s.clock.Observe(e.Time)
	}
	own := []journal.Envelope{record.Encode(journal.Envelope{ID: form, Stream: record.ShopStream, Device: s.device, Time: s.clock.Next(), Author: by.Author}, event)}
	if again, err := sentBefore(kept, form, own); again || err != nil {
		return err
	}
	if err := s.log.Append(ctx, own); err != nil {
		return fmt.Errorf("record: %w", err)
	}
	s.lessons.mu.Lock()
	defer s.lessons.mu.Unlock()
	s.lessons.read = time.Time{}
	return nil
}
