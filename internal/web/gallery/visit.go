package gallery

import (
	"math"

	"rung/internal/chart"
	"rung/internal/web/page"
)

func visits() []Picture {
	return []Picture{
		{"open-visit", "Open a visit", page.Form(openVisit())},
		{"surroundings", "Surroundings", page.Form(surroundings())},
		{"visit", "Visit: words to choose", page.Visit(visitWords())},
		{"visit-numbers", "Visit: a number to read", page.Visit(visitNumbers())},
		{"visit-verdict", "Visit: ready to repair", page.Visit(visitVerdict())},
		{"check", "One check, refused entry", page.Check(checkRefused())},
		{"checks", "All checks", page.Checks(allChecks())},
		{"photo-form", "Add a photo, refused", page.PhotoForm(photoForm())},
		{"photo", "A photo", page.PhotoView(photoPage())},
		{"photo-absent", "A photo that has not arrived", page.PhotoView(absentPhoto())},
		{"album", "Photos of a house", page.Album(album())},
		{"visit-disputes", "Visit: two people differ", page.Visit(visitDisputes())},
	}
}

// visitDisputes is a visit on which two worked without signal.
func visitDisputes() page.VisitPage {
	p := visitNumbers()
	p.Disputes = []page.Dispute{{
		Heading: "Repairs were recorded on two phones at once", Intro: "All of them count until you say which were done.", Action: "#",
		Stands: page.Field{Kind: page.Choose, Name: "stands", Label: "Which were done?", Suffix: "-repair", Choices: []page.Choice{
			{Value: "a", Label: "Replace the run capacitor · 45+5 µF 440 V (Ada, 14 July 2026 10:40)"},
			{Value: "b", Label: "Replace the contactor (Ben, 14 July 2026 10:42)"}, {Value: "all", Label: "All 2 of them"}}},
		Why: page.Field{Kind: page.Words, Name: "why", Label: "How you know", Suffix: "-repair"},
	}}
	return p
}

func openVisit() page.FormPage {
	return page.FormPage{
		Shell:  page.Shell{Title: "Open a visit", Place: "12 Sample Lane", Back: page.Link{Text: "12 Sample Lane", Href: "#"}},
		Action: "#", Submit: "Open visit",
		Sets: []page.FieldSet{{Fields: []page.Field{
			{Name: "system", Label: "Which system", Kind: page.Choose, Value: "2", Choices: []page.Choice{{Value: "1", Label: "1 downstairs"}, {Value: "2", Label: "2 upstairs"}, {Value: "3", Label: "3 guest wing"}}},
			{Name: "words", Label: "What the customer says", Hint: "In their own words.", Kind: page.Story, Value: "upstairs stays warm since yesterday, fan outside seems off"},
			{Name: "complaint", Label: "Complaint", Kind: page.Choose, Value: "not-cooling", Choices: []page.Choice{{Value: "not-cooling", Label: "Not cooling"}, {Value: "cools-weakly", Label: "Cools, but not enough"}, {Value: "ice", Label: "Ice"}, {Value: "trips", Label: "Breaker trips"}, {Value: "noise", Label: "Noise"}, {Value: "check-up", Label: "Check-up"}}},
		}}},
	}
}

func surroundings() page.FormPage {
	return page.FormPage{
		Shell:    page.Shell{Title: "Surroundings", Place: "12 Sample Lane · 2 upstairs", Back: page.Link{Text: "Visit", Href: "#"}},
		Intro:    "Measured now, here. Every prediction hangs on them.",
		Cautions: []string{"Combustion appliances in the house? Read the CO in the air you breathe before you go on. 100 ppm: everybody out."},
		Action:   "#", Submit: "Save surroundings",
		Sets: []page.FieldSet{{Fields: []page.Field{
			{Name: "outdoor", Label: "Outdoor air, in the shade at the unit", Kind: page.Number, Value: "95", Unit: "°F", Signed: true, Units: []string{"°F", "°C"}, Needed: true},
			{Name: "return", Label: "Return air, dry bulb", Kind: page.Number, Value: "78", Unit: "°F", Signed: true, Units: []string{"°F", "°C"}},
			{Name: "return-wet", Label: "Return air, wet bulb", Kind: page.Number, Unit: "°F", Signed: true, Units: []string{"°F", "°C"}, Assumed: "half humid, 65 °F"},
			{Name: "line", Label: "Line voltage", Kind: page.Number, Unit: "V", Assumed: "240 V"},
		}}},
	}
}

