package web

import (
	"bytes"
	"context"
	"go/format"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/a-h/templ"
	"github.com/a-h/templ/generator"
	"github.com/a-h/templ/parser/v2"
	"golang.org/x/net/html"

	"rung/internal/paperwork"
	"rung/internal/web/gallery"
	"rung/internal/web/page"
)

// pictures renders the gallery.
func pictures(t *testing.T) map[string]*html.Node {
	t.Helper()
	docs := map[string]*html.Node{}
	for _, p := range gallery.Pictures() {
		var b bytes.Buffer
		if err := p.Page.Render(context.Background(), &b); err != nil {
			t.Fatalf("%s: %v", p.Name, err)
		}
		docs[p.Name] = document(t, &b)
	}
	return docs
}

// TestEveryPage holds what is true of every page, whatever it shows.
func TestEveryPage(t *testing.T) {
	for name, doc := range pictures(t) {
		t.Run(name, func(t *testing.T) {
			checkLandmarks(t, doc)
			checkNoInline(t, doc)
			checkNames(t, doc)
			checkIDs(t, doc)
		})
	}
}

func checkLandmarks(t *testing.T, doc *html.Node) {
	one(t, doc, "html[lang]")
	one(t, doc, "head title")
	one(t, doc, "main#main")
	one(t, doc, "h1")
	one(t, doc, "a.skip[href=#main]")
	for _, n := range all(doc, "nav") {
		if attr(n, "aria-label") == "" {
			t.Error("a nav has no aria-label")
		}
	}
}

// checkNoInline: the Content-Security-Policy allows no inline script or style.
func checkNoInline(t *testing.T, doc *html.Node) {
	for _, n := range all(doc, "script") {
		if attr(n, "src") == "" {
			t.Error("a script is inline")
		}
	}
	if len(all(doc, "style"))+len(all(doc, "[style]")) > 0 {
		t.Error("a style is inline")
	}
	for n := range doc.Descendants() {
		for _, a := range n.Attr {
			if strings.HasPrefix(a.Key, "on") {
				t.Errorf("<%s> has an inline handler %s", n.Data, a.Key)
			}
		}
	}
}

// checkNames: every control says what it is.
func checkNames(t *testing.T, doc *html.Node) {
	labelled := map[string]bool{}
	for _, l := range all(doc, "label[for]") {
		labelled[attr(l, "for")] = true
	}
	for _, tag := range []string{"input", "select", "textarea"} {
		for _, n := range all(doc, tag) {
			if attr(n, "type") == "hidden" || attr(n, "aria-label") != "" || labelled[attr(n, "id")] || n.Parent.Data == "label" {
				continue
			}
			t.Errorf("<%s name=%q> has no label", tag, attr(n, "name"))
		}
	}
	for _, tag := range []string{"a", "button", "summary", "legend"} {
		for _, n := range all(doc, tag) {
			if words(n) == "" && attr(n, "aria-label") == "" {
				t.Errorf("<%s> says nothing", tag)
			}
		}
	}
	for _, n := range all(doc, "svg") {
		if attr(n, "aria-label") == "" && attr(n, "aria-hidden") != "true" {
			t.Error("a drawing has no label")
		}
	}
}

// checkIDs: ids are used once, and what points at one finds it.
func checkIDs(t *testing.T, doc *html.Node) {
	ids := map[string]int{}
	for _, n := range all(doc, "[id]") {
		ids[attr(n, "id")]++
	}
	for id, n := range ids {
		if n > 1 {
			t.Errorf("id %q is used %d times", id, n)
		}
	}
	for _, name := range []string{"for", "aria-describedby", "aria-labelledby"} {
		for _, n := range all(doc, "["+name+"]") {
			for _, id := range strings.Fields(attr(n, name)) {
				if ids[id] == 0 {
					t.Errorf("%s points at %q, which is not there", name, id)
				}
			}
		}
	}
	for _, n := range all(doc, "a[href]") {
		if id, ok := strings.CutPrefix(attr(n, "href"), "#"); ok && id != "" && ids[id] == 0 {
			t.Errorf("a link leads to #%s, which is not there", id)
		}
	}
}

