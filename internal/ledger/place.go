package ledger

import (
	"slices"
	"strings"

	"rung/internal/record"
)

// placeThing puts an event that makes or changes a thing of the property. It
// returns false if the event is of another sort or its thing is missing.
func (f *folder) placeThing(e entry) bool {
	p := f.p
	switch event := e.event.(type) {
	case record.PropertyAdded:
		if event.Property != p.Property {
			return false
		}
		p.PropertyAdded, p.Added = event, first(p.Added, e.Stamp)
	case record.SystemAdded:
		s, known := p.System(event.System)
		if !known {
			s = &System{Added: e.Stamp}
			p.Systems = append(p.Systems, s)
		}
		s.SystemAdded = event
	case record.UnitAdded:
		return f.placeUnit(e, event)
	case record.LinkFound:
		s, known := p.System(event.System)
		if known {
			s.Found = append(s.Found, Found{LinkFound: event, Stamp: e.Stamp})
		}
		return known
	case record.NameplateRecorded:
		u, _, known := p.Unit(event.Unit)
		if known {
			f.sayPlate(u, event.Values, e.Stamp)
		}
		return known
	case record.StatementSettled:
		return f.settle(e.Stamp, event)
	case record.TaskAdded:
		t, known := p.Task(event.Task)
		if !known {
			t = &Task{Added: e.Stamp}
			p.Tasks = append(p.Tasks, t)
		}
		t.TaskAdded = event
	case record.TaskDone:
		t, known := p.Task(event.Task)
		if known {
			t.Done = &Done{TaskDone: event, Stamp: e.Stamp}
		}
		return known
	case record.RecommendationMade:
		r, known := find(p.Recommendations, func(r *Recommendation) bool { return r.Recommendation == event.Recommendation })
		if !known {
			r = &Recommendation{}
			p.Recommendations = append(p.Recommendations, r)
		}
		r.RecommendationMade, r.Stamp = event, e.Stamp
	case record.PhotoTaken:
		return f.placePhoto(&Photo{PhotoTaken: event, Stamp: e.Stamp})
	case record.PhotoMarked:
		if x, counts := p.Photo(event.Photo); counts {
			x.Customer = event.Customer
		}
		_, known := p.entries[event.Photo] // it may have been taken back
		return known
	case record.NoteLeft:
		return f.placeNote(Note{NoteLeft: event, Stamp: e.Stamp})
	case record.EntryWithdrawn:
		return true // done before all else
	default:
		return false
	}
	return true
}

// first returns a unless it is zero.
func first(a, b Stamp) Stamp {
	if a == (Stamp{}) {
		return b
	}
	return a
}

// placeUnit puts a unit under its system, from another one if it was moved.
func (f *folder) placeUnit(e entry, event record.UnitAdded) bool {
	to, ok := f.p.System(event.System)
	if !ok {
		return false
	}
	u, from, known := f.p.Unit(event.Unit)
	if !known {
		u = &Unit{Added: e.Stamp, Plate: map[string]PlateValue{}}
	}
	if known && from != to {
		from.Units = slices.DeleteFunc(from.Units, func(x *Unit) bool { return x == u })
	}
	if from != to {
		to.Units = append(to.Units, u)
	}
	u.UnitAdded = event
	return true
}

// sayPlate notes what an entry says about the fields of a nameplate.
func (f *folder) sayPlate(u *Unit, values map[string]record.PlateValue, stamp Stamp) {
	for field, v := range values {
		f.say(subject{about: record.AboutPlate, unit: u.Unit, field: field}, statement{
			Statement: Statement{Stamp: stamp, Value: strings.TrimSpace(v.Text + " " + v.Unit)}, plate: PlateValue{PlateValue: v, Stamp: stamp}})
	}
}

// placeNote hangs a note on its unit and keeps it with its visit.
func (f *folder) placeNote(n Note) bool {
	u, _, onUnit := f.p.Unit(n.Unit)
	if onUnit {
		u.Notes = append(u.Notes, n)
	}
	v, onVisit := f.p.Visit(n.Visit)
	if onVisit {
		v.Notes = append(v.Notes, n)
	}
	return onUnit || onVisit
}