func visitShell(here string) page.Shell {
	return page.Shell{
		Title: "Not cooling", Place: "12 Sample Lane · 2 upstairs",
		Back: page.Link{Text: "12 Sample Lane", Href: "#"},
		Tabs: page.VisitTabs("/gallery/visit", here),
	}
}

func base() page.VisitPage {
	return page.VisitPage{
		Shell:     visitShell("Check"),
		Complaint: "upstairs stays warm since yesterday, fan outside seems off",
		Facts: []page.Fact{{Name: "Complaint", Value: "not cooling"}, {Name: "Outdoor air", Value: "95 °F"}, {Name: "Return air", Value: "78 °F"},
			{Name: "Return wet bulb", Value: "65 °F", Doubt: "assumed"}, {Name: "Line voltage", Value: "240 V", Doubt: "assumed"}},
		AroundURL: "#",
		Others: []page.Link{
			{Text: "Volts at the contactor coil", Href: "#", Note: "3 minutes · power on · splits control side from power side"},
			{Text: "Thermostat setting", Href: "#", Note: "3 minutes · no tools · rules out a wrong setting"},
		},
		AllHref: "#",
		Causes: page.Causes{
			Standing: []page.Cause{
				cause("Run capacitor, HERM section open", "replace the run capacitor", 0.41, "41 in 100"),
				cause("Run capacitor, FAN section open", "replace the run capacitor", 0.17, "17 in 100"),
				cause("Compressor does not start, overload open", "find why it overheated", 0.11, "11 in 100"),
				cause("Contactor, one pole open", "replace the contactor", 0.08, "8 in 100"),
			},
			Unlisted: "4 in 100",
			RuledOut: 2, Ruled: []page.Ruled{
				{Name: "No power to the outdoor unit", Why: "The outdoor fan runs, so line voltage arrives."},
				{Name: "Contactor coil open", Why: "The contactor is pulled in."},
			},
		},
		Readings: []page.ReadingLine{
			{What: "Thermostat, setting", Value: "cool, 72 °F", When: "14:09"},
		},
		Papers: []page.Link{{Text: "Panel note", Href: "#"}, {Text: "Visit report", Href: "#"}, {Text: "Close this visit", Href: "#"}},
	}
}

func cause(name, repair string, share float64, odds string) page.Cause {
	return page.Cause{Name: name, Repair: repair, Odds: odds, Bar: chart.Odds(share, name+": "+odds),
		Reasons: []string{"“Compressor hums, then stops” makes it 9 times likelier than before.", "“Outdoor fan running” leaves it as likely as it was."}}
}

func visitWords() page.VisitPage {
	p := base()
	p.Next = &page.CheckCard{
		ID: "look-listen", Name: "Look and listen at the outdoor unit", Minutes: 3, Power: "on", Instrument: "eyes, ears, a hand on the pipe",
		Why:    "One walk round splits “nothing runs” from “fan runs, compressor does not”, and costs no tools.",
		Steps:  []page.Step{{Text: "Thermostat calling for cooling. Stand at the outdoor unit through one start. Listen for a hum that stops."}},
		Where:  "Outdoor unit, then the air handler.",
		Points: []page.PointEntry{words("outdoor-fan", "Outdoor fan", "running", "stopped", "slow"), words("compressor", "Compressor", "running", "hums, then stops", "silent"), words("suction-line-ice", "Ice on the suction line", "yes", "no")},
		Demand: demand(), Note: note(), Action: "#", RefuseURL: "#", Refusals: refusals(),
	}
	return p
}

