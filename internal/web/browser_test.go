package web

import (
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/net/html"

	"rung/internal/blob"
	"rung/internal/diagnosis"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/visit"
)

// browser sends requests to a server as a browser without JavaScript and
// without cookies would, and keeps the page it is on.
type browser struct {
	t       testing.TB
	handler http.Handler
	at      *url.URL
	doc     *html.Node
	status  int
	twice   bool // every form is sent two times
}

// newServer returns a server over a journal in memory, with a clock that moves
// a second at every look.
func newServer(t testing.TB, open func(visit.Situation) (visit.Reasoner, error)) *Server {
	t.Helper()
	return newServerOf(t, "Ada", memlog.New(ledger.Summary()), open)
}

// newServerOf returns the server on the phone of somebody.
func newServerOf(t testing.TB, who string, log journal.Log, open func(visit.Situation) (visit.Reasoner, error)) *Server {
	t.Helper()
	var mu sync.Mutex
	at := time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC)
	now := func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		at = at.Add(time.Second)
		return at
	}
	var blobs blob.Store
	if with, ok := log.(interface{ Blobs() blob.Store }); ok {
		blobs = with.Blobs()
	}
	visits, err := visit.New(visit.Config{
		Log: log, Blobs: blobs, Now: now, IDs: journal.NewIDSource(now, rand.NewChaCha8([32]byte([]byte(fmt.Sprintf("%32s", who))))), Device: "phone of " + who, Open: open, Random: rand.NewChaCha8([32]byte{2}),
	})
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Options{Visits: visits, Author: func(*http.Request) string { return who }, Now: now, Shop: "Sample Shop", Phone: "555 0100",
		Log: slog.New(slog.NewTextHandler(testWriter{t}, nil))})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// testWriter sends the log of the server to the test's own.
type testWriter struct{ t testing.TB }

func (w testWriter) Write(b []byte) (int, error) {
	w.t.Logf("%s", b)
	return len(b), nil
}

// newBrowser returns a browser on a server that reasons with the physical model.
func newBrowser(t testing.TB) *browser {
	t.Helper()
	return &browser{t: t, handler: newServer(t, nil).Handler(), at: &url.URL{Path: "/"}}
}

// mute is a reasoner that always says to go on checking: enough for pages that
// do not hang on the advice, and a second quicker for each visit.
type mute struct{}

func (mute) Advise(diagnosis.Case) (diagnosis.Advice, error) {
	return diagnosis.Advice{Verdict: diagnosis.VerdictCheck}, nil
}

func (mute) Card(diagnosis.Case, diagnosis.Ref) ([]diagnosis.Expectation, error) {
	return []diagnosis.Expectation{{Cause: "healthy", NotReadableShare: 1}}, nil
}

// quickBrowser returns a browser on a server without advice.
func quickBrowser(t testing.TB) *browser {
	t.Helper()
	open := func(visit.Situation) (visit.Reasoner, error) { return mute{}, nil }
	return &browser{t: t, handler: newServer(t, open).Handler(), at: &url.URL{Path: "/"}}
}

// open goes to an address.
func (b *browser) open(path string) *browser {
	b.t.Helper()
	u, err := b.at.Parse(path)
	if err != nil {
		b.t.Fatal(err)
	}
	return b.send(httptest.NewRequest(http.MethodGet, u.RequestURI(), nil), u)
}

// send sends a request and follows where it leads.
func (b *browser) send(r *http.Request, to *url.URL) *browser {
	b.t.Helper()
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	if c := w.Result().Cookies(); len(c) > 0 {
		b.t.Errorf("%s sets a cookie", to)
	}
	if b.twice && r.Method == http.MethodPost {
		again := post(b.handler, to.RequestURI(), r.PostForm)
		if again.Code != w.Code || again.Header().Get("Location") != w.Header().Get("Location") {
			b.t.Errorf("%s answers %d %s, sent again %d %s: %s", to, w.Code, w.Header().Get("Location"), again.Code, again.Header().Get("Location"),
				words(document(b.t, again.Body)))
		}
	}
	b.at, b.status = to, w.Code
	if w.Code == http.StatusSeeOther {
		return b.open(w.Header().Get("Location"))
	}
	b.doc = document(b.t, w.Body)
	return b
}