// placeReading puts a reading on its visit, also one taken back.
func (f *folder) placeReading(e entry, event record.ReadingTaken) {
	v, ok := f.p.Visit(event.Visit)
	if !ok {
		f.loose(e, "its visit is not here")
		return
	}
	r := &Reading{ReadingTaken: event, Stamp: e.Stamp}
	if w, back := f.p.withdrawn[e.Entry]; back {
		r.TakenBack = &w
	}
	v.Readings = append(v.Readings, r)
}

// placeOnVisit puts an event that belongs to a visit. It returns false if the
// event is of another sort or its visit is missing.
func (f *folder) placeOnVisit(e entry) bool {
	if event, ok := e.event.(record.VisitOpened); ok {
		return f.placeVisit(e, event)
	}
	v, ok := f.p.Visit(visitOf(e.event))
	if !ok {
		return false
	}
	switch event := e.event.(type) {
	case record.SurroundingsRecorded:
		v.setSurroundings(event, e.Stamp)
	case record.HazardNoted:
		v.Hazards = slices.DeleteFunc(v.Hazards, func(h string) bool { return h == event.Hazard })
		if !event.Over {
			v.Hazards = append(v.Hazards, event.Hazard)
		}
	case record.CheckRefused:
		v.Refusals = append(v.Refusals, Refusal{CheckRefused: event, Stamp: e.Stamp})
	case record.AdviceShown:
		v.Advice = append(v.Advice, Advice{AdviceShown: event, Stamp: e.Stamp})
	case record.CauseAccepted:
		v.Accepted = append(v.Accepted, Acceptance{CauseAccepted: event, Stamp: e.Stamp})
	case record.RepairDone:
		v.Repairs = append(v.Repairs, &Repair{RepairDone: event, Stamp: e.Stamp})
		f.say(subject{about: record.AboutRepair, visit: v.Visit}, statement{Statement: Statement{Stamp: e.Stamp, Value: event.Repair}})
	case record.PartReplaced:
		part := Part{PartReplaced: event, Stamp: e.Stamp}
		v.Parts = append(v.Parts, part)
		if r, ok := find(v.Repairs, func(r *Repair) bool { return r.Stamp.Entry == event.Repair }); ok {
			r.Parts = append(r.Parts, part)
		}
	case record.ProofTaken:
		v.Proofs = append(v.Proofs, Proof{ProofTaken: event, Stamp: e.Stamp})
	case record.ChargeNotJudged:
		v.NotJudged = append(v.NotJudged, NotJudged{ChargeNotJudged: event, Stamp: e.Stamp})
	case record.ReportShared:
		v.Shared = append(v.Shared, SharedReport{ReportShared: event, Stamp: e.Stamp})
	case record.VisitClosed:
		f.say(subject{about: record.AboutClosing, visit: v.Visit}, statement{
			Statement: Statement{Stamp: e.Stamp, Value: event.Outcome}, closing: &Closing{VisitClosed: event, Stamp: e.Stamp}})
	}
	return true
}

func (f *folder) placeVisit(e entry, event record.VisitOpened) bool {
	if _, ok := f.p.System(event.System); !ok {
		return false
	}
	v, known := f.p.Visit(event.Visit)
	if !known {
		v = &Visit{Opened: e.Stamp, Surroundings: map[string]Surrounding{}}
		f.p.Visits = append(f.p.Visits, v)
	}
	v.VisitOpened = event
	return true
}

func (v *Visit) setSurroundings(event record.SurroundingsRecorded, stamp Stamp) {
	for name, value := range event.Values {
		if value.Text == "" {
			delete(v.Surroundings, name)
		} else {
			v.Surroundings[name] = Surrounding{AsRead: value, Place: event.Place, Instrument: event.Instrument, Stamp: stamp}
		}
	}
}

// visitOf returns the visit that an event belongs to, or none.
func visitOf(event record.Event) record.VisitID {
	switch event := event.(type) {
	case record.SurroundingsRecorded:
		return event.Visit
	case record.HazardNoted:
		return event.Visit
	case record.CheckRefused:
		return event.Visit
	case record.AdviceShown:
		return event.Visit
	case record.CauseAccepted:
		return event.Visit
	case record.RepairDone:
		return event.Visit
	case record.PartReplaced:
		return event.Visit
	case record.ProofTaken:
		return event.Visit
	case record.ChargeNotJudged:
		return event.Visit
	case record.VisitClosed:
		return event.Visit
	case record.ReportShared:
		return event.Visit
	}
	return ""
}