func visitNumbers() page.VisitPage {
	p := base()
	p.Notice, p.Undo = "Recorded.", &page.Undo{Action: "#"}
	p.Warnings = []string{"“Liquid pressure 118 psig” fits none of the causes well. Read it once more."}
	p.Readings = append(p.Readings,
		page.ReadingLine{What: "Outdoor fan", Value: "running", When: "14:12", Undo: &page.Undo{Action: "#"}},
		page.ReadingLine{What: "Compressor", Value: "hums, then stops", When: "14:12", Undo: &page.Undo{Action: "#"}},
		page.ReadingLine{What: "Liquid pressure", Value: "118 psig", When: "14:20 · 4 min running", Doubt: "not settled", Undo: &page.Undo{Action: "#"}})
	p.Next = capacitorCheck()
	p.Photos = page.PhotoSet{Heading: "Photos", Photos: photos(), Add: page.Link{Text: "Add a photo", Href: "#"}}
	p.NotJudged = &page.NotJudged{Reasons: []string{"the compressor does not run: equal pressures say nothing about charge", "airflow is not known yet"}, Task: "judge charge after the repair, 15 minutes settled"}
	return p
}

func capacitorCheck() *page.CheckCard {
	expect := []page.Expect{{If: "Healthy", Shows: "38 to 42 µF"}, {If: "HERM section open", Shows: "0 to 1 µF"}, {If: "HERM section weak", Shows: "18 to 36 µF"}}
	ranges := chart.Ranges([]chart.Range{{Name: "Healthy", Lo: 38, Hi: 42, Text: "38 to 42 µF"}, {Name: "HERM section open", Lo: 0, Hi: 1, Text: "0 to 1 µF"}, {Name: "HERM section weak", Lo: 18, Hi: 36, Text: "18 to 36 µF"}}, math.NaN(), "Expected capacitance of HERM to C")
	fan := []page.Expect{{If: "Healthy", Shows: "4.7 to 5.3 µF"}, {If: "HERM section open", Shows: "4.7 to 5.3 µF"}}
	fanRanges := chart.Ranges([]chart.Range{{Name: "Healthy", Lo: 4.7, Hi: 5.3, Text: "4.7 to 5.3 µF"}, {Name: "HERM section open", Lo: 4.7, Hi: 5.3, Text: "4.7 to 5.3 µF"}}, math.NaN(), "Expected capacitance of FAN to C")
	return &page.CheckCard{
		ID: "cap-bench", Name: "Run capacitor on the meter", Minutes: 6, Power: "off", Instrument: "capacitance meter",
		Why:      "The fan runs and the compressor only hums. The capacitor is the likeliest cause and the quickest to prove or clear.",
		Setup:    []string{"disconnect pulled and proved dead", "panel off"},
		Cautions: []string{"The panel stays live on the line side of the contactor until the disconnect is pulled."},
		Steps: []page.Step{
			{Text: "Discharge both sections.", Cautions: []string{"A run capacitor holds its charge with the power off. Discharge each section to C through a 20 kΩ resistor and measure 0 V before you touch it."}},
			{Text: "Note the wires, take the leads off, read HERM to C and FAN to C."},
		},
		Where: "Capacitor in the electrical compartment of the outdoor unit.",
		Points: []page.PointEntry{
			{Field: page.Field{Name: "herm", Label: "HERM to C", Kind: page.Number, Unit: "µF"}, Expect: expect, Range: ranges},
			{Field: page.Field{Name: "fan", Label: "FAN to C", Kind: page.Number, Unit: "µF"}, Expect: fan, Range: fanRanges},
		},
		Demand: demand(), Note: note(), Action: "#", RefuseURL: "#", Refusals: refusals(),
	}
}

