package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rung/internal/chart"
	"rung/internal/diagnosis"
	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// here loads the visit of the address.
func (s *Server) here(r *http.Request) (visit.Here, error) {
	return s.Visits.Visit(r.Context(), record.VisitID(r.PathValue("visit")))
}

// shell is the frame of a page of a visit; tab is the step it belongs to.
func (s *Server) shell(r *http.Request, here visit.Here, title, tab string) page.Shell {
	base := visitPath(here.Visit.Visit)
	ctx := r.Context()
	shell := page.Shell{
		Title: title, Place: here.Property.Name + " · " + here.System.Title(),
		Back: page.Link{Text: here.System.Title(), Href: systemPath(here.System.System)},
		Tabs: page.VisitTabs(base, tab), Aside: page.Link{Text: page.Say(ctx, "Calculators"), Href: "/calculators?visit=" + url.QueryEscape(string(here.Visit.Visit))},
	}
	q := r.URL.Query()
	shell.Notice = page.Say(ctx, notices[q.Get("done")])
	if entries := q["entry"]; shell.Notice != "" && len(entries) > 0 {
		shell.Notice, entries = s.justRead(ctx, here.Visit, shell.Notice, entries)
		if len(entries) > 0 {
			shell.Undo = s.undo(here.Visit.Visit, entries...)
		}
	}
	return shell
}

// justRead says which readings the entries are, and returns those that still
// count: a page fetched again after an undo must not claim them.
func (s *Server) justRead(ctx context.Context, v *ledger.Visit, notice string, entries []string) (string, []string) {
	n := s.in(ctx)
	var lines, left []string
	for _, r := range v.Counting() {
		if slices.Contains(entries, string(r.ID())) {
			lines = append(lines, capital(n.pointName(r))+" "+n.shown(r))
			left = append(left, string(r.ID()))
		}
	}
	if len(left) == 0 {
		return page.Say(ctx, notices["withdrawn"]), nil
	}
	return strings.TrimSuffix(notice, ".") + ": " + strings.Join(lines, ", ") + ".", left
}

// undo takes entries back, in one form.
func (s *Server) undo(id record.VisitID, entries ...string) *page.Undo {
	u := &page.Undo{Action: visitPath(id) + "/withdraw", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}}}
	for i, e := range entries {
		if i > 0 { // each withdrawal is an entry of its own
			u.Hidden = append(u.Hidden, page.Hidden{Name: "form", Value: s.Visits.NewForm()})
		}
		u.Hidden = append(u.Hidden, page.Hidden{Name: "entry", Value: e})
	}
	return u
}

// visit is the page on which the work is done.
func (s *Server) visit(w http.ResponseWriter, r *http.Request) error {
	r = s.inLanguage(r)
	ctx := r.Context()
	l := visit.LanguageOf(ctx)
	here, err := s.here(r)
	if err != nil {
		return err
	}
	advice, err := s.adviceOrWhyNot(r, here.Visit.Visit)
	if err != nil {
		return err
	}
	v := here.Visit
	base := visitPath(v.Visit)
	p := page.VisitPage{
		Shell:     s.shell(r, here, capital(s.in(ctx).complaint(v.Complaint)), "Check"),
		Complaint: v.Words, Facts: s.surroundingFacts(ctx, here.Property, v), AroundURL: base + "/surroundings",
		AllHref: base + "/checks", ChooseHref: base + "/choose", Causes: causes(advice), Warnings: advice.Warnings, Effect: effect(ctx, advice),
		NotJudged: notJudged(advice.NotJudged), Readings: s.readingLines(ctx, v),
		Papers: papers(ctx, v), Languages: s.languages(r, base),
	}
	if p.Title == "" {
		p.Title = page.Say(ctx, "Visit")
	}
	for _, h := range v.Hazards {
		p.Hazards = append(p.Hazards, l.Answer("hazard", h))
	}
	_, swapped, err := s.chainOf(r, here.Property, v.System)
	if err != nil {
		return err
	}
	p.Hazards = append(p.Hazards, swapped...)
	if p.Disputes, err = s.visitDisputes(r, here); err != nil {
		return err
	}
	if p.Photos, err = s.visitPhotos(r, here, ""); err != nil {
		return err
	}
	p.Verdict = s.verdict(ctx, v, advice)
	if v.Closed != nil {
		p.Closed = page.Say(ctx, "Closed") + " " + s.dayIn(ctx, v.Closed.Stamp.At) + ": " + l.Answer("outcome", v.Closed.Outcome)
		p.Undo = s.undo(v.Visit, string(v.Closed.Stamp.Entry))
		p.Notice = p.Closed
		return s.render(w, r, http.StatusOK, page.Visit(p))
	}
	for i, c := range advice.Next {
		if i == 0 {
			card := s.card(ctx, here, c, nil, nil)
			card.Photos.Add = addPhotoTo(v, c.Check)
			p.Next = &card
			continue
		}
		p.Others = append(p.Others, page.Link{Text: c.Name, Href: checkPath(v.Visit, c), Note: sentence(minutesIn(ctx, c.Minutes+c.SetUp), powerNote(ctx, c), c.Why)})
	}
	return s.render(w, r, http.StatusOK, page.Visit(p))
}

