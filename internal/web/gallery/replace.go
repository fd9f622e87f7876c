package gallery

import "rung/internal/web/page"

func replacements() []Picture {
	return []Picture{
		{"replace-part", "What fits instead of a part", page.Replace(replacedPart())},
		{"replace-refused", "Nothing fits", page.Replace(nothingFits())},
		{"replace-thermostat", "A thermostat wire by wire", page.Replace(replacedThermostat())},
		{"replace-form", "A thermostat, refused", page.Replace(refusedThermostat())},
	}
}

func replaceShell(title string) page.Shell {
	return page.Shell{Title: title, Back: page.Link{Text: "Replace a part", Href: "#"}}
}

const bleed = "A run capacitor can hold a painful or deadly charge with the power off. Bleed every section through a resistor and prove it under 10 V dc before you touch it."

func replacedPart() page.ReplacePage {
	return page.ReplacePage{
		Shell: replaceShell("Run capacitor, outdoor unit"), About: "The same µF within the printed tolerance, volts at least those of the old can.",
		Cautions: []string{bleed}, Action: "#",
		Sets: []page.FieldSet{{Heading: "On the truck", Fields: []page.Field{{Kind: page.Story, Name: "truck", Label: "Labels, a line each", Value: "45+5 uF 440 V\n45 uF 440 V"}}}},
		Answer: &page.Replacement{
			Headline: "45+5 uF 440 V", Grade: "holds", Lead: "Fits, and is on the truck.",
			Doubts: []string{"The plate asks for 45 µF, the old can says 40 µF: the plate wins. Somebody fitted another can before."},
			Facts:  []page.Fact{{Name: "Reading under load", Value: "44.2 µF", Doubt: "44.2 µF under load, 45 µF printed: within 42.3 µF to 47.7 µF."}},
			Choices: []page.PartChoice{
				{Name: "Why this one", Grade: "Fits", Class: "holds", Why: []string{"Compressor section: 45 µF, the same as the old one.", "Made for 440 V, as needed."}},
				{Name: "45 uF 440 V and 5 uF 440 V", Grade: "Fits with a note", Why: []string{"Compressor section: 45 µF, the same as the old one."},
					Notes: []page.Step{{Text: "Two cans in place of the dual: one lead joins their common sides, both strapped.", Cautions: []string{"A run capacitor can hold a painful or deadly charge with the power off."}}}},
			},
			Steps:   []page.Step{{Text: "Power off, locked, proved dead.", Cautions: []string{bleed}}, {Text: "Take a picture and mark the leads by terminal."}},
			Refused: []page.PartChoice{{Name: "88-108 uF 330 V", Why: []string{"A start capacitor is never a run capacitor: it is made for seconds and bursts in minutes."}}},
		},
	}
}

func nothingFits() page.ReplacePage {
	p := replacedPart()
	p.Answer = &page.Replacement{Headline: "Nothing on the truck fits", Grade: "fails", Lead: "Must be bought.",
		Buy:     []string{"Buy: dual run capacitor 45 µF and 5 µF, 440 V or more."},
		Refused: []page.PartChoice{{Name: "40+5 uF 440 V", Why: []string{"40 µF is outside the 42.3 µF to 47.7 µF that 45 µF allows."}}}}
	return p
}

func wires() *page.WireTable {
	ends := []page.Choice{{Value: "", Label: "not traced"}, {Value: "y1", Label: "compressor (Y)"}, {Value: "r1", Label: "R of the cooling or only unit"}}
	return &page.WireTable{Heading: "The conductors", Intro: "Colour, letter at the old thermostat, and where it goes at the equipment, if you traced it.", Ends: ends,
		Rows: []page.WireRow{{Name: "wire1", Title: "Wire 1", Colour: "red", At: "RC", End: "r1"}, {Name: "wire2", Title: "Wire 2", Colour: "yellow", At: "Y", End: "y1"}},
		More: []page.WireRow{{Name: "wire3", Title: "Wire 3"}}}
}

func replacedThermostat() page.ReplacePage {
	return page.ReplacePage{
		Shell: replaceShell("Thermostat"), About: "By function, not by letter or colour.", Cautions: []string{"This is the 24 V side, but line voltage is in the same box."},
		Action: "#", Wires: wires(),
		Answer: &page.Replacement{
			Headline: "It can be changed, with a loss", Lead: "Power of the thermostat: the fan conductor, fan joined with cooling.", Jumper: "Jumper Rc to Rh: out",
			Losses:   []string{"The fan no longer runs by itself: it runs with cooling and heating only."},
			Findings: []page.Step{{Text: "Old wiring: the jumper joins two transformers. It must not be there.", Cautions: []string{"This is the 24 V side, but line voltage is in the same box."}}},
			Wires: []page.WireMove{
				{Wire: "Wire 1, red", From: "RC", To: "RC", Why: "Power of the cooling transformer, to RC."},
				{Wire: "Wire 2, yellow", From: "Y", To: "Y1", Why: "Feeds the compressor, so it goes to Y1.", Assumed: true},
				{Wire: "Wire 3, brown", From: "W2", Why: "Feeds the second heat stage, which is given up: capped."},
			},
			Settings: []string{"System: conventional, not heat pump.", "Cooling stages: 1."},
			Steps:    []page.Step{{Text: "Take a picture of the old base."}, {Text: "Power off at both units and prove it.", Cautions: []string{"Lock the power out and prove it dead yourself, on every pair and to ground."}}},
			Proof:    []page.Step{{Text: "Each transformer by itself: 24 to 29 V at R and C."}, {Text: "Cooling: see and hear each of these run. Must run: the compressor, the blower."}},
		},
	}
}

func refusedThermostat() page.ReplacePage {
	return page.ReplacePage{
		Shell: replaceShell("Thermostat"), About: "By function, not by letter or colour.", Action: "#", Try: page.Link{Text: "Try an example", Href: "#"}, Wires: wires(),
		Wrong: "Conductor 2: the old base has no terminal Y.",
		Sets: []page.FieldSet{{Heading: "The old thermostat", Fields: []page.Field{{Kind: page.Words, Name: "old", Label: "Its terminals", Hint: "All letters on the base, parted by blanks: R C Y G W",
			Error: "Type the letters of the old base."}}}},
	}
}
