package visit

import (
	"context"
	"strings"
	"time"

	"rung/internal/quantity"
	"rung/internal/record"
)

// Close ends a visit. A repair that is called fixed must be proved, or the note
// say why not. Where the charge matters and could not be judged, that is
// recorded with a task to come back.
func (s *Service) Close(ctx context.Context, by By, visit record.VisitID, in CloseInput) error {
	p, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	var wrong fieldErrors
	wrong.oneOf("outcome", in.Outcome, s.Outcomes(), "Choose how the visit ends.")
	if in.Anyway {
		wrong.needed("note", in.Note, "Say why it is closed without the whole proof.")
	}
	if err := wrong.err(); err != nil {
		return err
	}
	if c := here.Visit.Closed; c != nil && string(c.Stamp.Entry) != strings.ToUpper(by.Form) {
		return errorf(Conflict, "This visit is closed already, by %s. Take the closing back to go on with it.", c.Stamp.Author)
	}
	d, err := s.desk(ctx, here, English)
	if err != nil {
		return err
	}
	proof, err := d.proof()
	if err != nil {
		return err
	}
	if in.Outcome == "fixed" && !in.Anyway && !proof.Complete {
		return errorf(Conflict, "%s", English.say("close-unproved", "verdict", proof.Verdict))
	}
	_, err = s.write(ctx, by, p, []record.Event{record.VisitClosed{Visit: visit, Outcome: in.Outcome, Note: clean(in.Note)}},
		s.tasksLeft(d, by, in.Outcome)...)
	return err
}

// tasksLeft returns the entries of what is left to be done: the charge to be
// judged, or the cooling of a mended system to be proved when it is warm.
func (s *Service) tasksLeft(d *desk, by By, outcome string) []record.Event {
	if list := s.chargeTask(d, by); list != nil {
		return list // who comes back for the charge sees it cool
	}
	form, err := by.form()
	if err != nil || outcome != "fixed" || d.limit("cool") == "" {
		return nil
	}
	above := tradeAmount(d.advice.Charge.OutdoorLimit)
	return []record.Event{record.TaskAdded{
		Task: record.TaskID(form.Derive(companion + 1).String()), System: d.System.System, Visit: d.Visit.Visit,
		What: English.say("task-prove-cooling"), Reason: "proof-limited-by-weather", Due: s.comeBack(true), Warmer: &above,
	}}
}

// chargeTask returns the entries that say why the charge was not judged, and
// the task to come back.
func (s *Service) chargeTask(d *desk, by By) []record.Event {
	if !d.chargeOpen() {
		return nil
	}
	form, err := by.form()
	if err != nil {
		return nil // told by write
	}
	n := d.notJudged()
	task := record.TaskID(form.Derive(companion + 1).String())
	note := record.ChargeNotJudged{Visit: d.Visit.Visit, Task: task}
	for _, r := range n.IDs {
		note.Reasons = append(note.Reasons, string(r))
	}
	event := record.TaskAdded{
		Task: task, System: d.System.System, Visit: d.Visit.Visit, What: "Judge the refrigerant charge",
		Reason: "charge-not-judged", Due: s.comeBack(n.ReturnAbove > 0),
	}
	if n.ReturnAbove > 0 {
		above := tradeAmount(n.ReturnAbove)
		note.ReturnAbove, event.Warmer = &above, &above
	}
	return []record.Event{note, event}
}

// comeBack returns the day on which a charge not judged falls due: where the
// weather forbade it the first of May to come, else a fortnight from now.
// practice: a charge left open is looked at as soon as it can be.
func (s *Service) comeBack(weather bool) string {
	now := s.now().In(s.zone)
	day := now.AddDate(0, 0, 14)
	if weather {
		day = time.Date(now.Year(), time.May, 1, 0, 0, 0, 0, s.zone)
		if !day.After(now) {
			day = day.AddDate(1, 0, 0)
		}
	}
	return day.Format(time.DateOnly)
}

// tradeAmount writes a temperature as it is kept in the record, in whole °F.
func tradeAmount(t quantity.Temperature) record.AsRead {
	text, unit, _ := strings.Cut(fahrenheit(t), " ")
	return record.AsRead{Text: text, Unit: unit}
}
