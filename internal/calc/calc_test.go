package calc

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"rung/internal/published"
	"rung/internal/tradeunit"
)

// run feeds one document to a calculator and returns the decoded answer.
func run(t testing.TB, name, doc string, units tradeunit.System) (map[string]any, bool) {
	t.Helper()
	c, ok := Lookup(name)
	if !ok {
		t.Fatalf("no calculator %q", name)
	}
	out, good := c.RunJSON([]byte(doc), units)
	b, err := json.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	var answer map[string]any
	if err := json.Unmarshal(b, &answer); err != nil {
		t.Fatalf("%s is no object: %v", b, err)
	}
	return answer, good
}

// value returns the number of a quantity in an answer.
func value(t testing.TB, answer map[string]any, field string) float64 {
	t.Helper()
	q, ok := answer[field].(map[string]any)
	if !ok {
		t.Fatalf("no quantity %q in %v", field, answer)
	}
	return q["value"].(float64)
}

func TestPublishedWorkedExamples(t *testing.T) {
	for _, r := range published.Read(t, "worked_examples.txt").Rows {
		name, field := r.Text("calculator"), r.Text("field")
		answer, good := run(t, name, r.Text("input"), tradeunit.US)
		if !good {
			t.Errorf("%v: %v", r, answer)
			continue
		}
		if word, isBool := answer[field].(bool); isBool {
			r.CheckWord(t, name+": "+field, fmt.Sprint(word), r.Text("value"))
			continue
		}
		got := value(t, answer, field)
		unit, _ := answer[field].(map[string]any)["unit"].(string)
		const rounding = 1e-9
		r.CheckAs(t, name+": "+field+"["+unit+"]", got, r.Number(t, "value"), published.Within(r.Number(t, "tolerance")+rounding))
	}
}

func TestPublishedTemperatureSplit(t *testing.T) {
	for _, r := range published.Read(t, "temperature_split.txt").Rows {
		a := splitAir{dryBulb: r.Number(t, "return-dry-bulb"), wetBulb: r.Number(t, "return-wet-bulb"),
			outdoor: r.Number(t, "outdoor"), airflow: r.Number(t, "airflow")}
		got, err := a.coilDrop()
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		shr, capacity := min(a.sensibleHeatRatio(), 1), a.wetCapacity()
		if shr == 1 {
			capacity = a.dryCapacity()
		}
		r.Check(t, "coil-drop", got, published.Within(0.01))
		r.Check(t, "sensible-heat-ratio", shr, published.Within(1e-4))
		r.Check(t, "relative-capacity", capacity, published.Within(1e-4))
	}
}

func TestListFailsOneByOne(t *testing.T) {
	c, _ := Lookup("capacitor-under-load")
	out, good := c.RunJSON([]byte(`[{"current":"5.1 A","voltage":"385 V"},{"current":"5.1 A"},{"current":"5 psig","voltage":"385 V"}]`), tradeunit.SI)
	list := out.([]any)
	if good || len(list) != 3 {
		t.Fatalf("RunJSON = %v, %v", out, good)
	}
	if q := list[0].(map[string]any)["capacitance"].(Quantity); q.Unit != "F" || math.Abs(q.Value-35.14e-6) > 5e-8 {
		t.Errorf("first = %+v", q)
	}
	for i, field := range map[int]string{1: "voltage", 2: "current"} {
		e := list[i].(map[string]*Error)["error"]
		if e.Field != field || e.Kind != Invalid {
			t.Errorf("element %d: error %+v, want an invalid %s", i, e, field)
		}
	}
}

func TestErrorsNameTheField(t *testing.T) {
	for _, c := range []struct {
		name, in    string
		kind        Kind
		field, says string
	}{
		{"saturation", `{"refrigerant":"R-410A"}`, Invalid, "temperature", "give one of"},
		{"saturation", `{"refrigerant":"R-410A","temperature":"40 F","pressure":"118 psig"}`, Invalid, "pressure", "only one"},
		{"saturation", `{"refrigerant":"R-999","temperature":"40 F"}`, NotFound, "refrigerant", "R-999"},
		{"pressure-temperature", `{"refrigerant":"R-32/125 (50/20)"}`, Invalid, "refrigerant", "composition"},
		{"saturation", `{"refrigerant":"R-410A","temperature":"-300 F"}`, OutOfRange, "temperature", "outside"},
		{"saturation", `{"refrigerant":"R-410A","pressure":"-20 psig"}`, OutOfRange, "pressure", "outside"},
		{"saturation", `{"refrigerant":"R-410A","presure":"118 psig"}`, Invalid, "presure", "no such field"},
		{"superheat", `{"line_temperature":"55 F","pressure":"118 psig"}`, Invalid, "refrigerant", "without the refrigerant"},
		{"capacitor-under-load", `{"current":"5 A","voltage":"0 V"}`, OutOfRange, "voltage", "0 V is outside"},
		{"moist-air", `{"dry_bulb":"80 F","relative_humidity":1.4}`, OutOfRange, "relative_humidity", "1.4"},
		{"moist-air", `{"dry_bulb":"70 F","wet_bulb":"75 F"}`, OutOfRange, "wet_bulb", ""},
		{"moist-air", `[]x`, Invalid, "", "not JSON"},
	} {
		answer, good := run(t, c.name, c.in, tradeunit.SI)
		e, _ := answer["error"].(map[string]any)
		if good || e == nil {
			t.Errorf("%s %s: %v, want an error", c.name, c.in, answer)
			continue
		}
		field, _ := e["field"].(string)
		if e["kind"] != string(c.kind) || field != c.field || !strings.Contains(e["message"].(string), c.says) {
			t.Errorf("%s %s: error %v, want %s at %q saying %q", c.name, c.in, e, c.kind, c.field, c.says)
		}
	}
}

func TestGaugeReadingRefersToTheAmbientPressure(t *testing.T) {
	low, _ := run(t, "saturation", `{"refrigerant":"R-410A","pressure":"118 psig"}`, tradeunit.US)
	high, _ := run(t, "saturation", `{"refrigerant":"R-410A","pressure":"118 psig","ambient_pressure":"12.2 psia"}`, tradeunit.US)
	if value(t, low, "dew_temperature") <= value(t, high, "dew_temperature") {
		t.Errorf("the same gauge reading on a mountain is not colder: %v, %v", low, high)
	}
	if got := value(t, high, "dew_pressure"); math.Abs(got-118) > 1e-6 {
		t.Errorf("dew pressure %v psig, want the 118 that went in", got)
	}
}

func TestEveryCalculatorIsDescribed(t *testing.T) {
	for _, c := range List() {
		if c.About == "" || c.Source == "" || len(c.Fields) == 0 || len(c.Results) == 0 {
			t.Errorf("%s is not fully described", c.Name)
		}
	}
}

func FuzzRunJSON(f *testing.F) {
	f.Add("saturation", `{"refrigerant":"R-22","pressure":"118 psig"}`)
	f.Add("moist-air", `{"dry_bulb":"80 F","wet_bulb":"67 F","elevation":"5280 ft"}`)
	f.Add("network", `{"components":[{"id":"a","type":"resistor","nodes":["x","y"],"ohms":1}]}`)
	f.Fuzz(func(t *testing.T, name, doc string) {
		c, ok := Lookup(name)
		if !ok {
			return
		}
		out, _ := c.RunJSON([]byte(doc), tradeunit.US)
		if _, err := json.Marshal(out); err != nil {
			t.Errorf("%s %s: %v", name, doc, err)
		}
	})
}
