package calc

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
	"rung/internal/tradeunit"
)

func TestPublishedRefrigerantExamples(t *testing.T) {
	for _, r := range published.Read(t, "worked_examples_refrigerant.txt").Rows {
		name, field := r.Text("calculator"), r.Text("field")
		answer, good := run(t, name, r.Text("input"), tradeunit.US)
		if !good {
			t.Errorf("%v: %v", r, answer)
			continue
		}
		if word, isWord := answer[field].(string); isWord {
			r.CheckWord(t, name+": "+field, word, r.Text("value"))
			continue
		}
		got := value(t, answer, field)
		unit, _ := answer[field].(map[string]any)["unit"].(string)
		const rounding = 1e-9
		r.CheckAs(t, name+": "+field+"["+unit+"]", got, r.Number(t, "value"), published.Within(r.Number(t, "tolerance")+rounding))
	}
}

func TestPublishedFriction(t *testing.T) {
	for _, r := range published.Read(t, "friction.txt").Rows {
		r.Check(t, "factor", darcyFactor(r.Number(t, "reynolds"), r.Number(t, "roughness")), published.Relative(0.03))
	}
}

// published: C. F. Colebrook, J. Inst. Civil Eng. 11, 1939, as in any text.
func TestFrictionFollowsColebrook(t *testing.T) {
	for re := 5e3; re < 1e7; re *= 1.7 {
		for _, k := range []float64{0, 1e-5, 1e-4, 1e-3} {
			x := 8.0 // 1/√f
			for range 50 {
				x = -2 * math.Log10(k/3.7+2.51*x/re)
			}
			published.Near(t, fmt.Sprintf("darcyFactor(%g, %g)", re, k), darcyFactor(re, k), 1/(x*x), 0.03/(x*x))
		}
	}
}

// published: laminar flow, 64/Re, any text.
func TestFrictionLaminar(t *testing.T) {
	for re := 1.0; re < 1500; re *= 1.5 { // the formula leaves the line softly before 2300
		published.Near(t, "darcyFactor", darcyFactor(re, 0), 64/re, 0.01*64/re)
	}
}

func mustRun(t *testing.T, name, doc string) map[string]any {
	t.Helper()
	answer, good := run(t, name, doc, tradeunit.US)
	if !good {
		t.Fatalf("%s %s: %v", name, doc, answer)
	}
	return answer
}

// A line costs more the longer it is and the more flows in it; velocity goes
// with the flow and against the area.
func TestLinesArePlausible(t *testing.T) {
	doc := func(name, size string, tons, feet float64) string {
		if name == "suction-line" {
			return fmt.Sprintf(`{"refrigerant":%q,"size":%q,"capacity":"%g ton","saturated_suction_temperature":"45 F","length":"%g ft"}`, "R-454B", size, tons, feet)
		}
		return fmt.Sprintf(`{"refrigerant":"R-454B","size":%q,"capacity":"%g ton","length":"%g ft","liquid_pressure":"330 psig","liquid_temperature":"90 F"}`, size, tons, feet)
	}
	for name, c := range map[string]struct{ drop, narrow, wide string }{
		"suction-line": {"pressure_drop", "3/4", "7/8"},
		"liquid-line":  {"friction_drop", "3/8", "1/2"},
	} {
		last := 0.0
		for _, tons := range []float64{0.5, 1, 1.5, 2, 3} {
			a := mustRun(t, name, doc(name, c.narrow, tons, 50))
			if x := value(t, a, c.drop); x <= last {
				t.Errorf("%s: %g psi at %g tons after %g", name, x, tons, last)
			} else {
				last = x
			}
			long := mustRun(t, name, doc(name, c.narrow, tons, 100))
			published.Near(t, name+" over twice the length", value(t, long, c.drop), 2*value(t, a, c.drop), 1e-9)
			wide := mustRun(t, name, doc(name, c.wide, tons, 50))
			narrow, _ := tubeOf(Values{"": c.narrow}, "")
			broad, _ := tubeOf(Values{"": c.wide}, "")
			v := value(t, a, "velocity")
			published.Near(t, name+" velocity in the wider tube", value(t, wide, "velocity"), v*narrow.area()/broad.area(), 1e-9*v)
			if value(t, wide, c.drop) >= last {
				t.Errorf("%s: the wider tube costs as much", name)
			}
		}
	}
}

// Capacity and mass flow say the same.
func TestSuctionLineRoundTrip(t *testing.T) {
	byCapacity := mustRun(t, "suction-line", `{"refrigerant":"R-32","size":"5/8","capacity":"1.5 ton","saturated_suction_temperature":"40 F","length":"25 ft","superheat":"0 F"}`)
	byFlow := mustRun(t, "suction-line", fmt.Sprintf(`{"refrigerant":"R-32","size":"5/8","mass_flow":"%v lb/h","saturated_suction_temperature":"40 F","length":"25 ft","superheat":"0 F"}`, value(t, byCapacity, "mass_flow")))
	for _, field := range []string{"pressure_drop", "velocity", "temperature_drop"} {
		published.Near(t, field, value(t, byFlow, field), value(t, byCapacity, field), 1e-8)
	}
}

