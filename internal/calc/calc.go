package calc

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

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
	About    string
}

// Calculator turns fields into fields.
type Calculator struct {
	Name    string
	About   string
	Source  string // class and reference, as in package source
	Fields  []Field
	Results []Field

	run func(in Values) (Values, error)
	raw func(doc json.RawMessage) (any, error) // instead of run: a whole document
}

// All returns every calculator, by name.
func All() []Calculator {
	all := slices.Concat(refrigerantCalculators(), airCalculators(), electricalCalculators())
	slices.SortFunc(all, func(a, b Calculator) int { return strings.Compare(a.Name, b.Name) })
	return all
}

// Lookup finds a calculator by name.
func Lookup(name string) (Calculator, bool) {
	all := All()
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
	var twoPhase *refrigerant.TwoPhaseError
	var network *circuit.CaseError
	switch {
	case errors.As(err, &e):
		return e
	case errors.As(err, &re):
		return &Error{Kind: OutOfRange, Field: re.Name, Message: err.Error()}
	case errors.As(err, &unknown):
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
