package calc

import (
	"strconv"

	"rung/internal/quantity"
	"rung/internal/replace"
)

// branchCalculators are those of circuits and of what hangs on them.
func branchCalculators() []Calculator {
	return []Calculator{branchCircuit(), voltageDrop(), transformerLoad(), motorCurrent(), electricHeatCircuit()}
}

func branchCircuit() Calculator {
	return Calculator{
		Name: "branch-circuit",
		About: "Minimum ampacity of the conductors and the most that may protect the branch circuit of a compressor with its fans. " +
			"The nameplate and local code win: what the plate marks is used as it stands.",
		Caution: "Work on panel and branch circuit only if you are licensed for it, locked out and proved dead.",
		Source:  "published: NEC 440.32, 440.33, 440.22(A) and (B), 240.6(A), table 310.16, as worked in public code columns; devices are rounded down",
		Example: `{"rated_load_amps":"16.7 A","other_loads":["1.4 A"],"terminals":"75"}`,
		Fields: []Field{
			{Name: "rated_load_amps", Dim: quantity.DimCurrent, Min: 0.5, Max: 80, About: "RLA of the compressor"},
			{Name: "other_loads", Dim: quantity.DimCurrent, List: true, Optional: true, Either: true, Min: 0, Max: 60, About: "full load amps of fans and other loads"},
			{Name: "branch_selection_amps", Dim: quantity.DimCurrent, Optional: true, Min: 0, Max: 80, About: "branch-circuit selection current, if the plate marks one"},
			{Name: "plate_minimum", Dim: quantity.DimCurrent, Optional: true, Min: 1, Max: 150, About: "minimum circuit ampacity on the plate"},
			{Name: "plate_maximum", Dim: quantity.DimCurrent, Optional: true, Min: 1, Max: 200, About: "maximum fuse or breaker on the plate"},
			{Name: "terminals", Words: []string{"60", "75"}, Optional: true, About: "lowest temperature marking at either end, °C; 60 if not given"},
		},
		Results: []Field{
			{Name: "minimum_ampacity", Dim: quantity.DimCurrent, About: "of the conductors"},
			{Name: "protection_limit", Dim: quantity.DimCurrent, About: "175 % of the compressor plus the rest"},
			{Name: "protection", Dim: quantity.DimCurrent, About: "standard size at or below it"},
			{Name: "maximum_protection_limit", Dim: quantity.DimCurrent, About: "225 %, if it does not start on less"},
			{Name: "maximum_protection", Dim: quantity.DimCurrent, About: "the most that may protect it"},
			{Name: "conductor", Text: true, About: "copper, air up to 30 °C (86 °F), by the temperature of the terminals"},
			{Name: "note", Text: true},
			{Name: "warnings"},
		},
		run: runBranchCircuit,
	}
}

func runBranchCircuit(in Values) (Values, error) {
	need := replace.BranchNeed{
		RatedLoad: quantity.Current(in.number("rated_load_amps")), Selection: in.currentOrZero("branch_selection_amps"),
		PlateMinimum: in.currentOrZero("plate_minimum"), PlateMost: in.currentOrZero("plate_maximum"), Terminals: 60,
	}
	if in.word("terminals") == "75" {
		need.Terminals = 75
	}
	for _, x := range in.Numbers("other_loads") {
		need.Others = append(need.Others, quantity.Current(x))
	}
	a, err := replace.Branch(need)
	if err != nil {
		return nil, err
	}
	out := Values{
		"minimum_ampacity": float64(a.Minimum), "protection_limit": float64(a.Rule.FirstLimit), "protection": float64(a.Rule.FirstDevice),
		"maximum_protection_limit": float64(a.Rule.MostLimit), "maximum_protection": float64(a.Protection),
		"conductor": strconv.Itoa(a.Conductor.AWG) + " AWG",
	}
	if need.PlateMost > 0 && a.Rule.FirstDevice > a.Protection {
		out["protection"] = float64(a.Protection)
	}
	if need.PlateMinimum == 0 || need.PlateMost == 0 {
		out["note"] = "Worked out by the rule: what the nameplate marks wins over it, and so does local code."
	}
	for _, x := range need.Others {
		if x > max(need.RatedLoad, need.Selection) {
			out["warnings"] = []string{"Another load is larger than the compressor: such a unit is marked, go by its plate."}
		}
	}
	return out, nil
}

// currentOrZero is a current, zero if it was not given.
func (v Values) currentOrZero(name string) quantity.Current {
	x, _ := v.Number(name)
	return quantity.Current(x)
}

