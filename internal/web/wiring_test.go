package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"rung/internal/system"
)

// TestEveryWiringHasAPage opens each kind of system under each call with each
// fault, and healthy also before the call and with the power off.
func TestEveryWiringHasAPage(t *testing.T) {
	b := quickBrowser(t)
	for _, id := range system.IDs() {
		d, _ := system.Describe(id)
		b.open("/wiring")
		b.open(attr(one(t, b.doc, "a[href=/wiring/"+id+"]"), "href"))
		checkLandmarks(t, b.doc)
		checkNoInline(t, b.doc)
		checkNames(t, b.doc)
		checkIDs(t, b.doc)
		causes := []string{healthy}
		for _, f := range d.Faults {
			if !f.Inherited {
				causes = append(causes, f.ID)
			}
		}
		for _, c := range d.Calls {
			for _, as := range causes {
				steps := []string{"", "-1000", powerOff}
				if as != healthy {
					steps = steps[:1]
				}
				for _, step := range steps {
					b.open("/wiring/" + id + "?" + url.Values{"as": {as}, "demand": {c.ID}, "step": {step}}.Encode())
					if b.status != http.StatusOK || len(all(b.doc, "svg.ladder")) == 0 && len(all(b.doc, "main svg")) == 0 {
						t.Fatalf("%s %s %s at %q: status %d", id, as, c.ID, step, b.status)
					}
				}
			}
		}
	}
}

// Stepping, tapping two points, and ohms with the power off.
func TestWiringIsProbed(t *testing.T) {
	b := quickBrowser(t)
	b.open("/wiring/gas-furnace?as=igniter-cracked&demand=heat&step=17000&red=HSI&black=N")
	if text := textOf(one(t, b.doc, ".answer")); !strings.Contains(text, "V from igniter plug") {
		t.Errorf("answer %q", text)
	}
	if text := textOf(one(t, b.doc, ".doubt")); !strings.Contains(text, "Flame") {
		t.Errorf("where the sequence stops: %q", text)
	}
	links := all(b.doc, ".moment a")
	if len(links) != 2 {
		t.Fatalf("%d links to other moments, want 2", len(links))
	}
	b.open(attr(links[1], "href"))
	if text := textOf(one(t, b.doc, ".moment")); !strings.Contains(text, "gas valve") && !strings.Contains(text, "gas relay") {
		t.Errorf("the next moment says %q", text)
	}
	b.open("/wiring/gas-furnace?as=igniter-cracked&demand=heat&step=off&red=HSI&black=N")
	if text := textOf(one(t, b.doc, ".answer")); !strings.HasPrefix(strings.TrimSpace(text), "OL") {
		t.Errorf("ohms of a cracked igniter: %q", text)
	}
	b.open("/wiring/gas-furnace?step=off&red=HSI&black=N")
	if text := textOf(one(t, b.doc, ".answer")); !strings.Contains(text, "Ω from igniter plug") {
		t.Errorf("ohms of a sound igniter: %q", text)
	}
	b.open("/wiring/gas-furnace?step=17000&clamp=igniter")
	if text := textOf(one(t, b.doc, ".answer")); !strings.Contains(text, "3.1") || !strings.Contains(text, "A around igniter") {
		t.Errorf("clamp around the igniter: %q", text)
	}
	for _, bad := range []string{"/wiring/steam-plant", "/wiring/gas-furnace?as=no-such-fault", "/wiring/gas-furnace?demand=no-such-call"} {
		if b.open(bad); b.status != http.StatusNotFound {
			t.Errorf("%s: status %d, want 404", bad, b.status)
		}
	}
	for _, odd := range []string{"?red=nowhere&black=N", "?step=soon", "?step=999999999999", "?red=H&black=H&step=off", "?clamp=nothing-of-that-name"} {
		if b.open("/wiring/gas-furnace" + odd); b.status != http.StatusOK {
			t.Errorf("%s: status %d, want 200", odd, b.status)
		}
	}
}

func textOf(n *html.Node) string {
	var b strings.Builder
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode {
			b.WriteString(n.Data)
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(n)
	return strings.Join(strings.Fields(b.String()), " ")
}

// TestWiringsFitAPhone measures the page of every system on the screen of a
// phone, and tells by the browser's own letters whether texts cross.
func TestWiringsFitAPhone(t *testing.T) {
	server := httptest.NewServer(newServer(t, nil).Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL)
	p.open("/wiring")
	for _, id := range system.IDs() {
		for _, query := range []string{"", "?wires=all", "?step=off", "?step=-1000"} {
			p.open("/wiring/" + id + query)
			p.textsApart()
		}
	}
}

// Budget 50 ms: the wiring page of the largest system.
func BenchmarkWiringPage(b *testing.B) {
	h := newServer(b, nil).Handler()
	for _, id := range system.IDs() {
		b.Run(id, func(b *testing.B) {
			for b.Loop() {
				w := httptest.NewRecorder()
				h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/wiring/"+id, nil))
				if w.Code != http.StatusOK {
					b.Fatal(w.Code)
				}
			}
		})
	}
}
