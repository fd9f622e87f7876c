package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"rung/internal/calc"
	"rung/internal/quantity"
)

// ask sends a request to the programming interface and decodes the answer.
func (b *browser) ask(method, path, body string) (status int, answer any) {
	b.t.Helper()
	w := httptest.NewRecorder()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded") // what a client says that was not told
	b.handler.ServeHTTP(w, r)
	if kind := w.Header().Get("Content-Type"); !strings.HasPrefix(kind, "application/json") {
		b.t.Errorf("%s %s answers %s", method, path, kind)
	}
	if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil {
		b.t.Errorf("%s %s answers %q: %v", method, path, w.Body, err)
	}
	return w.Code, answer
}

// dig follows names and places into a decoded document; nil if there is nothing.
func dig(doc any, path ...any) any {
	for _, step := range path {
		switch step := step.(type) {
		case string:
			m, _ := doc.(map[string]any)
			doc = m[step]
		case int:
			list, _ := doc.([]any)
			if step >= len(list) {
				return nil
			}
			doc = list[step]
		}
	}
	return doc
}

func TestAPIRunsEveryExample(t *testing.T) {
	b := quickBrowser(t)
	for _, c := range calc.All() {
		status, one := b.ask("POST", "/api/calc/"+c.Name, c.Example)
		if status != http.StatusOK || dig(one, "error") != nil {
			t.Errorf("%s answers %d %v", c.Name, status, one)
		}
		status, two := b.ask("POST", "/api/calc/"+c.Name+"?units=us", "["+c.Example+","+c.Example+"]")
		if list, ok := two.([]any); status != http.StatusOK || !ok || len(list) != 2 {
			t.Errorf("%s in an array answers %d %v", c.Name, status, two)
		}
		for _, f := range c.Results {
			if dig(one, f.Name) != nil && len(f.Columns) > 0 && dig(one, f.Name, 0, f.Columns[0].Name) == nil {
				t.Errorf("%s: table %s has rows without %s", c.Name, f.Name, f.Columns[0].Name)
			}
		}
	}
}

// TestAPIAnswersAsTheCommandLine: the same bytes as rung calc.
func TestAPIAnswersAsTheCommandLine(t *testing.T) {
	b := quickBrowser(t)
	_, answer := b.ask("POST", "/api/calc/capacitor-under-load", `{"current":"5.1 A","voltage":"385 V"}`)
	if got := fmt.Sprint(answer); !strings.HasPrefix(got, "map[capacitance:map[unit:F value:3.51") {
		t.Errorf("SI: %s", got)
	}
	_, answer = b.ask("POST", "/api/calc/capacitor-under-load?units=us", `{"current":"5.1 A","voltage":"385 V"}`)
	if got := fmt.Sprint(answer); !strings.HasPrefix(got, "map[capacitance:map[unit:uF value:35.1") {
		t.Errorf("US: %s", got)
	}
}

func TestAPIErrors(t *testing.T) {
	b := quickBrowser(t)
	for _, c := range []struct {
		method, path, body string
		status             int
		kind, field        string
	}{
		{"POST", "/api/calc/charge-by-feel", "{}", 404, "not-found", ""},
		{"GET", "/api/calc/charge-by-feel", "", 404, "not-found", ""},
		{"GET", "/api/calc/charge-by-feel.svg", "", 404, "not-found", ""},
		{"GET", "/api/calc/superheat.svg", "", 404, "not-found", ""},
		{"GET", "/api/nothing", "", 404, "not-found", ""},
		{"POST", "/api/calc/superheat", "", 400, "invalid", ""},
		{"POST", "/api/calc/superheat", "[1", 400, "invalid", ""},
		{"POST", "/api/calc/superheat", `{"line_temperature":"54 psig"}`, 400, "invalid", "line_temperature"},
		{"POST", "/api/calc/superheat?units=imperial", `{}`, 400, "invalid", "units"},
		{"POST", "/api/calc/saturation", `{"refrigerant":"R-999","pressure":"118 psig"}`, 404, "not-found", "refrigerant"},
		{"POST", "/api/calc/saturation", `{"refrigerant":"R-410A","pressure":"9000 psig"}`, 422, "out-of-range", "pressure"},
		{"GET", "/api/calc/pressure-enthalpy.svg?refrigerant=R-410A", "", 400, "invalid", "suction_pressure"},
		{"GET", "/api/calc/psychrometric-chart.svg?return_dry_bulb=75+F&return_wet_bulb=90+F", "", 422, "out-of-range", "return_wet_bulb"},
		{"POST", "/api/calc/superheat", `{"x":"` + strings.Repeat("x", maxForm) + `"}`, 413, "invalid", ""},
	} {
		status, answer := b.ask(c.method, c.path, c.body)
		field, _ := dig(answer, "error", "field").(string)
		if status != c.status || dig(answer, "error", "kind") != c.kind || field != c.field || dig(answer, "error", "message") == "" {
			t.Errorf("%s %s %.60s answers %d %v, want %d %s at %q", c.method, c.path, c.body, status, answer, c.status, c.kind, c.field)
		}
	}
	// In an array each element fails alone.
	status, answer := b.ask("POST", "/api/calc/saturation", `[{"refrigerant":"R-410A","pressure":"118 psig"},{"refrigerant":"R-999","pressure":"1 psig"}]`)
	if status != 200 || dig(answer, 0, "dew_temperature", "unit") != "K" || dig(answer, 1, "error", "kind") != "not-found" {
		t.Errorf("an array answers %d %v", status, answer)
	}
}

