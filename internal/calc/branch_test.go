package calc

import (
	"testing"

	"rung/internal/tradeunit"
)

// The plate wins over the rule, upwards and downwards.
func TestPlateWins(t *testing.T) {
	answer, good := run(t, "branch-circuit", `{"rated_load_amps":"16.7 A","other_loads":"1.4 A","plate_minimum":"25 A","plate_maximum":"30 A"}`, tradeunit.US)
	if !good || value(t, answer, "minimum_ampacity") != 25 || value(t, answer, "maximum_protection") != 30 || answer["conductor"] != "10 AWG" || answer["note"] != nil {
		t.Errorf("with the plate: %v", answer)
	}
}

// A list may be typed with one unit at its end, and each amount has its limits.
func TestListOfAmounts(t *testing.T) {
	c, _ := Lookup("branch-circuit")
	typed := map[string]string{"rated_load_amps": "16.7 A", "other_loads": "1.4, 500 mA, 0.6 A"}
	in, wrong := c.Read(func(f string) string { return typed[f] })
	if list := in.Numbers("other_loads"); len(wrong) > 0 || len(list) != 3 || list[0] != 1.4 || list[1] != 0.5 || list[2] != 0.6 {
		t.Errorf("Read(%q) = %v, %v", typed["other_loads"], in, wrong)
	}
	for text, kind := range map[string]Kind{"1.4, 99 A": OutOfRange, "1.4, fan A": Invalid, "1.4": Invalid, "1.4 V": Invalid} {
		typed["other_loads"] = text
		if _, wrong := c.Read(func(f string) string { return typed[f] }); len(wrong) != 1 || wrong[0].Kind != kind || wrong[0].Field != "other_loads" {
			t.Errorf("Read(%q): %v, want one %s", text, wrong, kind)
		}
	}
	for _, doc := range []string{`{"rated_load_amps":"16.7 A","other_loads":["1.4 A","99 A"]}`, `{"rated_load_amps":"16.7 A","other_loads":[1.4]}`,
		`{"voltage":"240 V","current":"24 A","conductor":"10"}`} {
		name := "branch-circuit"
		if doc[2] == 'v' {
			name = "voltage-drop"
		}
		if answer, good := run(t, name, doc, tradeunit.US); good {
			t.Errorf("%s: %v, want an error", doc, answer)
		}
	}
}
