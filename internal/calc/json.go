package calc

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"

	"rung/internal/moistair"
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
			return Failure(invalid("", "not JSON: %v", err)), false
		}
		return c.runList(list, units)
	}
	out, err := c.runOne(doc, units)
	if err != nil {
		return Failure(err), false
	}
	return out, true
}

func (c Calculator) runList(list []json.RawMessage, units tradeunit.System) (any, bool) {
	outs, ok := make([]any, 0, len(list)), true
	for _, element := range list {
		out, err := c.runOne(element, units)
		if err != nil {
			out, ok = Failure(err), false
		}
		outs = append(outs, out)
	}
	return outs, ok
}

// Failure is what stands in place of a result.
func Failure(err error) any {
	return map[string]*Error{"error": asError(err)}
}

func (c Calculator) runOne(doc json.RawMessage, units tradeunit.System) (any, error) {
	if c.raw != nil {
		return c.raw(doc)
	}
	in, out, err := c.Answer(doc)
	if err != nil {
		return nil, err
	}
	return encodeRow(c.Results, out, units, Ambient(in)), nil
}

// Answer reads one JSON object and returns it as values, and the result. The
// error is an *Error. A calculator of whole documents has no values: it answers
// by RunJSON alone.
func (c Calculator) Answer(doc []byte) (in, out Values, err error) {
	if c.raw != nil {
		return nil, nil, invalid("", "%q takes whole documents, not fields", c.Name)
	}
	if in, err = c.decode(doc); err != nil {
		return nil, nil, err
	}
	out, err = c.Run(in)
	return in, out, err
}

// Run turns values into the result. The error is an *Error.
func (c Calculator) Run(in Values) (Values, error) {
	if err := checkSite(in); err != nil {
		return nil, c.namedByUser(err)
	}
	out, err := c.run(in)
	if err != nil {
		return nil, c.namedByUser(err)
	}
	return out, nil
}

// Whole says whether the calculator takes a whole document in place of fields.
func (c Calculator) Whole() bool { return c.raw != nil }

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

// Ambient returns the air pressure to which the gauge readings of an input
// refer: given, from the elevation, or that at sea level.
func Ambient(in Values) quantity.Pressure {
	if in.has("ambient_pressure") {
		return in.pressure("ambient_pressure")
	}
	if in.has("elevation") {
		if p, err := moistair.PressureAtElevation(quantity.Length(in.number("elevation"))); err == nil {
			return p
		}
	}
	return StandardPressure
}

// siteFields say to which air pressure gauge readings refer, so they are read
// before all others.
var siteFields = []string{"ambient_pressure", "elevation"}