// conductorWords are the sizes, the thinnest first.
func conductorWords() (words []string) {
	for _, c := range replace.Conductors() {
		words = append(words, strconv.Itoa(c.AWG))
	}
	return words
}

func voltageDrop() Calculator {
	return Calculator{
		Name:    "voltage-drop",
		About:   "What is lost along copper conductors, out and back. Aim under 3 % running; 10 % at the start is too much.",
		Source:  "published: NEC chapter 9 table 8, direct-current resistance at 75 °C, as reproduced in public copies; Ohm's law",
		Example: `{"voltage":"240 V","current":"24 A","conductor":"10","length":"90 ft"}`,
		Fields: []Field{
			{Name: "voltage", Dim: quantity.DimVoltage, Min: 5, Max: 600, About: "nominal: 24, 120, 240 V"},
			{Name: "current", Dim: quantity.DimCurrent, Min: 0, Max: 400},
			{Name: "conductor", Words: conductorWords(), Optional: true, Either: true, About: "AWG, copper"},
			{Name: "length", Dim: quantity.DimLength, Optional: true, Either: true, Min: 0, Max: 300, About: "one way"},
			{Name: "solid", Bool: true, Optional: true, About: "one thick wire, as in thermostat cable; stranded if not given"},
			{Name: "resistance", Dim: quantity.DimResistance, Optional: true, Min: 1e-4, Max: 100, About: "of both conductors together, if it is known, instead of size and length"},
		},
		Results: []Field{
			{Name: "drop", Dim: quantity.DimVoltage},
			{Name: "drop_ratio", Dim: quantity.DimRatio, About: "of the nominal voltage"},
			{Name: "resistance", Dim: quantity.DimResistance, About: "of both conductors"},
			{Name: "voltage_left", Dim: quantity.DimVoltage, About: "at the load"},
			{Name: "warnings"},
		},
		run: runVoltageDrop,
	}
}

func runVoltageDrop(in Values) (Values, error) {
	ohms := in.number("resistance")
	if _, err := in.exactlyOne("conductor", "resistance"); err != nil {
		return nil, err
	}
	v, i := in.number("voltage"), in.number("current")
	if in.has("conductor") {
		if !in.has("length") {
			return nil, invalid("length", "missing: the size alone does not tell the resistance")
		}
		awg, err := strconv.Atoi(in.word("conductor"))
		if err != nil {
			return nil, invalid("conductor", "%v", err)
		}
		c, err := replace.ConductorOf(awg)
		if err != nil {
			return nil, err
		}
		solid, _ := in["solid"].(bool)
		ohms = 2 * c.OhmsPerMetre(solid) * in.number("length")
	}
	drop := ohms * i
	if drop > v {
		return nil, &quantity.RangeError{Op: "voltage drop", Name: "current", Value: i, Min: 0, Max: v / ohms, Unit: "A"}
	}
	out := Values{"drop": drop, "drop_ratio": drop / v, "resistance": ohms, "voltage_left": v - drop}
	const aim = 0.03 // practice: informational note of NEC 210.19, running
	if drop/v > aim {
		out["warnings"] = []string{"More than the 3 % to aim at running."}
	}
	return out, nil
}

func transformerLoad() Calculator {
	return Calculator{
		Name: "transformer-load",
		About: "Whether a control transformer carries its loads. Count, where the plate does not tell: contactor 10 VA, blower relay 5, gas valve 14, " +
			"motor zone valve 7, heat-motor zone valve 22, thermostat 3, reversing valve 10, humidifier 15.",
		Caution: "24 V side, but line voltage is in the same box. Never a larger fuse.",
		Source:  "practice: upper end of what is found on residential equipment; the plates of the loads win. published: definition of apparent power",
		Example: `{"rating":"40 VA","loads":["10 VA","5 VA","14 VA","3 VA"]}`,
		Fields: []Field{
			{Name: "rating", Dim: quantity.DimPower, USUnit: "VA", Min: 1, Max: 1000, About: "on the transformer"},
			{Name: "loads", Dim: quantity.DimPower, USUnit: "VA", List: true, Optional: true, Either: true, Min: 0, Max: 500, About: "that can run together"},
			{Name: "voltage", Dim: quantity.DimVoltage, Optional: true, Min: 5, Max: 600, About: "of the secondary; 24 V if not given"},
		},
		Results: []Field{
			{Name: "rated_current", Dim: quantity.DimCurrent, About: "of the secondary"},
			{Name: "load", Dim: quantity.DimPower, USUnit: "VA"},
			{Name: "load_current", Dim: quantity.DimCurrent},
			{Name: "left", Dim: quantity.DimPower, USUnit: "VA"},
			{Name: "enough", Bool: true},
		},
		run: runTransformerLoad,
	}
}

