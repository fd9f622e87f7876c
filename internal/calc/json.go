package calc

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"

	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// RunJSON reads one object or an array of objects and returns the same shape
// of results. In an array each element fails alone. The bool is false if any
// element failed.
func (c Calculator) RunJSON(doc []byte, units tradeunit.System) (any, bool) {
	doc = bytes.TrimSpace(doc)
	if len(doc) > 0 && doc[0] == '[' {
		var list []json.RawMessage
		if err := json.Unmarshal(doc, &list); err != nil {
			return failure(invalid("", "not JSON: %v", err)), false
		}
		return c.runList(list, units)
	}
	out, err := c.runOne(doc, units)
	if err != nil {
		return failure(err), false
	}
	return out, true
}

func (c Calculator) runList(list []json.RawMessage, units tradeunit.System) (any, bool) {
	outs, ok := make([]any, 0, len(list)), true
	for _, element := range list {
		out, err := c.runOne(element, units)
		if err != nil {
			out, ok = failure(err), false
		}
		outs = append(outs, out)
	}
	return outs, ok
}

// failure is what stands in place of a result.
func failure(err error) any {
	return map[string]*Error{"error": asError(err)}
}

func (c Calculator) runOne(doc json.RawMessage, units tradeunit.System) (any, error) {
	if c.raw != nil {
		return c.raw(doc)
	}
	in, err := c.decode(doc)
	if err != nil {
		return nil, err
	}
	out, err := c.run(in)
	if err != nil {
		return nil, c.namedByUser(err)
	}
	return c.encode(out, units, ambientOf(in)), nil
}

// namedByUser puts the field in place of the name that a deeper function gave
// its argument, "wet bulb" for wet_bulb, or clears it if no field has that name.
func (c Calculator) namedByUser(err error) error {
	e := *asError(err)
	if e.Kind != OutOfRange {
		return &e
	}
	e.Field = strings.ReplaceAll(e.Field, " ", "_")
	if !slices.ContainsFunc(c.Fields, func(f Field) bool { return f.Name == e.Field }) {
		e.Field = ""
	}
	return &e
}

// StandardPressure is the air pressure at sea level in the standard atmosphere.
// published: ICAO Standard Atmosphere, Doc 7488, 1993.
const StandardPressure quantity.Pressure = 101325

// ambientOf returns the air pressure a gauge reading in this input refers to.
func ambientOf(in Values) quantity.Pressure {
	if in.has("ambient_pressure") {
		return in.pressure("ambient_pressure")
	}
	return StandardPressure
}

func (c Calculator) decode(doc json.RawMessage) (Values, error) {
	var raw map[string]json.RawMessage
	if err := json.Unmarshal(doc, &raw); err != nil || raw == nil {
		return nil, invalid("", "want a JSON object with the fields of %q", c.Name)
	}
	if err := c.refuseUnknown(raw); err != nil {
		return nil, err
	}
	in := Values{}
	// The ambient pressure first: gauge readings refer to it.
	for _, ambient := range []bool{true, false} {
		for _, f := range c.Fields {
			if (f.Name == "ambient_pressure") != ambient {
				continue
			}
			value, given := raw[f.Name]
			switch {
			case given && string(value) != "null":
				x, err := f.decode(value, ambientOf(in))
				if err != nil {
					return nil, err
				}
				in[f.Name] = x
			case !f.Optional:
				return nil, invalid(f.Name, "missing: %s", f.About)
			}
		}
	}
	return in, nil
}

func (c Calculator) refuseUnknown(raw map[string]json.RawMessage) error {
	var strangers []string
	for name := range raw {
		if !slices.ContainsFunc(c.Fields, func(f Field) bool { return f.Name == name }) {
			strangers = append(strangers, name)
		}
	}
	if len(strangers) == 0 {
		return nil
	}
	slices.Sort(strangers)
	return invalid(strangers[0], "no such field in %q, which has %s", c.Name, strings.Join(names(c.Fields), ", "))
}

func names(fields []Field) []string {
	list := make([]string, len(fields))
	for i, f := range fields {
		list[i] = f.Name
	}
	return list
}

