package web

import (
	"context"
	"net/http"
	"net/url"

	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// choosePath is where a check somebody would do is held against the one
// proposed: at the demand at which it tells most.
func choosePath(id record.VisitID, c visit.Card) string {
	return visitPath(id) + "/choose/" + url.PathEscape(c.Check)
}

// chooseCheck asks for the next check without telling which is proposed.
func (s *Server) chooseCheck(w http.ResponseWriter, r *http.Request) error {
	r = s.inLanguage(r)
	ctx := r.Context()
	here, err := s.here(r)
	if err != nil {
		return err
	}
	p := page.ChecksPage{Shell: s.shell(r, here, page.Say(ctx, "What would you check?"), "Check"),
		Intro: page.Say(ctx, "Choose before you look at what is proposed. You are told what your check would tell, what the other would, and why.")}
	p.Back = page.Link{Text: page.Say(ctx, "Visit"), Href: visitPath(here.Visit.Visit)}
	if p.Groups, err = s.checkGroups(r, here, choosePath); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, page.Checks(p))
}

// compareCheck holds the check chosen against the one proposed.
func (s *Server) compareCheck(w http.ResponseWriter, r *http.Request) error {
	r = s.inLanguage(r)
	ctx := r.Context()
	here, err := s.here(r)
	if err != nil {
		return err
	}
	x, err := s.Visits.Compare(ctx, here.Visit.Visit, r.PathValue("check"), r.URL.Query().Get("demand"))
	if err != nil {
		return err
	}
	p := page.ComparisonPage{Shell: s.shell(r, here, x.Chosen.Name, "Check"), Verdict: x.Verdict, Good: x.Good, Why: x.Why, Chosen: weighed(ctx, here, x.Chosen),
		Again: page.Link{Text: page.Say(ctx, "Choose another"), Href: visitPath(here.Visit.Visit) + "/choose"}}
	p.Back = page.Link{Text: page.Say(ctx, "Visit"), Href: visitPath(here.Visit.Visit)}
	if x.Best != nil {
		best := weighed(ctx, here, *x.Best)
		p.Best = &best
	}
	return s.render(w, r, http.StatusOK, page.Comparison(p))
}

func weighed(ctx context.Context, here visit.Here, c visit.Card) page.Weighed {
	out := page.Weighed{Name: c.Name, Note: sentence(minutesIn(ctx, c.Minutes+c.SetUp), powerNote(ctx, c), instrument(c)), Why: c.Why, Outcomes: c.Outcomes,
		Do: page.Link{Text: page.Say(ctx, "Do this check"), Href: checkPath(here.Visit.Visit, c)}}
	for _, p := range c.Points {
		var e page.PointEntry
		expect(ctx, &e, p)
		if len(e.Expect) > 0 {
			out.Expect = append(out.Expect, page.WeighedPoint{Name: capital(p.Name), Expect: e.Expect, Same: e.Same})
		}
	}
	return out
}
