package web

import (
	"net/url"
	"strings"

	"rung/internal/quantity"
	"rung/internal/tradeunit"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// filling draws the fields of a form: with what is known on the first showing,
// with what was typed and what is wrong with it when the form was refused.
type filling struct {
	known map[string]string
	typed url.Values   // counts only if wrong is not nil
	wrong *visit.Error // nil on the first showing
	shown map[string]bool
}

// fill starts a form. wrong is nil on its first showing.
func fill(known map[string]string, typed url.Values, wrong *visit.Error) *filling {
	return &filling{known, typed, wrong, map[string]bool{}}
}

func (f *filling) value(name string) string {
	if f.wrong != nil {
		return f.typed.Get(name)
	}
	return f.known[name]
}

// field draws a field of any kind; key is its name among the mistakes.
func (f *filling) field(kind page.Kind, name, key, label, hint string) page.Field {
	field := page.Field{Kind: kind, Name: name, Label: label, Hint: hint, Value: f.value(name)}
	if f.wrong != nil {
		field.Error = capital(withoutLabel(f.wrong.Field(key), label)) // the label stands beside it
	}
	f.shown[key] = true
	return field
}

// withoutLabel cuts the name of the field off the head of a message.
func withoutLabel(message, label string) string {
	if n := len(label) + 2; len(message) > n && strings.EqualFold(message[:n], label+": ") {
		return message[n:]
	}
	return message
}

func (f *filling) words(name, label, hint string) page.Field {
	return f.field(page.Words, name, name, label, hint)
}

// choose draws one of a closed list, as buttons if there are few.
func (f *filling) choose(name, label, hint string, list []visit.Choice) page.Field {
	kind := page.Choose
	if len(list) > 6 {
		kind = page.Pick
	}
	field := f.field(kind, name, name, label, hint)
	if kind == page.Pick {
		field.Choices = append(field.Choices, page.Choice{Value: "", Label: "Choose"})
	}
	field.Choices = append(field.Choices, pageChoices(list)...)
	return field
}

func pageChoices(list []visit.Choice) []page.Choice {
	var choices []page.Choice
	for _, c := range list {
		choices = append(choices, page.Choice{Value: c.ID, Label: c.Name})
	}
	return choices
}

// amount draws a number with its unit.
func (f *filling) amount(name, key, label, hint string, dim quantity.Dimension, unit string) page.Field {
	field := f.field(page.Number, name, key, label, hint)
	field.Unit, field.Units = unit, onMeters(tradeunit.Symbols(dim))
	if typed := f.value(name + "-unit"); typed != "" {
		field.Unit = typed
	}
	field.Signed = dim == quantity.DimTemperature
	return field
}

// rest is what is wrong with the form as a whole, or with a field not shown.
func (f *filling) rest() string {
	if f.wrong == nil {
		return ""
	}
	parts := []string{}
	if f.wrong.Message != "" {
		parts = append(parts, f.wrong.Message)
	}
	for _, e := range f.wrong.Fields {
		if !f.shown[e.Field] {
			parts = append(parts, e.Message)
		}
	}
	return strings.Join(parts, " ")
}

// formID is the id of a form shown again: the one it had, so that sending it
// twice is still one entry; a new one if that was used already.
func (s *Server) formID(typed url.Values, wrong *visit.Error) page.Hidden {
	id := typed.Get("form")
	if id == "" || wrong != nil && wrong.Kind == visit.Conflict {
		id = s.Visits.NewForm()
	}
	return page.Hidden{Name: "form", Value: id}
}

// withUnit returns what was typed into a field together with its unit; a unit
// typed into the field itself wins.
func withUnit(typed url.Values, name string) string {
	text := strings.TrimSpace(typed.Get(name))
	unit := typed.Get(name + "-unit")
	if text == "" || unit == "" || !strings.ContainsAny(text[len(text)-1:], "0123456789.") {
		return text
	}
	return text + " " + unit
}
