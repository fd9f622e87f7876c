package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"rung/internal/journal"
	"rung/internal/quantity"
	"rung/internal/visit"
)

func TestHeaders(t *testing.T) {
	b := quickBrowser(t)
	for _, path := range []string{"/", "/static/app.css", "/nowhere"} {
		h := b.raw(path).Header
		if got := h.Get("Content-Security-Policy"); !strings.Contains(got, "script-src 'self';") || strings.Contains(got, "unsafe") {
			t.Errorf("%s: Content-Security-Policy %q", path, got)
		}
		if got := h.Get("Referrer-Policy"); got != "same-origin" {
			t.Errorf("%s: Referrer-Policy %q", path, got)
		}
	}
}

// TestForgedForms: forms from elsewhere are refused by their Origin, with and
// without the Sec-Fetch-Site header, which a page in the phone does not see.
func TestForgedForms(t *testing.T) {
	h := newServer(t, nil).Handler()
	for _, c := range []struct {
		name, origin, site string
		refused            bool
	}{
		{"other site", "https://evil.example", "cross-site", true},
		{"other site, origin only", "https://evil.example", "", true},
		{"opaque origin", "null", "", true},
		{"own form", "http://example.com", "same-origin", false},
		{"own form, origin only", "http://example.com", "", false},
	} {
		r := httptest.NewRequest(http.MethodPost, "http://example.com/properties", strings.NewReader("name=x"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", c.origin)
		if c.site != "" {
			r.Header.Set("Sec-Fetch-Site", c.site)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if got := w.Code == http.StatusForbidden; got != c.refused {
			t.Errorf("%s: status %d, want refused %v", c.name, w.Code, c.refused)
		}
	}
}

func TestStatusOfErrors(t *testing.T) {
	for _, c := range []struct {
		err  error
		want int
	}{
		{&visit.Error{Kind: visit.NotFound}, 404},
		{&visit.Error{Kind: visit.Invalid}, 422},
		{&visit.Error{Kind: visit.OutOfRange}, 422},
		{&visit.Error{Kind: visit.Conflict}, 409},
		{&visit.Error{Kind: visit.Denied}, 403},
		{fmt.Errorf("wrapped: %w", &visit.Error{Kind: visit.Denied}), 403},
		{fmt.Errorf("record: %w", journal.ErrFull), 507},
		{fmt.Errorf("record: %w", journal.ErrReadOnly), 503},
		{&quantity.RangeError{}, 422},
		{&http.MaxBytesError{}, 413},
		{errors.New("anything"), 500},
	} {
		if got := status(c.err); got != c.want {
			t.Errorf("status(%v) = %d, want %d", c.err, got, c.want)
		}
	}
}

// TestUnknownErrorsSayNothingInside: what went wrong inside is logged, not shown.
func TestUnknownErrorsSayNothingInside(t *testing.T) {
	what, do := explain(errors.New("sqlite: disk I/O error at 0x42"), 500)
	if strings.Contains(what+do, "sqlite") {
		t.Errorf("the page says %q %q", what, do)
	}
}

func TestLargeForm(t *testing.T) {
	h := newServer(t, nil).Handler()
	r := httptest.NewRequest(http.MethodPost, "/properties", strings.NewReader("name="+strings.Repeat("x", 2<<20)))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	if w.Code != http.StatusRequestEntityTooLarge && w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a form of 2 MB answers %d", w.Code)
	}
}

func TestStaticFilesAreFetchedOnce(t *testing.T) {
	b := quickBrowser(t)
	tag := b.raw("/static/app.css").Header.Get("ETag")
	r := httptest.NewRequest(http.MethodGet, "/static/app.css", nil)
	r.Header.Set("If-None-Match", tag)
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	if tag == "" || w.Code != http.StatusNotModified {
		t.Errorf("tag %q, second fetch answers %d, want 304", tag, w.Code)
	}
}
