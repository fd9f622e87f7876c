// Package gallery shows every page with made-up data and no store, to look at
// them while they are worked on and to test them.
//
// All data here is invented.
package gallery

import (
	"net/http"

	"github.com/a-h/templ"

	"rung/internal/web/page"
)

// Picture is one page of the gallery.
type Picture struct {
	Name string // in the address: /gallery/Name
	What string
	Page templ.Component
}

// Pictures returns every page, in the order of a call.
func Pictures() []Picture {
	var list []Picture
	list = append(list, places()...)
	list = append(list, chains()...)
	list = append(list, visits()...)
	list = append(list, circuits()...)
	list = append(list, endings()...)
	list = append(list, papers()...)
	list = append(list, handOvers()...)
	list = append(list, offices()...)
	list = append(list, calculators()...)
	list = append(list, replacements()...)
	list = append(list, phones()...)
	return list
}

// Handler serves the pictures below /gallery/.
func Handler() http.Handler {
	mux := http.NewServeMux()
	index := page.PlacePage{Shell: page.Shell{Title: "Gallery", Back: page.Link{Text: "Start", Href: "/"}}}
	links := page.LinkList{Heading: "Every page, with made-up data"}
	for _, p := range Pictures() {
		links.Links = append(links.Links, page.Link{Text: p.What, Href: "/gallery/" + p.Name, Note: p.Name})
		mux.Handle("GET /gallery/"+p.Name, templ.Handler(p.Page))
	}
	index.Lists = []page.LinkList{links}
	mux.Handle("GET /gallery/{$}", templ.Handler(page.Place(index)))
	return mux
}
