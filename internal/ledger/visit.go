package ledger

import (
	"slices"

	"rung/internal/record"
)

// Visit is one service call.
type Visit struct {
	record.VisitOpened
	Opened       Stamp
	Surroundings map[string]Surrounding // what is known, by name
	Hazards      []string               // present now
	Readings     []*Reading             // all, also those taken back, oldest first
	Refusals     []Refusal
	Advice       []Advice
	Accepted     []Acceptance
	Repairs      []*Repair // those that count, in order: Repairs[i] opened epoch i+1
	Parts        []Part
	Proofs       []Proof
	NotJudged    []NotJudged
	Notes        []Note
	Photos       []*Photo       // taken on it, oldest first
	Shared       []SharedReport // links to its report that work
	Closed       *Closing
	// Disputes are repairs and closings that did not know of each other. All
	// repairs count meanwhile, and the latest closing.
	Disputes []Dispute
	// Settled are those that were settled, oldest first.
	Settled []Settlement
}

// Surrounding is a value of the surroundings.
type Surrounding struct {
	record.AsRead
	Place, Instrument string
	Stamp             Stamp
}

// Reading is a reading as taken.
type Reading struct {
	record.ReadingTaken
	Stamp Stamp
	// Epoch is the number of repairs that had been done before it was read.
	Epoch int
	// TakenBack is nil for a reading that counts.
	TakenBack *Withdrawal
}

// ID returns the id by which the reading is named in a withdrawal.
func (r *Reading) ID() record.EntryID { return r.Stamp.Entry }

// Refusal is a check that could not be done.
type Refusal struct {
	record.CheckRefused
	Stamp Stamp
	Epoch int
}

// Advice is what was advised at a turn of the visit.
type Advice struct {
	record.AdviceShown
	Stamp Stamp
	Epoch int
}

// Acceptance is a cause taken for the right one.
type Acceptance struct {
	record.CauseAccepted
	Stamp Stamp
	Epoch int
}

// Repair is a repair done.
type Repair struct {
	record.RepairDone
	Stamp Stamp
	Parts []Part
}

// Part is a part replaced.
type Part struct {
	record.PartReplaced
	Stamp Stamp
}

// Proof is a check held against before and after a repair.
type Proof struct {
	record.ProofTaken
	Stamp Stamp
	Epoch int
}

// NotJudged says that the charge was not judged.
type NotJudged struct {
	record.ChargeNotJudged
	Stamp Stamp
}

// SharedReport is a link to the report of the visit.
type SharedReport struct {
	record.ReportShared
	Stamp Stamp
}

// Closing is how the visit ended.
type Closing struct {
	record.VisitClosed
	Stamp Stamp
}

// Epoch returns the number of repairs done so far.
func (v *Visit) Epoch() int { return len(v.Repairs) }

// LastRepair returns the entry of the last repair, empty before the first.
func (v *Visit) LastRepair() record.EntryID {
	if len(v.Repairs) == 0 {
		return ""
	}
	return v.Repairs[len(v.Repairs)-1].Stamp.Entry
}

// Counting returns the readings that were not taken back, oldest first.
func (v *Visit) Counting() []*Reading {
	return slices.DeleteFunc(slices.Clone(v.Readings), func(r *Reading) bool { return r.TakenBack != nil })
}

// Reading returns the reading with this id, also one taken back.
func (v *Visit) Reading(id record.EntryID) (*Reading, bool) {
	return find(v.Readings, func(r *Reading) bool { return r.ID() == id })
}

// Latest returns the last counting reading of a point in an epoch.
func (v *Visit) Latest(check, point, demand string, epoch int) (*Reading, bool) {
	for i := len(v.Readings) - 1; i >= 0; i-- {
		r := v.Readings[i]
		if r.Check == check && r.Point == point && r.Demand == demand && r.Epoch == epoch && r.TakenBack == nil {
			return r, true
		}
	}
	return nil, false
}

// PastReading is a reading of an earlier visit.
type PastReading struct {
	Visit *Visit
	*Reading
}

// History returns the counting readings of a point over all visits to a
// system, oldest first.
func (p *Property) History(system record.SystemID, check, point string) []PastReading {
	var list []PastReading
	for _, v := range p.Visits {
		if v.System != system {
			continue
		}
		for _, r := range v.Counting() {
			if r.Check == check && r.Point == point {
				list = append(list, PastReading{Visit: v, Reading: r})
			}
		}
	}
	return list
}
