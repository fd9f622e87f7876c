package gallery

import (
	"rung/internal/paperwork"
	"rung/internal/web/page"
)

func papers() []Picture {
	return []Picture{
		{"note", "Panel note", page.Note(notePage())},
		{"report", "Visit report", page.Report(reportPage())},
	}
}

func notePage() page.NotePage {
	n := paperwork.Note{
		Unit: "12 Sample Lane / 2 upstairs / Outdoor unit", UnitID: "01J2ZK6V0Q", Day: "2026-07-14", By: "J. Sample, 555 0142",
		Said: "upstairs stays warm", Found: "run capacitor, HERM section open", Did: "run capacitor replaced, 40+5 µF 440 V",
		Charge: "R-410A, 5 lb 6 oz", Added: "none",
		Readings: []paperwork.Reading{{Name: "Compressor current", Value: "11.2 A"}, {Name: "Liquid pressure", Value: "335 psig", Doubt: "not settled"}},
		Unjudged: []string{"it ran less than 15 minutes"}, Todo: "judge charge when settled", Filter: "20x25x1", Due: "2027-04",
	}
	q, err := n.Symbol()
	if err != nil {
		panic("gallery: " + err.Error()) // the note above fits
	}
	return page.NotePage{
		Shell: page.Shell{Title: "Panel note", Place: "12 Sample Lane · 2 upstairs", Back: page.Link{Text: "Visit", Href: "#"}},
		Note:  n, Symbol: q.SVG("Code with the text of this note"), Text: q.Text(), PDF: "#",
	}
}

func reportPage() page.ReportPage {
	return page.ReportPage{
		Shell: page.Shell{Title: "Visit report", Place: "12 Sample Lane · 2 upstairs", Back: page.Link{Text: "Visit", Href: "#"}},
		PDF:   "#",
		Share: &page.Share{Make: page.Undo{Action: "#"}, Links: []page.SharedLink{{
			Address: "https://shop.example/report/pYc0nQb4v0y8l1mGq3vWl1c3mC2n9b8x7z6l5k4j3h2", Made: "made 14 July 2026 16:20 by J. Sample", Withdraw: page.Undo{Action: "#"},
		}}},
		Report: paperwork.Report{
			Shop: "Sample Heating and Cooling", Phone: "555 0100", Property: "12 Sample Lane", System: "2 upstairs", Day: "14 July 2026", By: "J. Sample",
			Said: "upstairs stays warm since yesterday, fan outside seems off", Surroundings: "95 °F outside, 78 °F return air",
			Found:    []string{"The run capacitor of the outdoor unit had failed: it read 0.4 µF where a healthy one shows 38 to 42 µF. Without it the compressor hums and cannot start."},
			Done:     []paperwork.Work{{What: "Replaced the run capacitor", Out: "40+5 µF 370 V", In: "40+5 µF 440 V", Measured: "HERM 0.4 µF, FAN 4.9 µF", Why: "heat"}},
			Proof:    []paperwork.ProofLine{{Name: "Compressor", Before: "hums, then stops", After: "running", Must: "running", Word: "holds"}, {Name: "Compressor current", Before: "62 A", After: "11.2 A", Must: "10.1 to 12.4 A", Word: "holds"}},
			Limits:   []string{"Heating was only started for a moment: 95 °F outside."},
			Unjudged: []string{"it ran less than 15 minutes"}, Todo: "judge charge when settled",
			Differ: []string{"Not settled: the rated load amps of the outdoor unit. 14.1 A (Ada, 14 July 2026 15:00) or 16 A (Ben, 14 July 2026 15:02). The latest counts until it is settled.",
				"Settled: how the visit ended. Fixed (Ada, 14 July 2026 16:00) stands, not Coming back (Ben, 14 July 2026 15:50). So said Ada, 15 July 2026 08:00: asked Ben."},
			Advice:   []string{"Keep bushes two feet away from the outdoor unit."},
			Readings: []paperwork.Reading{{Name: "Compressor current", Value: "11.2 A"}},
			Photos:   []paperwork.Photo{{Name: "Damage · capacitor swollen at the top", Address: "/static/icon-512.png", Width: 512, Height: 512}, {Name: "After the work"}},
		},
	}
}
