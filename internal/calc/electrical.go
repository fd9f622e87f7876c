package calc

import (
	"encoding/json"
	"math"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

func electricalCalculators() []Calculator {
	return []Calculator{capacitorUnderLoad(), network()}
}

func capacitorUnderLoad() Calculator {
	return Calculator{
		Name:    "capacitor-under-load",
		About:   "Capacitance of a running capacitor from the current in its lead and the voltage across it.",
		Caution: "Live terminals, some 400 V: only if you are qualified, with a meter proved on a live source, one hand, clear of the fan.",
		Source:  "published: C = I/(2πfV), any text on alternating current",
		Fields: []Field{
			{Name: "current", Dim: quantity.DimCurrent, Max: 200, About: "in the HERM or FAN lead"},
			{Name: "voltage", Dim: quantity.DimVoltage, Min: 1, Max: 1000, About: "HERM to C or FAN to C, running"},
			{Name: "frequency", Dim: quantity.DimFrequency, Optional: true, Min: 40, Max: 70, About: "60 Hz if not given"},
			{Name: "rated", Dim: quantity.DimCapacitance, Optional: true, Min: 1e-7, Max: 1e-3, About: "as printed on the can"},
			{Name: "tolerance", Dim: quantity.DimRatio, Optional: true, Min: 0.005, Max: 0.5, About: "as printed; ±6 % if not given"},
		},
		Results: []Field{
			{Name: "capacitance", Dim: quantity.DimCapacitance},
			{Name: "deviation", Dim: quantity.DimRatio, About: "from the rated value"},
			{Name: "within_tolerance", Bool: true},
		},
		run: runCapacitorUnderLoad,
	}
}

func runCapacitorUnderLoad(in Values) (Values, error) {
	frequency := 60.0 // Hz, North American supply
	if in.has("frequency") {
		frequency = in.number("frequency")
	}
	c := in.number("current") / (2 * math.Pi * frequency * in.number("voltage"))
	out := Values{"capacitance": c}
	if in.has("rated") {
		tolerance := 0.06 // practice: the usual mark on a run capacitor
		if in.has("tolerance") {
			tolerance = in.number("tolerance")
		}
		deviation := c/in.number("rated") - 1
		out["deviation"] = deviation
		out["within_tolerance"] = math.Abs(deviation) <= tolerance
	}
	return out, nil
}

func network() Calculator {
	return Calculator{
		Name:   "network",
		About:  "Voltages and currents of an alternating-current network at one frequency, rms.",
		Source: "published: complex nodal analysis, any text on network theory; motor by the revolving-field model, see package circuit",
		Fields: []Field{
			{Name: "components", About: "list of {id, type, nodes, …}; types vsource, resistor, series_rx, capacitor, ideal_transformer, psc_motor"},
			{Name: "reference_node", About: "the node at zero volts"},
			{Name: "frequency_hz", Dim: quantity.DimFrequency, Optional: true, About: "60 if not given"},
		},
		Results: []Field{
			{Name: "nodes", About: "name: {re, im} in volts"},
			{Name: "currents", About: "id: {re, im} in amps"},
		},
		raw: func(doc json.RawMessage) (any, error) {
			var c circuit.Case
			if err := json.Unmarshal(doc, &c); err != nil {
				return nil, invalid("", "not a network: %v", err)
			}
			return c.Solve()
		},
	}
}