func TestLiquidLineFlashes(t *testing.T) {
	const line = `{"refrigerant":"R-410A","size":"1/4","capacity":"2 ton","liquid_pressure":"340 psig","liquid_temperature":%q,"length":"80 ft","lift":"%g ft"}`
	low := mustRun(t, "liquid-line", fmt.Sprintf(line, "90 F", -20.0))
	high := mustRun(t, "liquid-line", fmt.Sprintf(line, "102 F", 40.0))
	if low["flash_gas"] != false || high["flash_gas"] != true {
		t.Errorf("flash gas %v below and %v above", low["flash_gas"], high["flash_gas"])
	}
	if w := fmt.Sprint(high["warnings"]); !strings.Contains(w, "Flash gas") {
		t.Errorf("warnings %v", w)
	}
	if d := value(t, low, "lift_drop"); d >= 0 {
		t.Errorf("liquid that falls gains %v psi", -d)
	}
	// Pressures balance.
	sum := 340 - value(t, high, "friction_drop") - value(t, high, "lift_drop")
	published.Near(t, "pressure", value(t, high, "pressure_at_metering_device"), sum, 1e-9)
}

// Standing pressure runs through its verdicts in order as it rises.
func TestStandingPressureVerdicts(t *testing.T) {
	order := []string{"empty", "no-liquid", "low-in-doubt", "liquid-present", "high-in-doubt", "too-high"}
	for _, name := range refrigerant.Names() {
		f := mustFluid(t, name)
		top, err := f.SaturationAtTemp(quantity.Temperature(fahrenheit(85)))
		if err != nil {
			t.Fatal(err)
		}
		at, seen := 0, map[string]bool{}
		for p := 20e3; p < 1.3*float64(top.BubblePressure); p *= 1.02 {
			a := mustRun(t, "standing-pressure", fmt.Sprintf(`{"refrigerant":%q,"pressure":"%g Pa","outdoor_temperature":"85 F","indoor_temperature":"70 F"}`, name, p))
			verdict := a["verdict"].(string)
			for at < len(order) && order[at] != verdict {
				at++
			}
			if at == len(order) {
				t.Fatalf("%s: %q at %g Pa is out of order", name, verdict, p)
			}
			seen[verdict] = true
		}
		if !seen["liquid-present"] || !seen["too-high"] {
			t.Errorf("%s: only %v", name, seen)
		}
	}
}

// Nothing about a standing pressure argues for more or less charge.
func TestStandingPressureNeverJudgesCharge(t *testing.T) {
	a := mustRun(t, "standing-pressure", `{"refrigerant":"R-410A","pressure":"201 psig","outdoor_temperature":"70 F","indoor_temperature":"70 F"}`)
	if note := a["note"].(string); !strings.Contains(note, "does not say") {
		t.Errorf("note %q", note)
	}
}

func TestGlideLines(t *testing.T) {
	for _, name := range refrigerant.Names() {
		a := mustRun(t, "glide", fmt.Sprintf(`{"refrigerant":%q,"temperature":"40 F"}`, name))
		bubble, mean, dew := value(t, a, "bubble_temperature"), value(t, a, "mean_temperature"), value(t, a, "dew_temperature")
		if bubble > mean+1e-9 || mean > dew+1e-9 || math.Abs(dew-40) > 1e-4 {
			t.Errorf("%s: bubble %v, mean %v, dew %v of dew 40 °F", name, bubble, mean, dew)
		}
		back := mustRun(t, "glide", fmt.Sprintf(`{"refrigerant":%q,"temperature":"%v F","line":"bubble","liquid_temperature":"90 F"}`, name, bubble))
		published.Near(t, name+" pressure", value(t, back, "pressure"), value(t, a, "pressure"), 1e-3)
		inlet := value(t, back, "evaporator_inlet_temperature")
		if inlet < bubble-1e-6 || inlet > dew+1e-6 {
			t.Errorf("%s: the evaporator begins at %v, between %v and %v", name, inlet, bubble, dew)
		}
	}
}

