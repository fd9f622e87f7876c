package visit

import (
	"context"
	"time"

	"rung/internal/quantity"
	"rung/internal/record"
)

// outdoorAbove is the outdoor temperature for which a task waits.
var outdoorAbove = amountField{id: "warmer", name: "Outdoor air", dim: quantity.DimTemperature, unit: "°F",
	// practice: what an outdoor thermometer shows where people live
	low: "-40 °F", high: "135 °F"}

// AddTask adds something to be done later.
func (s *Service) AddTask(ctx context.Context, by By, visit record.VisitID, in TaskInput) (record.TaskID, error) {
	p, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return "", err
	}
	var wrong fieldErrors
	event := record.TaskAdded{
		Task: record.TaskID(by.Form), System: here.System.System, Visit: visit,
		What: wrong.needed("what", in.What, "Say what is to be done."), Due: wrong.day("due", in.Due), Who: clean(in.Who),
	}
	if v, ok := wrong.amount(English, "warmer", in.Warmer, outdoorAbove); ok {
		event.Warmer = &v
	}
	if err := wrong.err(); err != nil {
		return "", err
	}
	_, err = s.write(ctx, by, p, []record.Event{event})
	return event.Task, err
}

// day reads a day as "2027-05-01"; empty stays empty.
func (f *fieldErrors) day(field, text string) string {
	if text = clean(text); text == "" {
		return ""
	}
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		f.add(field, Invalid, "%q is not a day. Write it as year-month-day, such as 2027-05-01.", text)
	}
	return text
}

// FinishTask records that a task was done, or dropped.
func (s *Service) FinishTask(ctx context.Context, by By, task record.TaskID, note string, dropped bool) error {
	p, err := s.whereIs(ctx, "task", string(task))
	if err != nil {
		return err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.TaskDone{Task: task, Note: clean(note), Dropped: dropped}})
	return err
}

// LeaveNote leaves a note on a unit, or keeps a remark with the visit.
func (s *Service) LeaveNote(ctx context.Context, by By, visit record.VisitID, in NoteInput) error {
	p, _, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	var wrong fieldErrors
	text := wrong.needed("text", in.Text, "The note is empty.")
	if _, _, known := p.Unit(in.Unit); in.Unit != "" && !known {
		wrong.add("unit", NotFound, "There is no such unit here.")
	}
	if err := wrong.err(); err != nil {
		return err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.NoteLeft{Visit: visit, Unit: in.Unit, Text: text}})
	return err
}

// Recommend records what was recommended to the customer, until when, and the
// answer: accepted, declined, later, or empty if there is none yet. The
// recommendation of id is replaced; an empty id makes a new one.
func (s *Service) Recommend(ctx context.Context, by By, visit record.VisitID, id record.RecommendationID, what, until, answer string) error {
	p, _, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	if id == "" {
		id = record.RecommendationID(by.Form)
	}
	var wrong fieldErrors
	event := record.RecommendationMade{Recommendation: id, Visit: visit,
		What: wrong.needed("what", what, "Say what you recommend."), By: wrong.day("until", until), Answer: answer}
	switch answer {
	case "", "accepted", "declined", "later":
	default:
		wrong.add("answer", Invalid, "Choose accepted, declined or later.")
	}
	if err := wrong.err(); err != nil {
		return err
	}
	_, err = s.write(ctx, by, p, []record.Event{event})
	return err
}

// kept are the kinds of entry that cannot be taken back: other things hang on
// them. Their details are replaced instead.
var kept = map[string]string{
	"property-added": "A property cannot be taken back. Give it other details instead.",
	"system-added":   "A system cannot be taken back. Give it other details instead.",
	"unit-added":     "A unit cannot be taken back. Give it other details instead.",
	"visit-opened":   "A visit cannot be taken back. Close it instead and say why.",
}

// Withdraw takes an entry of the visit's property back: a reading, a refusal,
// a repair, a proof, a note, a closing; or an earlier withdrawal.
func (s *Service) Withdraw(ctx context.Context, by By, visit record.VisitID, entry record.EntryID, why string) error {
	p, _, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	kind, known := p.Holds(entry)
	if !known {
		return errorf(NotFound, "There is no such entry here.")
	}
	if why, no := kept[kind]; no {
		return errorf(Denied, "%s", why)
	}
	root, _ := record.Root(p.envelopes, entry) // a withdrawal that is taken back brings the first entry back
	if by.Person.Role == "apprentice" && (root == "visit-closed" || root == "report-shared") {
		return errorf(Denied, "An apprentice cannot take that back. Let whoever closed the visit or made the link do it.")
	}
	_, err = s.write(ctx, by, p, []record.Event{record.EntryWithdrawn{Visit: visit, Entry: entry, Why: clean(why)}})
	return err
}
