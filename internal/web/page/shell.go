package page

import "strings"

// Link is a place to go.
type Link struct {
	Text string
	Href string
	Note string // a second, quieter line
}

// Tab is one of the steps of a visit, always at the bottom of the screen.
type Tab struct {
	Link
	Here bool
}

// Shell is what every page has around its own content.
type Shell struct {
	Title  string
	Place  string // which house, system, unit: one line above the title
	Back   Link   // one step out
	Aside  Link   // what is wanted now and then, at the top
	Tabs   []Tab
	Notice string // what was just done, e.g. "Reading recorded."
	Undo   *Undo  // takes it back; nil if it cannot be
	// Stranger says that the page is for somebody outside the shop: it is not to
	// be indexed.
	Stranger bool
}

// FullTitle is the text of the browser tab.
func (s Shell) FullTitle() string {
	parts := []string{s.Title}
	if s.Place != "" {
		parts = append(parts, s.Place)
	}
	return strings.Join(append(parts, "Rung"), " · ")
}

// VisitTabs returns the steps of the visit at base, with here marked.
func VisitTabs(base, here string) []Tab {
	tabs := []Tab{
		{Link: Link{Text: "Check", Href: base}},
		{Link: Link{Text: "Ladder", Href: base + "/ladder"}},
		{Link: Link{Text: "Steps", Href: base + "/sequence"}},
		{Link: Link{Text: "Repair", Href: base + "/repair"}},
		{Link: Link{Text: "Proof", Href: base + "/proof"}},
	}
	for i := range tabs {
		tabs[i].Here = tabs[i].Text == here
	}
	return tabs
}
