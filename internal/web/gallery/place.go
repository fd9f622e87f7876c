package gallery

import (
	"time"

	"rung/internal/chart"
	"rung/internal/web/page"
)

func places() []Picture {
	return []Picture{
		{"start", "Start", page.Start(startPage())},
		{"start-empty", "Start, first day", page.Start(page.StartPage{Shell: page.Shell{Title: "Where to?"}, NewHref: "#"})},
		{"property", "Property with four systems", page.Place(property())},
		{"system", "System", page.Place(system())},
		{"unit", "Unit with history", page.Unit(unit())},
		{"learned", "What the shop's calls taught", page.Learned(learned())},
		{"nameplate", "Nameplate, quick entry", page.Form(nameplate())},
	}
}

func startPage() page.StartPage {
	return page.StartPage{
		Shell: page.Shell{Title: "Where to?"},
		Visits: []page.Link{
			{Text: "12 Sample Lane · 2 upstairs", Href: "#", Note: "“upstairs stays warm” · opened 14:05, 3 readings"},
			{Text: "Quarry Cottage · 1 whole house", Href: "#", Note: "“outside fan not turning” · opened yesterday, repaired, not yet proved"},
		},
		Tasks: []page.Link{{Text: "Judge the charge of 2 upstairs", Href: "#", Note: "Harbor Street duplex · when it is at least 65 °F outside"}},
		Properties: []page.Link{
			{Text: "12 Sample Lane", Href: "#", Note: "4 systems · last visit 3 May 2026"},
			{Text: "Quarry Cottage", Href: "#", Note: "1 system · last visit yesterday"},
			{Text: "Harbor Street duplex, unit B", Href: "#", Note: "2 systems · return to verify charge when 65 °F or more"},
		},
		NewHref: "#",
	}
}

func property() page.PlacePage {
	return page.PlacePage{
		Shell: page.Shell{Title: "12 Sample Lane", Back: page.Link{Text: "Start", Href: "#"}},
		Facts: []page.Fact{{Name: "Elevation", Value: "820 ft"}, {Name: "Access", Value: "side gate, key under no mat"}, {Name: "Phone", Value: "555 0142"}},
		Lists: []page.LinkList{
			{Heading: "Systems", Links: []page.Link{
				{Text: "1 downstairs", Href: "#", Note: "air conditioner · R-410A · 3 ton"},
				{Text: "2 upstairs", Href: "#", Note: "air conditioner · R-410A · 2.5 ton · open visit"},
				{Text: "3 guest wing", Href: "#", Note: "air conditioner · R-22 · 2 ton"},
				{Text: "4 workshop", Href: "#", Note: "nameplate not read yet"},
			}, Add: page.Link{Text: "Add a system", Href: "#"}},
			{Heading: "What serves what", Links: []page.Link{{Text: "Thermostat to breaker", Href: "#", Note: "9 of 16 links proved · 1 pair swapped"}}},
			{Heading: "Visits", Links: []page.Link{
				{Text: "3 May 2026 · 2 upstairs", Href: "#", Note: "“runs all day” · filter replaced · charge not judged (58 °F)"},
			}, Empty: "No visit yet."},
		},
		Tasks:   []page.Task{{What: "Judge the charge of 2 upstairs", When: "when it is at least 65 °F outside", Done: page.Undo{Action: "#"}}},
		Hazards: []string{"Dog in the back yard. Disconnect of system 3 is behind the shed, not in sight of the unit."},
		Main:    page.Link{Text: "Open a visit", Href: "#"},
	}
}

func system() page.PlacePage {
	return page.PlacePage{
		Shell: page.Shell{Title: "2 upstairs", Place: "12 Sample Lane", Back: page.Link{Text: "12 Sample Lane", Href: "#"}},
		Facts: []page.Fact{{Name: "Kind", Value: "split air conditioner"}, {Name: "Serves", Value: "bedrooms, landing"}, {Name: "Breaker", Value: "14 / 16", Doubt: "from label, not proved"}},
		Lists: []page.LinkList{
			{Heading: "Units", Links: []page.Link{
				{Text: "Outdoor unit", Href: "#", Note: "north side · R-410A · 2.5 ton"},
				{Text: "Air handler", Href: "#", Note: "attic"},
				{Text: "Thermostat", Href: "#", Note: "landing"},
			}},
			{Heading: "Visits", Empty: "No visit yet."},
		},
		Main: page.Link{Text: "Open a visit", Href: "#"},
	}
}