func (c Calculator) decode(doc json.RawMessage) (Values, error) {
	var raw map[string]json.RawMessage
	if err := json.Unmarshal(doc, &raw); err != nil || raw == nil {
		return nil, invalid("", "want a JSON object with the fields of %q", c.Name)
	}
	if err := c.refuseUnknown(raw); err != nil {
		return nil, err
	}
	in := Values{}
	for _, site := range []bool{true, false} {
		for _, f := range c.Fields {
			if slices.Contains(siteFields, f.Name) != site {
				continue
			}
			value, given := raw[f.Name]
			switch {
			case given && string(value) != "null":
				x, err := f.decode(value, Ambient(in))
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
	case f.List:
		return f.decodeList(value, ambient)
	}
	var raw tradeunit.Raw
	if err := raw.UnmarshalJSON(value); err != nil {
		var bare float64
		if f.Dim != quantity.DimRatio || json.Unmarshal(value, &bare) != nil {
			return nil, invalid(f.Name, "%v", err)
		}
		return f.inRange(bare, string(value))
	}
	return f.amount(string(raw), ambient)
}

// decodeList reads an array of amounts; one alone is a list of one.
func (f Field) decodeList(value json.RawMessage, ambient quantity.Pressure) (any, error) {
	one := f
	one.List = false
	var parts []json.RawMessage
	if json.Unmarshal(value, &parts) != nil {
		parts = []json.RawMessage{value}
	}
	list := []float64{}
	for _, part := range parts {
		x, err := one.decode(part, ambient)
		if err != nil {
			return nil, err
		}
		list = append(list, x.(float64))
	}
	return list, nil
}

// amount reads a number with its unit.
func (f Field) amount(text string, ambient quantity.Pressure) (any, error) {
	a, err := tradeunit.Parse(text, f.Dim, "")
	if err != nil {
		return nil, invalid(f.Name, "%v", err)
	}
	return f.inRange(a.SI(ambient), text)
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
	return f.word(x.(string))
}

// word checks a word against the closed list.
func (f Field) word(x string) (any, error) {
	if len(f.Words) > 0 && !f.Loose && !slices.Contains(f.Words, x) {
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
		Message: given + " is outside " + jsonNumber(f.Min) + " to " + jsonNumber(f.Max) + " " + u,
		Range:   &quantity.RangeError{Name: f.Name, Value: si, Min: f.Min, Max: f.Max, Unit: u}}
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

// encodeRow writes values as a JSON object; a table is a list of them.
func encodeRow(fields []Field, out Values, units tradeunit.System, ambient quantity.Pressure) any {
	doc := map[string]any{}
	for _, f := range fields {
		value, ok := out[f.Name]
		if !ok {
			continue
		}
		x, isNumber := value.(float64)
		switch {
		case len(f.Columns) > 0:
			rows := []any{}
			for _, r := range out.Rows(f.Name) {
				rows = append(rows, encodeRow(f.Columns, r, units, ambient))
			}
			doc[f.Name] = rows
		case !isNumber:
			doc[f.Name] = value
		case math.IsNaN(x) || math.IsInf(x, 0):
			doc[f.Name] = nil
		default:
			u := f.Unit(units)
			if units == tradeunit.US && f.USValue != "" {
				x = out.number(f.USValue)
			}
			doc[f.Name] = Quantity{Value: u.Of(x, ambient), Unit: u.ASCII()}
		}
	}
	return doc
}

// Unit returns the unit in which the field goes out.
func (f Field) Unit(units tradeunit.System) tradeunit.Unit {
	if units == tradeunit.US && f.USUnit != "" {
		return mustUnit(f.Dim, f.USUnit)
	}
	return units.Preferred(f.Dim)
}

// Listing describes a calculator for programs and people.
type Listing struct {
	Name    string          `json:"name"`
	Title   string          `json:"title"`
	Subject string          `json:"subject"`
	About   string          `json:"about"`
	Source  string          `json:"source"`
	Caution string          `json:"caution,omitempty"`
	Example json.RawMessage `json:"example,omitempty"`
	Drawn   bool            `json:"drawn,omitempty"` // its result can be drawn
	Fields  []FieldListing  `json:"fields"`
	Results []FieldListing  `json:"results"`
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

	List    bool           `json:"list,omitempty"`    // an array of amounts
	Columns []FieldListing `json:"columns,omitempty"` // of a table
}

// List describes every calculator.
func List() []Listing {
	var list []Listing
	for _, c := range All() {
		list = append(list, c.Listing())
	}
	return list
}

// Listing describes c.
func (c Calculator) Listing() Listing {
	return Listing{Name: c.Name, Title: c.Title, Subject: c.Subject, About: c.About, Source: c.Source, Caution: c.Caution, Example: json.RawMessage(c.Example),
		Drawn: c.Drawn, Fields: listFields(c.Fields), Results: listFields(c.Results)}
}

func listFields(fields []Field) []FieldListing {
	list := []FieldListing{}
	for _, f := range fields {
		l := FieldListing{Name: f.Name, About: f.About, Words: f.Words, Optional: f.Optional, List: f.List}
		if f.Dim != quantity.DimNone {
			l.Units = tradeunit.Symbols(f.Dim)
		}
		if f.Min != 0 || f.Max != 0 {
			lo, hi := f.Min, f.Max
			l.Min, l.Max = finite(lo), finite(hi)
		}
		if len(f.Columns) > 0 {
			l.Columns = listFields(f.Columns)
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
