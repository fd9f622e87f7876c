package chart

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rung/internal/calc"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
	"rung/internal/tradeunit"
)

// drawn draws the answer of a calculator to a JSON object.
func drawn(t testing.TB, name, doc string, units tradeunit.System) string {
	t.Helper()
	c, ok := calc.Lookup(name)
	if !ok {
		t.Fatalf("no calculator %q", name)
	}
	in, out, err := c.Answer([]byte(doc))
	if err != nil {
		t.Fatalf("%s %s: %v", name, doc, err)
	}
	svg, err := Draw(name, in, out, units)
	if err != nil {
		t.Fatalf("%s %s: %v", name, doc, err)
	}
	return svg
}

// Invented readings.
const (
	soundCycle = `{"refrigerant":"R-410A","suction_pressure":"118 psig","suction_line":"54 F","liquid_pressure":"340 psig","liquid_line":"96 F","discharge_temperature":"165 F"}`
	flashCycle = `{"refrigerant":"R-22","suction_pressure":"20 psig","suction_line":"14 F","liquid_pressure":"380 psig","liquid_line":"150 F"}`
	summerAir  = `{"return_dry_bulb":"78 F","return_wet_bulb":"65 F","supply_dry_bulb":"58 F","supply_wet_bulb":"56 F","outdoor_dry_bulb":"95 F","outdoor_relative_humidity":"40 %","outdoor_share":"15 %"}`
	winterAir  = `{"return_dry_bulb":"25 C","return_wet_bulb":"18 C","supply_dry_bulb":"13 C","supply_wet_bulb":"12 C","outdoor_dry_bulb":"-15 C","outdoor_relative_humidity":"80 %","elevation":"1600 m"}`
)

// plots are the golden drawings with axes.
func plots(t testing.TB) map[string]string {
	return map[string]string{
		"pressure-enthalpy-us": drawn(t, "pressure-enthalpy", soundCycle, tradeunit.US),
		"pressure-enthalpy-si": drawn(t, "pressure-enthalpy", flashCycle, tradeunit.SI),
		"psychrometric-us":     drawn(t, "psychrometric-chart", summerAir, tradeunit.US),
		"psychrometric-si":     drawn(t, "psychrometric-chart", winterAir, tradeunit.SI),
	}
}

func TestPlotsGolden(t *testing.T) { compareGolden(t, plots(t)) }

// TestEveryDrawingIsDrawn: what the registry calls drawn can be drawn, and
// nothing else.
func TestEveryDrawingIsDrawn(t *testing.T) {
	for _, c := range calc.All() {
		if _, ok := drawers[c.Name]; ok != c.Drawn {
			t.Errorf("%s: Drawn is %v, there is a drawing: %v", c.Name, c.Drawn, ok)
		}
		if c.Drawn {
			drawn(t, c.Name, c.Example, tradeunit.US)
		}
	}
	if _, err := Draw("superheat", nil, nil, tradeunit.US); err == nil {
		t.Error("Draw of superheat: no error")
	}
}

// counts returns how many elements of each class a drawing has.
func counts(t *testing.T, svg string) map[string]int {
	t.Helper()
	n := map[string]int{}
	parse(t, svg).walk(func(e element) {
		for _, c := range strings.Fields(e.attr("class")) {
			n[c]++
		}
	})
	return n
}

func TestPressureEnthalpyByClass(t *testing.T) {
	n := counts(t, drawn(t, "pressure-enthalpy", soundCycle, tradeunit.US))
	for class, want := range map[string]int{"loop": 1, "spot": 4, "cap": 1, "bubble": 2, "dew": 2, "quality": 5, "note": 0} { // lines twice: drawn and in the key
		if n[class] != want {
			t.Errorf("%d elements of class %s, want %d", n[class], class, want)
		}
	}
	for _, class := range []string{"isotherm", "isentrope", "isochore", "isotherm-name", "isentrope-name", "isochore-name", "line-name"} {
		if n[class] < 2 {
			t.Errorf("%d elements of class %s", n[class], class)
		}
	}
	if n := counts(t, drawn(t, "pressure-enthalpy", flashCycle, tradeunit.SI)); n["note"] < 2 {
		t.Errorf("a drawing with flash gas does not warn")
	}
}

