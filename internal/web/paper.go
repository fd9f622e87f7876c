package web

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"rung/internal/ledger"
	"rung/internal/paperwork"
	"rung/internal/plant"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// panelNote gathers the note of a visit.
func (s *Server) panelNote(r *http.Request) (visit.Here, paperwork.Note, error) {
	here, err := s.here(r)
	if err != nil {
		return here, paperwork.Note{}, err
	}
	proof, err := s.Visits.Proof(r.Context(), here.Visit.Visit)
	if err != nil {
		return here, paperwork.Note{}, err
	}
	v := here.Visit
	u := noteUnit(here)
	n := paperwork.Note{
		Unit: strings.Join(present(here.Property.Name, here.System.Title(), s.nameOfUnit(u)), " / "),
		Day:  v.Opened.At.In(s.Zone).Format(time.DateOnly), By: strings.Join(present(v.Who.Name, s.Phone), ", "),
		Said: capital(named(s.Visits.Complaints(""), v.Complaint)), Readings: s.noteReadings(v),
	}
	if u != nil {
		n.UnitID = string(u.Unit)
		n.Charge = strings.Join(present(u.Plate["refrigerant"].Text, plateText(u, "factory-charge")), ", ")
	}
	for _, x := range v.Repairs {
		if x.Cause != "" {
			n.Found = s.causeName(x.Cause)
		}
	}
	n.Did = strings.Join(s.worksDone(v), "; ")
	if proof.NotJudged != nil {
		n.Unjudged = proof.NotJudged.Reasons
	}
	open, _, err := s.differences(r.Context(), here)
	if err != nil {
		return here, paperwork.Note{}, err
	}
	left := todo(here.Property, v)
	for _, d := range open {
		left = append(left, "settle "+d.what)
	}
	n.Todo = strings.Join(left, "; ")
	return here, n, nil
}

// noteUnit is the unit on which the note hangs: that of the last part changed,
// else the outdoor unit, else the first.
func noteUnit(here visit.Here) *ledger.Unit {
	if n := len(here.Visit.Parts); n > 0 {
		if u, _, ok := here.Property.Unit(here.Visit.Parts[n-1].Unit); ok {
			return u
		}
	}
	for _, u := range here.System.Units {
		if u.Kind == "outdoor-unit" {
			return u
		}
	}
	if len(here.System.Units) > 0 {
		return here.System.Units[0]
	}
	return nil
}

func (s *Server) nameOfUnit(u *ledger.Unit) string {
	if u == nil {
		return ""
	}
	return s.unitName(u)
}

func plateText(u *ledger.Unit, field string) string {
	v, ok := u.Plate[field]
	if !ok {
		return ""
	}
	return strings.TrimSpace(v.Text + " " + v.Unit)
}

// noteReadings lists the last reading of each point in each part of the visit,
// those since the last repair first.
func (s *Server) noteReadings(v *ledger.Visit) []paperwork.Reading {
	var list []paperwork.Reading
	for epoch := v.Epoch(); epoch >= 0; epoch-- {
		for _, r := range v.Counting() {
			last, _ := v.Latest(r.Check, r.Point, r.Demand, epoch)
			if r.Epoch != epoch || last != r {
				continue
			}
			var doubts []string
			if r.Unsettled {
				doubts = append(doubts, "not settled")
			}
			if epoch < v.Epoch() {
				doubts = append(doubts, "before the repair")
			}
			list = append(list, paperwork.Reading{Name: capital(s.pointName(r)) + s.calledFor(r), Value: s.shown(r), Doubt: strings.Join(append(doubts, present(r.Doubt)...), ", ")})
		}
	}
	return list
}

// calls words what the thermostat called for, where it was not cooling.
var calls = map[string]string{"off": " (standing)", "fan": " (fan only)", "heat": " (heating)"}

// calledFor says what was called for, where the same point is read in cooling
// too.
func (s *Server) calledFor(r *ledger.Reading) string {
	if _, p, known := s.tests().Point(r.Check, r.Point); known && p.At(plant.Cool) {
		return calls[r.Demand]
	}
	return ""
}

// worksDone says what was done, repair by repair, with the new part.
func (s *Server) worksDone(v *ledger.Visit) []string {
	var list []string
	for _, x := range v.Repairs {
		text := s.repairName(x)
		for _, p := range x.Parts {
			if p.In != "" {
				text += " (" + p.In + ")"
			}
		}
		list = append(list, text)
	}
	return list
}

// todo lists the open tasks that arose on the visit.
func todo(p *ledger.Property, v *ledger.Visit) []string {
	var list []string
	for _, t := range p.OpenTasks() {
		if t.Visit == v.Visit {
			list = append(list, sentence(t.What, taskWhen(t.TaskAdded)))
		}
	}
	return list
}

func (s *Server) note(w http.ResponseWriter, r *http.Request) error {
	here, n, err := s.panelNote(r)
	if err != nil {
		return err
	}
	q, err := n.Symbol()
	if err != nil {
		return err
	}
	base := visitPath(here.Visit.Visit)
	p := page.NotePage{Shell: s.shell(r, here, "Panel note", ""), Note: n, Symbol: q.SVG("Code with the text of this note"), Text: q.Text(), PDF: pdf(base + "/note.pdf")}
	p.Back = page.Link{Text: "Visit", Href: base}
	for _, x := range here.Visit.Notes {
		if x.Text == n.Text() {
			p.Left = "This note was left on " + s.day(x.Stamp.At) + "."
		}
	}
	if p.Left == "" {
		p.Leave = &page.Undo{Action: base + "/note", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}}}
	}
	return s.render(w, r, http.StatusOK, page.Note(p))
}

