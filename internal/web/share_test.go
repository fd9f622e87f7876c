package web

import (
	"bytes"
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"rung/internal/record"
	"rung/internal/visit"
)

// get fetches an address as somebody without anything.
func get(h http.Handler, path string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w
}

// TestReportLink: a link is made, leads to the report and nothing else, and
// leads nowhere once it is withdrawn.
func TestReportLink(t *testing.T) {
	b := quickBrowser(t).visit()
	b.twice = true
	report := b.at.Path + "/report"
	b.open(report).submit("Make a link", nil).wants(200).says(".notice", "Link made")
	if n := len(all(b.doc, "a.address")); n != 1 {
		t.Fatalf("%d links are listed, want one: the form was sent twice", n)
	}
	link := attr(one(t, b.doc, "a.address"), "href")
	u, err := url.Parse(link)
	if err != nil || u.Host != "example.com" || u.Scheme != "http" || len(u.Path) != len("/report/")+43 {
		t.Fatalf("link %q, %v", link, err)
	}
	w := get(b.handler, u.Path)
	doc := document(t, w.Body)
	if w.Code != 200 || !strings.Contains(words(one(t, doc, "article.sheet")), "stays warm") {
		t.Errorf("the link answers %d: %s", w.Code, words(doc))
	}
	if got := w.Header().Get("X-Robots-Tag"); !strings.Contains(got, "noindex") || !strings.Contains(w.Header().Get("Cache-Control"), "no-store") {
		t.Errorf("X-Robots-Tag %q, Cache-Control %q", got, w.Header().Get("Cache-Control"))
	}
	one(t, doc, "meta[name=robots]")
	for _, a := range all(doc, "a[href]") {
		if href := attr(a, "href"); !strings.HasPrefix(href, u.Path) && !strings.HasPrefix(href, "#") {
			t.Errorf("the report of a stranger leads to %s", href)
		}
	}
	if len(all(doc, "form")) > 0 {
		t.Error("a stranger is offered a form")
	}
	if w := get(b.handler, u.Path+"/report.pdf"); w.Code != 200 || !bytes.HasPrefix(w.Body.Bytes(), []byte("%PDF")) || w.Header().Get("X-Robots-Tag") == "" {
		t.Errorf("the paper of the link answers %d", w.Code)
	}
	for _, wrong := range []string{"/report/x", u.Path[:len(u.Path)-1], u.Path + "x", "/report/" + strings.TrimSuffix(strings.TrimPrefix(report, "/visits/"), "/report")} {
		if w := get(b.handler, wrong); w.Code != http.StatusNotFound || w.Header().Get("X-Robots-Tag") == "" {
			t.Errorf("%s answers %d, want 404", wrong, w.Code)
		}
	}
	b.open(report).submit("Withdraw", nil).wants(200).says(".notice", "withdrawn")
	if n := len(all(b.doc, "a.address")); n != 0 {
		t.Errorf("%d links are listed after withdrawing", n)
	}
	for _, path := range []string{u.Path, u.Path + "/report.pdf"} {
		w := get(b.handler, path)
		if doc := document(t, w.Body); w.Code != http.StatusNotFound || len(all(doc, "a.main")) > 0 {
			t.Errorf("%s answers %d after withdrawing, want 404 without a way on: %s", path, w.Code, words(doc))
		}
	}
}

// TestLinkOfAnotherVisit: the form that withdraws links takes back nothing else.
func TestLinkOfAnotherVisit(t *testing.T) {
	b := quickBrowser(t).visit()
	at := b.at.Path
	b.open(at+"/report").submit("Make a link", nil)
	entry := attr(one(t, b.doc, "input[name=entry]"), "value")
	for _, wrong := range []string{"", "01ARZ3NDEKTSV4RRFFQ69G5FAV", strings.TrimPrefix(at, "/visits/")} {
		form := url.Values{"form": {newForm(t, b, at+"/checks/cap-bench")}, "entry": {wrong}}
		if w := post(b.handler, at+"/links/withdraw", form); w.Code != http.StatusNotFound {
			t.Errorf("withdrawing %q answers %d, want 404", wrong, w.Code)
		}
	}
	if b.open(at + "/report"); len(all(b.doc, "a.address")) != 1 || entry == "" {
		t.Error("the link is gone")
	}
}