func unit() page.UnitPage {
	day := func(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
	suction := []chart.Past{
		{On: day(2023, 6, 2), Value: 128, Text: "128", Settled: true},
		{On: day(2024, 7, 14), Value: 126, Text: "126", Settled: true},
		{On: day(2025, 6, 20), Value: 121, Text: "121", Settled: true},
		{On: day(2026, 5, 3), Value: 97, Text: "97", Settled: false},
		{On: day(2026, 7, 14), Value: 112, Text: "112", Settled: true},
	}
	amps := []chart.Past{
		{On: day(2023, 6, 2), Value: 9.8, Text: "9.8", Settled: true},
		{On: day(2026, 7, 14), Value: 11.9, Text: "11.9", Settled: true},
	}
	return page.UnitPage{
		Shell: page.Shell{Title: "Outdoor unit", Place: "12 Sample Lane · 2 upstairs", Back: page.Link{Text: "2 upstairs", Href: "#"}},
		Plate: []page.Fact{
			{Name: "Refrigerant", Value: "R-410A", Doubt: "from the plate"},
			{Name: "Nominal cooling", Value: "2.5 ton", Doubt: "from the plate"},
			{Name: "Compressor RLA", Value: "13.5 A", Doubt: "from the plate"},
			{Name: "Run capacitor", Value: "40+5 µF 440 V", Doubt: "assumed"},
			{Name: "Metering device", Value: "TXV", Doubt: "assumed"},
		},
		Unknown:   2,
		PlateHref: "#",
		Trends: []page.Trend{
			{Name: "Suction pressure", Last: "112 psig", SVG: chart.Trend(suction, "Suction pressure from June 2023 to July 2026")},
			{Name: "Compressor current", Last: "11.9 A", SVG: chart.Trend(amps, "Compressor current, June 2023 and July 2026")},
		},
		Notes:  []page.Fact{{Name: "3 May 2026", Value: "RUNG 1\nDAY 2026-05-03\nDID filter replaced"}},
		Visits: page.LinkList{Heading: "Visits", Links: []page.Link{{Text: "3 May 2026", Href: "#", Note: "filter replaced"}}},
		Main:   page.Link{Text: "Open a visit", Href: "#"},
		Second: page.Link{Text: "Panel note", Href: "#"},
	}
}

func nameplate() page.FormPage {
	return page.FormPage{
		Shell:  page.Shell{Title: "Nameplate", Place: "2 upstairs · Outdoor unit", Back: page.Link{Text: "Outdoor unit", Href: "#"}},
		Intro:  "Type what you can read. Leave the rest empty: it is assumed, and shown as assumed.",
		Action: "#", Submit: "Save nameplate",
		Sets: []page.FieldSet{
			{Heading: "What matters most", Fields: []page.Field{
				{Name: "refrigerant", Label: "Refrigerant", Kind: page.Choose, Value: "R-410A", Choices: []page.Choice{{Value: "R-410A", Label: "R-410A"}, {Value: "R-22", Label: "R-22"}}},
				{Name: "cooling", Label: "Nominal cooling", Kind: page.Number, Value: "2.5", Unit: "ton", Units: []string{"ton", "Btu/h", "kW"}},
				{Name: "metering", Label: "Metering device", Kind: page.Choose, Choices: []page.Choice{{Value: "txv", Label: "TXV"}, {Value: "fixed-orifice", Label: "Fixed orifice"}, {Value: "", Label: "Not known"}}, Assumed: "fixed orifice below SEER 13, else TXV"},
				{Name: "run-capacitor", Label: "Run capacitor", Hint: "As printed on the can, e.g. 40+5 µF 440 V", Value: "40+5", Error: "“40+5” has no unit. Type it as printed, e.g. 40+5 uF 440 V."},
			}},
			{Heading: "Compressor and fan", Folded: true, Fields: []page.Field{
				{Name: "rla", Label: "Compressor RLA", Kind: page.Number, Unit: "A", Assumed: "12.8 A"},
				{Name: "lra", Label: "Compressor LRA", Kind: page.Number, Unit: "A", Assumed: "64 A"},
			}},
		},
	}
}
