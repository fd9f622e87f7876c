package calc

import (
	"errors"
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Values are fields by name: float64 in SI, string for a word or text, bool.
type Values map[string]any

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
