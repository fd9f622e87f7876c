package plant

import (
	"fmt"
	"strings"

	"rung/internal/quantity"
	"rung/internal/source"
)

// Param is the index of one parameter in Params.
//
// Programs that read data address a parameter by its Path; the index is for
// loops that draw thousands of plants.
type Param int

// Parameter describes one physical parameter that a tolerance or a fault may
// change.
type Parameter struct {
	Path        string             // "run-capacitor/herm-capacitance": stable, never renamed
	Dim         quantity.Dimension // of the value in SI; DimNone for a parameter in words
	Words       []string           // closed list, the healthy word first; nil for a number
	Default     float64            // SI, or index into Words; NaN when it follows from the nameplate
	Min, Max    float64            // sensible range, SI
	Needs       Equipment          // without it the parameter has no meaning
	Meaning     string
	Provenances []source.Source // of default and range
}

// Part returns the part of the path before the slash: "run-capacitor".
func (p *Parameter) Part() string {
	part, _, _ := strings.Cut(p.Path, "/")
	return part
}

// Word returns the index of w in p.Words.
func (p *Parameter) Word(w string) (int, bool) {
	for i, x := range p.Words {
		if x == w {
			return i, true
		}
	}
	return 0, false
}

// Open is the resistance of an open contact, conductor or winding.
//
// practice: large against every meter and load, small enough that the network
// still has a solution at every node.
const Open quantity.Resistance = 1e9

// Params holds the value of every parameter of one plant: SI for numbers, the
// index of the word for words. The zero value is not a plant; start from
// Plant.Healthy. It is a plain value: copy it by assignment.
type Params struct {
	v [numParams]float64
}

// Registry returns the description of every parameter, in order of Param.
// The caller must not change it.
func Registry() []Parameter { return registry }

// Lookup returns the parameter with the given path.
func Lookup(path string) (Param, bool) {
	p, ok := byPath[path]
	return p, ok
}

// Describe returns the description of p.
func (p Param) Describe() *Parameter { return &registry[p] }

// String returns the path of p.
func (p Param) String() string { return registry[p].Path }

// At returns the value of p: SI, or the index of its word.
func (ps *Params) At(p Param) float64 { return ps.v[p] }

// Put sets p to v: SI, or the index of a word. A value outside the sensible
// range of the registry is refused with a *quantity.RangeError.
func (ps *Params) Put(p Param, v float64) error {
	d := &registry[p]
	if d.Words != nil && v != float64(int(v)) {
		return fmt.Errorf("set %s: %g is not the index of a word", d.Path, v)
	}
	if err := quantity.CheckRange("plant.Params.Put", d.Path, v, d.Min, d.Max, unitName(d)); err != nil {
		return err
	}
	ps.v[p] = v
	return nil
}

// PutWord sets a parameter in words.
func (ps *Params) PutWord(p Param, word string) error {
	d := &registry[p]
	i, ok := d.Word(word)
	if !ok {
		return fmt.Errorf("set %s: %q is none of %s", d.Path, word, strings.Join(d.Words, ", "))
	}
	ps.v[p] = float64(i)
	return nil
}

// Scale multiplies a numeric parameter by factor; the result must lie in the
// sensible range.
func (ps *Params) Scale(p Param, factor float64) error {
	if registry[p].Words != nil {
		return fmt.Errorf("scale %s: it is a word, not a number", registry[p].Path)
	}
	return ps.Put(p, ps.v[p]*factor)
}

// Word returns the word of a parameter in words.
func (ps *Params) Word(p Param) string { return registry[p].Words[int(ps.v[p])] }

func unitName(d *Parameter) string {
	if d.Words != nil {
		return "(word)"
	}
	return "SI " + string(d.Dim)
}
