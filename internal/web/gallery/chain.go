package gallery

import (
	"fmt"

	"rung/internal/paperwork"
	"rung/internal/web/page"
)

func chains() []Picture {
	return []Picture{
		{"chain", "What serves what, one pair swapped", page.Chain(chain())},
		{"chain-ten", "What serves what, ten systems, all proved", page.Chain(tenChains())},
		{"chain-empty", "What serves what, no system yet", page.Chain(page.ChainPage{Shell: chainShell("What serves what"), Empty: "No system is entered yet.", Main: page.Link{Text: "Add a system", Href: "#"}})},
		{"link", "One link, refused", page.LinkForm(link())},
		{"labels", "Labels of a chain", page.Labels(labels())},
	}
}

func chainShell(title string) page.Shell {
	return page.Shell{Title: title, Place: "12 Sample Lane", Back: page.Link{Text: "12 Sample Lane", Href: "#"}}
}

var chainHeads = []string{"Indoor", "Outdoor", "Discon\u00adnect", "Breaker"}

// cells returns the cells of a row from pairs of state and place.
func cells(pairs ...string) []page.ChainCell {
	var list []page.ChainCell
	for i := 0; i < len(pairs); i += 2 {
		list = append(list, page.ChainCell{State: pairs[i], Place: pairs[i+1], Says: chainHeads[i/2] + ": " + pairs[i+1] + ", " + pairs[i], Href: "#"})
	}
	return list
}

var breakerSteps = []page.Step{
	{Text: "Tell the customer what goes off before you switch a breaker off. Ask about freezers, medical devices and computers, and wait for a yes.",
		Cautions: []string{"Never switch off what a medical device or an alarm hangs on."}},
	{Text: "Prove the meter on a live source, then read the line side of the disconnect “2”: it must be live.",
		Cautions: []string{"The line side of a disconnect is live at 240 V even when it is pulled, and can kill."}},
	{Text: "Switch one breaker off, both poles, and read again: every pair and each to ground. Then read the live source again."},
}

func chain() page.ChainPage {
	return page.ChainPage{
		Shell: page.Shell{Title: "What serves what", Place: "12 Sample Lane", Back: page.Link{Text: "12 Sample Lane", Href: "#"}, Notice: "Recorded: 2 upstairs, outdoor unit north side, left.", Undo: &page.Undo{Action: "#"}},
		Swapped: []page.Swapped{{Pair: "Swapped outdoor units: 1 downstairs and 2 upstairs", Says: "By test the thermostat of each runs the outdoor unit labelled for the other.",
			Means: "While only one calls, its blower moves warm air and the other coil is cooled without air.",
			Mend:  []string{"First find which outdoor unit is piped to which coil.", "Control wires are corrected at the outdoor units with power off, proved dead by meter."}}},
		Next:   &page.ChainNext{What: "Breaker of 1 downstairs", Time: "About 8 minutes. 16 minutes for all that is left.", Steps: breakerSteps},
		Doubts: []string{"3 guest wing (by test) and 4 workshop (not tried) claim the same breaker, “18-20”. One of them must be mistaken; prove each."},
		Heads:  chainHeads,
		Rows: []page.ChainRow{
			{System: "1 downstairs", Thermostat: "thermostat: hall", Cells: cells("proved", "basement", "doubted", "north side, right", "proved", "2", "label", "10-12")},
			{System: "2 upstairs", Thermostat: "thermostat: upstairs hall", Cells: cells("proved", "attic, over the stairs", "doubted", "north side, left", "proved", "1", "unknown", "")},
			{System: "3 guest wing", Thermostat: "no thermostat entered", Cells: cells("label", "closet", "label", "behind the shed", "unknown", "", "doubted", "18-20")},
			{System: "4 workshop", Thermostat: "thermostat: by the door", Cells: cells("unknown", "", "unknown", "", "unknown", "", "doubted", "18-20")},
		},
		Main: page.Link{Text: "Record what you found", Href: "#"}, Second: page.Link{Text: "Labels", Href: "#"},
	}
}

func tenChains() page.ChainPage {
	p := page.ChainPage{Shell: chainShell("What serves what"), Done: "Every link is proved.", Heads: chainHeads, Main: page.Link{Text: "Labels", Href: "#"}}
	for i := range 10 {
		n := fmt.Sprint(i + 1)
		p.Rows = append(p.Rows, page.ChainRow{System: n + " second floor east wing", Thermostat: "thermostat: housekeeper's corridor",
			Cells: cells("proved", "mechanical room "+n, "proved", "northwest courtyard, "+n, "proved", "weatherproof box "+n, "proved", fmt.Sprintf("subpanel B, %d-%d", 4*i+1, 4*i+3))})
	}
	return p
}

func link() page.LinkPage {
	return page.LinkPage{
		FormPage: page.FormPage{Shell: chainShell("Breaker of 1 downstairs"), Action: "#", Submit: "Record it", Sets: []page.FieldSet{{Heading: "What did you find?", Fields: []page.Field{
			{Name: "known", Label: "Which one?", Hint: "The one that feeds this disconnect. Its numbers, such as 14-16.", Kind: page.Choose, Value: "10-12",
				Choices: []page.Choice{{Value: "10-12", Label: "10-12"}, {Value: "18-20", Label: "18-20"}, {Value: "", Label: "Another, typed below"}}},
			{Name: "place", Label: "Another: place or number", Value: "14-16", Error: "One of the list is chosen and “14-16” is typed. Choose “Another”, or empty this line."},
			{Name: "how", Label: "How do you know?", Kind: page.Choose, Value: "breaker-dead", Choices: []page.Choice{
				{Value: "breaker-dead", Label: "Switched it off, and the disconnect went dead by meter"}, {Value: "label", Label: "Only by the label, not tried"}}},
			{Name: "by", Label: "Found by", Hint: "If it was not you."},
			{Name: "note", Label: "Note"},
		}}}},
		Facts:    []page.Fact{{Name: "So far", Value: "10-12", Doubt: "by label only"}, {Name: "How", Value: "Only by the label, not tried"}, {Name: "When", Value: "3 May 2026, J. Sample"}},
		TakeBack: &page.Undo{Action: "#"}, Time: "about 8 minutes", Steps: breakerSteps, Read: true,
	}
}

func labels() page.LabelsPage {
	label := paperwork.ChainLabel{System: "2 upstairs", Property: "12 Sample Lane", Day: "2026-07-14", By: "J. Sample, 555 0100", Chain: []paperwork.Reading{
		{Name: "Thermostat", Value: "upstairs hall"}, {Name: "Indoor unit", Value: "attic, over the stairs"}, {Name: "Outdoor unit", Value: "north side"},
		{Name: "Disconnect", Value: "2"}, {Name: "Breaker", Value: "14-16", Doubt: "not proved"}}}
	p := page.LabelsPage{Shell: chainShell("Labels"), PDF: "#", LeftOut: []string{"No labels for 3 guest wing: whose breaker it is has to be settled first."}}
	for _, x := range label.Chain {
		label.Here = x.Name + ": " + x.Value
		p.Labels = append(p.Labels, label)
	}
	return p
}
