package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"rung/internal/web/gallery"
)

// TestPagesFitAPhone measures every page of the gallery on the screen of a
// phone: no scrolling sideways, letters of 18 px, nothing to tap that is smaller
// than a thumb, no barriers.
func TestPagesFitAPhone(t *testing.T) {
	browser := browsers(t)
	mux := http.NewServeMux()
	mux.Handle("/gallery/", gallery.Handler())
	(&Server{}).addStatic(mux)
	server := httptest.NewServer(secure(mux))
	defer server.Close()
	p := newPhone(t, browser, server.URL)
	for _, picture := range gallery.Pictures() {
		p.open("/gallery/" + picture.Name)
	}
}

// TestThePhoneSeesWhatIsWrong shows the phone a page with one mistake of each
// kind: a test that cannot fail would be worth nothing.
func TestThePhoneSeesWhatIsWrong(t *testing.T) {
	mux := http.NewServeMux()
	mux.HandleFunc("/", func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, `<!DOCTYPE html><html lang="en"><title>Wrong</title><meta name="viewport" content="width=device-width"><main><h1>Wrong</h1>`+
			`<p id="wide"><svg width="900" height="9" aria-hidden="true"></svg></p><a href="/">tiny</a><p><span>small</span></p><img src="/static/icon.svg">`+
			`<script src="/static/broken.js"></script><script>1</script></main></html>`)
	})
	mux.HandleFunc("/static/broken.js", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/javascript")
		fmt.Fprint(w, `throw new Error("broken script");`)
	})
	(&Server{}).addStatic(mux)
	server := httptest.NewServer(secure(mux))
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL)
	p.do(chromedp.Navigate(server.URL + "/"))
	got := strings.Join(p.problems(), "\n")
	for _, want := range []string{"scrolls sideways", "too small to tap", "letters of 16.0 px", "image-alt", "broken script", "Content Security Policy"} {
		if !strings.Contains(got, want) {
			t.Errorf("not seen: %s; seen:\n%s", want, got)
		}
	}
}
