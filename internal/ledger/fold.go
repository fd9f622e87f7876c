package ledger

import (
	"fmt"
	"slices"
	"strings"

	"rung/internal/journal"
	"rung/internal/record"
)

// Fold makes the view of a property from the entries of its stream, given in
// any order and with repetitions.
func Fold(id record.PropertyID, envelopes []journal.Envelope) *Property {
	f := folder{p: &Property{
		PropertyAdded: record.PropertyAdded{Property: id},
		withdrawn:     map[record.EntryID]Withdrawal{},
		entries:       make(map[record.EntryID]string, len(envelopes)),
	}, said: map[subject][]statement{}, settled: map[subject][]settlement{}}
	entries := f.decode(envelopes)
	f.withdraw(entries)
	// What is referred to comes first, whatever the clocks said.
	for pass := range passes {
		for _, e := range entries {
			if passOf(e.event) == pass {
				f.place(e)
			}
		}
	}
	f.resolve()
	f.number()
	return f.p
}

// entry is a decoded envelope.
type entry struct {
	Stamp
	kind  string
	event record.Event
}

// folder makes a property from its entries.
type folder struct {
	p *Property
	// repairs holds all repairs, also those taken back, in order.
	repairs []entry
	// said and settled hold what entries say about one thing.
	said    map[subject][]statement
	settled map[subject][]settlement
	order   int // of what is said
}

// decode orders the envelopes, drops repetitions, and sets aside what cannot
// be read.
func (f *folder) decode(envelopes []journal.Envelope) []entry {
	sorted := slices.Clone(envelopes)
	slices.SortFunc(sorted, journal.Compare)
	entries := make([]entry, 0, len(sorted))
	for i, env := range sorted {
		if i > 0 && env.ID == sorted[i-1].ID {
			continue
		}
		f.p.Last = env.Time
		e := entry{kind: env.Kind, Stamp: Stamp{
			Entry: record.EntryID(env.ID.String()), At: env.Time.Wall(), Author: env.Author, Device: env.Device,
		}}
		f.p.entries[e.Entry] = env.Kind
		event, err := record.Decode(env)
		switch event := event.(type) {
		case nil:
			f.loose(e, err.Error())
		case record.Unknown:
			f.loose(e, fmt.Sprintf("kind %s/%d is of a later program", event.Kind, event.Version))
		default:
			e.event = event
			entries = append(entries, e)
		}
	}
	return entries
}

func (f *folder) loose(e entry, why string) {
	f.p.Loose = append(f.p.Loose, Loose{Stamp: e.Stamp, Kind: e.kind, Why: why})
}

// withdraw finds out which entries were taken back. A withdrawal counts unless
// a counting one takes it back; one that comes round to itself does not count.
func (f *folder) withdraw(entries []entry) {
	against := map[record.EntryID][]Withdrawal{}
	for _, e := range entries {
		if w, ok := e.event.(record.EntryWithdrawn); ok {
			against[w.Entry] = append(against[w.Entry], Withdrawal{EntryWithdrawn: w, Stamp: e.Stamp})
		}
	}
	visiting := map[record.EntryID]bool{}
	var counting func(id record.EntryID) (Withdrawal, bool)
	counting = func(id record.EntryID) (Withdrawal, bool) {
		if visiting[id] {
			return Withdrawal{}, true
		}
		visiting[id] = true
		defer delete(visiting, id)
		for _, w := range against[id] {
			if _, back := counting(w.Stamp.Entry); !back {
				return w, true
			}
		}
		return Withdrawal{}, false
	}
	for id := range against {
		if w, ok := counting(id); ok {
			f.p.withdrawn[id] = w
		}
		if _, known := f.p.entries[id]; !known {
			for _, w := range against[id] {
				f.loose(entry{Stamp: w.Stamp, kind: "entry-withdrawn"}, "takes back an entry that is not here: "+string(id))
			}
		}
	}
}

// passes is the number of rounds of placing.
const passes = 4

// passOf says in which round an event is placed: each only refers to what was
// placed in an earlier one.
func passOf(event record.Event) int {
	switch event.(type) {
	case record.PropertyAdded, record.SystemAdded:
		return 0
	case record.UnitAdded, record.VisitOpened, record.TaskAdded, record.RecommendationMade:
		return 1
	case record.RepairDone, record.PhotoTaken:
		return 2
	}
	return 3
}

// place puts an entry that counts where it belongs.
func (f *folder) place(e entry) {
	if r, ok := e.event.(record.ReadingTaken); ok {
		f.placeReading(e, r) // kept in sight even when taken back
		return
	}
	if _, ok := e.event.(record.RepairDone); ok {
		f.repairs = append(f.repairs, e) // needed to number epochs even when taken back
	}
	if _, back := f.p.withdrawn[e.Entry]; back {
		return
	}
	if placed := f.placeThing(e) || f.placeOnVisit(e); !placed {
		f.loose(e, "refers to something that is not here")
	}
}

// number gives every epoch its number: the place of the repair it follows
// among the repairs that count. Where that repair was taken back, the last one
// before it that counts stands in.
func (f *folder) number() {
	epochs := map[record.EntryID]int{}
	count := map[record.VisitID]int{}
	for _, e := range f.repairs {
		visit := e.event.(record.RepairDone).Visit
		if _, back := f.p.withdrawn[e.Entry]; !back {
			count[visit]++
		}
		epochs[e.Entry] = count[visit]
	}
	for _, v := range f.p.Visits {
		v.number(epochs)
	}
	slices.SortFunc(f.p.Loose, func(a, b Loose) int { return strings.Compare(string(a.Entry), string(b.Entry)) })
}

// number sets the epoch of all that belongs to one.
func (v *Visit) number(epochs map[record.EntryID]int) {
	for _, r := range v.Readings {
		r.Epoch = epochs[r.AfterRepair]
	}
	for i := range v.Refusals {
		v.Refusals[i].Epoch = epochs[v.Refusals[i].AfterRepair]
	}
	for i := range v.Advice {
		v.Advice[i].Epoch = epochs[v.Advice[i].AfterRepair]
	}
	for i := range v.Accepted {
		v.Accepted[i].Epoch = epochs[v.Accepted[i].AfterRepair]
	}
	for i := range v.Proofs {
		v.Proofs[i].Epoch = epochs[v.Proofs[i].AfterRepair]
	}
}
