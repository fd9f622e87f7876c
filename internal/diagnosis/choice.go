package diagnosis

import (
	"errors"
	"fmt"
)

// Weighed is a check that a person chose, weighed in full among all that may be
// done now.
type Weighed struct {
	// Suggestion describes the check as if it were proposed; of a check that is
	// done piece by piece, the piece that tells most per minute. It has its
	// minutes only, unless Worth is Worthwhile or Vague.
	Suggestion Suggestion
	Worth      Worth
	// Rank is its place by information per minute among the checks that are
	// Worthwhile, from 1; Of is their number. Zero if it is not among them.
	Rank, Of int
}

// Worth says whether a check is worth anything now.
type Worth string

// The kinds of worth.
const (
	Worthwhile Worth = "worthwhile"
	// Vague: whatever it shows, what is believed about the repair stays nearly
	// the same, or it would most likely show nothing.
	Vague Worth = "vague"
	// AlreadyRead: all of it was read, or found unreadable, since the last repair.
	AlreadyRead Worth = "already-read"
	// Barred: a hazard, or what this person may do, forbids it.
	Barred Worth = "barred"
)

// ErrNoCheck: the world predicts nothing of a check at a demand.
var ErrNoCheck = errors.New("diagnosis: no such check at this demand")

// Weigh tells what a check at a demand would be worth now. It returns ErrNoCheck,
// wrapped, if the world does not have it, and an error if the case does not belong
// to the world.
func (e *Engine) Weigh(c Case, check string, demand Demand) (Weighed, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	at, known := e.checkAt[check]
	if !known {
		return Weighed{}, fmt.Errorf("%w: %s", ErrNoCheck, check)
	}
	d := e.demandAt(demand)
	if d < 0 {
		return Weighed{}, fmt.Errorf("%w: %s", ErrNoCheck, demand)
	}
	in, b, err := e.believe(c)
	if err != nil {
		return Weighed{}, err
	}
	s := in.selectionOf(b)
	s.gate = JudgeCharge(c.Charge, e.set)
	return s.weigh(at, d), nil
}

// Weigh is Engine.Weigh with the charge gate of the readings.
func (s *System) Weigh(c Case, check string, demand Demand) (Weighed, error) {
	c.Charge = s.ChargeFacts(c)
	return s.Engine.Weigh(c, check, demand)
}

// demandAt returns the index of a demand, −1 if nothing is read at it.
func (e *Engine) demandAt(demand Demand) int {
	for i := range e.demands {
		if e.demands[i].demand == demand {
			return i
		}
	}
	return -1
}

// weigh places one check among all.
func (s *selection) weigh(check, demand int) Weighed {
	ck := &s.e.checks[check]
	steps, minutes := s.e.switching(s.setup, ck.Needs)
	w := Weighed{Suggestion: Suggestion{Kind: Measure, Check: ck.ID, Demand: s.e.demands[demand].demand,
		Setup: steps, SetupMinutes: minutes, CheckMinutes: ck.Minutes, Safety: ck.Safety}}
	purchases := s.purchases(check, demand)
	switch {
	case !s.e.mayCheck(check, s.c):
		w.Worth = Barred
		return w
	case len(purchases) == 0:
		w.Worth = AlreadyRead
		return w
	}
	s.rank()
	var own *offer
	for _, points := range purchases {
		o := s.offerOf(check, demand, points)
		o.lead, o.joint, o.gain = s.readTogether(points)
		o.rate = o.gain / (o.minutes(s.e) + o.setup)
		if own == nil || o.rate > own.rate {
			own = &o
		}
	}
	w.Suggestion = s.suggestion(own)
	if own.gain < s.e.set.LeastGain || s.unreadable(own.lead) > mostUnreadable {
		w.Worth = Vague
		return w
	}
	w.Worth, w.Rank, w.Of = Worthwhile, 1, 1
	ranked := map[int]bool{check: true}
	for i := range s.offers { // the best first; every check once
		o := &s.offers[i]
		if ranked[o.check] {
			continue
		}
		ranked[o.check] = true
		w.Of++
		if o.rate > own.rate {
			w.Rank++
		}
	}
	return w
}