// A composition is a refrigerant, and the equation can be chosen.
func TestCompositionsAndEquations(t *testing.T) {
	const doc = `{"refrigerant":%q,"pressure":"118 psig"%s}`
	dew := func(name, more string) float64 {
		return value(t, mustRun(t, "saturation", fmt.Sprintf(doc, name, more)), "dew_temperature")
	}
	own, rules := dew("R-410A", ""), dew("R-410A", `,"equation":"mixing-rules"`)
	if own == rules || math.Abs(own-rules) > 0.1 {
		t.Errorf("R-410A: %v and %v °F", own, rules)
	}
	if x := dew("R-32/125 (50/50)", ""); math.Abs(x-rules) > 1e-6 {
		t.Errorf("by composition %v, by name %v °F", x, rules)
	}
	if x := dew("R-22", `,"equation":"mixing-rules"`); x != dew("r22", "") {
		t.Errorf("R-22 by the rules: %v", x)
	}
	a := mustRun(t, "superheat", `{"refrigerant":"R-438A","pressure":"70 psig","line_temperature":"60 F"}`)
	if !strings.Contains(fmt.Sprint(a["warnings"]), "not published") || !strings.Contains(a["note"].(string), "dew line") {
		t.Errorf("R-438A: %v", a)
	}
	for in, kind := range map[string]Kind{
		`{"refrigerant":"R-32/125 (50/20)","pressure":"118 psig"}`:                   Invalid,
		`{"refrigerant":"R-32/999 (50/50)","pressure":"118 psig"}`:                   NotFound,
		`{"refrigerant":"R-410A","pressure":"118 psig","equation":"of my own"}`:      Invalid,
		`{"refrigerant":"R-32/32 (50/50)","pressure":"118 psig"}`:                    Invalid,
		`{"refrigerant":"R-32/125 (x/50)","pressure":"118 psig"}`:                    NotFound,
		`{"refrigerant":"R-32/125 (50/50)","pressure":"118 psig","temperature":"1"}`: Invalid,
	} {
		answer, good := run(t, "saturation", in, tradeunit.SI)
		if e, _ := answer["error"].(map[string]any); good || e["kind"] != string(kind) {
			t.Errorf("%s: %v, want %s", in, answer, kind)
		}
	}
}

func TestRefrigerantMistakes(t *testing.T) {
	for _, c := range []struct{ name, in, field string }{
		{"line-charge", `{"refrigerant":"R-410A","liquid_line":"9/16","length":"10 ft"}`, "liquid_line"},
		{"line-charge", `{"refrigerant":"R-410A","length":"10 ft"}`, "liquid_line"},
		{"line-charge", `{"liquid_line":"3/8","length":"10 ft"}`, "refrigerant"},
		{"line-charge", `{"refrigerant":"R-410A","liquid_line":"3/8","length":"10 ft","liquid_pressure":"340 psig","liquid_temperature":"130 F"}`, "liquid_temperature"},
		{"line-charge", `{"refrigerant":"R-410A","liquid_line":"3/8","length":"10 ft","liquid_temperature":"180 F"}`, "liquid_temperature"},
		{"suction-line", `{"refrigerant":"R-410A","size":"3/4","saturated_suction_temperature":"40 F","length":"10 ft"}`, "capacity"},
		{"suction-line", `{"refrigerant":"R-410A","size":"3/4","capacity":"3 ton","length":"10 ft"}`, "saturated_suction_temperature"},
		{"suction-line", `{"refrigerant":"R-410A","size":"1/4","capacity":"5 ton","saturated_suction_temperature":"40 F","length":"50 ft"}`, "size"},
		{"suction-line", `{"refrigerant":"R-410A","size":"3/4","capacity":"0.01 ton","superheat":"0 F","saturated_suction_temperature":"-90 F","length":"10 ft"}`, "saturated_suction_temperature"},
		{"liquid-line", `{"refrigerant":"R-410A","size":"1/4","capacity":"20 ton","liquid_pressure":"340 psig","liquid_temperature":"90 F","length":"300 ft"}`, "size"},
		{"standing-pressure", `{"refrigerant":"R-290","pressure":"100 psig","outdoor_temperature":"80 F","indoor_temperature":"200 F"}`, "indoor_temperature"},
		{"glide", `{"refrigerant":"R-407C","pressure":"70 psig","line":"dew"}`, "line"},
		{"glide", `{"refrigerant":"R-407C","pressure":"70 psig","liquid_temperature":"0 F"}`, "liquid_temperature"},
		{"recovery-cylinder", `{"refrigerant":"R-410A","water_capacity":"47 lb","gross":"40 lb"}`, "tare"},
		{"recovery-cylinder", `{"refrigerant":"R-410A","water_capacity":"47 lb","fill_fraction":"90 %"}`, "fill_fraction"},
		{"flammable-charge", `{"refrigerant":"R-290"}`, "lower_flammable_limit"},
		{"flammable-charge", `{}`, "lower_flammable_limit"},
	} {
		answer, good := run(t, c.name, c.in, tradeunit.SI)
		if e, _ := answer["error"].(map[string]any); good || e["field"] != c.field {
			t.Errorf("%s %s: %v, want an error at %s", c.name, c.in, answer, c.field)
		}
	}
}

