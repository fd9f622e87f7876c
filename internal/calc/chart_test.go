package calc

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"rung/internal/moistair"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
	"rung/internal/tradeunit"
)

// TestExamplesAnswer: every calculator has an example, and it can be worked out
// without a warning.
func TestExamplesAnswer(t *testing.T) {
	for _, c := range All() {
		answer, good := run(t, c.Name, c.Example, tradeunit.US)
		if !good || answer["warning"] != nil || answer["warnings"] != nil {
			t.Errorf("%s: the example %s gives %v", c.Name, c.Example, answer)
		}
		if c.Title == "" || c.Subject == "" {
			t.Errorf("%s has no title or subject", c.Name)
		}
	}
}

// TestPressureTemperatureAgreesWithSaturation: each row is what the calculator
// of saturation says, for a blend with glide too.
func TestPressureTemperatureAgreesWithSaturation(t *testing.T) {
	for _, name := range refrigerant.Names() {
		answer, good := run(t, "pressure-temperature", fmt.Sprintf(`{"refrigerant":%q,"from":"-20 F","to":"120 F","step":"20 F","elevation":"3000 ft"}`, name), tradeunit.US)
		if !good {
			t.Errorf("%s: %v", name, answer)
			continue
		}
		for _, r := range answer["rows"].([]any) {
			row := r.(map[string]any)
			at := value(t, row, "temperature")
			sat, _ := run(t, "saturation", fmt.Sprintf(`{"refrigerant":%q,"temperature":"%v F","ambient_pressure":"%v psia"}`, name, at, value(t, answer, "ambient_pressure")), tradeunit.US)
			for _, f := range []string{"bubble_pressure", "dew_pressure"} {
				if got, want := value(t, row, f), value(t, sat, f); math.Abs(got-want) > 1e-6*math.Abs(want)+1e-6 {
					t.Errorf("%s at %v °F: %s %v psig, want %v", name, at, f, got, want)
				}
			}
			if value(t, row, "dew_pressure") > value(t, row, "bubble_pressure")+1e-6 {
				t.Errorf("%s at %v °F: dew above bubble", name, at)
			}
		}
	}
}

func TestPressureTemperatureRange(t *testing.T) {
	full, _ := run(t, "pressure-temperature", `{"refrigerant":"R-410A"}`, tradeunit.US)
	if n := len(full["rows"].([]any)); n != 39 || full["note"] != nil {
		t.Errorf("by default %d rows and the note %v, want 39 from -40 to 150 °F and none", n, full["note"])
	}
	cut, _ := run(t, "pressure-temperature", `{"refrigerant":"R-410A","from":"100 F","to":"200 F","step":"10 F"}`, tradeunit.US)
	note, _ := cut["note"].(string)
	if n := len(cut["rows"].([]any)); n != 6 || !strings.Contains(note, "critical temperature") { // 100 to 150; the line ends at 158
		t.Errorf("across the critical point %d rows and the note %q", n, note)
	}
	for _, c := range []struct{ doc, field string }{
		{`{"refrigerant":"R-410A","from":"200 F","to":"250 F"}`, "from"},
		{`{"refrigerant":"R-410A","from":"-400 F","to":"-300 F"}`, "to"},
		{`{"refrigerant":"R-410A","from":"50 F","to":"40 F"}`, "to"},
		{`{"refrigerant":"R-410A","step":"0 F"}`, "step"},
		{`{"refrigerant":"R-410A","step":"0.2 F"}`, "step"},
		{`{"refrigerant":"R-410A","elevation":"100000 ft"}`, "elevation"},
		{`{"refrigerant":"R-410A","elevation":"1000 ft","ambient_pressure":"14 psia"}`, "elevation"},
	} {
		answer, good := run(t, "pressure-temperature", c.doc, tradeunit.US)
		if e, _ := answer["error"].(map[string]any); good || e["field"] != c.field {
			t.Errorf("%s: %v, want an error at %s", c.doc, answer, c.field)
		}
	}
}

