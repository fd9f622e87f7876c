package web

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"

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

// madeUp is a part for the browser as package bundle would build it.
func madeUp(t *testing.T) fstest.MapFS {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	fmt.Fprint(z, "\x00asm program")
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return fstest.MapFS{"rung.wasm.gz": {Data: b.Bytes()}, "rung.wasm.br": {Data: []byte("as brotli")}, "wasm_exec.js": {Data: []byte("starter")}}
}

// TestPackedFiles: the program is sent as the browser takes it, under its right
// type, and only once.
func TestPackedFiles(t *testing.T) {
	s := newServer(t, nil)
	s.Built = madeUp(t)
	h := s.Handler()
	for _, c := range []struct{ accepts, encoding, content string }{
		{"gzip, deflate, br, zstd", "br", "as brotli"},
		{"gzip, br;q=0", "gzip", string(madeUp(t)["rung.wasm.gz"].Data)},
		{"gzip", "gzip", string(madeUp(t)["rung.wasm.gz"].Data)},
		{"", "", "\x00asm program"},
	} {
		r := httptest.NewRequest(http.MethodGet, "/static/rung.wasm", nil)
		r.Header.Set("Accept-Encoding", c.accepts)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		got := w.Header()
		if w.Code != 200 || w.Body.String() != c.content || got.Get("Content-Encoding") != c.encoding || got.Get("Content-Type") != "application/wasm" || got.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%q: %d %q %v", c.accepts, w.Code, w.Body, got)
		}
		r.Header.Set("If-None-Match", got.Get("ETag"))
		w = httptest.NewRecorder()
		if h.ServeHTTP(w, r); w.Code != http.StatusNotModified || w.Body.Len() != 0 {
			t.Errorf("%q: asked again it answers %d with %d bytes", c.accepts, w.Code, w.Body.Len())
		}
	}
}

// TestWorkerScript: the worker knows its build and may compile; another shop or
// another file is another build; a server without the program offers nothing.
func TestWorkerScript(t *testing.T) {
	script := func(shop string, built fstest.MapFS) *httptest.ResponseRecorder {
		s := newServer(t, nil)
		s.Shop, s.Built = shop, built
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/sw.js", nil))
		return w
	}
	w := script("A", madeUp(t))
	line, _, _ := strings.Cut(w.Body.String(), "\n")
	for _, want := range []string{`const build = {`, `"/static/rung.wasm",12,`, `"/static/wasm_exec.js"`, `"/static/shop.json"`, `"/static/again.html"`, `"/static/app.css"`} {
		if !strings.Contains(line, want) {
			t.Errorf("the worker is not told %s: %s", want, line)
		}
	}
	if p := w.Header().Get("Content-Security-Policy"); !strings.Contains(p, "'wasm-unsafe-eval'") || w.Header().Get("Cache-Control") != "no-cache" {
		t.Errorf("headers of the worker: %v", w.Header())
	}
	if again := script("A", madeUp(t)); again.Body.String() != w.Body.String() {
		t.Error("the same build has another script")
	}
	other := madeUp(t)
	other["wasm_exec.js"] = &fstest.MapFile{Data: []byte("another starter")}
	for name, x := range map[string]*httptest.ResponseRecorder{"another shop": script("B", madeUp(t)), "another starter": script("A", other)} {
		if x.Body.String() == w.Body.String() {
			t.Errorf("%s is the same build", name)
		}
	}
	if none := script("A", fstest.MapFS{}); none.Code != http.StatusNotFound {
		t.Errorf("without the program the script answers %d, want 404", none.Code)
	}
}
