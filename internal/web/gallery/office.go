package gallery

import (
	"rung/internal/paperwork"
	"rung/internal/web/page"
)

func offices() []Picture {
	return []Picture{
		{"sign-in", "Sign in, refused once", page.Form(signInPage())},
		{"office", "Office", page.Office(officePage())},
		{"phones", "Phones, with a code just made", page.Phones(phonesPage())},
		{"held", "Entries kept aside", page.Held(heldPage())},
		{"trust", "The root of the shop's own authority", page.Trust(trustPage())},
	}
}

func signInPage() page.FormPage {
	return page.FormPage{
		Shell: page.Shell{Title: "Sign in"}, Action: "#", Submit: "Sign in", Wrong: "Name and password do not fit.",
		Sets: []page.FieldSet{{Fields: []page.Field{
			{Name: "name", Label: "Name", Value: "Ada Sample", Known: "username", Needed: true},
			{Name: "password", Label: "Password", Kind: page.Secret, Known: "current-password", Needed: true},
		}}},
	}
}

func officePage() page.OfficePage {
	return page.OfficePage{
		Shell: page.Shell{Title: "Office", Back: page.Link{Text: "Start", Href: "#"}}, Who: "Ada Sample, owner",
		Lists:   []page.LinkList{{Heading: "The shop", Links: []page.Link{{Text: "People", Href: "#", Note: "who may do what"}, {Text: "Phones", Href: "#"}}}},
		SignOut: &page.Undo{Action: "#"},
	}
}

func symbol(text string) string {
	q, err := paperwork.SymbolOf(text)
	if err != nil {
		panic("gallery: " + err.Error()) // the texts here fit
	}
	return q.SVG("Code of the address below")
}

func phonesPage() page.PhonesPage {
	const address = "https://shop.example/enrol?code=pYc0nQb4v0y8l1mGq3vWl1c3mC2n9b8x7z6l5k4j3h2"
	return page.PhonesPage{
		Shell: page.Shell{Title: "Phones", Back: page.Link{Text: "Office", Href: "#"}},
		Code:  &page.PhoneCode{Who: "Ben Sample", Until: "16:30", Address: address, Symbol: symbol(address)},
		Phones: []page.PhoneLine{
			{Label: "Ben's, blue case", Who: "Ben Sample", Since: "14 July 2026", Knows: "knows the role mechanic; apprentice from the next exchange on", Revoke: &page.Undo{Action: "#"}},
			{Label: "Ben's old one", Who: "Ben Sample", Since: "2 March 2025", Revoked: "14 July 2026"},
		},
		People: []page.Choice{{Value: "ada sample", Label: "Ada Sample"}, {Value: "ben sample", Label: "Ben Sample"}}, Action: "#",
	}
}

func heldPage() page.HeldPage {
	entry := func(kind, at, by string) page.Fact {
		return page.Fact{Name: kind, Value: at + ", by " + by + ", brought 14 July 15:02"}
	}
	return page.HeldPage{
		Shell: page.Shell{Title: "Kept aside", Back: page.Link{Text: "Office", Href: "#"}},
		Groups: []page.HeldGroup{
			{Who: "Ben Sample", On: "on the phone “blue case”", Why: "Of Ben Sample: such an entry is not for the role apprentice.", Action: "#",
				Entries: []page.Fact{entry("visit closed", "14 July 2026 14:10", "Ben Sample on phone-7K2M9QXA")}},
			{Who: "Ada Sample", On: "in a file", Why: "It was written on “phone-88QW1ZZ0”, which is no phone of the shop.", Action: "#", Left: true,
				Entries: []page.Fact{entry("property added", "13 July 2026 09:10", "Cy on phone-88QW1ZZ0"), entry("visit opened", "13 July 2026 09:12", "Cy on phone-88QW1ZZ0")}},
		},
		Passed: []page.Fact{{Name: "Ada Sample on phone-4ZQ0T7RM", Value: "7 brought by Ben Sample on the phone “blue case” since 12 July 2026"}},
	}
}

func trustPage() page.TrustPage {
	return page.TrustPage{
		Shell: page.Shell{Title: "Trust this server", Back: page.Link{Text: "Start", Href: "#"}}, Name: "shop.lan", Root: "#",
		Fingerprint: "1F2E 3D4C 5B6A 7988 0011 2233 4455 6677 8899 AABB CCDD EEFF 0123 4567 89AB CDEF",
		Symbol:      symbol("https://shop.lan/trust"), Address: "https://shop.lan/trust",
		Platforms: []page.TrustSteps{{Platform: "A phone", Steps: []string{"Download the root.", "Open the settings."}}},
	}
}

func learned() page.LearnedPage {
	line := func(name, base, calls, now string) page.LearnedLine {
		return page.LearnedLine{Name: name, Origin: "practice: judgement", Base: base, Closures: calls, Now: now}
	}
	return page.LearnedPage{
		Shell: page.Shell{Title: "What your calls taught", Back: page.Link{Text: "Start", Href: "/"}},
		Kind:  page.Field{Kind: page.Pick, Name: "kind", Label: "Kind of system", Value: "a", Choices: []page.Choice{{Value: "a", Label: "Split air conditioner"}}},
		How:   []string{"Every visit begins with odds for each cause. They start from the catalogue, and every call of yours that was closed as fixed moves them a little."},
		State: "2 closed calls wait for the 31st day.",
		Sides: []page.LearnedSide{{Heading: "Cooling and air", Intro: "5.5 calls of your own on these 75 causes; the catalogue weighs as much as 75 calls.",
			Met: []page.LearnedLine{line("Open compressor capacitor", "4.1", "5.5", "10.6")}, Others: []page.LearnedLine{line("Contactor coil open", "2.0", "0", "1.9")}}},
		Share: page.Undo{Action: "#"}, Shared: "Last given to the phones on 3 May 2026.",
		Agains: []page.LearnedAside{{Text: "Everything learned, set aside by Ada on 3 May 2026: “other equipment”.", Again: "Count the earlier calls again", Undo: page.Undo{Action: "#"}}},
		Topics: []page.LearnedTopic{
			{Heading: "Age", Intro: "Parts that wear fail oftener on old units.", State: "Of calls closed since 3 May 2026 alone: set aside by Ada.",
				Lines: []page.TopicLine{{Of: "Capacitors", Begin: "2.0", Now: "1.7", Count: "Shape now 1.72; 12 calls with a known age", Weight: "41 %"}}},
			{Heading: "Season", Intro: "Which causes come oftener in which months.",
				Lines: []page.TopicLine{{Of: "Electric heat, calls for heat", Begin: "1.0", Now: "1.4 in September", Count: "64 calls", Weight: "31 %"}}},
			{Heading: "Minutes", Intro: "What a check or a repair takes."},
		},
		Aside: page.FormPage{Action: "#", Submit: "Count from today on", Sets: []page.FieldSet{{Fields: []page.Field{{Kind: page.Words, Name: "why", Label: "Why", Needed: true}}}}},
	}
}
