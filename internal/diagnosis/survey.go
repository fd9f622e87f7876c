package diagnosis

import (
	"math"
	"sort"
)

// Survey is what stands and what could be done, without a choice: what other
// ways of working are compared by.
type Survey struct {
	// Repairs lists the classes of repairs by the probability that they are right to
	// begin with, the likeliest first, ties by id.
	Repairs []RepairStanding
	// Unlisted is the probability that something outside the list is wrong.
	Unlisted float64
	// GateOpen says that the charge may be judged.
	GateOpen bool
	// Offers lists the checks that may be done now: in the order of the catalogue,
	// or if they were scored, by falling bits per minute.
	Offers []Suggestion
}

// RepairStanding is a class of repairs with its standing.
type RepairStanding struct {
	IDs     []string // empty for "nothing to repair"
	Right   float64  // probability that it is right to begin with
	Minutes float64  // of the repairs, with their setting up
	Price   float64  // of doing it in vain, beyond the minutes
	Charge  bool     // it changes the charge
}

// Survey returns what stands in a case. score asks for the information of each
// check, about single purchases and nothing else; without it the offers are all there
// is, and Bits is 0.
func (s *System) Survey(c Case, score bool) (Survey, error) {
	c.Charge = s.ChargeFacts(c)
	e := s.Engine
	e.mu.Lock()
	defer e.mu.Unlock()
	in, b, err := e.believe(c)
	if err != nil {
		return Survey{}, err
	}
	sel := in.selectionOf(b)
	sel.gate = JudgeCharge(c.Charge, e.set)
	out := Survey{GateOpen: sel.gate.Open, Repairs: sel.repairStandings()}
	for _, p := range b.sub {
		out.Unlisted += p
	}
	if !c.Stopped() {
		out.Offers = sel.menu(score)
	}
	return out, nil
}

// repairStandings lists the classes that may be done, and closing the visit.
func (s *selection) repairStandings() []RepairStanding {
	p := s.entryP()
	var out []RepairStanding
	for c := range s.e.classes {
		r := RepairStanding{Right: s.right(c, p)}
		for _, i := range s.e.classes[c].repairs {
			rep := &s.e.repairs[i]
			_, setup := s.e.switching(s.setup, rep.Needs)
			r.IDs = append(r.IDs, rep.ID)
			r.Minutes += rep.Minutes + setup
			r.Price += rep.WrongMinutes
			r.Charge = r.Charge || rep.Charge
		}
		if len(s.forbidden(c)) == 0 {
			out = append(out, r)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Right > out[j].Right })
	return out
}

// menu lists the checks that may be done.
func (s *selection) menu(score bool) []Suggestion {
	if score {
		for c := range s.e.checks {
			for d := range s.e.demands {
				if !s.e.mayCheck(c, s.c) {
					continue
				}
				for _, points := range s.purchases(c, d) {
					s.add(c, d, points)
				}
			}
		}
		s.sort()
	}
	var out []Suggestion
	add := func(o *offer) {
		ck := &s.e.checks[o.check]
		steps, minutes := s.e.switching(s.setup, ck.Needs)
		sug := Suggestion{Kind: Measure, Check: ck.ID, Demand: o.demand, Setup: steps, SetupMinutes: minutes,
			CheckMinutes: ck.Minutes, Safety: ck.Safety, Bits: o.gain / math.Ln2, BitsPerMinute: o.rate / math.Ln2}
		for _, p := range o.points {
			sug.Refs = append(sug.Refs, s.e.points[p].Ref)
		}
		out = append(out, sug)
	}
	if score {
		for i := range s.offers {
			add(&s.offers[i])
		}
		return out
	}
	for c := range s.e.checks {
		for d := range s.e.demands {
			if !s.e.mayCheck(c, s.c) {
				continue
			}
			for _, points := range s.purchases(c, d) {
				add(&offer{check: c, points: points, demand: s.e.demands[d].demand})
			}
		}
	}
	return out
}
