package web

import (
	"io"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// document parses a page.
func document(t testing.TB, r io.Reader) *html.Node {
	t.Helper()
	doc, err := html.Parse(r)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// all returns the elements below n that match a selector of the forms tag,
// .class, #id, [name], [name=value], joined without space, and a space for
// "somewhere inside".
func all(n *html.Node, selector string) []*html.Node {
	found := []*html.Node{n}
	for _, step := range strings.Fields(selector) {
		var next []*html.Node
		seen := map[*html.Node]bool{}
		for _, f := range found {
			for d := range f.Descendants() {
				if d.Type == html.ElementNode && !seen[d] && matches(d, step) {
					seen[d] = true
					next = append(next, d)
				}
			}
		}
		found = next
	}
	return found
}

// one returns the only match, and fails the test if there is none or many.
func one(t testing.TB, n *html.Node, selector string) *html.Node {
	t.Helper()
	list := all(n, selector)
	if len(list) != 1 {
		t.Fatalf("%d elements match %q, want 1", len(list), selector)
	}
	return list[0]
}

// matches says whether n fits one step of a selector.
func matches(n *html.Node, step string) bool {
	for step != "" {
		end := 1 + strings.IndexAny(step[1:]+".", ".#[")
		if step[0] == '[' {
			end = 1 + strings.IndexByte(step, ']')
		}
		part := step[:end]
		step = step[end:]
		switch part[0] {
		case '.':
			if !strings.Contains(" "+attr(n, "class")+" ", " "+part[1:]+" ") {
				return false
			}
		case '#':
			if attr(n, "id") != part[1:] {
				return false
			}
		case '[':
			name, value, hasValue := strings.Cut(strings.Trim(part, "[]"), "=")
			if !has(n, name) || hasValue && attr(n, name) != value {
				return false
			}
		default:
			if n.Data != part {
				return false
			}
		}
	}
	return true
}

func has(n *html.Node, name string) bool {
	for _, a := range n.Attr {
		if a.Key == name {
			return true
		}
	}
	return false
}

func attr(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

// words returns the text of n with single spaces.
func words(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func TestSelector(t *testing.T) {
	doc := document(t, strings.NewReader(`<main id="m"><p class="a b">x <b>y</b></p><a href="/q">z</a></main>`))
	for selector, want := range map[string]int{
		"p": 1, ".a": 1, "p.a.b": 1, "main b": 1, "#m a[href]": 1, "a[href=/q]": 1, "a[href=/r]": 0, ".c": 0, "p a": 0,
	} {
		if got := len(all(doc, selector)); got != want {
			t.Errorf("%q matches %d, want %d", selector, got, want)
		}
	}
	if got := words(one(t, doc, "p")); got != "x y" {
		t.Errorf("words = %q", got)
	}
}
