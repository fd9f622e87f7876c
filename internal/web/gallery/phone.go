package gallery

import (
	"context"
	"io"

	"github.com/a-h/templ"

	"rung/internal/web/page"
)

// phones are the pages about the phone itself.
func phones() []Picture {
	back := page.Link{Text: "Start", Href: "/"}
	offer := page.PhonePage{Shell: page.Shell{Title: "This phone", Back: back}, Around: page.Around{Offered: true}, Worker: "Sample Mechanic"}
	own := offer
	own.Around = page.Around{OnPhone: true, Unsent: &page.Unsent{Count: 3, Oldest: "14 July 2026 09:05", Exchanged: "13 July 2026 17:30"}}
	own.Facts = []page.Fact{{Name: "Entries", Value: "412 entries"}, {Name: "This phone is called", Value: "phone-7K2M9QXA"},
		{Name: "Oldest not handed on", Value: "14 July 2026 09:05"}, {Name: "Last exchange", Value: "13 July 2026 17:30"}}
	wrong := own
	wrong.Worker, wrong.Wrong = "", "Say who you are: every entry carries a name."
	enrolled := own
	enrolled.Said = "Since 14 July 2026 09:12 your role is apprentice, before mechanic."
	enrolled.Enrolled = &page.Enrolled{Who: "Ben Sample", Role: "apprentice", Changed: enrolled.Said,
		Facts: []page.Fact{{Name: "Enrolled for", Value: "Ben Sample"}, {Name: "Role", Value: "apprentice"}, {Name: "Licences", Value: "refrigerant II 123, gas"}}}
	return []Picture{
		{"phone-enrolled", "The phone, enrolled, after a change of role", in(enrolled.Around, page.Phone(enrolled))},
		{"phone-none", "The phone, of a server without work without signal", page.Phone(page.PhonePage{Shell: offer.Shell})},
		{"phone-offer", "The phone, to be set up", in(offer.Around, page.Phone(offer))},
		{"phone-own", "The phone, set up, with entries to hand on", in(own.Around, page.Phone(own))},
		{"phone-wrong", "The phone, without a name", in(own.Around, page.Phone(wrong))},
	}
}

// in draws a page as it is around a.
func in(a page.Around, c templ.Component) templ.Component {
	return templ.ComponentFunc(func(ctx context.Context, w io.Writer) error { return c.Render(page.WithAround(ctx, a), w) })
}