func visitVerdict() page.VisitPage {
	p := base()
	p.Verdict = &page.Verdict{
		Heading: "Repair: replace the run capacitor",
		Why:     "HERM to C read 0.4 µF where a healthy one shows 38 to 42 µF. 97 in 100 that this is the cause.",
		Cost:    "A wrong part would cost about 25 minutes. Ask also why it failed.",
		Action:  page.Link{Text: "Record the repair", Href: "#"},
	}
	p.Next = &page.CheckCard{
		ID: "filter-look", Name: "Look at the filter", Minutes: 2, Power: "either", Instrument: "eyes",
		Why:   "Quick, and a blocked filter can be why the part ran hot.",
		Steps: []page.Step{{Text: "Slide it out, hold it to the light."}}, Where: "Return side of the air handler.",
		Points: []page.PointEntry{words("filter", "Filter", "clean", "dirty", "blocked")},
		Demand: demand(), Note: note(), Action: "#", RefuseURL: "#", Refusals: refusals(),
	}
	p.Causes.Standing = p.Causes.Standing[:2]
	p.Causes.Standing[0] = cause("Run capacitor, HERM section open", "replace the run capacitor", 0.97, "97 in 100")
	return p
}

func checkRefused() page.CheckPage {
	card := capacitorCheck()
	card.Points[0].Field.Value = "4o.2"
	card.Points[0].Field.Error = "“4o.2” is not a number. Type digits, e.g. 40.2."
	settled := page.Field{Name: "settled", Label: "How long has it been running?", Kind: page.Choose, Value: "yes", Choices: []page.Choice{{Value: "yes", Label: "15 min or more"}, {Value: "no", Label: "Less"}}}
	card.Settled = &settled
	return page.CheckPage{Shell: page.Shell{Title: card.Name, Place: "12 Sample Lane · 2 upstairs", Back: page.Link{Text: "Visit", Href: "#"}, Tabs: page.VisitTabs("/gallery/visit", "Check")}, Card: *card}
}

func allChecks() page.ChecksPage {
	return page.ChecksPage{
		Shell: page.Shell{Title: "All checks", Place: "12 Sample Lane · 2 upstairs", Back: page.Link{Text: "Visit", Href: "#"}, Tabs: page.VisitTabs("/gallery/visit", "Check")},
		Groups: []page.LinkList{
			{Heading: "No tools", Links: []page.Link{{Text: "Look and listen", Href: "#", Note: "3 minutes · done"}, {Text: "Look at the filter", Href: "#", Note: "2 minutes"}}},
			{Heading: "Electrical, power on", Links: []page.Link{{Text: "Volts at the contactor coil", Href: "#", Note: "3 minutes"}, {Text: "Current of the compressor", Href: "#", Note: "3 minutes · could not do: no clamp meter"}}},
			{Heading: "Refrigerant", Links: []page.Link{{Text: "Gauge pressures", Href: "#", Note: "10 minutes · running 15 minutes"}}},
		},
	}
}

func words(id, name string, list ...string) page.PointEntry {
	f := page.Field{Name: id, Label: name, Kind: page.Choose}
	for _, w := range list {
		f.Choices = append(f.Choices, page.Choice{Value: w, Label: w})
	}
	return page.PointEntry{Field: f}
}

func demand() page.Field {
	return page.Field{Name: "demand", Label: "What the thermostat calls for", Kind: page.Choose, Value: "cool", Choices: []page.Choice{{Value: "cool", Label: "Cool"}, {Value: "fan", Label: "Fan"}, {Value: "off", Label: "Off"}}}
}

func note() page.Field {
	return page.Field{Name: "note", Label: "Note", Hint: "Anything odd: smell, burn mark, loose lug."}
}

func refusals() []page.Choice {
	return []page.Choice{{Value: "no-tool", Label: "No instrument"}, {Value: "no-access", Label: "Cannot get at it"}, {Value: "not-safe", Label: "Not safe here"}, {Value: "not-permitted", Label: "Not permitted to"}}
}
