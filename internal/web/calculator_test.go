package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"rung/internal/calc"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// TestEveryCalculatorHasAPage opens each calculator of the registry empty and
// filled with its example, in both systems of units.
func TestEveryCalculatorHasAPage(t *testing.T) {
	b := quickBrowser(t)
	for _, c := range calc.All() {
		t.Run(c.Name, func(t *testing.T) {
			b.t = t
			if c.Example == "" {
				t.Fatal("no example")
			}
			b.open("/calculators")
			b.open(attr(one(t, b.doc, "a[href=/calculators/"+c.Name+"]"), "href"))
			checkCalculatorForm(t, b.doc, c)
			for _, a := range all(b.doc, ".bar a") {
				b.open(attr(a, "href"))
			}
			checkCalculatorResult(t, b, c)
			for _, a := range all(b.doc, ".switch a") {
				if !has(a, "aria-current") {
					b.open(attr(a, "href"))
				}
			}
			if b.at.Query().Get("units") != "si" {
				t.Errorf("the other units are at %s", b.at)
			}
			checkCalculatorResult(t, b, c)
		})
	}
}

func checkCalculatorForm(t *testing.T, doc *html.Node, c calc.Calculator) {
	t.Helper()
	checkLandmarks(t, doc)
	checkNoInline(t, doc)
	checkNames(t, doc)
	checkIDs(t, doc)
	one(t, doc, "form[method=get][action=/calculators/"+c.Name+"]")
	if c.Whole() {
		one(t, doc, "textarea[name=document]")
		return
	}
	for _, f := range c.Fields {
		if n := len(all(doc, "form [name="+f.Name+"]")); n == 0 {
			t.Errorf("no field %s", f.Name)
		}
		if f.Dim != quantity.DimNone && len(all(doc, "form [name="+f.Name+"-unit]")) != 1 {
			t.Errorf("field %s has no unit", f.Name)
		}
	}
}

func checkCalculatorResult(t *testing.T, b *browser, c calc.Calculator) {
	t.Helper()
	if b.status != http.StatusOK || len(all(b.doc, ".wrong")) > 0 {
		t.Fatalf("%s answers %d: %s", b.at, b.status, words(one(t, b.doc, "main")))
	}
	result := one(t, b.doc, "section.result")
	if len(all(result, "dd"))+len(all(result, "td"))+len(all(result, "pre")) == 0 {
		t.Error("the result is empty")
	}
	if got := words(result); strings.Contains(got, "NaN") || strings.Contains(got, "Inf") {
		t.Errorf("the result says %s", got)
	}
	if got := len(all(result, "svg.plot")); (got == 1) != c.Drawn {
		t.Errorf("%d drawings, Drawn is %v", got, c.Drawn)
	}
	if words(one(t, b.doc, ".source")) == "" {
		t.Error("no source")
	}
	checkNoInline(t, b.doc)
	checkIDs(t, b.doc)
}

// filled is the address of a calculator filled in.
func filled(name string, fields ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(fields); i += 2 {
		q.Set(fields[i], fields[i+1])
	}
	return "/calculators/" + name + "?" + q.Encode()
}

// answersOf reads the result of a page: name to value.
func answersOf(doc *html.Node) map[string]string {
	got := map[string]string{}
	for _, row := range all(doc, ".result .answers div") {
		name := ""
		for _, n := range all(row, "dt") {
			if n.FirstChild != nil && n.FirstChild.Type == html.TextNode {
				name = strings.TrimSpace(n.FirstChild.Data)
			}
		}
		for _, n := range all(row, "dd") {
			got[name] = words(n)
		}
	}
	return got
}

func TestCalculatorAnswersInTheUnitsAskedFor(t *testing.T) {
	b := quickBrowser(t)
	// 54.0 °F less the dew temperature at 118 psig, 39.8 °F, as the command line says.
	b.open(filled("superheat", "refrigerant", "R-410A", "pressure", "118", "pressure-unit", "psig", "line_temperature", "54", "line_temperature-unit", "°F"))
	if got := answersOf(b.doc); got["Superheat"] != "14.2 °F" || got["Saturation temperature"] != "39.8 °F" {
		t.Errorf("%v", got)
	}
	b.open(b.at.String() + "&units=si")
	if got := answersOf(b.doc); got["Superheat"] != "7.9 K" || got["Saturation temperature"] != "4.4 °C" {
		t.Errorf("%v", got)
	}
	if got := attr(one(t, b.doc, "input[name=pressure]"), "value"); got != "118" {
		t.Errorf("the pressure typed has become %q", got)
	}
	// In the mountains the same gauge shows less absolute pressure.
	b.open(filled("pressure-temperature", "refrigerant", "R-22", "from", "40 F", "to", "40 F", "elevation", "5000 ft"))
	if got := words(one(t, b.doc, ".numbers tbody tr")); got != "40.0 71.0 71.0" { // 83.25 psia less 12.23: 68.55 psig at sea level
		t.Errorf("R-22 at 40 °F and 5000 ft: %s", got)
	}
}