func TestPsychrometricByClass(t *testing.T) {
	n := counts(t, drawn(t, "psychrometric-chart", summerAir, tradeunit.US))
	for class, want := range map[string]int{"saturation": 1, "mixing": 1, "coil": 1, "arrow": 1, "return": 2, "outdoor": 2, "mixed": 2, "supply": 2, "humidity": 5} {
		if n[class] != want {
			t.Errorf("%d elements of class %s, want %d", n[class], class, want)
		}
	}
	n = counts(t, drawn(t, "psychrometric-chart", `{"outdoor_dry_bulb":"95 F","outdoor_wet_bulb":"75 F"}`, tradeunit.US))
	if n["coil"]+n["mixing"]+n["return"] > 0 || n["outdoor"] != 2 {
		t.Errorf("outdoor air alone: %v", n)
	}
}

// TestSpotsLieWhereTheyBelong reads the marks back through the axes as drawn:
// the tick texts beside the grid give the scale.
func TestSpotsLieWhereTheyBelong(t *testing.T) {
	root := parse(t, drawn(t, "pressure-enthalpy", soundCycle, tradeunit.US))
	var ticksX, ticksY [][2]float64 // pixel, value
	var spots [][2]float64
	root.walk(func(e element) {
		value, err := strconv.ParseFloat(e.Text, 64)
		switch {
		case e.has("axis-tick") && err == nil && e.attr("text-anchor") == "middle":
			ticksX = append(ticksX, [2]float64{e.number("x"), value})
		case e.has("axis-tick") && err == nil:
			ticksY = append(ticksY, [2]float64{e.number("y") - 4, math.Log(value + 14.696)})
		case e.has("spot"):
			spots = append(spots, [2]float64{e.number("cx"), e.number("cy")})
		}
	})
	read := func(ticks [][2]float64, at float64) float64 {
		a, b := ticks[0], ticks[len(ticks)-1]
		return a[1] + (at-a[0])/(b[0]-a[0])*(b[1]-a[1])
	}
	for i, want := range [][2]float64{{185.50, 118}, {203.02, 340}, {110.89, 340}, {110.89, 118}} { // the state points of the calculator
		h, p := read(ticksX, spots[i][0]), math.Exp(read(ticksY, spots[i][1]))-14.696
		if math.Abs(h-want[0]) > 0.3 || math.Abs(p/want[1]-1) > 0.01 { // a tenth of a pixel, twice
			t.Errorf("point %d is drawn at %.1f Btu/lb and %.1f psig, want %v", i+1, h, p, want)
		}
	}
}

// TestPlotTextIsClear: no text crosses another or leaves the drawing, whatever
// is drawn.
func TestPlotTextIsClear(t *testing.T) {
	all := plots(t)
	for _, name := range refrigerant.Names() {
		f, _ := refrigerant.Lookup(name)
		for i, suction := range []float64{0.06, 0.2} { // of the critical pressure
			_, critical := f.Critical()
			s, err := f.SaturationAtPressure(critical * 0.6)
			low, err2 := f.SaturationAtPressure(critical * quantity.Pressure(suction))
			if err != nil || err2 != nil {
				continue
			}
			doc := fmt.Sprintf(`{"refrigerant":%q,"suction_pressure":"%v Pa","suction_line":"%v K","liquid_pressure":"%v Pa","liquid_line":"%v K"}`,
				name, float64(low.DewPressure), float64(low.DewTemp)+8, float64(s.BubblePressure), float64(s.BubbleTemp)-6)
			for _, units := range []tradeunit.System{tradeunit.US, tradeunit.SI} {
				all[fmt.Sprint(name, i, units)] = drawn(t, "pressure-enthalpy", doc, units)
			}
		}
	}
	for i := range 40 { // air from cold and dry to hot and humid, sea level to the mountains
		doc := fmt.Sprintf(`{"return_dry_bulb":"%d C","return_relative_humidity":"%d %%","supply_dry_bulb":"%d C","supply_relative_humidity":"%d %%","elevation":"%d m"}`,
			i, 20+2*i, i-12, min(100, 40+2*i), 90*i)
		all[fmt.Sprint("air ", i)] = drawn(t, "psychrometric-chart", doc, []tradeunit.System{tradeunit.US, tradeunit.SI}[i%2])
	}
	for name, svg := range all {
		checkTextClear(t, name, svg)
	}
}