func TestRefusedFormKeepsWhatWasTyped(t *testing.T) {
	doc := pictures(t)["check"]
	if got := attr(one(t, doc, "input#f-herm"), "value"); got != "4o.2" {
		t.Errorf("value = %q, want it as typed", got)
	}
	if attr(one(t, doc, "input#f-herm"), "aria-invalid") != "true" {
		t.Error("the refused input is not marked")
	}
	if got := words(one(t, doc, ".wrong[role=alert]")); !strings.Contains(got, "HERM to C") || !strings.Contains(got, "not a number") {
		t.Errorf("the summary says %q", got)
	}
}

func TestVisitCarriesTheCaution(t *testing.T) {
	doc := pictures(t)["visit-numbers"]
	caution := ""
	for _, n := range all(doc, ".lit .caution") {
		caution += words(n) + " "
	}
	for _, want := range []string{"holds its charge", "0 V", "disconnect"} {
		if !strings.Contains(caution, want) {
			t.Errorf("the caution %q does not speak of %q", caution, want)
		}
	}
	// The caution stands before the place to type, in reading order.
	order := ""
	for n := range one(t, doc, ".lit").Descendants() {
		if n.Type == html.ElementNode && (attr(n, "class") == "caution" || attr(n, "id") == "f-herm") {
			order += attr(n, "class") + attr(n, "id") + " "
		}
	}
	if !strings.HasPrefix(order, "caution") {
		t.Errorf("order is %q", order)
	}
}

// TestGeneratedPagesAreCurrent generates every page again and compares.
func TestGeneratedPagesAreCurrent(t *testing.T) {
	sources, err := filepath.Glob("page/*.templ")
	if err != nil || len(sources) == 0 {
		t.Fatalf("no pages: %v", err)
	}
	version := regexp.MustCompile(`(?m)^// templ: version: .*\n\n`)
	for _, source := range sources {
		parsed, err := parser.Parse(source)
		if err != nil {
			t.Fatal(err)
		}
		var want bytes.Buffer
		if _, err := generator.Generate(parsed, &want, generator.WithFileName(filepath.Base(source))); err != nil {
			t.Fatal(err)
		}
		file := strings.TrimSuffix(source, ".templ") + "_templ.go"
		got, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		formatted, err := format.Source(want.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(version.ReplaceAll(got, nil), version.ReplaceAll(formatted, nil)) {
			t.Errorf("%s is out of date; run: go tool templ generate -path internal/web/page", file)
		}
	}
}

// TestPaperWithoutPDF: where no PDF is made, the paper says how to come by one
// and offers no link to it.
func TestPaperWithoutPDF(t *testing.T) {
	note, report := page.NotePage{Note: paperwork.Note{Unit: "Outdoor unit"}}, page.ReportPage{}
	labels := page.LabelsPage{Labels: []paperwork.ChainLabel{{System: "2 upstairs"}}}
	for _, address := range []string{"", "/it.pdf"} {
		note.PDF, report.PDF, labels.PDF = address, address, address
		for name, paper := range map[string]templ.Component{"note": page.Note(note), "report": page.Report(report), "labels": page.Labels(labels)} {
			var b bytes.Buffer
			if err := paper.Render(t.Context(), &b); err != nil {
				t.Fatal(err)
			}
			if says := strings.Contains(b.String(), "save it as PDF"); says != (address == "") {
				t.Errorf("%s with a PDF at %q says how to save one: %v", name, address, says)
			}
			if links := strings.Contains(b.String(), `href="/it.pdf"`); links != (address != "") {
				t.Errorf("%s with a PDF at %q links to it: %v", name, address, links)
			}
		}
	}
}