// TestCalculatorOfABlend: a blend that is not on the list is typed by its parts.
func TestCalculatorOfABlend(t *testing.T) {
	b := quickBrowser(t)
	b.open(filled("superheat", "refrigerant", "", "refrigerant-other", "R-32/125 (50/50)", "pressure", "118 psig", "line_temperature", "54 F"))
	if got := answersOf(b.doc)["Superheat"]; !strings.HasPrefix(got, "14.") { // R-410A is that blend
		t.Errorf("superheat %q: %s", got, words(one(t, b.doc, "main")))
	}
	if got := attr(one(t, b.doc, "input[name=refrigerant-other]"), "value"); got != "R-32/125 (50/50)" {
		t.Errorf("the blend has become %q", got)
	}
	if len(all(b.doc, "details[open]")) > 0 {
		t.Error("unfolded sets are no folds")
	}
	b.open(filled("superheat", "refrigerant-other", "R-32/125 (50/40)", "pressure", "118 psig", "line_temperature", "54 F"))
	if got := words(one(t, b.doc, "#f-refrigerant-error")); !strings.Contains(got, "0.9") {
		t.Errorf("beside the refrigerant stands %q", got)
	}
}

func TestCalculatorWarns(t *testing.T) {
	b := quickBrowser(t)
	b.open(filled("superheat", "refrigerant", "R-410A", "pressure", "118 psig", "line_temperature", "30 F"))
	if got := words(one(t, b.doc, ".result .warning")); !strings.Contains(got, "colder than saturated vapour") {
		t.Errorf("the warning says %q", got)
	}
	b.open(filled("pressure-enthalpy", "refrigerant", "R-22", "suction_pressure", "68 psig", "suction_line", "50 F", "liquid_pressure", "250 psig", "liquid_line", "118 F"))
	if got := words(one(t, b.doc, ".result .warning")); !strings.Contains(got, "flash gas") {
		t.Errorf("the warning says %q", got)
	}
	if got := len(all(b.doc, "svg .note")); got == 0 {
		t.Error("the drawing does not warn")
	}
}

// TestCalculatorMistakes: a field that cannot be used says so, in the unit
// typed, and everything typed stays.
func TestCalculatorMistakes(t *testing.T) {
	b := quickBrowser(t)
	for _, c := range []struct {
		path, field, says string
	}{
		{filled("superheat", "refrigerant", "R-410A", "pressure", "11x8", "pressure-unit", "psig", "line_temperature", "54", "line_temperature-unit", "°F"), "pressure", "unknown unit"},
		{filled("superheat", "refrigerant", "R-410A", "pressure", "-20", "pressure-unit", "psig", "line_temperature", "54", "line_temperature-unit", "°F"), "pressure", "-20.0 psig is outside"},
		{filled("superheat", "refrigerant", "R-410A", "pressure", "118", "pressure-unit", "psig", "line_temperature", "", "line_temperature-unit", "°F"), "line_temperature", "Missing"},
		{filled("target-superheat", "indoor_wet_bulb", "20", "indoor_wet_bulb-unit", "°F", "outdoor_dry_bulb", "90", "outdoor_dry_bulb-unit", "°F"), "indoor_wet_bulb", "20.0 °F is outside what can be answered: 30.0 °F to 90.0 °F"},
		{filled("target-superheat", "indoor_wet_bulb", "65", "indoor_wet_bulb-unit", "°F", "outdoor_dry_bulb", "60", "outdoor_dry_bulb-unit", "°C"), "outdoor_dry_bulb", "60.0 °C is outside what can be answered: -1.1 °C to 54.4 °C"},
		{filled("pressure-enthalpy", "refrigerant", "R-410A", "suction_pressure", "118 psig", "suction_line", "54 F", "liquid_pressure", "118 psig", "liquid_line", "96 F"), "liquid_pressure", "crossed"},
		{filled("pressure-enthalpy", "refrigerant", "R-410A", "suction_pressure", "118 psig", "suction_line", "20 F", "liquid_pressure", "340 psig", "liquid_line", "96 F"), "suction_line", "20.0 °F is outside"},
		{filled("psychrometric-chart", "return_dry_bulb", "75 F"), "return_wet_bulb", "wet bulb or the relative humidity"},
		{filled("psychrometric-chart", "return_dry_bulb", "75 F", "return_wet_bulb", "80 F"), "return_wet_bulb", "80.0 °F is outside"},
		{filled("pressure-temperature", "refrigerant", "R-410A", "step", "0.1 F"), "step", "rows"},
		{filled("network", "document", "{}x"), "document", "network"},
	} {
		b.open(c.path)
		if b.status != http.StatusUnprocessableEntity || len(all(b.doc, ".result")) > 0 {
			t.Errorf("%s answers %d", c.path, b.status)
		}
		if got := words(one(t, b.doc, "#f-"+c.field+"-error")); !strings.Contains(got, c.says) {
			t.Errorf("%s: beside %s stands %q, want %q in it", c.path, c.field, got, c.says)
		}
		if got := words(one(t, b.doc, ".wrong")); !strings.Contains(got, c.says) {
			t.Errorf("%s: the summary says %q", c.path, got)
		}
		for name := range b.at.Query() {
			if n := all(b.doc, "input[name="+name+"]"); len(n) == 1 && !strings.HasSuffix(name, "-unit") {
				if got, typed := attr(n[0], "value"), b.at.Query().Get(name); !strings.HasPrefix(typed, got) || got == "" && typed != "" {
					t.Errorf("%s: %s has become %q", c.path, name, got)
				}
			}
		}
		checkIDs(t, b.doc)
	}
}

