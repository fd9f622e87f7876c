package web

import (
	"errors"
	"net/http"
	"net/url"
	"time"

	"rung/internal/ledger"
	"rung/internal/paperwork"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// shareForm offers links to the report of a visit, and lists those that work.
func (s *Server) shareForm(r *http.Request, v *ledger.Visit) *page.Share {
	base := visitPath(v.Visit)
	share := &page.Share{Make: page.Undo{Action: base + "/links", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}}}}
	for _, x := range v.Shared {
		share.Links = append(share.Links, page.SharedLink{
			Address: origin(r) + sharedPath(x.Token), Made: "made " + x.Stamp.At.In(s.Zone).Format("2 January 2006 15:04") + " by " + x.Stamp.Author,
			Withdraw: page.Undo{Action: base + "/links/withdraw", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}, {Name: "entry", Value: string(x.Stamp.Entry)}}},
		})
	}
	return share
}

func sharedPath(token string) string { return "/report/" + url.PathEscape(token) }

// origin is the scheme and host under which the request came in. Behind a proxy
// what stands before this handler has set them as they were.
func origin(r *http.Request) string {
	scheme := "http"
	if r.TLS != nil || r.URL.Scheme == "https" {
		scheme = "https"
	}
	return scheme + "://" + r.Host
}

func (s *Server) shareReport(w http.ResponseWriter, r *http.Request) error {
	id := record.VisitID(r.PathValue("visit"))
	if _, err := s.Visits.ShareReport(r.Context(), s.by(r), id); err != nil {
		return err
	}
	return see(w, r, visitPath(id)+"/report", url.Values{"done": {"shared"}})
}

// withdrawReport takes one of the links of the visit back, and nothing else.
func (s *Server) withdrawReport(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	here, err := s.here(r)
	if err != nil {
		return err
	}
	entry := record.EntryID(r.PostForm.Get("entry"))
	if kind, _ := here.Property.Holds(entry); kind != "report-shared" {
		return &visit.Error{Kind: visit.NotFound, Message: "There is no such link here."}
	}
	if err := s.Visits.Withdraw(r.Context(), by, here.Visit.Visit, entry, "link withdrawn"); err != nil {
		return err
	}
	return see(w, r, visitPath(here.Visit.Visit)+"/report", url.Values{"done": {"unshared"}})
}

// shared loads the report that a link leads to, for whoever has the link, and
// keeps it out of the indexes of search engines.
func (s *Server) shared(w http.ResponseWriter, r *http.Request) (paperwork.Report, time.Time, error) {
	w.Header().Set("X-Robots-Tag", "noindex, nofollow, noarchive")
	here, err := s.Visits.SharedReport(r.Context(), r.PathValue("token"))
	if err != nil {
		return paperwork.Report{}, time.Time{}, err
	}
	report, err := s.reportOf(r.Context(), here, sharedPath(r.PathValue("token")))
	report.Differ = nil // what mechanics have to settle among themselves is no news for the customer
	return report, here.Visit.Opened.At, err
}

func (s *Server) sharedReport(w http.ResponseWriter, r *http.Request) error {
	report, _, err := s.shared(w, r)
	if err != nil {
		return s.noReport(w, r, err)
	}
	p := page.ReportPage{Shell: page.Shell{Title: "Visit report", Stranger: true}, Report: report, PDF: pdf(sharedPath(r.PathValue("token")) + "/report.pdf")}
	return s.render(w, r, http.StatusOK, page.Report(p))
}

// noReport tells a stranger that there is no report, without a way into the shop.
func (s *Server) noReport(w http.ResponseWriter, r *http.Request, err error) error {
	var e *visit.Error
	if !errors.As(err, &e) || e.Kind != visit.NotFound {
		return err
	}
	p := page.Problem{Shell: page.Shell{Title: "No report here", Stranger: true}, What: e.Message, Do: "Links to a report can be withdrawn at any time."}
	return s.render(w, r, http.StatusNotFound, page.ProblemPage(p))
}
