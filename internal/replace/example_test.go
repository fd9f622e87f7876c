package replace_test

import (
	"fmt"

	"rung/internal/quantity"
	"rung/internal/replace"
)

// show prints amounts as the examples need them.
func show(dim quantity.Dimension, si float64) string {
	if dim == quantity.DimCapacitance {
		return fmt.Sprintf("%.4g µF", 1e6*si)
	}
	return fmt.Sprintf("%.4g V", si)
}

// The dual can of a condensing unit is gone; the truck has no dual of that size.
func ExampleCapacitor() {
	need := replace.CapacitorNeed{Label: replace.CapacitorLabel{Capacitance: 45e-6, Fan: 5e-6, Volts: 370}}
	truck := []replace.CapacitorLabel{
		{Name: "45 single", Capacitance: 45e-6, Volts: 440},
		{Name: "5 single", Capacitance: 5e-6, Volts: 370},
		{Name: "40+5 dual", Capacitance: 40e-6, Fan: 5e-6, Volts: 440},
	}
	a, err := replace.Capacitor(need, truck)
	if err != nil {
		fmt.Println(err)
		return
	}
	best, _ := a.Best()
	for _, i := range best.Parts {
		fmt.Println(truck[i].Name)
	}
	fmt.Println(best.Grade, best.Notes[0].In("en", show))
	for _, c := range a.Refused {
		fmt.Println(truck[c.Parts[0]].Name, "refused:", c.Why[0].In("en", show))
	}
	// Output:
	// 45 single
	// 5 single
	// fits-with-note Two cans in place of the dual: one lead joins their common sides, both strapped, both labelled HERM and FAN.
	// 45 single refused: It fits the compressor section only. It needs a second can of 5 µF for the fan beside it.
	// 5 single refused: It fits the fan section only. It needs a second can of 45 µF for the compressor beside it.
	// 40+5 dual refused: 40 µF is outside the 42.3 µF to 47.7 µF that 45 µF allows.
}

// A boiler and an air handler under one thermostat: two transformers.
func ExampleThermostat() {
	end := func(kind replace.EndKind, s replace.SourceID) replace.End { return replace.End{Kind: kind, Source: s} }
	load := func(id replace.LoadID) replace.End { return replace.End{Kind: replace.LoadEnd, Load: id} }
	plan, err := replace.Thermostat(replace.Swap{
		System: replace.System{
			Sources: []replace.Source{{ID: "air handler", Common: true}, {ID: "boiler"}},
			Loads: []replace.Load{{ID: replace.Compressor, Source: "air handler"}, {ID: replace.Blower, Source: "air handler"},
				{ID: replace.Heat, Source: "boiler"}},
		},
		Old: replace.Base{Terminals: replace.ParseTerminals("RC RH Y G W"), Conventional: true, Link: replace.RemovableLink},
		Conductors: []replace.Conductor{
			{ID: "1", Colour: "red", At: "RC", To: end(replace.PowerEnd, "air handler")},
			{ID: "2", Colour: "yellow", At: "Y", To: load(replace.Compressor)},
			{ID: "3", Colour: "green", At: "G", To: load(replace.Blower)},
			{ID: "4", Colour: "black", At: "", To: replace.End{Kind: replace.FreeEnd}},
			{ID: "5", Colour: "red", At: "RH", To: end(replace.PowerEnd, "boiler")},
			{ID: "6", Colour: "white", At: "W", To: load(replace.Heat)},
		},
		New: replace.Base{Terminals: replace.ParseTerminals("RC RH C Y G W"), Conventional: true, Link: replace.RemovableLink,
			Supply: replace.NeedsCommon, SupplyFrom: replace.PowerCool},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range plan.Moves {
		fmt.Printf("%s to %s: %s\n", m.Conductor.ID, m.To, m.Why.In("en", show))
	}
	fmt.Println("jumper", plan.Link)
	// Output:
	// 1 to RC: Power of the cooling transformer, to RC.
	// 2 to Y: Feeds the compressor, so it goes to Y.
	// 3 to G: Feeds the blower, so it goes to G.
	// 4 to C: Spare conductor, now the common, to C.
	// 5 to RH: Power of the heating transformer, to RH.
	// 6 to W: Feeds heat, so it goes to W.
	// jumper out
}
