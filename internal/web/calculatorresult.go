package web

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"

	"rung/internal/calc"
	"rung/internal/chart"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
	"rung/internal/web/page"
)

// result makes the answer ready to be shown.
func (s *Server) result(ask asking, a answered) *page.Result {
	r := &page.Result{Headline: s.day(s.Now())}
	if a.doc != nil {
		r.Document = indented(a.doc)
		return r
	}
	ambient := calc.Ambient(a.in)
	if hasField(ask.Fields, "ambient_pressure") || hasField(ask.Fields, "elevation") {
		r.Headline = sentence(r.Headline, siteOf(ask, a.in))
	}
	r.Warnings = a.out.Warnings()
	for _, f := range ask.Results {
		if f.Quiet {
			continue
		}
		switch value := a.out[f.Name].(type) {
		case []calc.Values:
			r.Tables = append(r.Tables, tableOf(f, value, ask.units, ambient))
		case string:
			if f.Name == "note" {
				r.Notes = append(r.Notes, value)
			}
		}
	}
	r.Facts = factsOf(ask.Results, a.out, ask.units, ambient)
	r.Given = factsOf(ask.Fields, a.in, ask.units, ambient)
	for i := range r.Given {
		r.Given[i].Doubt = ""
	}
	if ask.Drawn {
		svg, err := chart.Draw(ask.Name, a.in, a.out, ask.units)
		if err != nil {
			r.Warnings = append(r.Warnings, "It cannot be drawn: "+err.Error()+".")
			return r
		}
		r.Drawing, r.DrawingHref = svg, "/api/calc/"+ask.Name+".svg"+asking{units: ask.units}.query(ask.typed)
	}
	return r
}

func hasField(fields []calc.Field, name string) bool {
	return slices.ContainsFunc(fields, func(f calc.Field) bool { return f.Name == name })
}

// siteOf says to which air gauge readings refer, or which air it is.
func siteOf(ask asking, in calc.Values) string {
	absolute := calc.Field{Dim: quantity.DimPressure, USUnit: "psia"}.ShownIn(ask.units)
	given := "ambient_pressure"
	if !hasField(ask.Fields, given) {
		given = "pressure" // of the air itself
	}
	if p, ok := in.Number(given); ok {
		return "air at " + shownIn(absolute, p, 0)
	}
	pressure := "air at " + shownIn(absolute, float64(calc.Ambient(in)), 0)
	if z, ok := in.Number("elevation"); ok {
		return shownIn(calc.Field{Dim: quantity.DimLength}.ShownIn(ask.units), z, 0) + " above sea level, " + pressure
	}
	return "sea level, " + pressure
}

func shownIn(u tradeunit.Unit, si float64, ambient quantity.Pressure) string {
	number := calc.Show(u, si, ambient)
	if u.Symbol == "1" {
		return number
	}
	return number + " " + u.Symbol
}

func indented(doc any) string {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(doc); err != nil {
		return err.Error()
	}
	return b.String()
}

// factsOf lists values that are single: numbers, words, yes and no.
func factsOf(fields []calc.Field, v calc.Values, units tradeunit.System, ambient quantity.Pressure) []page.Fact {
	var list []page.Fact
	for _, f := range fields {
		if text := shownValue(f, v, units, ambient); text != "" && !slices.Contains([]string{"note", "warning", "warnings"}, f.Name) {
			list = append(list, page.Fact{Name: fieldLabel(f), Value: text, Doubt: f.About})
		}
	}
	return list
}

// shownValue prints one value of v; empty if there is none.
func shownValue(f calc.Field, v calc.Values, units tradeunit.System, ambient quantity.Pressure) string {
	switch x := v[f.Name].(type) {
	case string:
		return x
	case bool:
		return map[bool]string{true: "yes", false: "no"}[x]
	case float64:
		if units == tradeunit.US && f.USValue != "" {
			x, _ = v.Number(f.USValue)
		}
		return shownIn(f.ShownIn(units), x, ambient)
	case []float64:
		var list []string
		for _, one := range x {
			list = append(list, shownIn(f.ShownIn(units), one, ambient))
		}
		return strings.Join(list, ", ")
	}
	return ""
}

// fieldLabel makes words of the name of a field.
func fieldLabel(f calc.Field) string { return capital(strings.ReplaceAll(f.Name, "_", " ")) }

// Layout of tables.
const (
	mostColumns = 4  // that a phone shows side by side
	blockRows   = 30 // that fit on a printed page below each other, with room to write
	mostBlocks  = 5  // that fit side by side
)

// tableOf makes a table ready to be shown: rows, or cards if it is wide.
func tableOf(f calc.Field, rows []calc.Values, units tradeunit.System, ambient quantity.Pressure) page.Table {
	t := page.Table{}
	if len(f.Columns) > mostColumns {
		for _, r := range rows {
			t.Cards = append(t.Cards, cardOf(f, r, units, ambient))
		}
		return t
	}
	for _, c := range f.Columns {
		column := page.Column{Name: fieldLabel(c), About: c.About}
		if c.Dim != quantity.DimNone {
			column.Unit = c.ShownIn(units).Symbol
		}
		t.Columns = append(t.Columns, column)
	}
	blocks := min(mostBlocks, (len(rows)+blockRows-1)/blockRows)
	for i, r := range rows {
		if i%((len(rows)+blocks-1)/blocks) == 0 {
			t.Blocks = append(t.Blocks, nil)
		}
		var cells page.Row
		for _, c := range f.Columns {
			x, isNumber := r.Number(c.Name)
			if isNumber {
				cells = append(cells, calc.Show(c.ShownIn(units), x, ambient))
			} else {
				cells = append(cells, shownValue(c, r, units, ambient))
			}
		}
		last := len(t.Blocks) - 1
		t.Blocks[last] = append(t.Blocks[last], cells)
	}
	return t
}

// cardOf shows one row under its words, such as "1 suction port, vapour".
func cardOf(f calc.Field, row calc.Values, units tradeunit.System, ambient quantity.Pressure) page.Card {
	var heading []string
	var numbers []calc.Field
	for _, c := range f.Columns {
		if word := row.Word(c.Name); word != "" {
			heading = append(heading, word)
		} else {
			numbers = append(numbers, c)
		}
	}
	return page.Card{Heading: capital(strings.Join(heading, " · ")), Facts: factsOf(numbers, row, units, ambient)}
}