func checkTextClear(t *testing.T, name, svg string) {
	t.Helper()
	var texts []box
	parse(t, svg).walk(func(e element) {
		if e.XMLName.Local == "text" {
			texts = append(texts, textBox(e, e.number("font-size")*0.95))
		}
		for _, a := range e.Attrs {
			if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
				t.Errorf("%s: %s has %s=%q", name, e.XMLName.Local, a.Name.Local, a.Value)
			}
		}
	})
	if len(texts) < 20 {
		t.Errorf("%s: %d texts", name, len(texts))
	}
	for i, a := range texts {
		if a.x1 < -1 || a.x2 > width+1 {
			t.Errorf("%s: %q leaves the drawing: %v to %v", name, a.text, a.x1, a.x2)
		}
		for _, b := range texts[i+1:] {
			if a.meets(b) {
				t.Errorf("%s: %q and %q overlap", name, a.text, b.text)
			}
		}
	}
}

// TestLinesDifferWithoutColour: no two kinds of line in one drawing have the
// same width and dashes.
func TestLinesDifferWithoutColour(t *testing.T) {
	for name, svg := range plots(t) {
		kinds := map[string]string{}
		parse(t, svg).walk(func(e element) {
			class := strings.Fields(e.attr("class") + " -")[0]
			if e.XMLName.Local != "path" || slices.Contains([]string{"grid", "mark", "arrow", "leader"}, class) {
				return
			}
			look := e.attr("stroke-width") + " " + e.attr("stroke-dasharray")
			if other, seen := kinds[look]; seen && other != class {
				t.Errorf("%s: %s and %s are both drawn %q", name, other, class, look)
			}
			kinds[look] = class
		})
	}
}

func TestClip(t *testing.T) {
	p := plot{left: 0, top: 0, right: 10, bottom: 10}
	for _, c := range []struct {
		a, b, wantA, wantB point
		ok                 bool
	}{
		{point{1, 1}, point{9, 9}, point{1, 1}, point{9, 9}, true},
		{point{-5, 5}, point{15, 5}, point{0, 5}, point{10, 5}, true},
		{point{5, -10}, point{5, 20}, point{5, 0}, point{5, 10}, true},
		{point{-5, 0}, point{5, 20}, point{}, point{}, false},
		{point{math.NaN(), 0}, point{5, 5}, point{}, point{}, false},
	} {
		a, b, ok := p.clip(c.a, c.b)
		if ok != c.ok || ok && (a != c.wantA || b != c.wantB) {
			t.Errorf("clip(%v, %v) = %v, %v, %v, want %v, %v, %v", c.a, c.b, a, b, ok, c.wantA, c.wantB, c.ok)
		}
	}
}

// BenchmarkPressureEnthalpy draws one cycle. Budget: 5 ms on a 2 GHz core, with
// what lies behind the cycle remembered from the first drawing.
func BenchmarkPressureEnthalpy(b *testing.B) { benchmarkDrawing(b, "pressure-enthalpy", soundCycle) }

// BenchmarkPsychrometric draws four states of air. Budget: 5 ms on a 2 GHz core.
func BenchmarkPsychrometric(b *testing.B) { benchmarkDrawing(b, "psychrometric-chart", summerAir) }

func benchmarkDrawing(b *testing.B, name, doc string) {
	c, _ := calc.Lookup(name)
	in, out, err := c.Answer([]byte(doc))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Draw(name, in, out, tradeunit.US); err != nil {
			b.Fatal(err)
		}
	}
}
