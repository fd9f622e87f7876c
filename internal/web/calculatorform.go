package web

import (
	"math"
	"slices"
	"strings"

	"rung/internal/calc"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
	"rung/internal/web/page"
)

// calculatorForm draws the fields of a calculator, with what was typed and what
// is wrong with it.
type calculatorForm struct {
	asking
	known map[string]string
	wrong []*calc.Error
}

func formOf(a asking, known map[string]string, wrong []*calc.Error) calculatorForm {
	return calculatorForm{a, known, wrong}
}

// sets are the fields: what is needed first, what may be left out folded away.
func (f calculatorForm) sets(c calc.Calculator) []page.FieldSet {
	if c.Whole() {
		return []page.FieldSet{{Fields: []page.Field{f.document(c)}}}
	}
	first, rest := page.FieldSet{}, page.FieldSet{Heading: "More", Folded: true}
	if f.sent && len(f.wrong) == 0 {
		first.Heading = "Worked out from"
	}
	for _, x := range c.Fields {
		field := f.field(x)
		if x.Loose {
			beside := page.Field{Kind: page.Words, Name: x.Name + other, Label: field.Label + " not on the list", Hint: "A blend by its parts and their mass, such as R-32/125 (50/50)",
				Value: f.typed.Get(x.Name + other)}
			rest.Fields = append(rest.Fields, beside)
			rest.Folded = rest.Folded && beside.Value == ""
		}
		switch {
		case !x.Optional || x.Either:
			first.Fields = append(first.Fields, field)
		default:
			rest.Fields = append(rest.Fields, field)
			rest.Folded = rest.Folded && field.Value == ""
		}
	}
	return fieldSets(first, rest)
}

// document is the only field of a calculator of whole documents.
func (f calculatorForm) document(c calc.Calculator) page.Field {
	field := page.Field{Kind: page.Story, Name: documentField, Label: "Document", Hint: "A JSON object. The fields are listed by rung calc --list.", Value: f.typed.Get(documentField), Needed: true}
	field.Error = f.mistake(calc.Field{Name: documentField})
	return field
}

// field draws one field.
func (f calculatorForm) field(x calc.Field) page.Field {
	field := page.Field{Name: x.Name, Label: fieldLabel(x), Hint: capital(x.About), Value: f.value(x), Needed: !x.Optional, Error: f.mistake(x)}
	if x.UsualSI != "" && f.units == tradeunit.SI {
		field.Hint, _, _ = strings.Cut(field.Hint, ";")
		field.Assumed = x.UsualSI
	}
	switch {
	case x.Bool:
		f.choose(&field, x, []string{"yes", "no"})
	case len(x.Words) > 0:
		f.choose(&field, x, x.Words)
	case x.Dim == quantity.DimNone:
		field.Kind = page.Words
	case x.List:
		f.amount(&field, x)
		field.Kind = page.Words // the number pad has no comma
		field.Hint = sentence(field.Hint, "several are parted by commas")
	default:
		field.Kind = page.Number
		f.amount(&field, x)
	}
	return field
}

// value is what stands in a field.
func (f calculatorForm) value(x calc.Field) string {
	if f.sent {
		return strings.TrimSpace(f.typed.Get(x.Name))
	}
	return f.known[x.Name]
}

// choose offers a closed list; what was typed and is not on it stays.
func (f calculatorForm) choose(field *page.Field, x calc.Field, words []string) {
	const few = 6
	field.Kind = page.Choose
	if len(words) > few {
		field.Kind = page.Pick
	}
	if field.Kind == page.Pick || x.Optional {
		empty := "Choose"
		if x.Optional {
			empty = "Not given"
		}
		field.Choices = append(field.Choices, page.Choice{Value: "", Label: empty})
	}
	if field.Value != "" && !slices.Contains(words, field.Value) {
		field.Choices = append(field.Choices, page.Choice{Value: field.Value, Label: field.Value})
	}
	for _, w := range words {
		label := w
		if w == strings.ToLower(w) { // a word, not a name such as R-410A
			label = capital(plain(w))
		}
		field.Choices = append(field.Choices, page.Choice{Value: w, Label: label})
	}
}

// amount draws a number with its unit; a unit typed with it goes to its place.
func (f calculatorForm) amount(field *page.Field, x calc.Field) {
	field.Unit, field.Units = x.ShownIn(f.units).Symbol, onMeters(tradeunit.Symbols(x.Dim))
	field.Signed = x.Dim == quantity.DimTemperature || x.Dim == quantity.DimTempDiff
	if typed := f.typed.Get(x.Name + "-unit"); slices.Contains(tradeunit.Symbols(x.Dim), typed) {
		field.Unit = typed
	}
	if a, err := tradeunit.Parse(field.Value, x.Dim, field.Unit); err == nil {
		field.Value, field.Unit = a.Text, a.Unit.Symbol
	}
}

// mistake says what is wrong with a field, in the unit in which it was typed.
func (f calculatorForm) mistake(x calc.Field) string {
	for _, e := range f.wrong {
		if e.Field == x.Name {
			return f.words(e, x)
		}
	}
	return ""
}

// noSolution stands for what only a programmer would read.
const noSolution = "No solution was found for these values. Look for a slip in them."

// words says what is wrong: limits in the unit typed.
func (f calculatorForm) words(e *calc.Error, x calc.Field) string {
	switch {
	case e.Message == "missing":
		return "Missing."
	case e.Kind == calc.NoConvergence:
		return noSolution
	}
	if e.Range == nil || x.Dim == quantity.DimNone || !inBase(e.Range.Unit, x.Dim) {
		return capital(strings.TrimSuffix(e.Message, ".")) + "."
	}
	u := x.ShownIn(f.units)
	if a, err := tradeunit.Parse(f.text(x), x.Dim, u.Symbol); err == nil {
		u = a.Unit
	}
	ambient := f.ambient()
	text := shownIn(u, e.Range.Value, ambient) + " is outside what can be answered: "
	switch {
	case math.IsInf(e.Range.Max, 1):
		return text + "at least " + shownIn(u, e.Range.Min, ambient) + "."
	default:
		return text + shownIn(u, e.Range.Min, ambient) + " to " + shownIn(u, e.Range.Max, ambient) + "."
	}
}

// ambient is the air pressure as far as its own field can be read.
func (f calculatorForm) ambient() quantity.Pressure {
	in := calc.Values{}
	for _, x := range f.Fields {
		if x.Name != "elevation" && x.Name != "ambient_pressure" {
			continue
		}
		if a, err := tradeunit.Parse(f.text(x), x.Dim, ""); err == nil {
			in[x.Name] = a.SI(calc.StandardPressure)
		}
	}
	return calc.Ambient(in)
}

// inBase says whether a unit of a range error is the base unit of dim.
func inBase(unit string, dim quantity.Dimension) bool {
	return unit == tradeunit.SI.Preferred(dim).ASCII() || unit == "of saturation" && dim == quantity.DimRatio
}

// rest is what is wrong with no field shown.
func (f calculatorForm) rest(c calc.Calculator) string {
	var list []string
	for _, e := range f.wrong {
		switch {
		case e.Field == documentField || hasField(c.Fields, e.Field):
		case e.Kind == calc.NoConvergence:
			list = append(list, noSolution)
		default:
			list = append(list, capital(strings.TrimSuffix(e.Message, "."))+".")
		}
	}
	return strings.Join(list, " ")
}
