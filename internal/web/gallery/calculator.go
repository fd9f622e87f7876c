package gallery

import (
	"rung/internal/calc"
	"rung/internal/chart"
	"rung/internal/tradeunit"
	"rung/internal/web/page"
)

func calculators() []Picture {
	return []Picture{
		{"calculators", "Calculators", page.Calculators(calculatorList())},
		{"calculator-form", "A calculator, refused", page.Calculator(refusedCalculator())},
		{"calculator-result", "A calculator with its drawing", page.Calculator(drawnCalculator())},
		{"calculator-table", "A calculator with a table", page.Calculator(tableCalculator())},
	}
}

func unitSwitch() page.UnitSwitch {
	return page.UnitSwitch{{Link: page.Link{Text: "US units", Href: "#"}, Here: true}, {Link: page.Link{Text: "SI units", Href: "#"}}}
}

func calculatorShell(title string) page.Shell {
	return page.Shell{Title: title, Back: page.Link{Text: "Calculators", Href: "/gallery/calculators"}}
}

func calculatorList() page.CalculatorsPage {
	return page.CalculatorsPage{
		Shell: page.Shell{Title: "Calculators", Back: page.Link{Text: "Start", Href: "/"}}, Switch: unitSwitch(),
		Lists: []page.LinkList{
			{Heading: "Refrigerant", Links: []page.Link{{Text: "Superheat", Href: "#", Note: "Suction line temperature above the dew temperature at the suction pressure."}}},
			{Heading: "Electricity", Links: []page.Link{{Text: "Capacitor under load", Href: "#", Note: "Capacitance of a running capacitor."}}},
		},
	}
}

func refusedCalculator() page.CalculatorPage {
	return page.CalculatorPage{
		Shell: calculatorShell("Superheat"), Switch: unitSwitch(), About: "Suction line temperature above the dew temperature at the suction pressure.",
		Source: "practice: definition", Action: "#", Try: page.Link{Text: "Try an example", Href: "#"},
		Sets: []page.FieldSet{{Fields: []page.Field{
			{Kind: page.Pick, Name: "refrigerant", Label: "Refrigerant", Value: "R-410A", Choices: []page.Choice{{Value: "R-22", Label: "R-22"}, {Value: "R-410A", Label: "R-410A"}}},
			{Kind: page.Number, Name: "pressure", Label: "Pressure", Hint: "At the port of this line", Value: "1180", Unit: "psig", Units: []string{"psig", "kPa(g)"}, Error: "1180 psig is outside what can be answered: -0.9 psig to 675.4 psig.", Needed: true},
			{Kind: page.Number, Name: "line_temperature", Label: "Line temperature", Hint: "Pipe temperature next to the port", Value: "54", Unit: "°F", Units: []string{"°F", "°C"}, Signed: true, Needed: true},
		}}},
	}
}

func drawnCalculator() page.CalculatorPage {
	return page.CalculatorPage{
		Shell: calculatorShell("Psychrometric chart"), Switch: unitSwitch(), About: "Return, outdoor, mixed and supply air on the chart of this elevation.",
		Source: "ASHRAE Handbook of Fundamentals 2017, chapter 1", Action: "#",
		Sets: []page.FieldSet{{Heading: "Worked out from", Fields: []page.Field{{Kind: page.Number, Name: "return_dry_bulb", Label: "Return dry bulb", Value: "78", Unit: "°F", Units: []string{"°F", "°C"}}}}},
		Result: &page.Result{
			Headline: "14 July 2026 · sea level, air at 14.70 psia", Drawing: example("psychrometric-chart"), DrawingHref: "#",
			Warnings: []string{"The supply air holds more water than the air that enters the coil: a wet bulb is wrong, or water is carried off the coil."},
			Facts:    []page.Fact{{Name: "Temperature drop", Value: "22.6 °F", Doubt: "through the coil"}, {Name: "Sensible share", Value: "74.6 %"}},
			Tables:   []page.Table{{Cards: []page.Card{{Heading: "Return", Facts: []page.Fact{{Name: "Dry bulb", Value: "78.0 °F"}, {Name: "Wet bulb", Value: "65.0 °F"}}}}}},
		},
	}
}

// example draws the example of a calculator.
func example(name string) string {
	c, _ := calc.Lookup(name)
	in, out, err := c.Answer([]byte(c.Example))
	if err == nil {
		var svg string
		if svg, err = chart.Draw(name, in, out, tradeunit.US); err == nil {
			return svg
		}
	}
	panic("gallery: " + err.Error()) // examples can be worked out
}

func tableCalculator() page.CalculatorPage {
	rows := []page.Row{{"40.0", "118.8", "118.4"}, {"45.0", "130.2", "129.7"}}
	return page.CalculatorPage{
		Shell: calculatorShell("R-410A pressure-temperature chart"), Switch: unitSwitch(), About: "Saturation pressures over a range of temperatures, to print.",
		Source: "the equation of state of each refrigerant", Action: "#",
		Result: &page.Result{
			Headline: "14 July 2026 · sea level, air at 14.70 psia", Notes: []string{"No rows above 158.4 °F."},
			Tables: []page.Table{{Columns: []page.Column{{Name: "Temperature", Unit: "°F"}, {Name: "Bubble pressure", Unit: "psig", About: "liquid line: subcooling"}, {Name: "Dew pressure", Unit: "psig", About: "suction line: superheat"}},
				Blocks: [][]page.Row{rows, rows}}},
			Given: []page.Fact{{Name: "Refrigerant", Value: "R-410A"}},
		},
	}
}
