package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"strings"
	"testing"

	"rung/internal/web/gallery"
)

// browserNames are where a browser is looked for, after CHROMIUM.
var browserNames = []string{"chromium", "chromium-browser", "google-chrome"}

// chromium returns a browser, or skips the test; with REQUIRE_BROWSER=1 it
// fails instead.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range append([]string{os.Getenv("CHROMIUM")}, browserNames...) {
		if path, err := exec.LookPath(name); name != "" && err == nil {
			return path
		}
	}
	if os.Getenv("REQUIRE_BROWSER") == "1" {
		t.Fatal("no browser found; set CHROMIUM")
	}
	t.Skip("no browser found: pages are not measured on a screen; set CHROMIUM")
	return ""
}

// measure looks at every page in a frame as wide as a phone and writes what is
// wrong into the title.
//
// published: WCAG 2.2, success criteria 1.4.10 (reflow) and 2.5.8 (targets of
// 24 px at least); practice: 44 px is the least a thumb hits in a glove.
const measure = `
const least = 44, found = [];
function look(name, frame) {
  const doc = frame.contentDocument, root = doc.documentElement;
  for (const d of doc.querySelectorAll("details")) d.open = true;
  if (root.scrollWidth > root.clientWidth) found.push(name + ": scrolls sideways, " + root.scrollWidth + " px wide");
  const size = parseFloat(frame.contentWindow.getComputedStyle(doc.body).fontSize);
  if (size < 18) found.push(name + ": text of " + size + " px");
  for (const e of doc.querySelectorAll("a[href], button, select, summary, textarea, .choices label, label.tick, input:not([type=hidden]):not([type=radio]):not([type=checkbox])")) {
    if (e.hidden || e.matches(".skip, .wrong a")) continue;
    const target = e.querySelector(".hit") || e, box = target.getBoundingClientRect();
    if (box.height < least || box.width < least) found.push(name + ": " + e.tagName + " '" + e.textContent.trim().slice(0, 30) + "' is " + box.width.toFixed(0) + " x " + box.height.toFixed(0));
  }
}
window.addEventListener("load", () => {
  for (const f of document.querySelectorAll("iframe")) look(f.name, f);
  document.title = JSON.stringify(found);
});`

// TestPagesFitAPhone measures every page of the gallery in a real browser at
// the width of a phone: no scrolling sideways, letters of 18 px, and nothing to
// tap that is smaller than a thumb.
func TestPagesFitAPhone(t *testing.T) {
	path := chromium(t)
	mux := http.NewServeMux()
	mux.Handle("/gallery/", gallery.Handler())
	mux.Handle("/static/", staticFiles())
	mux.HandleFunc("/measure", func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, `<!DOCTYPE html><script>`+measure+`</script>`)
		for _, p := range gallery.Pictures() {
			fmt.Fprintf(w, `<iframe name=%q src="/gallery/%s" width="390" height="844"></iframe>`, p.Name, p.Name)
		}
	})
	server := httptest.NewServer(mux)
	defer server.Close()

	out, err := exec.Command(path, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-quic",
		"--user-data-dir="+t.TempDir(), "--virtual-time-budget=20000", "--dump-dom", server.URL+"/measure").Output()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	title := words(one(t, document(t, strings.NewReader(string(out))), "title"))
	var found []string
	if err := json.Unmarshal([]byte(title), &found); err != nil {
		t.Fatalf("the page did not measure: title %q", title)
	}
	for _, f := range found {
		t.Error(f)
	}
}
