package fault

import (
	"fmt"
	"strconv"
	"strings"

	"rung/internal/plant"
)

func addEffect(f *Fault, s string) error {
	e, err := parseEffect(s)
	if err == nil {
		f.Effects = append(f.Effects, e)
	}
	return err
}

// parseEffect reads "part/parameter op value", the value being a number, a
// word of the parameter, or a law with its numbers or words, and then
// possibly "over from to".
func parseEffect(s string) (Effect, error) {
	words := strings.Fields(s)
	e := Effect{To: 1}
	if n := len(words); n > 3 && words[n-3] == "over" {
		var err error
		if e.From, e.To, err = parseOver(words[n-2], words[n-1]); err != nil {
			return e, err
		}
		words = words[:n-3]
	}
	if len(words) < 3 {
		return e, fmt.Errorf("%q: want parameter, operation and value", s)
	}
	p, known := plant.Lookup(words[0])
	if !known {
		return e, fmt.Errorf("no parameter %q", words[0])
	}
	e.Param, e.Op = p, Op(words[1])
	if e.Op != Set && e.Op != Scale && e.Op != Add {
		return e, fmt.Errorf("unknown operation %q", words[1])
	}
	if e.Op != Set && p.Describe().Words != nil {
		return e, fmt.Errorf("%s is a word and can only be set", words[0])
	}
	var err error
	e.Value, err = parseDistribution(p, words[2:])
	return e, err
}

func parseOver(from, to string) (float64, float64, error) {
	a, errA := strconv.ParseFloat(from, 64)
	b, errB := strconv.ParseFloat(to, 64)
	if errA != nil || errB != nil || !(0 <= a && a < b && b <= 1) {
		return 0, 0, fmt.Errorf("over %s %s: want two numbers rising from 0 to 1", from, to)
	}
	return a, b, nil
}

func parseDistribution(p plant.Param, words []string) (Distribution, error) {
	law := Law(words[0])
	switch law {
	case Uniform, LogUniform, LogNormal, Choice:
		words = words[1:]
	default:
		law = Constant
	}
	values := make([]float64, len(words))
	for i, w := range words {
		v, err := parseValue(p, w)
		if err != nil {
			return Distribution{}, err
		}
		values[i] = v
	}
	switch {
	case law == Choice && len(values) >= 2:
		return Distribution{Law: law, Choices: values}, nil
	case law == Constant && len(values) == 1:
		return Distribution{Law: law, A: values[0], B: values[0]}, nil
	case law == Choice || law == Constant || len(values) != 2 || p.Describe().Words != nil:
		return Distribution{}, fmt.Errorf("%s does not go with %d values here", law, len(values))
	case law != Uniform && !(values[0] > 0 && values[1] > 0):
		return Distribution{}, fmt.Errorf("%s needs two numbers above 0", law)
	}
	return Distribution{Law: law, A: values[0], B: values[1]}, nil
}

// parseValue reads a number, or the index of a word of p.
func parseValue(p plant.Param, s string) (float64, error) {
	if d := p.Describe(); d.Words != nil {
		i, known := d.Word(s)
		if !known {
			return 0, fmt.Errorf("%q is none of %s", s, strings.Join(d.Words, ", "))
		}
		return float64(i), nil
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || v != v || v-v != 0 {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	return v, nil
}
