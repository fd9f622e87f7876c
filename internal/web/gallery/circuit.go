package gallery

import (
	"rung/internal/chart"
	"rung/internal/web/page"
)

func circuits() []Picture {
	return []Picture{
		{"ladder", "Ladder, both leads on", page.Ladder(ladder())},
		{"sequence", "Sequence of operation", page.Sequence(sequence())},
	}
}

func ladder() page.LadderPage {
	points := []page.Choice{{Value: "", Label: "no point"}, {Value: "t1", Label: "T1, contactor out"}, {Value: "t2", Label: "T2, contactor out"}, {Value: "herm", Label: "HERM"}}
	shell := visitShell("Ladder")
	shell.Title = "Ladder"
	return page.LadderPage{
		Shell:  shell,
		As:     page.Field{Name: "as", Label: "Shown as", Kind: page.Pick, Value: "healthy", Choices: []page.Choice{{Value: "healthy", Label: "Healthy"}, {Value: "herm-cap-open", Label: "Run capacitor, HERM section open"}}},
		Demand: page.Field{Name: "demand", Label: "Calling for", Kind: page.Choose, Value: "cool", Choices: []page.Choice{{Value: "cool", Label: "Cool"}, {Value: "off", Label: "Off"}}},
		Step:   page.Field{Name: "step", Label: "Step", Kind: page.Pick, Value: "4", Choices: []page.Choice{{Value: "4", Label: "4: contactor pulls in"}}},
		Red:    page.Field{Name: "red", Label: "Red lead on", Kind: page.Pick, Value: "t1", Choices: points},
		Black:  page.Field{Name: "black", Label: "Black lead on", Kind: page.Pick, Value: "t2", Choices: points},
		Form:   "#", Clear: "#",
		Answer:   "240 V from T1 to T2",
		Detail:   "Predicted if healthy: 236 to 243 V. A low-impedance meter shows the same.",
		StepText: "After 3 s: 24 V reaches the contactor coil; L1-T1 and L2-T2 close; compressor and outdoor fan start.",
		Drawing:  chart.Ladder(chart.Sample()),
		Cautions: []string{"240 V is live here. Measure only if you are qualified to, with a meter proved on a live source."},
	}
}

func sequence() page.SequencePage {
	shell := visitShell("Steps")
	shell.Title = "Sequence of operation"
	return page.SequencePage{
		Shell: shell, Form: "#",
		As: page.Field{Name: "as", Label: "Shown as", Kind: page.Pick, Value: "lps-open", Choices: []page.Choice{{Value: "healthy", Label: "Healthy"}, {Value: "lps-open", Label: "Low-pressure switch open"}}},
		Steps: []page.SequenceStep{
			{At: "at once", Cause: "The thermostat calls for cooling", Changes: []string{"R-Y closes", "R-G closes"}, Ladder: "#"},
			{At: "after 1 s", Cause: "24 V on G", Changes: []string{"the blower relay pulls in", "the blower starts"}, Ladder: "#"},
			{At: "after 1 s", Cause: "24 V on Y", Changes: []string{"the float switch passes it on", "the low-pressure switch is open: 24 V stays here"}, Ladder: "#"},
			{Cause: "24 V at the contactor coil", Changes: []string{"does not happen", "compressor and outdoor fan stay off"}, Fails: true},
		},
		Ends: "The sequence stops at step 3. On a healthy unit the contactor pulls in 3 seconds after the call.",
	}
}