func (f Field) decode(value json.RawMessage, ambient quantity.Pressure) (any, error) {
	switch {
	case f.Bool:
		return decodeAs[bool](f, value, "true or false")
	case f.Dim == quantity.DimNone:
		return f.decodeWord(value)
	}
	var raw tradeunit.Raw
	if err := raw.UnmarshalJSON(value); err != nil {
		var bare float64
		if f.Dim != quantity.DimRatio || json.Unmarshal(value, &bare) != nil {
			return nil, invalid(f.Name, "%v", err)
		}
		return f.inRange(bare, string(value))
	}
	a, err := tradeunit.Parse(string(raw), f.Dim, "")
	if err != nil {
		return nil, invalid(f.Name, "%v", err)
	}
	return f.inRange(a.SI(ambient), string(raw))
}

func decodeAs[T any](f Field, value json.RawMessage, want string) (any, error) {
	var x T
	if json.Unmarshal(value, &x) != nil {
		return nil, invalid(f.Name, "want %s, not %s", want, value)
	}
	return x, nil
}

func (f Field) decodeWord(value json.RawMessage) (any, error) {
	x, err := decodeAs[string](f, value, "a word")
	if err != nil {
		return nil, err
	}
	if len(f.Words) > 0 && !f.Loose && !slices.Contains(f.Words, x.(string)) {
		return nil, invalid(f.Name, "%q is none of %s", x, strings.Join(f.Words, ", "))
	}
	return x, nil
}

// inRange checks the limits of a field and quotes the amount as it was given.
func (f Field) inRange(si float64, given string) (any, error) {
	if f.Min == 0 && f.Max == 0 || f.Min <= si && si <= f.Max {
		return si, nil
	}
	u := tradeunit.SI.Preferred(f.Dim).ASCII()
	return nil, &Error{Kind: OutOfRange, Field: f.Name,
		Message: given + " is outside " + jsonNumber(f.Min) + " to " + jsonNumber(f.Max) + " " + u}
}

func jsonNumber(x float64) string {
	b, err := json.Marshal(x)
	if err != nil {
		return "unlimited"
	}
	return string(b)
}

// Quantity is a number with its unit, as it goes out.
type Quantity struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
}

func (c Calculator) encode(out Values, units tradeunit.System, ambient quantity.Pressure) any {
	doc := map[string]any{}
	for _, f := range c.Results {
		value, ok := out[f.Name]
		if !ok {
			continue
		}
		x, isNumber := value.(float64)
		switch {
		case !isNumber:
			doc[f.Name] = value
		case math.IsNaN(x) || math.IsInf(x, 0):
			doc[f.Name] = nil
		default:
			u := units.Preferred(f.Dim)
			if units == tradeunit.US && f.USValue != "" {
				x = out.number(f.USValue)
			}
			doc[f.Name] = Quantity{Value: u.Of(x, ambient), Unit: u.ASCII()}
		}
	}
	return doc
}

// Listing describes a calculator for programs and people.
type Listing struct {
	Name    string         `json:"name"`
	About   string         `json:"about"`
	Source  string         `json:"source"`
	Fields  []FieldListing `json:"fields"`
	Results []FieldListing `json:"results"`
}

// FieldListing describes one field; Min and Max are in the SI unit.
type FieldListing struct {
	Name     string   `json:"name"`
	About    string   `json:"about,omitempty"`
	Units    []string `json:"units,omitempty"`
	Words    []string `json:"words,omitempty"`
	Optional bool     `json:"optional,omitempty"`
	Min      *float64 `json:"min,omitempty"`
	Max      *float64 `json:"max,omitempty"`
}

// List describes every calculator.
func List() []Listing {
	var list []Listing
	for _, c := range All() {
		list = append(list, Listing{Name: c.Name, About: c.About, Source: c.Source,
			Fields: listFields(c.Fields), Results: listFields(c.Results)})
	}
	return list
}

func listFields(fields []Field) []FieldListing {
	list := []FieldListing{}
	for _, f := range fields {
		l := FieldListing{Name: f.Name, About: f.About, Words: f.Words, Optional: f.Optional}
		if f.Dim != quantity.DimNone {
			l.Units = tradeunit.Symbols(f.Dim)
		}
		if f.Min != 0 || f.Max != 0 {
			lo, hi := f.Min, f.Max
			l.Min, l.Max = finite(lo), finite(hi)
		}
		list = append(list, l)
	}
	return list
}

func finite(x float64) *float64 {
	if math.IsInf(x, 0) {
		return nil
	}
	return &x
}
