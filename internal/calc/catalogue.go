package calc

import (
	"slices"
	"strings"
)

// completed fills in what the pages need to know of a calculator and what it
// does not say itself.
func completed(c Calculator, subject string) Calculator {
	if c.Subject == "" {
		c.Subject = subject
	}
	if c.Title == "" {
		c.Title = titles[c.Name]
	}
	if c.Title == "" {
		c.Title = title(c.Name)
	}
	if c.Example == "" {
		c.Example = examples[c.Name]
	}
	c.Fields = slices.Clone(c.Fields)
	for i := range c.Fields {
		f := &c.Fields[i]
		f.Either = f.Either || f.Optional && slices.Contains(either[c.Name], f.Name)
		if f.USUnit == "" {
			f.USUnit = usUnits[f.Name]
		}
		if own, ok := usUnits[c.Name+"/"+f.Name]; ok {
			f.USUnit = own
		}
	}
	return c
}

// titles are headings that say more than the name.
var titles = map[string]string{
	"network":    "Alternating-current network",
	"saturation": "Saturated liquid and vapour",
	"state":      "State of a refrigerant",
}

// title makes a heading of a name.
func title(name string) string {
	words := strings.ReplaceAll(name, "-", " ")
	return strings.ToUpper(words[:1]) + words[1:]
}

// usUnits are the units in which US instruments and tables give a quantity, by
// the name of its field or of calculator and field, where that is not the first unit of its dimension.
var usUnits = map[string]string{
	"ambient_pressure":     "psia",
	"airflow_per_capacity": "1",
	"moist-air/pressure":   "inHg",
}

// either names the optional fields of which a few say the same thing in
// different ways, by calculator.
var either = map[string][]string{
	"saturation": {"temperature", "pressure"},
	"superheat":  {"refrigerant", "pressure"},
	"subcooling": {"refrigerant", "pressure"},
	"moist-air":  {"wet_bulb", "relative_humidity", "dew_point", "elevation"},
}

// examples are inputs to try, by calculator. Invented readings of sound systems.
var examples = map[string]string{
	"saturation":           `{"refrigerant":"R-410A","pressure":"118 psig"}`,
	"state":                `{"refrigerant":"R-410A","pressure":"118 psig","temperature":"54 F"}`,
	"superheat":            `{"refrigerant":"R-410A","pressure":"118 psig","line_temperature":"54 F"}`,
	"subcooling":           `{"refrigerant":"R-410A","pressure":"340 psig","line_temperature":"96 F"}`,
	"target-superheat":     `{"indoor_wet_bulb":"65 F","outdoor_dry_bulb":"88 F"}`,
	"moist-air":            `{"dry_bulb":"78 F","wet_bulb":"65 F"}`,
	"temperature-split":    `{"return_dry_bulb":"78 F","supply_dry_bulb":"59 F","return_wet_bulb":"65 F","outdoor_dry_bulb":"95 F"}`,
	"capacitor-under-load": `{"current":"5.1 A","voltage":"385 V","rated":"35 uF"}`,
	"troubleshoot": `{"schema":"troubleshooting-instance/1","id":"hum","hypotheses":[{"id":"capacitor","prior":0.6},{"id":"seized","prior":0.4}],` +
		`"tests":[{"id":"capacitance","cost":5,"outcomes":["low","good"],"p":[[0.95,0.05],[0.02,0.98]]}],` +
		`"repairs":[{"id":"new-capacitor","cost":12,"wrong_penalty":15,"fix":[0.98,0]}],` +
		`"verify":{"false_pass":0.02,"callback_cost":120},"escalate_cost":90}`,
	"network": `{"reference_node":"c","components":[` +
		`{"id":"transformer","type":"vsource","nodes":["r","c"],"vrms":26},` +
		`{"id":"wire","type":"resistor","nodes":["r","y"],"ohms":1.5},` +
		`{"id":"coil","type":"series_rx","nodes":["y","c"],"ohms":10,"x_ohms":60}]}`,
}
