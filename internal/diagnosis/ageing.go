package diagnosis

import (
	"maps"
	"math"
	"slices"

	"rung/internal/fault"
)

const (
	// ReferenceAge is the age in years at which a cause has its weight of the catalogue.
	// practice: the machines that are called for are about ten years old.
	ReferenceAge = 10.0
	// youngest is the age below which no hazard is told apart.
	// practice: what fails in its first year fails by how it was made or fitted.
	youngest = 1.0
	// FarthestFactor bounds what age or season alone may do to a weight, either way.
	// practice: neither is sourced, so neither may decide.
	FarthestFactor = 2.0
)

// HazardRatio returns how much likelier a part fails at an age in years than at
// ReferenceAge, if its hazard is Weibull's of the shape. It is bounded by FarthestFactor
// on purpose, and 1 where either is not a number.
//
// published: NIST/SEMATECH e-Handbook of Statistical Methods, section 8.1.6.2 (Weibull):
// h(t) = (γ/α)(t/α)^(γ−1); the scale α drops out of the ratio.
func HazardRatio(age, shape float64) float64 {
	return bounded(math.Exp((shape - 1) * logAge(age)))
}

func logAge(age float64) float64 { return math.Log(math.Max(age, youngest) / ReferenceAge) }

func bounded(factor float64) float64 {
	if math.IsNaN(factor) {
		return 1
	}
	return math.Min(math.Max(factor, 1/FarthestFactor), FarthestFactor)
}

// Shape is what is known of how a family ages.
type Shape struct {
	Begin, Now float64
	Own        float64 // how much the shop's own closures weigh in it, 0 to 1
	Closures   float64 // of the family, with a known age
}

// shapeSpread is how far a shape of the catalogue may be out.
// practice: half of a shape; 1 and 2 are no farther apart than twice that.
const shapeSpread = 0.5

// Shapes returns the shape of each family after closures counted by family and
// age in whole years. What tells is which families fail together at which age: how many
// machines of an age there are, and how many calls they bring, drops out.
func Shapes(families []fault.Family, closures map[string]map[int]float64) map[string]Shape {
	var t tilt
	for _, f := range families {
		t.begin = append(t.begin, []float64{f.Shape - 1})
	}
	t.spread = shapeSpread
	all := make(map[string]Shape, len(families))
	for c, f := range families {
		s := Shape{Begin: f.Shape}
		for _, age := range slices.Sorted(maps.Keys(closures[f.ID])) {
			n := closures[f.ID][age]
			t.add(c, []float64{logAge(float64(age))}, n)
			s.Closures += n
		}
		t.level = append(t.level, math.Log(math.Max(s.Closures, 1)))
		all[f.ID] = s
	}
	slopes, own := t.fit()
	for c, f := range families {
		s := all[f.ID]
		s.Now, s.Own = 1+slopes[c][0], own[c][0]
		all[f.ID] = s
	}
	return all
}