func TestPressureTemperaturePage(t *testing.T) {
	b := quickBrowser(t)
	b.open(filled("pressure-temperature", "refrigerant", "R-410A", "elevation", "5000 ft"))
	if got := words(one(t, b.doc, "h1")); got != "R-410A pressure-temperature chart" {
		t.Errorf("heading %q", got)
	}
	head := words(one(t, b.doc, ".result"))
	for _, want := range []string{"14 July 2026", "5000 ft above sea level", "12.23 psia", "liquid line: subcooling", "suction line: superheat"} {
		if !strings.Contains(head, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
	if got := len(all(b.doc, ".numbers tbody tr")); got != 39 {
		t.Errorf("%d rows from -40 to 150 °F by 5, want 39", got)
	}
	b.open(filled("pressure-temperature", "refrigerant", "R-410A", "units", "si"))
	if got := words(all(b.doc, ".numbers tbody tr")[1]); !strings.HasPrefix(got, "-37.5 ") {
		t.Errorf("in SI the second row is %q", got)
	}
	b.open(filled("pressure-temperature", "refrigerant", "R-410A", "to", "200 F"))
	if got := words(one(t, b.doc, ".result .doubt")); !strings.Contains(got, "critical temperature of R-410A") {
		t.Errorf("beyond the critical point the page says %q", got)
	}
}

// TestCalculatorNamesItsAir: the head of a result says which air it is about.
func TestCalculatorNamesItsAir(t *testing.T) {
	b := quickBrowser(t)
	for path, want := range map[string]string{
		filled("moist-air", "dry_bulb", "78 F", "wet_bulb", "65 F"):                                                     "sea level, air at 14.70 psia",
		filled("moist-air", "dry_bulb", "78 F", "wet_bulb", "65 F", "elevation", "5000 ft"):                             "5000 ft above sea level, air at 12.23 psia",
		filled("moist-air", "dry_bulb", "78 F", "wet_bulb", "65 F", "pressure", "25", "pressure-unit", "inHg"):          "2026 · air at 12.28 psia",
		filled("saturation", "refrigerant", "R-22", "pressure", "70 psig", "ambient_pressure", "13 psia"):               "2026 · air at 13.00 psia",
		filled("saturation", "refrigerant", "R-22", "pressure", "70 psig", "ambient_pressure", "90 kPa", "units", "si"): "2026 · air at 90.0 kPa",
	} {
		b.open(path)
		if got := words(one(t, b.doc, ".result .hint")); !strings.HasSuffix(got, want) {
			t.Errorf("%s says %q, want %q", path, got, want)
		}
	}
}

// TestCalculatorsFromAVisit: the way there and back, with what the visit knows.
func TestCalculatorsFromAVisit(t *testing.T) {
	b := quickBrowser(t)
	b.open("/")
	one(t, b.doc, "a[href=/calculators]")
	b.visit()
	visit := b.at.Path
	for _, a := range all(b.doc, "a") {
		if words(a) == "Calculators" {
			b.open(attr(a, "href"))
			break
		}
	}
	if b.at.Path != "/calculators" {
		t.Fatalf("no way from the visit to the calculators")
	}
	if got := attr(one(t, b.doc, "a.back"), "href"); got != visit {
		t.Errorf("back leads to %s, want %s", got, visit)
	}
	id := strings.TrimPrefix(visit, "/visits/")
	b.open("/calculators/superheat?visit=" + id)
	if got := attr(one(t, b.doc, "input[name=visit]"), "value"); got != id {
		t.Errorf("the form forgets the visit: %q", got)
	}
	b.open("/calculators/superheat?visit=nowhere")
	if b.status != http.StatusNotFound {
		t.Errorf("a visit that is not there answers %d", b.status)
	}
}

func TestUnknownCalculator(t *testing.T) {
	b := quickBrowser(t)
	if b.open("/calculators/charge-by-feel"); b.status != http.StatusNotFound {
		t.Errorf("answers %d", b.status)
	}
}

// FuzzCalculatorQuery: whatever stands in the address, there is a page, and
// nothing is shown that is no number.
func FuzzCalculatorQuery(f *testing.F) {
	for _, c := range calc.All() {
		f.Add(c.Name, exampleOf(c).Encode())
	}
	f.Add("superheat", "pressure=%ff&pressure-unit=%00&line_temperature=1e309&units=xx")
	f.Add("pressure-temperature", "refrigerant=R-22&from=-1e5+F&to=1e5+F&step=1e-300+F")
	f.Add("pressure-temperature", "refrigerant=R-22&from=NaN+F&to=Inf+F")
	s := newServer(f, nil)
	handler := s.Handler()
	f.Fuzz(func(t *testing.T, name, query string) {
		if _, ok := calc.Lookup(name); !ok {
			return
		}
		q, err := url.ParseQuery(query)
		if err != nil || q.Has("visit") {
			return
		}
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/calculators/"+name+"?"+q.Encode(), nil))
		if w.Code != http.StatusOK && w.Code != http.StatusUnprocessableEntity {
			t.Fatalf("%s?%s answers %d", name, query, w.Code)
		}
		doc := document(t, w.Body)
		for _, n := range all(doc, ".result dd") {
			if got := words(n); strings.Contains(got, "NaN") || strings.Contains(got, "Inf") {
				t.Errorf("%s?%s says %s", name, query, got)
			}
		}
	})
}

// BenchmarkCalculatorPage works out and renders a page. Budget: 1 ms on a 2 GHz
// core beyond the sum itself, which BenchmarkCalculatorSum measures.
func BenchmarkCalculatorPage(b *testing.B) {
	handler := newServer(b, nil).Handler()
	path := filled("superheat", "refrigerant", "R-410A", "pressure", "118 psig", "line_temperature", "54 F")
	for b.Loop() {
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
		if w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
}

func BenchmarkCalculatorSum(b *testing.B) {
	c, _ := calc.Lookup("superheat")
	for b.Loop() {
		if _, good := c.RunJSON([]byte(`{"refrigerant":"R-410A","pressure":"118 psig","line_temperature":"54 F"}`), tradeunit.US); !good {
			b.Fatal("no answer")
		}
	}
}

// TestShowIsReadBack: what a page shows is what was worked out, to the digit
// shown.
func TestShowIsReadBack(t *testing.T) {
	for _, dim := range []quantity.Dimension{quantity.DimTemperature, quantity.DimPressure, quantity.DimSpecificEnthalpy, quantity.DimRatio, quantity.DimHumidityRatio} {
		for _, units := range []tradeunit.System{tradeunit.US, tradeunit.SI} {
			u := calc.Field{Dim: dim}.ShownIn(units)
			for _, x := range []float64{0.01234, 0.9999, 12.345, 118.04, 2619.9} {
				text := calc.Show(u, u.SI(x, calc.StandardPressure), calc.StandardPressure)
				var got float64
				if _, err := fmt.Sscan(text, &got); err != nil || got > x*1.0051+0.051 || got < x*0.9949-0.051 {
					t.Errorf("%v %s is shown as %q", x, u.Symbol, text)
				}
			}
		}
	}
}

// A list of amounts is typed with commas and shown with its unit.
func TestListOfAmounts(t *testing.T) {
	b := quickBrowser(t)
	b.open(filled("branch-circuit", "rated_load_amps", "16.7", "rated_load_amps-unit", "A", "other_loads", "1.4, 0.5", "other_loads-unit", "A"))
	if got := answersOf(b.doc)["Minimum ampacity"]; !strings.HasPrefix(got, "22.77") {
		t.Errorf("minimum ampacity %q, want 22.77 A", got)
	}
	if given := words(one(t, b.doc, "main")); !strings.Contains(given, "1.4 A, 0.5 A") && !strings.Contains(given, "1.40 A, 0.50 A") {
		t.Errorf("what was given is not shown: %s", given)
	}
	b.open(filled("branch-circuit", "rated_load_amps", "16.7", "rated_load_amps-unit", "A", "other_loads", "1.4, fan", "other_loads-unit", "A"))
	one(t, b.doc, ".wrong")
}
