package page

import "rung/internal/paperwork"

// NotePage shows the panel note as it will be printed.
type NotePage struct {
	Shell
	Note   paperwork.Note
	Symbol string // SVG
	Text   string // what the symbol holds
	PDF    string // empty where none is made
	Leave  *Undo  // the form that records the note as left; nil once it is
	Left   string // when it was left
}

// ReportPage shows the visit report as it will be printed.
type ReportPage struct {
	Shell
	Report paperwork.Report
	PDF    string // empty where none is made
	Share  *Share // nil where no link can be made
}

// Share makes, lists and withdraws links to a report.
type Share struct {
	Make  Undo
	Links []SharedLink
}

// SharedLink is a link to a report that works.
type SharedLink struct {
	Address  string
	Made     string // when and by whom
	Withdraw Undo
}

func noteFacts(n paperwork.Note) []Fact {
	list := known(Fact{Name: "Refrigerant", Value: n.Charge}, Fact{Name: "Added", Value: n.Added})
	list = append(list, readingFacts(n.Readings)...)
	return append(list, known(Fact{Name: "To be done", Value: n.Todo}, Fact{Name: "Filter", Value: n.Filter}, Fact{Name: "Next visit", Value: n.Due})...)
}

func reportFacts(r paperwork.Report) []Fact {
	return known(Fact{Name: "Property", Value: r.Property}, Fact{Name: "System", Value: r.System}, Fact{Name: "Day", Value: r.Day},
		Fact{Name: "By", Value: r.By}, Fact{Name: "Conditions", Value: r.Surroundings})
}

func readingFacts(readings []paperwork.Reading) []Fact {
	var list []Fact
	for _, r := range readings {
		list = append(list, Fact{Name: r.Name, Value: r.Value, Doubt: r.Doubt})
	}
	return list
}

func worksOf(works []paperwork.Work) []string {
	var list []string
	for _, w := range works {
		list = append(list, w.String())
	}
	return list
}

// known leaves out what has no value.
func known(facts ...Fact) []Fact {
	var list []Fact
	for _, f := range facts {
		if f.Value != "" {
			list = append(list, f)
		}
	}
	return list
}

func present(s string) []string {
	if s == "" {
		return nil
	}
	return []string{s}
}

// paperPhotos draws the photos of a report.
func paperPhotos(list []paperwork.Photo) []Photo {
	photos := make([]Photo, len(list))
	for i, x := range list {
		photos[i] = Photo{Src: x.Address, Name: x.Name, Width: x.Width, Height: x.Height}
		if x.Address == "" {
			photos[i].Note = "the office has not received it"
		}
	}
	return photos
}
