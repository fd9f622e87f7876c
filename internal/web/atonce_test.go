package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
)

// TestPagesAtOnce fetches the pages of two visits, and sends readings to one of
// them, from many goroutines at once. Run with -race it shows that no handler
// shares what it should not; without, that every reading answered is there. The
// drawings are solved by the physical model; its advice has its own such test.
func TestPagesAtOnce(t *testing.T) {
	b := quickBrowser(t).visit()
	first := b.at.Path
	b.at = &url.URL{Path: "/"}
	second := b.visit().at.Path
	var at sync.WaitGroup
	for i, path := range []string{
		first, first + "/ladder?red=T1&black=T2", first + "/sequence", first + "/sequence?as=lv-open-y", first + "/checks/gauge-pressures", first + "/checks",
		second, second + "/ladder?as=herm-cap-open", second + "/checks/cap-bench", second + "/proof", second + "/report", second + "/note.pdf",
	} {
		at.Go(func() {
			w := httptest.NewRecorder()
			b.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
			if w.Code != http.StatusOK {
				t.Errorf("%s answers %d", path, w.Code)
			}
		})
		at.Go(func() {
			form := url.Values{"form": {newForm(t, b, first+"/checks/cap-bench")}, "check": {"cap-bench"}, "demand": {"off"}, "point-herm": {fmt.Sprintf("%d.5", 20+i)}}
			if w := post(b.handler, first+"/readings", form); w.Code != http.StatusSeeOther {
				t.Errorf("reading %d answers %d", i, w.Code)
			}
		})
	}
	at.Wait()
	readings := b.open(first).wants(200).text("#readings")
	for i := range 12 {
		if want := fmt.Sprintf("%d.5 µF", 20+i); !strings.Contains(readings, want) {
			t.Errorf("%s was acknowledged and is not there: %s", want, readings)
		}
	}
}

// newForm fetches a page and returns the number of its form.
func newForm(t testing.TB, b *browser, path string) string {
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	inputs := all(document(t, w.Body), "#enter input[name=form]")
	if len(inputs) != 1 {
		t.Errorf("%s answers %d with %d forms", path, w.Code, len(inputs))
		return ""
	}
	return attr(inputs[0], "value")
}

// post sends a form from one of our own pages.
func post(h http.Handler, path string, form url.Values) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "http://"+r.Host)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}
