package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

const learnedPath = "/learned"

func (s *Server) learned(w http.ResponseWriter, r *http.Request) error {
	return s.showLearned(w, r, nil)
}

// showLearned shows what the shop's closed calls do to the odds, and how to set
// that aside.
func (s *Server) showLearned(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	l, err := s.Visits.Learned(r.Context(), r.URL.Query().Get("kind"))
	if err != nil {
		return err
	}
	f := fill(map[string]string{"kind": l.Kind.ID}, r.PostForm, wrong)
	kind := page.Field{Kind: page.Pick, Name: "kind", Label: "Kind of system", Value: l.Kind.ID}
	for _, c := range s.Visits.SystemKinds() {
		kind.Choices = append(kind.Choices, page.Choice{Value: c.ID, Label: c.Name})
	}
	p := page.LearnedPage{
		Shell: page.Shell{Title: "What your calls taught", Back: page.Link{Text: "Start", Href: "/"}, Notice: notices[r.URL.Query().Get("done")]},
		Kind:  kind,
		How: []string{
			"Every visit begins with odds for each cause. They start from the catalogue, and every call of yours that was closed as fixed moves them a little: one whole call if before and after prove it, half a call without the whole proof, nothing if the system was repaired again within 30 days. What was only advised never counts.",
			"A call counts from the 31st day after its closing, and a visit keeps the odds of the day on which it was opened. Shares below are of 100 calls, before the complaint and any reading.",
		},
		Aside: page.FormPage{Action: learnedPath + "/aside", Submit: "Count from today on", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
			Sets: []page.FieldSet{{Intro: "Calls closed before now then no longer count. Nothing is deleted.", Fields: []page.Field{needed(f.words("why", "Why", "For instance: another part of town, other equipment."))}}}},
		Wrong: f.rest(),
	}
	if _, _, err := s.office(); err == nil {
		p.Phone = "This phone holds only some of the calls. It goes by what the office last gave out: setting aside and giving out are done there."
	}
	p.Share = page.Undo{Action: learnedPath + "/share", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}}}
	p.Shared = "Not given to the phones yet."
	if !l.Shared.IsZero() {
		p.Shared = "Last given to the phones on " + s.day(l.Shared) + "."
	}
	for _, side := range l.Sides {
		p.Sides = append(p.Sides, learnedSide(side))
	}
	if l.Waiting > 0 {
		p.State = count(l.Waiting, "closed call waits", "closed calls wait") + " for the 31st day."
	}
	if a := l.Aside; a != nil {
		p.State = sentence("Only calls closed since "+s.day(a.Stamp.At)+" count: set aside by "+a.Stamp.Author+", “"+a.Why+"”.", p.State)
		p.Again = &page.Undo{Action: learnedPath + "/again", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}, {Name: "entry", Value: string(a.Stamp.Entry)}}}
	}
	return s.render(w, r, formStatus(wrong), page.Learned(p))
}

func learnedSide(x visit.LearnedSide) page.LearnedSide {
	side := page.LearnedSide{Heading: x.Name, Intro: fmt.Sprintf("%s calls of your own on these %d causes; the catalogue weighs as much as %d calls.", halves(x.Closures), x.Stands, x.Stands)}
	for _, l := range x.Lines {
		line := page.LearnedLine{Name: l.Name, Origin: l.Origin, Base: ofHundred(l.Base), Closures: halves(l.Closures), Now: ofHundred(l.Now)}
		if l.Closures > 0 {
			side.Met = append(side.Met, line)
		} else {
			side.Others = append(side.Others, line)
		}
	}
	return side
}

func halves(n float64) string        { return strconv.FormatFloat(n, 'f', -1, 64) }
func ofHundred(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) }

func (s *Server) setLearningAside(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	err := s.atOffice()
	if err == nil {
		err = s.Visits.SetLearningAside(r.Context(), by, r.PostForm.Get("why"))
	}
	if err != nil {
		return s.again(w, r, err, s.showLearned)
	}
	return see(w, r, learnedPath, url.Values{"done": {"learning-aside"}})
}

// atOffice refuses on a phone what concerns the whole shop.
func (s *Server) atOffice() error {
	if _, _, err := s.office(); err == nil {
		return &visit.Error{Kind: visit.Denied, Message: "That is done at the office: this phone holds only some of the calls."}
	}
	return nil
}

func (s *Server) shareCounts(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	err := s.atOffice()
	if err == nil {
		err = s.Visits.ShareCounts(r.Context(), by)
	}
	if err != nil {
		return s.again(w, r, err, s.showLearned)
	}
	return see(w, r, learnedPath, url.Values{"done": {"learning-shared"}})
}

func (s *Server) countAgain(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	err := s.atOffice()
	if err == nil {
		err = s.Visits.CountAgain(r.Context(), by, record.EntryID(r.PostForm.Get("entry")))
	}
	if err != nil {
		return s.again(w, r, err, s.showLearned)
	}
	return see(w, r, learnedPath, url.Values{"done": {"learning-again"}})
}
