package calc

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"rung/internal/quantity"
)

// tube is a size of copper tube for refrigerant lines.
type tube struct {
	name            string  // outside diameter in inches as the trade writes it, "3/8"
	outside, inside float64 // m
}

func (t tube) area() float64 { return math.Pi / 4 * t.inside * t.inside }

//go:embed data/tubes.txt
var tubeFile string

// tubes lists the sizes of the table, small to large.
var tubes = sync.OnceValue(func() []tube {
	var list []tube
	for i, line := range strings.Split(tubeFile, "\n") {
		words := strings.Fields(line)
		if len(words) == 0 || words[0][0] == '#' {
			continue
		}
		t, err := readTube(words)
		if err != nil {
			panic(fmt.Sprintf("calc: data/tubes.txt:%d: %v", i+1, err))
		}
		list = append(list, t)
	}
	return list
})

func readTube(words []string) (tube, error) {
	if len(words) != 3 {
		return tube{}, fmt.Errorf("%d words, want 3", len(words))
	}
	outside, err := strconv.ParseFloat(words[1], 64)
	if err != nil {
		return tube{}, err
	}
	inside, err := strconv.ParseFloat(words[2], 64)
	if err != nil {
		return tube{}, err
	}
	return tube{words[0], inches(outside), inches(inside)}, nil
}

func inches(x float64) float64 { return mustSI(x, quantity.DimLength, "in.") }

// tubeSizes are the names of the sizes.
func tubeSizes() []string {
	var names []string
	for _, t := range tubes() {
		names = append(names, t.name)
	}
	return names
}

func tubeField(name, about string) Field {
	return Field{Name: name, Words: tubeSizes(), About: about + ", outside diameter in inches"}
}

// tubeOf returns the size in the named field.
func tubeOf(in Values, name string) (tube, error) {
	i := slices.IndexFunc(tubes(), func(t tube) bool { return t.name == in.word(name) })
	if i < 0 {
		return tube{}, invalid(name, "%q is none of %s in.", in.word(name), strings.Join(tubeSizes(), ", "))
	}
	return tubes()[i], nil
}

// insideField overrides the table.
var insideField = Field{Name: "inside_diameter", Dim: quantity.DimLength, USUnit: "in.", Optional: true, Min: 0.002, Max: 0.1,
	About: "if known better than by the table of copper tube"}

// pipeOf returns the tube in the named field, or one of the inside diameter
// given.
func pipeOf(in Values, name string) (tube, error) {
	if !in.has(name) && !in.has("inside_diameter") {
		return tube{}, invalid(name, "missing: the size, or the inside diameter")
	}
	var t tube
	if in.has(name) {
		var err error
		if t, err = tubeOf(in, name); err != nil {
			return tube{}, err
		}
	}
	t.inside = in.or("inside_diameter", t.inside)
	return t, nil
}
