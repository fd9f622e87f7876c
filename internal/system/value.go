package system

import (
	"fmt"
	"strconv"
	"strings"
)

// Value is a number that the heat side of a description is made with: what the
// system is rated for, what a hand has set or dirt has changed, and what
// follows from these by a formula.
type Value struct {
	Name, Unit string
	Number     float64  // if it is given
	Formula    string   // how it follows; empty if it is given
	Args       []string // values before it, or numbers
}

// value reads "NAME X UNIT" or "NAME FORMULA(ARG,ARG) UNIT".
func (r *reader) value(words []string) error {
	if len(words) != 3 {
		return fmt.Errorf("value wants a name, a number or formula, and a unit")
	}
	v := Value{Name: words[0], Unit: words[2]}
	for _, w := range r.d.Values {
		if w.Name == v.Name {
			return fmt.Errorf("value %s twice", v.Name)
		}
	}
	if err := v.is(words[1]); err != nil {
		return err
	}
	r.d.Values = append(r.d.Values, v)
	return nil
}

// is sets what the value is: a number, or a formula with its arguments.
func (v *Value) is(text string) error {
	v.Formula, v.Args = "", nil
	name, args, ok := strings.Cut(text, "(")
	if !ok {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return fmt.Errorf("value %s: %s is not a number", v.Name, text)
		}
		v.Number = x
		return nil
	}
	args, closed := strings.CutSuffix(args, ")")
	if _, known := formulas[name]; !known || !closed {
		return fmt.Errorf("value %s: no formula %s", v.Name, text)
	}
	v.Formula, v.Args = name, list(args)
	return nil
}

// Number returns a value that is given, and not worked out, in its unit.
func (d *Description) Number(name string) (float64, bool) {
	for _, v := range d.Values {
		if v.Name == name {
			return v.Number, v.Formula == ""
		}
	}
	return 0, false
}

// figures works out every value, in order.
func (d *Description) figures() (map[string]float64, error) {
	known := make(map[string]float64, len(d.Values))
	for _, v := range d.Values {
		if v.Formula == "" {
			known[v.Name] = v.Number
			continue
		}
		args := make([]float64, len(v.Args))
		for i, a := range v.Args {
			x, err := figure(known, a)
			if err != nil {
				return nil, fmt.Errorf("value %s: %w", v.Name, err)
			}
			args[i] = x
		}
		f := formulas[v.Formula]
		if f.args >= 0 && len(args) != f.args {
			return nil, fmt.Errorf("value %s: %s wants %d arguments, have %d", v.Name, v.Formula, f.args, len(args))
		}
		x, err := f.of(args)
		if err != nil {
			return nil, fmt.Errorf("value %s: %w", v.Name, err)
		}
		known[v.Name] = x
	}
	return known, nil
}

// figure reads a number, or the name of a value that is known.
func figure(known map[string]float64, text string) (float64, error) {
	if x, ok := known[text]; ok {
		return x, nil
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, fmt.Errorf("no value %s before it", text)
	}
	return x, nil
}

// settle puts the figures into the quantities that are driven by them.
func (d *Description) settle(known map[string]float64) error {
	for i := range d.Quantities {
		q := &d.Quantities[i]
		if q.RestOf != "" {
			x, err := figure(known, q.RestOf)
			if err != nil {
				return fmt.Errorf("quantity %s: %w", q.Name, err)
			}
			q.Rest = x
		}
		adds := append([]Add(nil), q.Adds...)
		for k := range adds {
			if adds[k].Of == "" {
				continue
			}
			x, err := figure(known, adds[k].Of)
			if err != nil {
				return fmt.Errorf("quantity %s: %w", q.Name, err)
			}
			adds[k].Value *= x
		}
		q.Adds = adds
	}
	return nil
}
