package ledger

import (
	"time"

	"rung/internal/journal"
	"rung/internal/record"
)

// Stamp says where an entry comes from.
type Stamp struct {
	Entry  record.EntryID
	At     time.Time // by the clock of the device, UTC
	Author string
	Device string
}

// Property is a house with everything about it.
type Property struct {
	record.PropertyAdded
	Added           Stamp // zero if the entry that made it is missing
	Systems         []*System
	Visits          []*Visit // in the order in which they were opened
	Tasks           []*Task
	Recommendations []*Recommendation
	Photos          []*Photo // oldest first, those taken back left out
	// Loose holds the entries that could not be placed: of a later program,
	// damaged, or referring to something unknown.
	Loose []Loose
	// Last is the time of the latest entry.
	Last journal.Time

	withdrawn map[record.EntryID]Withdrawal
	entries   map[record.EntryID]string // kinds
	standing  map[subject][]Statement
}

// Loose is an entry that could not be placed, and why.
type Loose struct {
	Stamp
	Kind string
	Why  string
}

// System is a heating or cooling system.
type System struct {
	record.SystemAdded
	Added Stamp
	Units []*Unit
	Found []Found // links of its chain, oldest first; see Chain
}

// Unit is a unit of a system.
type Unit struct {
	record.UnitAdded
	Added Stamp
	Plate map[string]PlateValue // what is known, by field
	Notes []Note                // left on it, oldest first
	// Photos are those of it, over all visits, oldest first.
	Photos []*Photo
	// Disputes are the fields on which entries differ that did not know of each
	// other; Plate holds the latest of each.
	Disputes []Dispute
	// Settled are those that were settled, oldest first.
	Settled []Settlement
}

// PlateValue is a value of a nameplate and where it comes from.
type PlateValue struct {
	record.PlateValue
	Stamp Stamp
}

// Note is a note left on a unit or kept with a visit.
type Note struct {
	record.NoteLeft
	Stamp Stamp
}

// Task is something to be done later.
type Task struct {
	record.TaskAdded
	Added Stamp
	Done  *Done
}

// Done says how a task ended.
type Done struct {
	record.TaskDone
	Stamp Stamp
}

// Recommendation is what was recommended, as last said.
type Recommendation struct {
	record.RecommendationMade
	Stamp Stamp
}

// Withdrawal says that an entry was taken back.
type Withdrawal struct {
	record.EntryWithdrawn
	Stamp Stamp
}

// System returns the system with this id.
func (p *Property) System(id record.SystemID) (*System, bool) {
	return find(p.Systems, func(s *System) bool { return s.System == id })
}

// Unit returns the unit with this id and its system.
func (p *Property) Unit(id record.UnitID) (*Unit, *System, bool) {
	for _, s := range p.Systems {
		if u, ok := find(s.Units, func(u *Unit) bool { return u.Unit == id }); ok {
			return u, s, true
		}
	}
	return nil, nil, false
}

// Visit returns the visit with this id.
func (p *Property) Visit(id record.VisitID) (*Visit, bool) {
	return find(p.Visits, func(v *Visit) bool { return v.Visit == id })
}

// Task returns the task with this id.
func (p *Property) Task(id record.TaskID) (*Task, bool) {
	return find(p.Tasks, func(t *Task) bool { return t.Task == id })
}

// Holds reports whether the stream holds an entry, and of which kind.
func (p *Property) Holds(id record.EntryID) (kind string, ok bool) {
	kind, ok = p.entries[id]
	return kind, ok
}

// Withdrawn reports whether an entry was taken back.
func (p *Property) Withdrawn(id record.EntryID) (Withdrawal, bool) {
	w, ok := p.withdrawn[id]
	return w, ok
}

// VisitsTo returns the visits to a system, the latest first.
func (p *Property) VisitsTo(id record.SystemID) []*Visit {
	var list []*Visit
	for i := len(p.Visits) - 1; i >= 0; i-- {
		if p.Visits[i].System == id {
			list = append(list, p.Visits[i])
		}
	}
	return list
}

// OpenTasks returns the tasks that are not done.
func (p *Property) OpenTasks() []*Task {
	var list []*Task
	for _, t := range p.Tasks {
		if t.Done == nil {
			list = append(list, t)
		}
	}
	return list
}

// find returns the first element of list that is wanted.
func find[T any](list []*T, wanted func(*T) bool) (*T, bool) {
	for _, x := range list {
		if wanted(x) {
			return x, true
		}
	}
	return nil, false
}
