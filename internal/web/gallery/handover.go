package gallery

import (
	"rung/internal/paperwork"
	"rung/internal/web/page"
)

func handOvers() []Picture {
	return []Picture{
		{"hand-over", "Hand over", page.HandOver(handOver())},
		{"hand-over-codes", "Hand over: a code", page.Code(code())},
		{"hand-over-find", "Find at the office", page.Find(find())},
	}
}

func handOver() page.HandOverPage {
	return page.HandOverPage{
		Shell:   page.Shell{Title: "Hand over", Back: page.Link{Text: "Start", Href: "#"}},
		Status:  "23 entries not handed over, oldest 3 h, last exchange 10:42",
		Problem: "The office did not answer. Entries stay on this phone; it is tried again.",
		Flags:   []string{"The entry of 16 July 2026 08:10 is dated more than a day ahead of the clock here. Set the date of the device it was made on."},
		Seen:    page.Undo{Action: "#"}, Run: &page.Undo{Action: "#"},
		Give:  []page.Link{{Text: "Save 23 entries as a file", Href: "#", Note: "to send or to carry, all that is not handed over"}},
		Codes: page.Link{Text: "Show as 4 codes", Href: "#", Note: "for the camera of another phone"},
		Wrong: "2 of 4 codes are here, below. Still to be read: 2, 4.",
		Taken: []string{"12 entries are in the journal here. Those that were here before are not doubled."}, Houses: []page.Link{{Text: "12 Sample Lane", Href: "#"}},
		Texts: page.Field{Kind: page.Story, Name: "texts", Label: "Codes from another phone's screen", Value: "RUNG1:K3M7Q2XA:1/4:AB3DE7Q:MFRGG", Hint: "Paste the text of each."},
	}
}

func code() page.CodePage {
	p := page.CodePage{Shell: page.Shell{Title: "Codes", Back: page.Link{Text: "Hand over", Href: "#"}}, Number: 2, Of: 4,
		Next: page.Link{Text: "Next code", Href: "#"}, Prev: page.Link{Text: "Previous", Href: "#"}, Text: "RUNG1:K3M7Q2XA:2/4:AB3DE7Q:MFRGG"}
	symbol, err := paperwork.CapitalsSymbol(p.Text)
	if err != nil {
		panic("gallery: " + err.Error())
	}
	p.SVG = symbol.SVG(p.Count())
	return p
}

func find() page.FindPage {
	return page.FindPage{Shell: page.Shell{Title: "At the office", Back: page.Link{Text: "Start", Href: "#"}}, Find: "mill", Asked: true,
		Found: []page.Found{{Name: "Mill house", Note: "1 Mill Road", Href: "#"}, {Name: "Old mill", Note: "7 Brook Lane", Form: page.Undo{Action: "#"}}}}
}
