package calc

import (
	"errors"
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Values are fields by name: float64 in SI, string for a word or text, bool,
// []float64 for a list of amounts, []Values for a table, []string for warnings.
type Values map[string]any

// Number returns the SI value of a field; false if it is not there or no number.
func (v Values) Number(name string) (float64, bool) {
	x, ok := v[name].(float64)
	return x, ok
}

// Word returns a word or text; empty if it is not there.
func (v Values) Word(name string) string { return v.word(name) }

// Numbers returns the SI values of a list; nil if it was not given.
func (v Values) Numbers(name string) []float64 {
	list, _ := v[name].([]float64)
	return list
}

// Rows returns the rows of a table.
func (v Values) Rows(name string) []Values {
	rows, _ := v[name].([]Values)
	return rows
}

// Warnings returns what makes a result doubtful, whichever way the calculator
// says it.
func (v Values) Warnings() []string {
	list, _ := v["warnings"].([]string)
	if one := v.word("warning"); one != "" {
		list = append([]string{one}, list...)
	}
	return list
}

// has reports whether the field was given.
func (v Values) has(name string) bool {
	_, ok := v[name]
	return ok
}

// number returns the SI value of a field, or NaN if it was not given.
func (v Values) number(name string) float64 {
	x, ok := v[name].(float64)
	if !ok {
		return math.NaN()
	}
	return x
}

func (v Values) word(name string) string {
	s, _ := v[name].(string)
	return s
}

func (v Values) temperature(name string) quantity.Temperature {
	return quantity.Temperature(v.number(name))
}

func (v Values) pressure(name string) quantity.Pressure {
	return quantity.Pressure(v.number(name))
}

// exactlyOne returns the one field of names that was given.
func (v Values) exactlyOne(names ...string) (string, error) {
	found := ""
	for _, n := range names {
		if !v.has(n) {
			continue
		}
		if found != "" {
			return "", invalid(n, "give only one of %s and %s", found, n)
		}
		found = n
	}
	if found == "" {
		return "", invalid(names[0], "give one of %v", names)
	}
	return found, nil
}

func isConvergence(err error) bool {
	var ce *num.ConvergenceError
	return errors.As(err, &ce)
}

// or returns the SI value of a field, or what is taken if it was not given.
func (v Values) or(name string, otherwise float64) float64 {
	if v.has(name) {
		return v.number(name)
	}
	return otherwise
}
