package visit

import (
	"context"
	"math"
	"slices"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/record"
)

// EngineVersion names the reasoning in the record: it changes when the same
// case would get other advice.
const EngineVersion = "1"

// OtherRepair is the id of a repair that the catalogue lacks.
const OtherRepair = "other"

// snapshot returns the advice as it is kept in the record, rounded.
func (d *desk) snapshot() record.Advice {
	a := record.Advice{
		Engine: EngineVersion, Verdict: string(d.advice.Verdict), Unlisted: hundredths(d.advice.UnlistedTotal), Readings: len(d.c.Readings),
	}
	for _, c := range d.advice.Causes {
		if c.Probability >= stands {
			a.Causes = append(a.Causes, record.Odds{Cause: c.ID, Percent: hundredths(c.Probability)})
		}
	}
	if d.advice.Repair != nil {
		a.Repair = d.advice.Repair.ID
	}
	for _, n := range d.advice.Next {
		a.Next = append(a.Next, n.Check)
	}
	return a
}

func hundredths(p float64) int { return int(math.Round(100 * p)) }

// AcceptCause records that the mechanic takes a cause for the right one.
func (s *Service) AcceptCause(ctx context.Context, by By, visit record.VisitID, cause string) error {
	p, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	if !s.knownCause(cause) {
		return errorf(NotFound, "There is no cause %q in the catalogue.", cause)
	}
	d, err := s.desk(ctx, here, English)
	if err != nil {
		return err
	}
	// The advice is of the moment; a form sent twice is told by its cause.
	form, err := by.form()
	if err != nil {
		return err
	}
	for _, a := range here.Visit.Accepted {
		if a.Stamp.Entry == record.EntryID(form.String()) && a.Cause == cause {
			return nil
		}
	}
	_, err = s.write(ctx, by, p, []record.Event{record.CauseAccepted{
		Visit: visit, Cause: cause, Advice: d.snapshot(), AfterRepair: here.Visit.LastRepair(),
	}})
	return err
}

func (s *Service) knownCause(id string) bool {
	if _, known := s.faults().Fault(id); known || id == Healthy {
		return true
	}
	return slices.ContainsFunc(s.faults().Pairs, func(p fault.Pair) bool { return p.ID == id })
}

// Repairs lists the repairs that this system can need, those that could help
// first.
func (s *Service) Repairs(ctx context.Context, visit record.VisitID) ([]RepairLine, error) {
	_, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return nil, err
	}
	d, err := s.desk(ctx, here, LanguageOf(ctx))
	if err != nil {
		return nil, err
	}
	cure := map[string]float64{}
	for _, f := range d.canHave(s.faults()) {
		cure[f.Repair] += 0
	}
	for _, c := range d.advice.Causes {
		for _, id := range c.Repairs {
			cure[id] += c.Probability
		}
	}
	var list []RepairLine
	for i := range s.faults().Repairs {
		r := &s.faults().Repairs[i]
		if p, fits := cure[r.ID]; fits {
			list = append(list, d.repair(r, p))
		}
	}
	slices.SortStableFunc(list, func(a, b RepairLine) int {
		switch {
		case a.Probability > b.Probability:
			return -1
		case a.Probability < b.Probability:
			return 1
		}
		return 0
	})
	return list, nil
}

// repair describes a repair of the catalogue that would cure with probability p.
func (d *desk) repair(r *fault.Repair, p float64) RepairLine {
	return RepairLine{
		ID: r.ID, Name: d.text(r.Name), Part: r.Part, Minutes: r.Minutes, Probability: p, Cure: d.say("would-cure", "odds", d.inHundred(p)),
		Cautions: d.cautions(r.Cautions), Note: d.text(r.Note), Why: d.text(r.Why), Licence: r.Licence,
	}
}

// repairLine describes the repair that the engine thinks of.
func (d *desk) repairLine(a diagnosis.RepairAdvice) RepairLine {
	line := RepairLine{ID: a.ID, Name: a.ID}
	if r, known := d.faults.Repair(a.ID); known {
		line = d.repair(r, a.Cure)
	}
	line.Minutes = a.Minutes
	for _, h := range a.Held {
		line.Held = append(line.Held, d.say("held-"+string(h), "odds", d.inHundred(a.Cure)))
	}
	return line
}

// RecordRepair records a repair, which begins a new epoch. Where a part was
// changed, why the old one failed must be told; that it is not known is an
// answer. The advice of the moment is kept beside it.
func (s *Service) RecordRepair(ctx context.Context, by By, visit record.VisitID, in RepairInput) (record.EntryID, error) {
	p, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return "", err
	}
	var wrong fieldErrors
	_, known := s.faults().Repair(in.Repair)
	switch {
	case in.Repair == OtherRepair:
		wrong.needed("note", in.Note, "Say what was done.")
	case !known:
		wrong.add("repair", Invalid, "Choose the repair that was done, or other.")
	}
	if in.Cause != "" && !s.knownCause(in.Cause) {
		wrong.add("cause", Invalid, "There is no cause %q in the catalogue.", in.Cause)
	}
	events := []record.Event{record.RepairDone{
		Visit: visit, Repair: in.Repair, Cause: in.Cause, By: clean(in.By), Note: clean(in.Note),
	}}
	if in.Part != nil {
		events = append(events, wrong.part(visit, by, *in.Part, func(id record.UnitID) bool {
			_, _, known := p.Unit(id)
			return known
		}))
	}
	if err := wrong.err(); err != nil {
		return "", err
	}
	companions := append(s.adviceNow(ctx, here), s.furtherRepair(p, here.Visit)...)
	ids, err := s.write(ctx, by, p, events, companions...)
	if err != nil {
		return "", err
	}
	return ids[0], nil
}

// part returns the event of a part changed in the repair of the form.
func (f *fieldErrors) part(visit record.VisitID, by By, in PartInput, knownUnit func(record.UnitID) bool) record.Event {
	event := record.PartReplaced{
		Visit: visit, Repair: record.EntryID(by.Form), Unit: in.Unit, Part: f.needed("part", in.Part, "Say which part was changed."),
		Out: clean(in.Out), In: clean(in.In), Kept: in.Kept,
		Why: f.needed("why", in.Why, "Say why the old part failed; that it is not known is an answer."),
	}
	if in.Unit != "" && !knownUnit(in.Unit) {
		f.add("unit", NotFound, "There is no such unit here.")
	}
	for _, m := range in.Measured {
		if clean(m.Text) != "" {
			event.Measured = append(event.Measured, m)
		}
	}
	return event
}

// adviceNow returns the advice of the moment for the record: nothing if none
// can be worked out, which must not keep a repair from being recorded.
func (s *Service) adviceNow(ctx context.Context, here Here) []record.Event {
	d, err := s.desk(ctx, here, English)
	if err != nil || d.blind != nil {
		return nil
	}
	return []record.Event{record.AdviceShown{Visit: here.Visit.Visit, Advice: d.snapshot(), AfterRepair: here.Visit.LastRepair()}}
}