func mustFluid(t *testing.T, name string) *refrigerant.Fluid {
	t.Helper()
	f, err := refrigerant.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// cycleOf is a sound cycle of a refrigerant: evaporating at 40 °F, condensing
// at 105 °F, 10 °F of superheat and of subcooling.
func cycleOf(t *testing.T, name string) string {
	t.Helper()
	f := mustFluid(t, name)
	low, err := f.SaturationAtTemp(quantity.Temperature(fahrenheit(40)))
	if err != nil {
		t.Fatal(err)
	}
	high, err := f.SaturationAtTemp(quantity.Temperature(fahrenheit(105)))
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf(`{"refrigerant":%q,"suction_pressure":"%v Pa","suction_line":"50 F","liquid_pressure":"%v Pa","liquid_line":"95 F"}`,
		name, float64(low.DewPressure), float64(high.BubblePressure))
}

// TestPressureEnthalpyBalances: heat in plus work is heat out; without a
// discharge temperature entropy stays; the metering device keeps enthalpy.
func TestPressureEnthalpyBalances(t *testing.T) {
	for _, name := range refrigerant.Names() {
		c, _ := Lookup("pressure-enthalpy")
		_, out, err := c.Answer([]byte(cycleOf(t, name)))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if w := out.Warnings(); len(w) > len(doubtOf(mustFluid(t, name))) {
			t.Errorf("%s: a sound cycle is warned of: %v", name, w)
		}
		near := func(what string, got, want, tol float64) {
			t.Helper()
			if math.Abs(got-want) > tol {
				t.Errorf("%s: %s is %v, want %v", name, what, got, want)
			}
		}
		p := out.Rows("states")
		near("heat given off", out.number("heat_of_rejection"), out.number("refrigerating_effect")+out.number("heat_of_compression"), 1e-6)
		near("entropy behind the compressor", p[1].number("entropy"), p[0].number("entropy"), 1e-4)
		near("enthalpy behind the metering device", p[3].number("enthalpy"), p[2].number("enthalpy"), 1e-6)
		near("superheat", out.number("superheat"), 10*fahrenheitDegree, 1e-6)
		near("subcooling", out.number("subcooling"), 10*fahrenheitDegree, 1e-6)
		if x := out.number("flash_gas"); !(x > 0.1 && x < 0.6) {
			t.Errorf("%s: %v flash gas", name, x)
		}
		// published: the second law; no cycle beats Carnot between its own saturation temperatures.
		cold, warm := out.number("evaporating_temperature"), out.number("condensing_temperature")
		if cop := out.number("coefficient_of_performance"); !(cop > 1 && cop < cold/(warm-cold)) {
			t.Errorf("%s: coefficient of performance %v, Carnot %v", name, cop, cold/(warm-cold))
		}
	}
}

func TestPressureEnthalpyImpossiblePoints(t *testing.T) {
	const head = `{"refrigerant":"R-410A","suction_pressure":"118 psig","liquid_pressure":"340 psig",`
	for _, c := range []struct{ rest, warns, field string }{
		{`"suction_line":"54 F","liquid_line":"104.7 F"}`, "flash gas", ""},
		{`"suction_line":"54 F","liquid_line":"110 F"}`, "flash gas", ""},
		{`"suction_line":"54 F","liquid_line":"130 F"}`, "", "liquid_line"},
		{`"suction_line":"38 F","liquid_line":"96 F"}`, "liquid comes back", ""},
		{`"suction_line":"10 F","liquid_line":"96 F"}`, "", "suction_line"},
		{`"suction_line":"54 F","liquid_line":"96 F","discharge_temperature":"125 F"}`, "without losses", ""},
		{`"suction_line":"54 F","liquid_line":"96 F","discharge_temperature":"104 F"}`, "no warmer than saturated vapour", ""},
		{`"suction_line":"54 F","liquid_line":"96 F","discharge_temperature":"60 F"}`, "", "discharge_temperature"},
		{`"suction_line":"54 F","liquid_line":"96 F","discharge_temperature":"240 F"}`, "above 225 °F", ""},
	} {
		answer, good := run(t, "pressure-enthalpy", head+c.rest, tradeunit.US)
		e, _ := answer["error"].(map[string]any)
		switch warnings := fmt.Sprint(answer["warnings"]); {
		case c.field != "" && (good || e["field"] != c.field || e["kind"] != string(OutOfRange)):
			t.Errorf("%s: %v, want an error at %s", c.rest, answer, c.field)
		case c.field == "" && (!good || !strings.Contains(warnings, c.warns)):
			t.Errorf("%s: %v, want a warning of %s", c.rest, answer, c.warns)
		}
	}
	for _, c := range []struct{ doc, field string }{
		{`{"refrigerant":"R-410A","suction_pressure":"200 psig","suction_line":"75 F","liquid_pressure":"200 psig","liquid_line":"75 F"}`, "liquid_pressure"},
		{`{"refrigerant":"R-410A","suction_pressure":"118 psig","suction_line":"54 F","liquid_pressure":"900 psig","liquid_line":"96 F"}`, "liquid_pressure"},
		{`{"refrigerant":"R-410A","suction_pressure":"-14.69 psig","suction_line":"54 F","liquid_pressure":"340 psig","liquid_line":"96 F"}`, "suction_pressure"},
	} {
		answer, good := run(t, "pressure-enthalpy", c.doc, tradeunit.US)
		if e, _ := answer["error"].(map[string]any); good || e["field"] != c.field {
			t.Errorf("%s: %v, want an error at %s", c.doc, answer, c.field)
		}
	}
}

// TestMixingConserves: dry air, water and enthalpy balance for any share.
func TestMixingConserves(t *testing.T) {
	c, _ := Lookup("psychrometric-chart")
	for i := range 11 {
		x := float64(i) / 10
		_, out, err := c.Answer([]byte(fmt.Sprintf(`{"return_dry_bulb":"75 F","return_wet_bulb":"63 F","outdoor_dry_bulb":"95 F","outdoor_wet_bulb":"78 F","outdoor_share":%v,"elevation":"4000 ft"}`, x)))
		if err != nil {
			t.Fatal(err)
		}
		r, o, m := out.Rows("states")[0], out.Rows("states")[1], out.Rows("states")[2]
		for _, f := range []string{"humidity_ratio", "enthalpy"} {
			want := (1-x)*r.number(f) + x*o.number(f)
			if got := m.number(f); math.Abs(got-want) > 1e-9*math.Abs(want)+1e-9 {
				t.Errorf("share %v: %s %v, want %v", x, f, got, want)
			}
		}
	}
}

func TestPsychrometricDoubts(t *testing.T) {
	for _, c := range []struct{ doc, warns string }{
		{`{"return_dry_bulb":"75 F","return_wet_bulb":"60 F","supply_dry_bulb":"65 F","supply_wet_bulb":"64 F"}`, "more water"},
		{`{"return_dry_bulb":"75 F","return_wet_bulb":"63 F","outdoor_dry_bulb":"95 F","outdoor_wet_bulb":"75 F","mixed_dry_bulb":"70 F","mixed_wet_bulb":"60 F"}`, "does not lie between"},
	} {
		answer, good := run(t, "psychrometric-chart", c.doc, tradeunit.US)
		if got := fmt.Sprint(answer["warnings"]); !good || !strings.Contains(got, c.warns) {
			t.Errorf("%s: %v, want a warning of %s", c.doc, answer, c.warns)
		}
	}
	for _, c := range []struct{ doc, field string }{
		{`{}`, "return_dry_bulb"},
		{`{"supply_wet_bulb":"55 F"}`, "supply_dry_bulb"},
		{`{"supply_dry_bulb":"55 F"}`, "supply_wet_bulb"},
		{`{"return_dry_bulb":"75 F","return_wet_bulb":"63 F","outdoor_share":"10 %"}`, "outdoor_share"},
		{`{"return_dry_bulb":"75 F","return_wet_bulb":"63 F","return_relative_humidity":"50 %"}`, "return_relative_humidity"},
		{`{"return_dry_bulb":"-300 F","return_relative_humidity":"50 %"}`, "return_dry_bulb"},
	} {
		answer, good := run(t, "psychrometric-chart", c.doc, tradeunit.US)
		if e, _ := answer["error"].(map[string]any); good || e["field"] != c.field {
			t.Errorf("%s: %v, want an error at %s", c.doc, answer, c.field)
		}
	}
}

// TestReadAgreesWithJSON: the same texts give the same values from a form and
// from a document.
func TestReadAgreesWithJSON(t *testing.T) {
	for _, c := range All() {
		if c.Whole() {
			continue
		}
		var fields map[string]any
		if err := json.Unmarshal([]byte(c.Example), &fields); err != nil {
			t.Fatal(err)
		}
		want, _, err := c.Answer([]byte(c.Example))
		if err != nil {
			t.Fatal(err)
		}
		got, wrong := c.Read(func(field string) string {
			if list, ok := fields[field].([]any); ok {
				return strings.ReplaceAll(strings.Trim(fmt.Sprintf("%q", list), `[]"`), `" "`, ", ")
			}
			if fields[field] == nil {
				return ""
			}
			return fmt.Sprint(fields[field])
		})
		if len(wrong) > 0 || fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s: Read gives %v %v, want %v", c.Name, got, wrong, want)
		}
	}
}

