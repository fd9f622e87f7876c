package calc

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"rung/internal/circuit"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// Field describes one quantity or word that goes in or comes out.
type Field struct {
	Name     string
	Dim      quantity.Dimension // DimNone for a word, a yes or no, or a document
	Words    []string           // the closed list, if it is a word
	Loose    bool               // the calculator also takes other spellings of Words
	Text     bool               // free text of the calculator's choosing, such as a phase
	Bool     bool               // true or false
	Optional bool
	Min, Max float64 // SI, inclusive; both zero when any number is accepted
	USValue  string  // the value shown in US units, where its tables count from another zero
	USUnit   string  // the unit offered first in US units, where it is not the first of its dimension
	UsualSI  string  // typed for it on a page in SI units if left empty; a round number where the one of US units is not
	Either   bool    // optional, but one of a few ways to say the same: asked with what is needed
	List     bool    // of amounts: several of them, an array
	Quiet    bool    // a result for programs that draw, not shown to people
	Columns  []Field // of a table: a result that is a list of rows, each with these fields
	About    string
}

// Calculator turns fields into fields.
type Calculator struct {
	Name    string
	Title   string // as a heading; the name in plain letters if not given
	Subject string // the heading it is listed under
	About   string
	Source  string // class and reference, as in package source
	Caution string // what can hurt where its readings are taken; empty if nothing does
	Example string // an input to try, as a JSON object
	Drawn   bool   // package chart can draw its result
	Fields  []Field
	Results []Field

	run func(in Values) (Values, error)
	raw func(doc json.RawMessage) (any, error) // instead of run: a whole document
}

// families lists the calculators under the headings of the pages.
func families() []family {
	return []family{
		{"Refrigerant", slices.Concat(refrigerantCalculators(), refrigerantChartCalculators())},
		{"Air", slices.Concat(airCalculators(), airChartCalculators())},
		{"Water", waterCalculators()},
		{"Fuel", fuelCalculators()},
		{"Electricity", slices.Concat(electricalCalculators(), branchCalculators())},
		{"Troubleshooting", troubleshootingCalculators()},
	}
}

type family struct {
	subject string
	list    []Calculator
}

// Subjects returns the headings under which calculators are listed, in order.
func Subjects() []string {
	var list []string
	for _, f := range families() {
		list = append(list, f.subject)
	}
	return list
}

// registry holds every calculator, by name.
var registry = sync.OnceValue(func() []Calculator {
	var all []Calculator
	for _, f := range families() {
		for _, c := range f.list {
			all = append(all, completed(c, f.subject))
		}
	}
	slices.SortFunc(all, func(a, b Calculator) int { return strings.Compare(a.Name, b.Name) })
	return all
})

// All returns every calculator, by name.
func All() []Calculator { return slices.Clone(registry()) }

// Lookup finds a calculator by name.
func Lookup(name string) (Calculator, bool) {
	all := registry()
	i := slices.IndexFunc(all, func(c Calculator) bool { return c.Name == name })
	if i < 0 {
		return Calculator{}, false
	}
	return all[i], true
}

// Kind says what went wrong, in one word for programs.
type Kind string

// The kinds of error a calculator reports.
const (
	Invalid       Kind = "invalid"
	OutOfRange    Kind = "out-of-range"
	NotFound      Kind = "not-found"
	NoConvergence Kind = "no-convergence"
	Internal      Kind = "internal"
)

// Error names the field at fault, where one is.
type Error struct {
	Kind    Kind   `json:"kind"`
	Field   string `json:"field,omitempty"`
	Message string `json:"message"`

	Range *quantity.RangeError `json:"-"` // the limits, of a kind OutOfRange that has them
}

func (e *Error) Error() string {
	if e.Field == "" {
		return e.Message
	}
	return e.Field + ": " + e.Message
}

// invalid reports a field that cannot be used as given.
func invalid(field, format string, args ...any) *Error {
	return &Error{Kind: Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}

// asError turns any error of a calculator into an *Error.
func asError(err error) *Error {
	var e *Error
	var re *quantity.RangeError
	var unknown *refrigerant.UnknownError
	var composition *refrigerant.CompositionError
	var pair *refrigerant.UnknownPairError
	var twoPhase *refrigerant.TwoPhaseError
	var network *circuit.CaseError
	switch {
	case errors.As(err, &e):
		return e
	case errors.As(err, &re):
		return &Error{Kind: OutOfRange, Field: re.Name, Message: err.Error(), Range: re}
	case errors.As(err, &unknown):
		return &Error{Kind: NotFound, Field: "refrigerant", Message: err.Error()}
	case errors.As(err, &composition) && composition.Unstable:
		return &Error{Kind: OutOfRange, Field: "refrigerant", Message: err.Error()}
	case errors.As(err, &composition):
		return &Error{Kind: Invalid, Field: "refrigerant", Message: err.Error()}
	case errors.As(err, &pair):
		return &Error{Kind: NotFound, Field: "refrigerant", Message: err.Error()}
	case errors.As(err, &twoPhase):
		return &Error{Kind: OutOfRange, Field: "temperature", Message: err.Error()}
	case errors.As(err, &network):
		return &Error{Kind: Invalid, Field: network.Component, Message: err.Error()}
	case isConvergence(err):
		return &Error{Kind: NoConvergence, Message: err.Error()}
	default:
		return &Error{Kind: Internal, Message: err.Error()}
	}
}
