package diagnosis

import (
	"maps"
	"math"
	"slices"
	"time"
)

const (
	// seasonFrom is the number of closures below which no season is told.
	// practice: four a month; fewer are the weather of one year.
	seasonFrom = 50.0
	// seasonSpread is the standard deviation of either half of a season's wave.
	// practice: a quarter, so that twice the usual odds are out of the ordinary.
	seasonSpread = 0.25
)

// Season is what a shop's closures tell of the months: a wave over the year for
// each group of causes, in logarithms. The zero value tells nothing.
type Season struct {
	// Closures is on how many it rests.
	Closures float64
	waves    map[string][]float64
	own      map[string]float64
}

// Groups returns the groups of which something is told, by name.
func (s Season) Groups() []string { return slices.Sorted(maps.Keys(s.waves)) }

// Own returns how much the closures weigh in the season of a group, 0 to 1.
func (s Season) Own(group string) float64 { return s.own[group] }

// Seasons returns the season after closures counted by group of causes and
// month; flat until there are enough of them.
func Seasons(closures map[string]map[time.Month]float64) Season {
	var s Season
	var groups []string
	for g, months := range closures {
		groups = append(groups, g)
		for _, n := range months {
			s.Closures += n
		}
	}
	if s.Closures < seasonFrom {
		return s
	}
	slices.Sort(groups)
	t := tilt{spread: seasonSpread}
	for c, g := range groups {
		n := 0.0
		for m := time.January; m <= time.December; m++ {
			t.add(c, wave(m), closures[g][m])
			n += closures[g][m]
		}
		t.begin = append(t.begin, []float64{0, 0})
		t.level = append(t.level, math.Log(math.Max(n, 1)))
	}
	slopes, own := t.fit()
	s.waves, s.own = map[string][]float64{}, map[string]float64{}
	for c, g := range groups {
		s.waves[g], s.own[g] = slopes[c], math.Min(own[c][0], own[c][1])
	}
	return s
}

// wave returns the two halves of a year's wave in a month.
func wave(m time.Month) []float64 {
	sin, cos := math.Sincos(2 * math.Pi * float64(m-1) / 12)
	return []float64{cos, sin}
}

// Factor returns the factor on the weights of a group in a month, bounded by
// FarthestFactor on purpose; 1 where nothing is told.
func (s Season) Factor(group string, m time.Month) float64 {
	slopes := s.waves[group]
	if slopes == nil {
		return 1
	}
	w := wave(m)
	return bounded(math.Exp(slopes[0]*w[0] + slopes[1]*w[1]))
}