// TestDrawingsOfPagesAreThere follows the link below each drawing.
func TestDrawingsOfPagesAreThere(t *testing.T) {
	b := quickBrowser(t)
	for _, c := range calc.All() {
		if !c.Drawn {
			continue
		}
		b.open("/calculators/" + c.Name + "?" + exampleOf(c).Encode() + "&units=si")
		link := ""
		for _, a := range all(b.doc, ".result a") {
			link = attr(a, "href")
		}
		w := httptest.NewRecorder()
		b.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, link, nil))
		if w.Code != 200 || w.Header().Get("Content-Type") != "image/svg+xml" || !strings.HasPrefix(w.Body.String(), "<svg") {
			t.Errorf("%s answers %d %s", link, w.Code, w.Header().Get("Content-Type"))
		}
		if !strings.Contains(w.Body.String(), "kJ/kg") {
			t.Errorf("%s is not in SI", link)
		}
	}
}

// TestOpenAPI checks the description for what the specification demands.
//
// published: OpenAPI Specification 3.1.0, the required fields of each object.
func TestOpenAPI(t *testing.T) {
	b := quickBrowser(t)
	status, doc := b.ask("GET", "/api/openapi.json", "")
	if status != 200 || dig(doc, "openapi") != "3.1.0" || dig(doc, "info", "title") == nil || dig(doc, "info", "version") == nil {
		t.Fatalf("answers %d, head %v %v", status, dig(doc, "openapi"), dig(doc, "info"))
	}
	checkRefs(t, doc, doc, "#")
	paths := dig(doc, "paths").(map[string]any)
	seen := map[string]bool{}
	for path, item := range paths {
		if !strings.HasPrefix(path, "/") {
			t.Errorf("path %q", path)
		}
		for method, op := range item.(map[string]any) {
			id, _ := dig(op, "operationId").(string)
			if id == "" || seen[id] {
				t.Errorf("%s %s: operationId %q is missing or used twice", method, path, id)
			}
			seen[id] = true
			responses, _ := dig(op, "responses").(map[string]any)
			if responses["200"] == nil {
				t.Errorf("%s %s: no response 200", method, path)
			}
			for code, r := range responses {
				if dig(r, "description") == nil || dig(r, "content") == nil {
					t.Errorf("%s %s: response %s lacks description or content", method, path, code)
				}
			}
			parameters, _ := dig(op, "parameters").([]any)
			for _, p := range parameters {
				if dig(p, "name") == nil || dig(p, "in") != "query" || dig(p, "schema") == nil {
					t.Errorf("%s %s: parameter %v", method, path, p)
				}
			}
		}
	}
	for _, c := range calc.All() {
		op := dig(paths, "/api/calc/"+c.Name, "post")
		if dig(op, "requestBody", "content", "application/json", "example") == nil {
			t.Errorf("%s has no example", c.Name)
		}
		checkExample(t, c, dig(doc, "components", "schemas", c.Name+"-in"))
	}
}

// checkRefs: every reference leads somewhere.
func checkRefs(t *testing.T, root, at any, where string) {
	switch at := at.(type) {
	case map[string]any:
		if to, ok := at["$ref"].(string); ok {
			var steps []any
			for _, s := range strings.Split(strings.TrimPrefix(to, "#/"), "/") {
				steps = append(steps, s)
			}
			if dig(root, steps...) == nil {
				t.Errorf("%s refers to %s, which is not there", where, to)
			}
		}
		for name, x := range at {
			checkRefs(t, root, x, where+"/"+name)
		}
	case []any:
		for i, x := range at {
			checkRefs(t, root, x, fmt.Sprint(where, "/", i))
		}
	}
}

// checkExample holds the example of a calculator against its schema: no field
// that is not there, none missing, a text for a quantity.
func checkExample(t *testing.T, c calc.Calculator, schema any) {
	t.Helper()
	var example map[string]any
	if err := json.Unmarshal([]byte(c.Example), &example); err != nil {
		t.Errorf("%s: the example is no JSON object: %v", c.Name, err)
	}
	for name := range example {
		if dig(schema, "properties", name) == nil {
			t.Errorf("%s: the example has %s, the schema has not", c.Name, name)
		}
	}
	required, _ := dig(schema, "required").([]any)
	for _, name := range required {
		if example[name.(string)] == nil {
			t.Errorf("%s: the example lacks %s", c.Name, name)
		}
	}
	for _, f := range c.Fields {
		if list, isList := example[f.Name].([]any); isList && f.List && len(list) > 0 {
			example[f.Name] = list[0]
		}
		if _, isText := example[f.Name].(string); example[f.Name] != nil && f.Dim != quantity.DimNone && f.Dim != quantity.DimRatio && !isText {
			t.Errorf("%s: the example has no text for %s", c.Name, f.Name)
		}
	}
}
