package gallery

import "rung/internal/web/page"

// photos stand for real ones by the sign of the program.
func photos() []page.Photo {
	return []page.Photo{
		{Href: "#", Src: "/static/icon-512.png", Name: "Damage · Capacitance out of circuit · swollen at the top", When: "14 July 2026 10:42 · J. Sample", Width: 512, Height: 512, Printed: true},
		{Href: "#", Name: "Wiring · before I touched it", When: "14 July 2026 10:31 · B. Sample", Note: "0.3 MB · ba7816bf"},
		{Href: "#", Src: "/static/icon-512.png", Name: "Nameplate", When: "3 May 2024 09:10 · J. Sample", Width: 512, Height: 512},
	}
}

func photoForm() page.PhotoFormPage {
	return page.PhotoFormPage{
		Shell:  page.Shell{Title: "Add a photo: Capacitance out of circuit", Place: "12 Sample Lane · 2 upstairs", Back: page.Link{Text: "Visit", Href: "#"}},
		Action: "#", FileWrong: "The photo is larger than 8 MB. Set the camera to a smaller size.", Limit: "JPEG, PNG or WebP, up to 8 MB. The place and all else that a camera writes into it is removed.",
		Fields: []page.Field{
			{Name: "shows", Label: "What it shows", Kind: page.Choose, Value: "damage", Choices: []page.Choice{{Value: "nameplate", Label: "Nameplate"}, {Value: "wiring", Label: "Wiring"}, {Value: "damage", Label: "Damage"}}},
			{Name: "unit", Label: "Which unit", Kind: page.Pick, Choices: []page.Choice{{Value: "", Label: "None in particular"}, {Value: "1", Label: "Outdoor unit"}}},
			{Name: "caption", Label: "In words", Hint: "What one should see in it. May stay empty.", Kind: page.Words, Value: "swollen at the top"},
			{Name: "customer", Label: "The customer gets it with the report", Kind: page.Tick},
		},
	}
}

func photoPage() page.PhotoPage {
	x := photos()[0]
	return page.PhotoPage{
		Shell: page.Shell{Title: "Photo", Place: "12 Sample Lane", Back: page.Link{Text: "Visit", Href: "#"}}, Photo: x, Full: x.Src,
		Facts: []page.Fact{{Name: "Taken", Value: "14 July 2026 10:42"}, {Name: "By", Value: "J. Sample"}, {Name: "Size", Value: "512 by 512 points, 12 kB"}, {Name: "Fingerprint", Value: "ba7816bf8f01cfea…"}},
		Mark:  page.Undo{Action: "#"}, Withdraw: page.Undo{Action: "#"},
	}
}

func absentPhoto() page.PhotoPage {
	p := photoPage()
	p.Photo, p.Full = photos()[1], ""
	return p
}

func album() page.AlbumPage {
	list := photos()
	return page.AlbumPage{Shell: page.Shell{Title: "Photos", Place: "12 Sample Lane", Back: page.Link{Text: "12 Sample Lane", Href: "#"}},
		Sets: []page.PhotoSet{{Heading: "14 July 2026", Photos: list[:2]}, {Heading: "3 May 2024", Photos: list[2:]}}}
}
