package calc

import (
	"strings"
	"testing"
)

// A blend that glides loses what boils readily: the chart then shows too much
// superheat and too little subcooling, and topping up takes part of that back. A
// blend that hardly glides hardly shifts. Nothing is published to compare with.
func TestCompositionShift(t *testing.T) {
	shift := func(doc string) Values {
		t.Helper()
		c, _ := Lookup("composition-shift")
		_, out, err := c.Answer([]byte(doc))
		if err != nil {
			t.Fatalf("%s: %v", doc, err)
		}
		return out
	}
	wide := shift(`{"refrigerant":"R-407C","lost":"40 %"}`)
	superheat, subcooling := wide.number("superheat_error"), wide.number("subcooling_error")
	if !(superheat > 1 && subcooling < -1) {
		t.Errorf("R-407C: superheat error %g K, subcooling error %g K", superheat, subcooling)
	}
	if topped := wide.number("superheat_error_topped_up"); !(0 < topped && topped < superheat) {
		t.Errorf("R-407C topped up: superheat error %g K of %g", topped, superheat)
	}
	if !(wide.number("standing_pressure") < wide.number("standing_pressure_before")) {
		t.Errorf("R-407C: the standing pressure rises: %v", wide)
	}
	if narrow := shift(`{"refrigerant":"R-410A","lost":"40 %"}`).number("superheat_error"); !(0 < narrow && narrow < 0.2) {
		t.Errorf("R-410A: superheat error %g K", narrow)
	}
	dry := shift(`{"refrigerant":"R-454B","lost":"95 %","liquid_volume":"10 %"}`)
	if w := strings.Join(dry.Warnings(), " "); !strings.Contains(w, "No liquid is left") {
		t.Errorf("warnings of a dry system: %q", w)
	}
}

func TestCompositionShiftRefuses(t *testing.T) {
	c, _ := Lookup("composition-shift")
	for _, k := range []struct {
		doc  string
		kind Kind
	}{
		{`{"refrigerant":"R-22","lost":"40 %"}`, Invalid},
		{`{"refrigerant":"R-11","lost":"40 %"}`, NotFound},
		{`{"refrigerant":"R-407C","lost":"100 %"}`, OutOfRange},
		{`{"refrigerant":"R-407C","lost":"40 %","temperature":"250 F"}`, OutOfRange},
		{`{"refrigerant":"R-407C","lost":"40 %","suction_pressure":"900 psig"}`, OutOfRange},
	} {
		if _, _, err := c.Answer([]byte(k.doc)); err == nil || asError(err).Kind != k.kind {
			t.Errorf("%s: %v, want %s", k.doc, err, k.kind)
		}
	}
}