func TestShow(t *testing.T) {
	for _, c := range []struct {
		dim    quantity.Dimension
		symbol string
		x      float64
		want   string
	}{
		{quantity.DimTemperature, "°F", 39.8428, "39.8"}, {quantity.DimTemperature, "°F", -0.04, "0.0"}, {quantity.DimPressure, "psig", 118, "118.0"},
		{quantity.DimPressure, "kPa(g)", 2619.97, "2620"}, {quantity.DimSpecificEnthalpy, "Btu/lb", 185.503, "185.5"}, {quantity.DimSpecificEnthalpy, "Btu/lb", 17.5217, "17.52"},
		{quantity.DimVolumeFlow, "CFM", 1204.4, "1204"}, {quantity.DimRatio, "1", 2.673, "2.67"}, {quantity.DimCapacitance, "µF", 35.1408, "35.14"},
		{quantity.DimSpecificVolume, "ft³/lb", 0.01592, "0.0159"},
	} {
		u := mustUnit(c.dim, c.symbol)
		if got := Show(u, u.SI(c.x, StandardPressure), StandardPressure); got != c.want {
			t.Errorf("Show(%v %s) = %q, want %q", c.x, c.symbol, got, c.want)
		}
	}
}

// TestFluidMapHoldsStates: between the nodes of a map, a line drawn straight
// strays from the equation of state by less than a drawing shows.
func TestFluidMapHoldsStates(t *testing.T) {
	for _, name := range refrigerant.Names() {
		f, _ := refrigerant.Lookup(name)
		m, err := MapOf(f)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for i := 0; i < len(m.Dome)*3/4; i += 5 { // nearer to the critical point the lines bend more
			row := m.Vapour[i]
			for j := 1; j < len(row); j++ {
				s, err := f.StateAt(m.Dome[i].DewPressure, (row[j-1].Temperature+row[j].Temperature)/2)
				if err != nil {
					continue
				}
				tol := 0.0015 * float64(m.Dome[0].VapourEnthalpy-m.Dome[0].LiquidEnthalpy) // J/kg; half a pixel on a phone
				if got := float64(row[j-1].Enthalpy+row[j].Enthalpy) / 2; math.Abs(got-float64(s.Enthalpy)) > tol {
					t.Errorf("%s row %d: halfway between nodes %v J/kg, the equation says %v", name, i, got, s.Enthalpy)
				}
			}
		}
	}
}

// TestAmbientOfElevation: the elevation of a site is its air pressure.
func TestAmbientOfElevation(t *testing.T) {
	want, err := moistair.PressureAtElevation(1524)
	if err != nil {
		t.Fatal(err)
	}
	if got := Ambient(Values{"elevation": 1524.0}); got != want {
		t.Errorf("Ambient(1524 m) = %v, want %v", got, want)
	}
	if got := Ambient(Values{}); got != StandardPressure {
		t.Errorf("Ambient() = %v", got)
	}
}