// wants fails the test unless the page has this status.
func (b *browser) wants(status int) *browser {
	b.t.Helper()
	if b.status != status {
		b.t.Fatalf("%s answers %d, want %d: %s", b.at, b.status, status, b.text("main"))
	}
	return b
}

// text returns the words of what matches.
func (b *browser) text(selector string) string {
	var parts []string
	for _, n := range all(b.doc, selector) {
		parts = append(parts, words(n))
	}
	return strings.Join(parts, " | ")
}

// says fails the test unless the words of what matches contain want.
func (b *browser) says(selector, want string) *browser {
	b.t.Helper()
	if got := b.text(selector); !strings.Contains(got, want) {
		b.t.Errorf("%s: %s says %q, want %q in it", b.at, selector, got, want)
	}
	return b
}

// follow taps the first link that contains text.
func (b *browser) follow(text string) *browser {
	b.t.Helper()
	for _, a := range all(b.doc, "a[href]") {
		if strings.Contains(words(a), text) {
			return b.open(attr(a, "href"))
		}
	}
	b.t.Fatalf("%s has no link %q", b.at, text)
	return nil
}

// submit fills in the form whose button says button, and sends it. What is
// not filled in is sent as it stands in the page.
func (b *browser) submit(button string, fill url.Values) *browser {
	b.t.Helper()
	for _, form := range all(b.doc, "form") {
		for _, x := range all(form, "button") {
			if !strings.Contains(words(x), button) && !strings.Contains(attr(x, "aria-label"), button) {
				continue
			}
			values := successful(form)
			if name := attr(x, "name"); name != "" {
				values.Set(name, attr(x, "value"))
			}
			for name, v := range fill {
				if !values.Has(name) && len(all(form, "[name="+name+"]")) == 0 {
					b.t.Fatalf("%s: the form %q has no field %q", b.at, button, name)
				}
				values[name] = v
			}
			return b.sendForm(form, values)
		}
	}
	b.t.Fatalf("%s has no button %q", b.at, button)
	return nil
}

func (b *browser) sendForm(form *html.Node, values url.Values) *browser {
	b.t.Helper()
	to, err := b.at.Parse(attr(form, "action"))
	if err != nil {
		b.t.Fatal(err)
	}
	if attr(form, "method") != "post" {
		to.RawQuery = values.Encode()
		return b.open(to.RequestURI())
	}
	r := httptest.NewRequest(http.MethodPost, to.RequestURI(), strings.NewReader(values.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "http://"+r.Host)
	return b.send(r, to)
}

// successful returns what a browser would send of a form: the successful
// controls of the HTML standard, without buttons.
func successful(form *html.Node) url.Values {
	values := url.Values{}
	for _, n := range all(form, "[name]") {
		name := attr(n, "name")
		switch {
		case n.Data == "input" && (attr(n, "type") == "radio" || attr(n, "type") == "checkbox"):
			if has(n, "checked") {
				values.Add(name, attr(n, "value"))
			}
		case n.Data == "input":
			values.Add(name, attr(n, "value"))
		case n.Data == "textarea":
			values.Add(name, words(n))
		case n.Data == "select":
			values.Add(name, chosen(n))
		}
	}
	return values
}

func chosen(list *html.Node) string {
	options := all(list, "option")
	for _, o := range options {
		if has(o, "selected") {
			return attr(o, "value")
		}
	}
	if len(options) == 0 {
		return ""
	}
	return attr(options[0], "value")
}

// raw fetches an address and returns the answer itself.
func (b *browser) raw(path string) *http.Response {
	b.t.Helper()
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w.Result()
}

func body(t testing.TB, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