func TestRefrigerantDoubts(t *testing.T) {
	for _, c := range []struct{ name, in, says string }{
		{"line-charge", `{"refrigerant":"R-32","liquid_line":"1/4","length":"30 ft"}`, "burns"},
		{"line-charge", `{"refrigerant":"R-410A","liquid_line":"3/8","length":"10 ft","covered_length":"25 ft"}`, "shorter"},
		{"line-charge", `{"refrigerant":"R-410A","liquid_line":"3/8","length":"40 ft","allowance_per_foot":"1.2 oz"}`, "230 %"},
		{"suction-line", `{"refrigerant":"R-22","size":"1-3/8","capacity":"1 ton","saturated_suction_temperature":"40 F","length":"40 ft","rises":true}`, "oil may stay"},
		{"suction-line", `{"refrigerant":"R-454B","size":"3/4","capacity":"3 ton","saturated_suction_temperature":"45 F","length":"40 ft"}`, "viscosity"},
		{"compression-ratio", `{"suction_pressure":"148 psig","discharge_pressure":"148 psig"}`, "says nothing about the charge"},
		{"nitrogen-pressure", `{"start_pressure":"300 psig","start_temperature":"70 F","end_temperature":"70 F","end_pressure":"290 psig"}`, "a leak"},
		{"recovery-cylinder", `{"refrigerant":"R-410A","water_capacity":"47.7 lb","tare":"28 lb","gross":"70 lb"}`, "Overfilled"},
		{"recovery-cylinder", `{"refrigerant":"R-454B","water_capacity":"47.7 lb"}`, "burns"},
		{"flammable-charge", `{"refrigerant":"R-32","charge":"6 lb"}`, "Above the first step"},
		{"condenser-split", `{"refrigerant":"R-410A","pressure":"200 psig","outdoor_temperature":"90 F"}`, "Nothing condenses"},
		{"standing-pressure", `{"refrigerant":"R-407C","pressure":"150 psig","outdoor_temperature":"80 F","indoor_temperature":"75 F","time_off":"5 min"}`, "half an hour"},
		{"standing-pressure", `{"refrigerant":"R-407C","pressure":"150 psig","outdoor_temperature":"80 F","indoor_temperature":"75 F"}`, "glide"},
	} {
		if a := mustRun(t, c.name, c.in); !strings.Contains(fmt.Sprint(a["warnings"]), c.says) {
			t.Errorf("%s %s: %v, want a warning that says %q", c.name, c.in, a["warnings"], c.says)
		}
	}
}

func TestTubeSizes(t *testing.T) {
	last := 0.0
	for _, x := range tubes() {
		if x.inside <= last || x.inside >= x.outside {
			t.Errorf("%s in.: inside %g m after %g", x.name, x.inside, last)
		}
		last = x.inside
	}
}

// whatever returns a value within the limits of a field, or of what is met.
func whatever(r *rand.Rand, f Field) any {
	met := map[quantity.Dimension][2]float64{
		quantity.DimTemperature: {220, 350}, quantity.DimPressure: {5e4, 5e6}, quantity.DimTempDiff: {0, 30},
	}
	switch {
	case f.Bool:
		return r.IntN(2) == 0
	case len(f.Words) > 0:
		return f.Words[r.IntN(len(f.Words))]
	}
	lo, hi := f.Min, f.Max
	if lo == 0 && hi == 0 || f.Dim == quantity.DimTime {
		lo, hi = met[f.Dim][0], met[f.Dim][1]
	}
	if lo > 0 && hi > 100*lo {
		return lo * math.Pow(hi/lo, r.Float64())
	}
	return lo + (hi-lo)*r.Float64()
}

// Whatever goes in, an answer is of finite numbers, and an error one that the
// person who typed can act on.
func TestAnythingIsAnsweredOrRefused(t *testing.T) {
	const rounds = 400
	r := rand.New(rand.NewPCG(1, 2))
	for _, c := range refrigerantCalculators() {
		answered := 0
		for range rounds {
			in := Values{}
			for _, f := range c.Fields {
				if !f.Optional || r.IntN(3) == 0 {
					in[f.Name] = whatever(r, f)
				}
			}
			out, err := c.Run(in)
			if err != nil {
				if e := asError(err); e.Kind == Internal || e.Kind == NoConvergence || e.Message == "" {
					t.Errorf("%s %v: %v", c.Name, in, err)
				}
				continue
			}
			answered++
			for name, x := range out {
				if v, isNumber := x.(float64); isNumber && (math.IsNaN(v) || math.IsInf(v, 0)) {
					t.Errorf("%s %v: %s = %v", c.Name, in, name, v)
				}
			}
		}
		if answered == 0 {
			t.Errorf("%s answered none of %d", c.Name, rounds)
		}
	}
}
