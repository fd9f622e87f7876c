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

// Shape is how a nuisance spreads round the healthy value.
type Shape string

// The shapes.
const (
	ScaleShape Shape = "scale" // lognormal about a multiple of the healthy value
	AddShape   Shape = "add"   // normal about the healthy value plus a shift
	IndexShape Shape = "index" // every whole number of the parameter's range, equally likely
)

// Nuisance is the spread of one parameter among sound systems. It has nothing
// to do with meters.
type Nuisance struct {
	Param          Param
	Shape          Shape
	Median, Spread float64 // SI for AddShape, ratios for ScaleShape
	Source         source.Source
}

//go:embed data/nuisances.txt
var nuisancesText string

var nuisances = mustNuisances(nuisancesText)

// Nuisances returns the list of spreads. The caller must not change it.
func Nuisances() []Nuisance { return nuisances }

// farthest is where the distributions are cut, in standard deviations.
// practice: a part farther out would be called faulty.
const farthest = 2.5

// Draw moves its parameter in ps, which holds the healthy value, to the
// quantile u of its distribution, 0 < u < 1. The result is kept inside the
// sensible range of the parameter, which only the far tails can reach.
func (n *Nuisance) Draw(ps *Params, u float64) error {
	if err := quantity.CheckRange("plant.Nuisance.Draw", "quantile", u, 0, 1, ""); err != nil {
		return err
	}
	d := n.Param.Describe()
	var v float64
	switch n.Shape {
	case IndexShape:
		v = math.Floor(d.Min + u*(d.Max-d.Min+1))
	case AddShape:
		v = ps.v[n.Param] + n.Median + n.Spread*normalQuantile(u)
	case ScaleShape:
		v = ps.v[n.Param] * n.Median * math.Exp(n.Spread*normalQuantile(u))
	}
	return ps.Put(n.Param, math.Min(math.Max(v, d.Min), d.Max))
}

// normalQuantile returns the standard normal quantile of u, cut at farthest.
func normalQuantile(u float64) float64 {
	z := math.Sqrt2 * math.Erfinv(2*u-1)
	return math.Min(math.Max(z, -farthest), farthest)
}

func mustNuisances(text string) []Nuisance {
	var list []Nuisance
	for i, line := range strings.Split(text, "\n") {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		n, err := parseNuisance(line)
		if err != nil {
			panic(fmt.Sprintf("plant: nuisances.txt:%d: %v", i+1, err))
		}
		list = append(list, n)
	}
	return list
}

func parseNuisance(line string) (Nuisance, error) {
	f := strings.Split(line, "|")
	if len(f) != 5 {
		return Nuisance{}, fmt.Errorf("%d columns, want 5", len(f))
	}
	for i := range f {
		f[i] = strings.TrimSpace(f[i])
	}
	p, ok := Lookup(f[0])
	if !ok {
		return Nuisance{}, fmt.Errorf("no parameter %q", f[0])
	}
	n := Nuisance{Param: p, Shape: Shape(f[1])}
	if n.Shape != ScaleShape && n.Shape != AddShape && n.Shape != IndexShape {
		return n, fmt.Errorf("unknown shape %q", f[1])
	}
	var err error
	if n.Median, err = strconv.ParseFloat(f[2], 64); err != nil {
		return n, err
	}
	if n.Spread, err = strconv.ParseFloat(f[3], 64); err != nil {
		return n, err
	}
	n.Source, err = source.Parse(f[4])
	return n, err
}
