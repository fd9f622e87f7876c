package visit

import (
	"slices"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/record"
)

// isValue is short for a number read.
const isValue = diagnosis.IsValue

// outcomeOf returns a recorded reading in SI or as a word of its point; false
// if it cannot be read as such, which leaves it out of account.
func outcomeOf(p *fieldtest.Point, r *ledger.Reading, ambient quantity.Pressure) (diagnosis.Outcome, bool) {
	switch {
	case r.NotReadable:
		return diagnosis.NotReadable(), true
	case p.Words != nil:
		i, known := p.Word(r.Text)
		return diagnosis.Word(i), known
	case r.Text == overload:
		return diagnosis.Value(p.Meter.High), p.Meter.OpenAtTop
	}
	v, ok := inSI(p.Dim, r.AsRead, ambient)
	return diagnosis.Value(v), ok
}

// caseOf makes the engine's case of a visit, as its reasoner on one side knows
// it. Readings that belong to the other side are left out; the entries of those
// that the system cannot have at all are returned.
func (s *Service) caseOf(h Here, of, other *side) (c diagnosis.Case, leftOut []*ledger.Reading) {
	v := h.Visit
	ambient := ambientOf(h)
	var e epochs
	c.Repairs, e = s.repairsOf(v)
	for i, r := range v.Counting() {
		check, _ := s.checks().Check(r.Check)
		if check != nil {
			if p, known := pointOf(check, r.Point); known && !modelled(p) {
				continue // kept with the record, and no matter of the reasoning
			}
		}
		o, ok := s.counts(check, r, ambient, of)
		if !ok {
			if _, elsewhere := s.counts(check, r, ambient, other); !elsewhere {
				leftOut = append(leftOut, r)
			}
			continue
		}
		reading := diagnosis.Reading{ID: string(r.ID()), Ref: refOf(r), Outcome: o, Epoch: e.known[r.Epoch], Seq: i, Unsettled: r.Unsettled,
			Drop: r.Epoch < e.from}
		if p, _ := pointOf(check, r.Point); r.Doubt != "" && o.Kind == isValue {
			// practice: a reading whose taker doubts it counts with twice its spread on top.
			reading.Spread = 2 * p.Meter.Sigma(o.Value)
		}
		c.Readings = append(c.Readings, reading)
	}
	for _, r := range v.Refusals {
		c.Refused = append(c.Refused, s.refusals(r, e.known[r.Epoch])...)
	}
	for _, hazard := range v.Hazards {
		c.Hazards = append(c.Hazards, diagnosis.Hazard(hazard))
	}
	c.Setup = s.setupOf(v)
	c.Person = diagnosis.Person{
		Role: diagnosis.Role(v.Who.Role), Supervised: v.Supervisor != "",
		Refrigerant: v.Who.Refrigerant, Gas: v.Who.Gas, Electrician: v.Who.Electrician,
	}
	return c, leftOut
}

func refOf(r *ledger.Reading) diagnosis.Ref {
	return diagnosis.Ref{Check: r.Check, Point: r.Point, Demand: diagnosis.Demand(r.Demand)}
}

// counts returns what a reading says, if the side knows its point at its demand.
func (s *Service) counts(check *fieldtest.Check, r *ledger.Reading, ambient quantity.Pressure, of *side) (diagnosis.Outcome, bool) {
	if check == nil {
		return diagnosis.Outcome{}, false
	}
	p, known := pointOf(check, r.Point)
	if !known {
		return diagnosis.Outcome{}, false
	}
	if d, err := plant.ParseDemand(r.Demand); err != nil || !of.knows(p, check.ID, d) {
		return diagnosis.Outcome{}, false
	}
	return outcomeOf(p, r, ambient)
}

// epochs says how the epochs of a visit count for the engine, which knows only
// the repairs of the catalogue.
type epochs struct {
	known []int // by epoch of the visit: repairs of the catalogue before it
	from  int   // first epoch after the last repair that the catalogue lacks
}

// repairsOf returns the repairs of the catalogue that were done. What was read
// before a repair that the catalogue lacks no longer describes the system: it
// may have changed anything.
func (s *Service) repairsOf(v *ledger.Visit) ([]string, epochs) {
	e := epochs{known: []int{0}}
	var ids []string
	for i, r := range v.Repairs {
		if _, known := s.faults().Repair(r.Repair); known {
			ids = append(ids, r.Repair)
		} else {
			e.from = i + 1
		}
		e.known = append(e.known, len(ids))
	}
	return ids, e
}

// refusals returns every point that a refusal covers, in an epoch.
func (s *Service) refusals(r ledger.Refusal, epoch int) []diagnosis.Refusal {
	check, known := s.checks().Check(r.Check)
	if !known {
		return nil
	}
	var list []diagnosis.Refusal
	for i := range check.Points {
		p := &check.Points[i]
		for _, d := range []plant.Demand{plant.Off, plant.Cool, plant.Heat, plant.Fan} {
			if p.AtAll(d) && refusedAt(r, p.ID, d.String()) {
				ref := diagnosis.Ref{Check: check.ID, Point: p.ID, Demand: diagnosis.Demand(d.String())}
				list = append(list, diagnosis.Refusal{Ref: ref, Epoch: epoch})
			}
		}
	}
	return list
}

// setupOf says which set-up states hold now: those that the checks and repairs
// done so far needed, as long as none after them needed the contrary.
func (s *Service) setupOf(v *ledger.Visit) []string {
	type step struct {
		seq            record.EntryID
		needs, without []string
	}
	var steps []step
	for _, r := range v.Counting() {
		if c, known := s.checks().Check(r.Check); known {
			steps = append(steps, step{r.ID(), c.Needs, c.Without})
		}
	}
	for _, r := range v.Repairs {
		if k, known := s.faults().Repair(r.Repair); known {
			steps = append(steps, step{r.Stamp.Entry, k.Needs, nil})
		}
	}
	slices.SortFunc(steps, func(a, b step) int { return compare(a.seq, b.seq) })
	var holds []string
	drop := func(states []string) {
		holds = slices.DeleteFunc(holds, func(h string) bool { return slices.Contains(states, h) })
	}
	for _, st := range steps {
		drop(st.without)
		for _, need := range st.needs {
			if setup, known := s.checks().Setup(need); known {
				drop(setup.Excludes)
			}
			if !slices.Contains(holds, need) {
				holds = append(holds, need)
			}
		}
	}
	slices.Sort(holds)
	return holds
}

// compare orders entries by the time of their ids.
func compare(a, b record.EntryID) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