// adviceOrWhyNot returns the advice, or an advice that only warns why there is
// none: the work goes on without.
func (s *Server) adviceOrWhyNot(r *http.Request, id record.VisitID) (visit.Advice, error) {
	advice, err := s.Visits.Advise(r.Context(), id)
	if err == nil || r.Context().Err() != nil {
		return advice, err
	}
	why, mend := mendable(err)
	if !mend {
		s.Log.Error("no advice", "path", r.URL.Path, "err", err)
		what, do := explain(err, status(err))
		why = &visit.Error{Message: what + " " + do}
	}
	return visit.Advice{Verdict: diagnosis.VerdictCheck, Warnings: []string{why.Error()}}, nil
}

func checkPath(id record.VisitID, c visit.Card) string {
	return visitPath(id) + "/checks/" + url.PathEscape(c.Check) + "?demand=" + url.QueryEscape(c.Demand.ID)
}

func powerNote(ctx context.Context, c visit.Card) string {
	if power, told := powers[c.Power]; told {
		return page.Say(ctx, "power") + " " + page.Say(ctx, power)
	}
	return ""
}

func (s *Server) surroundingFacts(ctx context.Context, p *ledger.Property, v *ledger.Visit) []page.Fact {
	list := []page.Fact{{Name: page.Say(ctx, "Complaint"), Value: s.in(ctx).complaint(v.Complaint)}, {Name: page.Say(ctx, "Who works"), Value: v.Who.Name}}
	l := visit.LanguageOf(ctx)
	for _, x := range s.Visits.Surroundings() {
		name := l.Surrounding(x.ID)
		if value, known := v.Surroundings[x.ID]; known {
			list = append(list, page.Fact{Name: name, Value: value.Text + " " + value.Unit})
		} else if x.ID == "elevation" && p.Elevation != nil {
			list = append(list, page.Fact{Name: name, Value: asRead(p.Elevation), Doubt: page.Say(ctx, "of the property")})
		} else {
			list = append(list, page.Fact{Name: name, Value: page.Say(ctx, "not measured"), Doubt: x.Assumed})
		}
	}
	return list
}

func causes(a visit.Advice) page.Causes {
	c := page.Causes{Unlisted: a.Unlisted, Hint: a.Hint, Beside: a.Beside, Learned: learnedPath}
	for _, x := range a.Standing {
		c.Standing = append(c.Standing, page.Cause{ID: x.ID, Name: x.Name, Detail: x.Detail, Repair: x.Repair, Odds: x.Odds, Severity: x.Severity,
			Bar: chart.Odds(x.Probability, x.Name+": "+x.Odds), Reasons: x.Reasons})
	}
	for _, x := range a.RuledOut {
		c.Ruled = append(c.Ruled, page.Ruled{Name: x.Name, Why: x.Why})
		c.RuledOut += len(x.IDs)
	}
	return c
}

// effect is what the last readings told.
func effect(ctx context.Context, a visit.Advice) page.Effect {
	e := page.Effect{Brief: a.Effect}
	if a.EffectDetail == nil {
		return e
	}
	for _, p := range a.EffectDetail.Points {
		point := page.EffectPoint{Name: p.Name, Reading: p.Reading, Truth: p.Truth}
		for _, x := range p.Expect {
			point.Expect = append(point.Expect, page.Expect{If: x.If, Shows: x.Shows})
		}
		e.Points = append(e.Points, point)
	}
	for _, c := range []page.EffectChange{
		{Heading: page.Say(ctx, "Ruled out"), Causes: a.EffectDetail.RuledOut},
		{Heading: page.Say(ctx, "Likelier"), Causes: a.EffectDetail.Likelier},
		{Heading: page.Say(ctx, "Still open"), Causes: a.EffectDetail.Open},
	} {
		if len(c.Causes) > 0 {
			e.Changes = append(e.Changes, c)
		}
	}
	return e
}