func runTransformerLoad(in Values) (Values, error) {
	v := 24.0 // V, nominal control voltage
	if in.has("voltage") {
		v = in.number("voltage")
	}
	rating := in.number("rating")
	rated, err := replace.RatedCurrent(quantity.Power(rating), quantity.Voltage(v))
	if err != nil {
		return nil, err
	}
	out := Values{"rated_current": float64(rated)}
	if in.has("loads") {
		load := 0.0
		for _, x := range in.Numbers("loads") {
			load += x
		}
		out["load"], out["load_current"], out["left"], out["enough"] = load, load/v, rating-load, load <= rating
	}
	return out, nil
}

func motorCurrent() Calculator {
	return Calculator{
		Name:    "motor-current",
		About:   "Power drawn, current and apparent power of a single-phase motor or other load.",
		Source:  "published: P = U·I·cos φ, any text on alternating current",
		Example: `{"voltage":"240 V","current":"14.2 A","power_factor":"93 %"}`,
		Fields: []Field{
			{Name: "voltage", Dim: quantity.DimVoltage, Min: 5, Max: 600},
			{Name: "power_factor", Dim: quantity.DimRatio, Min: 0.05, Max: 1, USUnit: "1", About: "1 for a heater; 0.9 to 0.98 for a motor with a run capacitor near full load"},
			{Name: "current", Dim: quantity.DimCurrent, Optional: true, Either: true, Min: 0, Max: 400},
			{Name: "power", Dim: quantity.DimPower, Optional: true, Either: true, USUnit: "W", Min: 0, Max: 1e5, About: "drawn from the line, not at the shaft"},
		},
		Results: []Field{
			{Name: "power", Dim: quantity.DimPower, USUnit: "W", About: "drawn from the line"},
			{Name: "current", Dim: quantity.DimCurrent},
			{Name: "apparent_power", Dim: quantity.DimPower, USUnit: "VA"},
		},
		run: func(in Values) (Values, error) {
			if _, err := in.exactlyOne("current", "power"); err != nil {
				return nil, err
			}
			p, _ := in.Number("power")
			v := quantity.Voltage(in.number("voltage"))
			power, current, err := replace.PowerAndCurrent(v, quantity.Ratio(in.number("power_factor")), quantity.Power(p), in.currentOrZero("current"))
			if err != nil {
				return nil, err
			}
			return Values{"power": float64(power), "current": float64(current), "apparent_power": float64(v) * float64(current)}, nil
		},
	}
}

func electricHeatCircuit() Calculator {
	return Calculator{
		Name:    "electric-heat-circuit",
		About:   "Load, minimum ampacity and breaker of a circuit of electric heat with its blower. The nameplate and local code win.",
		Caution: "Work on panel and branch circuit only if you are licensed for it, locked out and proved dead.",
		Source:  "memory: NEC 424.4(B) and 240.6(A), 125 % of heater and blower, next size up; the nameplate wins",
		Example: `{"power":"10 kW","voltage":"240 V","blower_amps":"3 A"}`,
		Fields: []Field{
			{Name: "power", Dim: quantity.DimPower, USUnit: "kW", Min: 100, Max: 30000, About: "of the elements on this circuit"},
			{Name: "voltage", Dim: quantity.DimVoltage, Min: 100, Max: 260},
			{Name: "blower_amps", Dim: quantity.DimCurrent, Optional: true, Either: true, Min: 0, Max: 15, About: "if the blower hangs on it too"},
		},
		Results: []Field{
			{Name: "load", Dim: quantity.DimCurrent},
			{Name: "minimum_ampacity", Dim: quantity.DimCurrent},
			{Name: "protection", Dim: quantity.DimCurrent},
			{Name: "warnings"},
		},
		run: func(in Values) (Values, error) {
			load, least, device, err := replace.ElectricHeat(quantity.Power(in.number("power")), quantity.Voltage(in.number("voltage")), in.currentOrZero("blower_amps"))
			if err != nil {
				return nil, err
			}
			out := Values{"load": float64(load), "minimum_ampacity": float64(least), "protection": float64(device)}
			const most = 48.0 // A, memory: NEC 424.22(B), heaters are divided into circuits of 48 A at most
			if float64(load) > most {
				out["warnings"] = []string{"More than 48 A: heaters are divided into smaller circuits. Go by the plate."}
			}
			return out, nil
		},
	}
}