// TestLogHidesTheLink: an error on the page of a link does not put the link into
// the log.
func TestLogHidesTheLink(t *testing.T) {
	var logged bytes.Buffer
	s := newServer(t, nil)
	s.Log = slog.New(slog.NewTextHandler(&logged, nil))
	const token = "pYc0nQb4v0y8l1mGq3vWl1c3mC2n9b8x7z6l5k4j3h2"
	r := httptest.NewRequest(http.MethodGet, "/report/"+token, nil)
	r.SetPathValue("token", token)
	s.problem(httptest.NewRecorder(), r, http.ErrNoLocation)
	if logged.Len() == 0 || strings.Contains(logged.String(), token) {
		t.Errorf("the log says %q", logged.String())
	}
}

// people lists persons as the server's accounts do.
func people(list ...record.Person) func(context.Context) ([]record.Person, error) {
	return func(context.Context) ([]record.Person, error) { return slices.Clone(list), nil }
}

// TestStandingComesFromOneSource: where the people of the shop are known, role
// and licences come from there, whatever a form says, and every reading carries
// the role of who took it.
func TestStandingComesFromOneSource(t *testing.T) {
	ben := record.Person{Name: "Ben", Role: "apprentice"}
	ada := record.Person{Name: "Ada", Role: "mechanic", Refrigerant: true}
	s := newServer(t, func(visit.Situation) (visit.Reasoner, error) { return mute{}, nil })
	b := (&browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}}).visit()
	here, err := s.Visits.Visit(t.Context(), record.VisitID(strings.TrimPrefix(b.at.Path, "/visits/")))
	if err != nil {
		t.Fatal(err)
	}
	open := "/systems/" + string(here.System.System)
	s.Author = func(*http.Request) string { return "Ben" }
	s.Standing = func(*http.Request) record.Person { return ben }
	b.open(open+"/open").submit("Open visit", url.Values{"who": {"Ben"}, "role": {"mechanic"}, "gas": {"yes"}, "complaint": {"noise"}, "words": {"x"}}).wants(200)
	visitPath := strings.TrimSuffix(b.at.Path, "/surroundings")
	visitID := record.VisitID(strings.TrimPrefix(visitPath, "/visits/"))
	if here, err = s.Visits.Visit(t.Context(), visitID); err != nil || here.Visit.Who != ben {
		t.Errorf("who works is %+v, %v, want %+v", here.Visit.Who, err, ben)
	}
	b.open(visitPath+"/checks/cap-bench?demand=off").submit("Record", url.Values{"point-herm": {"41"}}).wants(200)
	here, err = s.Visits.Visit(t.Context(), visitID)
	if err != nil || len(here.Visit.Readings) != 1 || here.Visit.Readings[0].Role != "apprentice" {
		t.Errorf("the reading is %+v, %v", here.Visit.Readings, err)
	}
	b.says("#readings", "Ben, apprentice")

	form := url.Values{"form": {s.Visits.NewForm()}, "who": {"Eve"}, "role": {"mechanic"}, "refrigerant": {"yes"}, "complaint": {"noise"}, "words": {"x"}}
	if w := post(b.handler, open+"/visits", form); w.Code != http.StatusForbidden {
		t.Errorf("an apprentice opens a visit for a made-up mechanic: %d, want 403", w.Code)
	}
	s.Standing = func(*http.Request) record.Person { return record.Person{Name: "Olga"} } // in the office
	s.People = people(ada, ben, record.Person{Name: "Olga"})
	b.open(open + "/open")
	if n := len(all(b.doc, "input[name=refrigerant]")); n != 0 || len(all(b.doc, "input[name=who]")) != 2 {
		t.Error("the form asks for what is known, or offers somebody who does not work at units")
	}
	form.Set("form", s.Visits.NewForm())
	if w := post(b.handler, open+"/visits", form); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a visit for a stranger: %d, want 422", w.Code)
	}
	b.submit("Open visit", url.Values{"who": {"Ada"}, "supervisor": {""}, "complaint": {"noise"}, "words": {"x"}}).wants(200)
	id, _, _ := strings.Cut(strings.TrimPrefix(b.at.Path, "/visits/"), "/")
	if here, err := s.Visits.Visit(t.Context(), record.VisitID(id)); err != nil || here.Visit.Who != ada {
		t.Errorf("who works is %+v, %v, want %+v", here.Visit.Who, err, ada)
	}
}
