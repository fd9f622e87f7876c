package visit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/tradeunit"
)

// clean takes blanks off both ends.
func clean(text string) string { return strings.TrimSpace(text) }

// fieldErrors collects what is wrong with a form.
type fieldErrors []FieldError

func (f *fieldErrors) add(field string, kind Kind, format string, args ...any) {
	*f = append(*f, FieldError{Field: field, Kind: kind, Message: fmt.Sprintf(format, args...)})
}

// err returns an *Error with all that was added, of the kind of the first; nil
// if nothing was.
func (f fieldErrors) err() error {
	if len(f) == 0 {
		return nil
	}
	return &Error{Kind: f[0].Kind, Fields: f}
}

// needed returns text without blanks at its ends, which must not be empty.
func (f *fieldErrors) needed(field, text, message string) string {
	if text = clean(text); text == "" {
		f.add(field, Invalid, "%s", message)
	}
	return text
}

// oneOf wants id to be one of the choices.
func (f *fieldErrors) oneOf(field, id string, choices []Choice, message string) {
	if !slices.ContainsFunc(choices, func(c Choice) bool { return c.ID == id }) {
		f.add(field, Invalid, "%s", message)
	}
}

// amount reads a quantity as typed; false if the field is empty or wrong.
func (f *fieldErrors) amount(l Language, field, text string, a amountField) (record.AsRead, bool) {
	if clean(text) == "" {
		return record.AsRead{}, false
	}
	v, kind, problem := a.read(l, text)
	if problem != "" {
		f.add(field, kind, "%s", problem)
		return record.AsRead{}, false
	}
	return v, true
}

// inSI returns a recorded amount in SI; false if there is none or it cannot be
// read, which a view then shows as unknown.
func inSI(dim quantity.Dimension, v record.AsRead, ambient quantity.Pressure) (float64, bool) {
	if v.Text == "" {
		return 0, false
	}
	a, err := tradeunit.Parse(v.Text+" "+v.Unit, dim, "")
	if err != nil {
		return 0, false
	}
	return a.SI(ambient), true
}

// decimalsFor returns how many decimals show three digits of x, at most three.
func decimalsFor(x float64) int {
	switch x = math.Abs(x); {
	case x >= 100 || math.Abs(x-math.Round(x)) < 1e-9*x:
		return 0
	case x >= 10:
		return 1
	case x >= 1:
		return 2
	}
	return 3
}

// mustSI returns an amount of this program's own in SI.
func mustSI(text string, dim quantity.Dimension) float64 {
	a, err := tradeunit.Parse(text, dim, "")
	if err != nil {
		panic("visit: " + err.Error())
	}
	return a.SI(standardAir)
}
