package plant

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"

	"rung/internal/quantity"
	"rung/internal/source"
)

//go:embed data/parameters.txt
var parametersText string

// numParams is the number of lines in data/parameters.txt; a test of the
// package initialisation compares the two.
const numParams = 134

var registry, byPath = mustRegistry(parametersText)

func mustRegistry(text string) ([]Parameter, map[string]Param) {
	list, err := parseParameters(text)
	if err != nil {
		panic("plant: " + err.Error())
	}
	if len(list) != numParams {
		panic(fmt.Sprintf("plant: data/parameters.txt has %d parameters, numParams is %d", len(list), numParams))
	}
	index := make(map[string]Param, len(list))
	for i := range list {
		if _, twice := index[list[i].Path]; twice {
			panic("plant: parameter listed twice: " + list[i].Path)
		}
		index[list[i].Path] = Param(i)
	}
	return list, index
}

// MustParam returns the parameter with the given path and panics without one.
// It is meant for package variables.
func MustParam(path string) Param {
	p, ok := Lookup(path)
	if !ok {
		panic("plant: no parameter " + path)
	}
	return p
}

func parseParameters(text string) ([]Parameter, error) {
	var list []Parameter
	for i, line := range strings.Split(text, "\n") {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		p, err := parseParameter(line)
		if err != nil {
			return nil, fmt.Errorf("parameters.txt:%d: %w", i+1, err)
		}
		list = append(list, p)
	}
	return list, nil
}

func parseParameter(line string) (Parameter, error) {
	f := strings.Split(line, "|")
	if len(f) != 8 {
		return Parameter{}, fmt.Errorf("%d columns, want 8", len(f))
	}
	for i := range f {
		f[i] = strings.TrimSpace(f[i])
	}
	p := Parameter{Path: f[0], Needs: Equipment(f[5]), Meaning: f[6]}
	if !knownEquipment[p.Needs] {
		return p, fmt.Errorf("unknown equipment %q", f[5])
	}
	for _, s := range strings.Split(f[7], ";") {
		src, err := source.Parse(strings.TrimSpace(s))
		if err != nil {
			return p, err
		}
		p.Provenances = append(p.Provenances, src)
	}
	if words, ok := strings.CutPrefix(f[1], "words:"); ok {
		p.Words = strings.Fields(words)
		return p, p.parseWordDefault(f[2])
	}
	if f[1] != "none" {
		p.Dim = quantity.Dimension(f[1])
	}
	return p, p.parseNumbers(f[2], f[3], f[4])
}

func (p *Parameter) parseWordDefault(s string) error {
	p.Max = float64(len(p.Words) - 1)
	if s == "plate" {
		p.Default = math.NaN()
		return nil
	}
	i, ok := p.Word(s)
	if !ok {
		return fmt.Errorf("default %q is none of the words", s)
	}
	p.Default = float64(i)
	return nil
}

func (p *Parameter) parseNumbers(def, min, max string) error {
	var err error
	if p.Min, err = strconv.ParseFloat(min, 64); err != nil {
		return err
	}
	if p.Max, err = strconv.ParseFloat(max, 64); err != nil {
		return err
	}
	if def == "plate" {
		p.Default = math.NaN()
		return nil
	}
	if p.Default, err = strconv.ParseFloat(def, 64); err != nil {
		return err
	}
	return quantity.CheckRange("parameters.txt", "default of "+p.Path, p.Default, p.Min, p.Max, string(p.Dim))
}