func notJudged(n *visit.NotJudged) *page.NotJudged {
	if n == nil {
		return nil
	}
	return &page.NotJudged{Reasons: n.Reasons, Task: n.Task}
}

// verdict puts the advice into a box, unless it is simply to go on checking.
func (s *Server) verdict(ctx context.Context, v *ledger.Visit, a visit.Advice) *page.Verdict {
	if a.Verdict == diagnosis.VerdictCheck && a.Repair == nil {
		return nil
	}
	box := &page.Verdict{Heading: a.Heading, Why: a.Why, Cost: a.Cost}
	base := visitPath(v.Visit)
	if a.Repair != nil {
		box.Held, box.Cautions = a.Repair.Held, a.Repair.Cautions
	}
	switch {
	case a.Verdict == diagnosis.VerdictCheck:
		if len(box.Held) == 0 {
			return nil
		}
		box.Onward, box.Cautions = true, nil // those of the repair come with the repair
	case a.Verdict == diagnosis.VerdictRepair && a.Repair != nil:
		box.Action = page.Link{Text: page.Say(ctx, "Record the repair"), Href: base + "/repair?repair=" + url.QueryEscape(a.Repair.ID)}
	case a.Verdict == diagnosis.VerdictCured:
		box.Action = page.Link{Text: page.Say(ctx, "Go to the proof"), Href: base + "/proof"}
	default:
		box.Action = page.Link{Text: page.Say(ctx, "Close this visit"), Href: base + "/close"}
	}
	return box
}

// readingLines lists what was read, newest first, with the repairs between.
func (s *Server) readingLines(ctx context.Context, v *ledger.Visit) []page.ReadingLine {
	var list []page.ReadingLine
	epoch := v.Epoch()
	readings := v.Counting()
	for i := len(readings) - 1; i >= 0; i-- {
		r := readings[i]
		for ; epoch > r.Epoch; epoch-- {
			list = append(list, s.repairLine(ctx, v, v.Repairs[epoch-1]))
		}
		list = append(list, s.readingLine(ctx, v, r))
	}
	for ; epoch > 0; epoch-- {
		list = append(list, s.repairLine(ctx, v, v.Repairs[epoch-1]))
	}
	return list
}

func (s *Server) repairLine(ctx context.Context, v *ledger.Visit, r *ledger.Repair) page.ReadingLine {
	return page.ReadingLine{What: s.in(ctx).repairName(r), When: s.clock(r.Stamp.At), Repair: true, Undo: s.undo(v.Visit, string(r.Stamp.Entry))}
}

func (s *Server) readingLine(ctx context.Context, v *ledger.Visit, r *ledger.Reading) page.ReadingLine {
	line := page.ReadingLine{What: capital(s.in(ctx).pointName(r)), Value: s.in(ctx).shown(r), When: s.clock(r.Stamp.At), Undo: s.undo(v.Visit, string(r.ID()))}
	if r.Unsettled {
		line.Doubt = page.Say(ctx, "not settled")
	}
	if r.Doubt != "" {
		line.Doubt = sentence(line.Doubt, r.Doubt)
	}
	if r.Role == "apprentice" {
		line.When += " · " + r.Stamp.Author + ", " + page.Say(ctx, "apprentice")
	}
	if r.Demand != "cool" {
		line.When += " · " + calling(ctx, r.Demand)
	}
	return line
}

// calling says what the thermostat called for.
func calling(ctx context.Context, demand string) string {
	if l := visit.LanguageOf(ctx); l != visit.English {
		return l.Answer("demand", demand)
	}
	return "calling for " + demand
}

func papers(ctx context.Context, v *ledger.Visit) []page.Link {
	base := visitPath(v.Visit)
	list := []page.Link{
		{Text: page.Say(ctx, "Panel note"), Href: base + "/note", Note: page.Say(ctx, "to print and leave on the unit")},
		{Text: page.Say(ctx, "Visit report"), Href: base + "/report", Note: page.Say(ctx, "for the customer")},
		{Text: page.Say(ctx, "Still to be done, recommendations"), Href: base + "/later"},
	}
	if v.Closed == nil {
		list = append(list, page.Link{Text: page.Say(ctx, "Close this visit"), Href: base + "/close"})
	}
	return list
}
