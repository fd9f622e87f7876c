package visit

import (
	"context"
	"encoding/json"
	"fmt"
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
	closures []ledger.Closure // by time of closing
	asides   []ledger.SetAside
	counted  []ledger.Counted // of the whole shop, as the office gave it
}

// since returns the moment before which closings do not count.
func (t taught) since() time.Time {
	if len(t.asides) == 0 {
		return time.Time{}
	}
	return t.asides[len(t.asides)-1].Stamp.At
}

// counts adds up the closures by fault, as they stood on a day: those of which
// ledger.Callback was over, for until then a customer may call again. A pair
// counts for the fault that brought the other about.
func (t taught) counts(c *fault.Catalogue, day time.Time) map[string]float64 {
	since, sum := t.since(), map[string]float64{}
	for _, x := range t.closures {
		if x.Closed.Before(since) || x.Closed.Add(ledger.Callback).After(day) {
			continue
		}
		if p, pair := c.Pair(x.Cause); pair {
			x.Cause = p.First
		}
		if _, known := c.Fault(x.Cause); known {
			sum[x.Cause] += x.Weight
		}
	}
	return t.orShared(sum, day)
}

// orShared returns the counts of the whole shop, as last given before the end of
// a day, where they are more than own ones: a phone holds few of the calls.
func (t taught) orShared(own map[string]float64, day time.Time) map[string]float64 {
	for i := len(t.counted) - 1; i >= 0; i-- {
		if x := t.counted[i]; x.Stamp.At.Before(day) {
			if total(x.Counts) > total(own) {
				return x.Counts
			}
			break
		}
	}
	return own
}

func total(counts map[string]float64) float64 {
	sum := 0.0
	for _, n := range counts {
		sum += n // halves: the order is of no account
	}
	return sum
}

// lessons keeps what was read last, so that a page costs no reading of the
// closings of the whole shop.
type lessons struct {
	mu   sync.Mutex
	read time.Time
	kept taught
}

// keepLessons is for how long. practice: what counts is a month old at least, so
// a minute is nothing.
const keepLessons = time.Minute

func (s *Service) taught(ctx context.Context) (taught, error) {
	s.lessons.mu.Lock()
	defer s.lessons.mu.Unlock()
	now := s.now()
	if age := now.Sub(s.lessons.read); !s.lessons.read.IsZero() && 0 <= age && age < keepLessons {
		return s.lessons.kept, nil
	}
	t, err := s.learn(ctx)
	if err == nil {
		s.lessons.read, s.lessons.kept = now, t
	}
	return t, err
}

// learn reads what the shop proved.
func (s *Service) learn(ctx context.Context) (taught, error) {
	closures, err := lines[ledger.Closure](ctx, s, ledger.ListClosures)
	if err != nil {
		return taught{}, fmt.Errorf("learned: %w", err)
	}
	envelopes, err := s.log.Stream(ctx, record.ShopStream)
	if err != nil {
		return taught{}, fmt.Errorf("learned: %w", err)
	}
	shop := ledger.FoldShop(envelopes)
	return taught{closures, shop.SetAsides, shop.Counted}, nil
}

// experience gives both sides of the desk what the shop had proved on the day
// on which the visit was opened, so that the odds do not move under the mechanic's hands,
// and what happened to this system before.
func (d *desk) experience(t taught) {
	day := d.Visit.Opened.At.UTC().Truncate(24 * time.Hour)
	x := diagnosis.Experience{Closures: t.counts(d.faults, day)}
	d.closures = x.Closures
	d.happened = happened(d.Here, d.faults, d.Language)
	for _, h := range d.happened {
		if x.Factors == nil {
			x.Factors = map[string]float64{}
		}
		x.Factors[h.fault] = max(x.Factors[h.fault], h.factor)
	}
	if len(x.Closures) == 0 && len(x.Factors) == 0 {
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
		}
	}
	return list
}

// closuresText prints a number of closures: halves at most.
func closuresText(n float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(n, 'f', 1, 64), ".0")
}

// Learned says what the closed calls of the shop do to the weights of the causes
// of one kind of system, as of now.
type Learned struct {
	Kind  Choice
	Sides []LearnedSide
	// Waiting is how many closures do not count yet because the customer may still call again.
	Waiting int
	// Shared is when the counts of the whole shop were last given to the phones; zero if never.
	Shared time.Time
	// Aside is the entry that set learning aside, nil if all closures count.
	Aside *ledger.SetAside
}

// LearnedSide is what is reasoned over at once: the plant, or the wiring.
type LearnedSide struct {
	Name     string
	Stands   int     // closures for which the catalogue stands: its number of causes
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
	l := Learned{Kind: kinds[i]}
	if n := len(t.asides); n > 0 {
		l.Aside = &t.asides[n-1]
	}
	if n := len(t.counted); n > 0 {
		l.Shared = t.counted[n-1].Stamp.At
	}
	today := s.now().UTC().Truncate(24 * time.Hour)
	for _, c := range t.closures {
		if !c.Closed.Before(t.since()) && c.Closed.Add(ledger.Callback).After(today) {
			l.Waiting++
		}
	}
	x := diagnosis.Experience{Closures: t.counts(s.faults(), today)}
	k := s.sides(&ledger.System{SystemAdded: record.SystemAdded{Kind: kind}}, "")
	if k.cooled {
		full := agree(plant.Nameplate{}).full
		l.Sides = append(l.Sides, learnedSide("Cooling and air", s.faults().Fits(full.Has), x))
	}
	if k.wired != nil {
		l.Sides = append(l.Sides, learnedSide("Wiring and heat", diagnosis.FaultsOf(s.faults(), k.wired.System), x))
	}
	return l, nil
}

// learnedSide lists the faults, those with the most closures first, then by weight.
func learnedSide(name string, fits []*fault.Fault, x diagnosis.Experience) LearnedSide {
	side := LearnedSide{Name: name, Stands: len(fits)}
	total := 0.0
	for _, f := range fits {
		total += f.Weight
		side.Closures += x.Closures[f.ID]
	}
	now := x.Learned(fits)
	for _, f := range fits {
		side.Lines = append(side.Lines, LearnedLine{Cause: f.ID, Name: f.Name.EN, Base: f.Weight / total, Origin: f.Origin.String(),
			Closures: x.Closures[f.ID], Now: now[f.ID] / total})
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

// SetLearningAside records that calls closed before now no longer count.
func (s *Service) SetLearningAside(ctx context.Context, by By, why string) error {
	var wrong fieldErrors
	why = wrong.needed("why", why, "Say why, for who looks later.")
	if err := wrong.err(); err != nil {
		return err
	}
	return s.writeShop(ctx, by, record.LearningSetAside{Why: why})
}

// ShareCounts gives the counts of the calls that this device holds to all others.
func (s *Service) ShareCounts(ctx context.Context, by By) error {
	t, err := s.learn(ctx)
	if err != nil {
		return err
	}
	t.counted = nil // own ones alone
	return s.writeShop(ctx, by, record.ClosuresCounted{Counts: t.counts(s.faults(), s.now().UTC())})
}

// CountAgain takes the entry back that set learning aside.
func (s *Service) CountAgain(ctx context.Context, by By, entry record.EntryID) error {
	t, err := s.learn(ctx)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(t.asides, func(x ledger.SetAside) bool { return x.Stamp.Entry == entry }) {
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
