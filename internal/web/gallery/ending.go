package gallery

import "rung/internal/web/page"

func endings() []Picture {
	return []Picture{
		{"repair", "Record the repair", page.Form(repair())},
		{"proof", "Proof, cooling only", page.Proof(proof())},
		{"problem", "What went wrong", page.ProblemPage(problem())},
	}
}

func repair() page.FormPage {
	shell := visitShell("Repair")
	shell.Title = "Record the repair"
	return page.FormPage{
		Shell: shell, Action: "#", Submit: "Record repair",
		Cautions: []string{"Disconnect pulled and proved dead, capacitor discharged and measured 0 V."},
		Sets: []page.FieldSet{
			{Fields: []page.Field{
				{Name: "repair", Label: "What was done", Kind: page.Pick, Value: "replace-run-capacitor", Choices: []page.Choice{{Value: "replace-run-capacitor", Label: "Replace the run capacitor"}, {Value: "replace-contactor", Label: "Replace the contactor"}}},
				{Name: "out", Label: "Part out", Value: "40+5 µF 440 V"},
				{Name: "in", Label: "Part in", Value: "40+5 µF 440 V"},
				{Name: "measured", Label: "What the old part measured", Hint: "Each section, e.g. HERM 0.4 µF, FAN 4.9 µF"},
				{Name: "why", Label: "Why it failed", Kind: page.Pick, Choices: []page.Choice{{Value: "", Label: "Not known"}, {Value: "heat", Label: "Heat"}, {Value: "age", Label: "Age"}, {Value: "voltage", Label: "Voltage"}}, Hint: "A part seldom dies alone. If you do not know, say so."},
			}},
		},
	}
}

func proof() page.ProofPage {
	shell := visitShell("Proof")
	shell.Title = "Proof"
	return page.ProofPage{
		Shell: shell, Intro: "Nothing is proved by a new part alone. These must now read as on a healthy unit.",
		Verdict: "Not proved yet: 1 reading missing, 1 does not hold.",
		Modes: []page.ProofMode{
			{Name: "Cooling", Checks: []page.ProofCheck{
				{Name: "Compressor", Before: "hums, then stops", After: "running", Must: "running", State: page.ProofHolds, Href: "#"},
				{Name: "Compressor current", Before: "62 A", After: "14.9 A", Must: "10.1 to 12.4 A", State: page.ProofFails, Href: "#"},
				{Name: "Split, return minus supply", Must: "17 to 22 °F", Href: "#"},
			}},
			{Name: "Heating", Limited: "Limited by weather: 95 °F outside. A short start only; prove it in the fall."},
		},
		NotJudged: &page.NotJudged{Reasons: []string{"running 6 minutes, settled after 15"}, Task: "read superheat and subcooling when settled"},
		Close:     page.Link{Text: "Go to closing", Href: "#"},
	}
}

func problem() page.Problem {
	return page.Problem{
		Shell: page.Shell{Title: "That did not work", Back: page.Link{Text: "Start", Href: "#"}},
		What:  "This visit was closed at 15:40 on another phone.",
		Do:    "The reading was not added. Open a new visit if the work goes on, and enter it there.",
		Typed: []page.Fact{{Name: "HERM to C", Value: "0.4 µF"}},
		Retry: page.Link{Text: "Go to 2 upstairs", Href: "#"},
	}
}