// leaveNote records that the note as it stands was left on the unit.
func (s *Server) leaveNote(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	_, n, err := s.panelNote(r)
	if err != nil {
		return err
	}
	id := record.VisitID(r.PathValue("visit"))
	if err := s.Visits.LeaveNote(r.Context(), by, id, visit.NoteInput{Unit: record.UnitID(n.UnitID), Text: n.Text()}); err != nil {
		return err
	}
	return see(w, r, visitPath(id)+"/note", nil)
}

// visitReport gathers the report of the visit of the address.
func (s *Server) visitReport(r *http.Request) (visit.Here, paperwork.Report, error) {
	here, err := s.here(r)
	if err != nil {
		return here, paperwork.Report{}, err
	}
	report, err := s.reportOf(r.Context(), here, "")
	return here, report, err
}

// reportOf gathers the report of a visit, with its photos at addresses below a
// path.
func (s *Server) reportOf(ctx context.Context, here visit.Here, below string) (paperwork.Report, error) {
	proof, err := s.Visits.Proof(ctx, here.Visit.Visit)
	if err != nil {
		return paperwork.Report{}, err
	}
	v := here.Visit
	report := paperwork.Report{
		Shop: s.Shop, Phone: s.Phone, Property: strings.Join(present(here.Property.Name, here.Property.Address), ", "), System: here.System.Title(),
		Day: s.day(v.Opened.At), By: v.Who.Name, Said: v.Words, Surroundings: s.conditions(v), Limits: proof.Limits,
		Todo: strings.Join(todo(here.Property, v), "; "), Readings: s.noteReadings(v), Open: v.Closed == nil,
	}
	for _, x := range v.Repairs {
		if x.Cause != "" {
			report.Found = append(report.Found, s.causeText(x.Cause))
		}
		report.Done = append(report.Done, s.work(x))
	}
	for _, m := range proof.Modes {
		lines, unread := proofLines(m)
		report.Proof = append(report.Proof, lines...)
		if unread > 0 && m.Limited == "" && len(v.Repairs) > 0 {
			report.Limits = append(report.Limits, capital(m.Mode.Name)+": "+count(unread, "reading was", "readings were")+" not taken.")
		}
		if m.Limited != "" && !slices.Contains(report.Limits, m.Limited) {
			report.Limits = append(report.Limits, capital(m.Mode.Name)+": "+m.Limited)
		}
	}
	if proof.NotJudged != nil {
		report.Unjudged = proof.NotJudged.Reasons
	}
	for _, h := range v.Hazards {
		report.Safety = append(report.Safety, named(s.Visits.Hazards(), h))
	}
	report.Advice = recommendations(here.Property, v.Visit)
	report.Differ, err = s.recordsDiffer(ctx, here)
	if err != nil {
		return report, err
	}
	report.Photos, err = s.paperPhotos(ctx, v, below)
	return report, err
}

// proofLines returns what was read after the repair, and how much was not.
func proofLines(m visit.ProofMode) (list []paperwork.ProofLine, unread int) {
	for _, l := range m.Lines {
		word := "holds"
		switch l.State {
		case visit.ProofOpen:
			unread++
			continue
		case visit.ProofFails:
			word = "does not hold"
		}
		list = append(list, paperwork.ProofLine{Name: l.Name, Before: l.Before, After: l.After, Must: l.Must, Word: word})
	}
	return list, unread
}

func (s *Server) work(x *ledger.Repair) paperwork.Work {
	work := paperwork.Work{What: sentence(s.repairName(x), x.Note)}
	for _, p := range x.Parts {
		work.Out, work.In, work.Why = p.Out, p.In, p.Why
		var measured []string
		for _, m := range p.Measured {
			measured = append(measured, strings.Join(present(m.What, m.Text, m.Unit), " "))
		}
		work.Measured = strings.Join(measured, ", ")
	}
	return work
}

func recommendations(p *ledger.Property, id record.VisitID) []string {
	var list []string
	for _, x := range p.Recommendations {
		if x.Visit != id {
			continue
		}
		text := x.What
		if x.By != "" {
			text += ", by " + x.By
		}
		if x.Answer != "" {
			text += " (" + x.Answer + ")"
		}
		list = append(list, text)
	}
	return list
}

// conditions is what was measured of the surroundings, in one line.
func (s *Server) conditions(v *ledger.Visit) string {
	var list []string
	for _, x := range s.Visits.Surroundings() {
		if value, known := v.Surroundings[x.ID]; known {
			list = append(list, x.Name+" "+value.Text+" "+value.Unit)
		}
	}
	return strings.Join(list, ", ")
}

func (s *Server) report(w http.ResponseWriter, r *http.Request) error {
	here, report, err := s.visitReport(r)
	if err != nil {
		return err
	}
	shell := s.shell(r, here, "Visit report", "")
	shell.Back = page.Link{Text: "Visit", Href: visitPath(here.Visit.Visit)}
	shell.Notice = notices[r.URL.Query().Get("done")]
	p := page.ReportPage{Shell: shell, Report: report, PDF: pdf(visitPath(here.Visit.Visit) + "/report.pdf"), Share: s.shareForm(r, here.Visit)}
	return s.render(w, r, http.StatusOK, page.Report(p))
}
