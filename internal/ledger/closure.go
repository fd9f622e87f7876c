package ledger

import (
	"slices"
	"time"

	"rung/internal/journal"
	"rung/internal/record"
)

// Closure is what a visit that was closed as fixed teaches: the cause for which
// the last repair was done, and how far it was proved.
type Closure struct {
	Visit  record.VisitID `json:"visit"`
	Cause  string         `json:"cause"`  // of the last repair, else the one accepted before it
	Weight float64        `json:"weight"` // 1 proved, 0.5 fixed without the whole proof
	Closed time.Time      `json:"closed"`
}

// Callback is for how long after its closing another repair on the same system
// says that a call was not fixed. practice: the usual month.
const Callback = 30 * 24 * time.Hour

// unproved is the weight of a call that was called fixed without the whole proof.
// practice: half of one that was proved.
const unproved = 0.5

// Closures returns what the closed visits of the property teach. A visit that
// was called back for, whose cause nobody named, or about which entries are in
// dispute teaches nothing and is left out; advice that was shown never counts.
func (p *Property) Closures() []Closure {
	var list []Closure
	for _, v := range p.Visits {
		cause := v.cause()
		if v.Closed == nil || v.Closed.Outcome != "fixed" || cause == "" || len(v.Disputes) > 0 || p.calledBack(v) {
			continue
		}
		c := Closure{Visit: v.Visit, Cause: cause, Weight: unproved, Closed: v.Closed.Stamp.At.UTC()}
		if v.proved() {
			c.Weight = 1
		}
		list = append(list, c)
	}
	return list
}

// cause returns the cause that the last repair was done for; if that does not
// say, the one that was last accepted before it. Empty without a repair.
func (v *Visit) cause() string {
	if len(v.Repairs) == 0 {
		return ""
	}
	if last := v.Repairs[len(v.Repairs)-1]; last.Cause != "" {
		return last.Cause
	}
	for i := len(v.Accepted) - 1; i >= 0; i-- {
		if v.Accepted[i].Epoch == v.Epoch()-1 {
			return v.Accepted[i].Cause
		}
	}
	return ""
}

// proved reports whether the visit was proved in cooling or heating after its
// last repair: everything that was held against a sound system there held, the weather
// allowed the whole of it, and something was read before the repair too. What
// failed in any mode speaks against it.
func (v *Visit) proved() bool {
	limited, before := map[string]bool{}, map[string]bool{}
	for _, r := range v.Proofs {
		if r.Epoch != v.Epoch() {
			continue
		}
		if !r.Holds {
			return false
		}
		limited[r.Mode] = limited[r.Mode] || r.Limited != ""
		before[r.Mode] = before[r.Mode] || r.Before != nil && r.After != nil
	}
	whole := func(mode string) bool { return before[mode] && !limited[mode] }
	return whole("cool") || whole("heat")
}

// calledBack reports whether the system was repaired on another visit that
// began within Callback after v was closed.
func (p *Property) calledBack(v *Visit) bool {
	return slices.ContainsFunc(p.Visits, func(other *Visit) bool {
		after := other.Opened.At.Sub(v.Closed.Stamp.At)
		return other != v && other.System == v.System && len(other.Repairs) > 0 && 0 <= after && after <= Callback
	})
}

// SetAside is an entry that set learning aside.
type SetAside struct {
	record.LearningSetAside
	Stamp Stamp
}

// Counted is what the calls of the whole shop added up to at a time.
type Counted struct {
	record.ClosuresCounted
	Stamp Stamp
}

// Since returns the moment before which what closed calls teach about a topic does not
// count: when it, or all, was last set aside. Off says that it was switched off.
func (s Shop) Since(topic string) (since time.Time, off bool) {
	for _, x := range s.SetAsides {
		if x.What == "" || x.What == topic {
			since = x.Stamp.At
			off = x.What == topic && x.Off
		}
	}
	return since, off
}

// Shop is what concerns the whole shop.
type Shop struct {
	SetAsides []SetAside // those not taken back, oldest first
	Counted   []Counted  // since all was last set aside, oldest first
}

// FoldShop makes the view of record.ShopStream from its entries, given in any
// order and with repetitions.
func FoldShop(envelopes []journal.Envelope) Shop {
	p := Fold("", envelopes) // knows what was taken back
	var shop Shop
	sorted := slices.Clone(envelopes)
	slices.SortFunc(sorted, journal.Compare)
	for i, env := range sorted {
		id := record.EntryID(env.ID.String())
		if _, back := p.Withdrawn(id); back || i > 0 && env.ID == sorted[i-1].ID {
			continue
		}
		event, err := record.Decode(env)
		if err != nil {
			continue // stays in the journal, and says nothing here
		}
		stamp := Stamp{Entry: id, At: env.Time.Wall(), Author: env.Author, Device: env.Device}
		switch event := event.(type) {
		case record.LearningSetAside:
			shop.SetAsides = append(shop.SetAsides, SetAside{event, stamp})
			if event.What == "" {
				shop.Counted = nil
			}
		case record.ClosuresCounted:
			shop.Counted = append(shop.Counted, Counted{event, stamp})
		}
	}
	return shop
}
