package diagnosis

import (
	"math"
	"slices"
)

// entry is a row that is still worth counting when checks are compared.
type entry struct {
	row    int
	p      float64 // renormalised over the entries
	class  int     // len(Engine.classes) for an unlisted cause
	acting int     // hypothesis acting now
	sub    int     // of an unlisted cause, else −1
	mimic  bool
	weighted
}

// leastEntry is the probability under which a row is left out of the
// comparison of checks. It stays in the posterior.
const leastEntry = 1e-4

// entriesOf returns the rows worth counting.
func (e *Engine) entriesOf(b *belief) []entry {
	var out []entry
	total := 0.0
	for i := range b.rows {
		if b.p[i] < leastEntry {
			continue
		}
		r := &b.rows[i]
		en := entry{row: i, p: b.p[i], acting: r.now(), sub: -1, weighted: heaviest(b.weights(i), e.compared(b.p[i]))}
		en.class = e.hyps[en.acting].class
		if r.hyp < 0 {
			en.class, en.sub, en.mimic = len(e.classes), r.sub, r.mimic
		}
		total += en.p
		out = append(out, en)
	}
	for i := range out {
		out[i].p /= total
	}
	return out
}

// compared returns from how many particles a row of probability p is compared:
// what is unlikely counts for little whatever it shows.
// practice: more changed no order of checks on simulated calls.
func (e *Engine) compared(p float64) int {
	switch {
	case p >= 0.02:
		return e.set.FewParticles
	case p >= 0.003:
		return e.set.RareParticles
	}
	return (e.set.RareParticles + 1) / 2
}

// cells divides what a point may show: words, or intervals of values between
// edges; the last cell is "not readable".
type cells struct {
	point int
	edges []float64 // rising; interval j lies between edges[j−1] and edges[j]
	n     int       // number of cells, "not readable" included
	// mass[entry] is the probability of each cell under each entry;
	// part[entry][particle*n+cell] the same by particle, nil if not asked for.
	mass [][]float64
	part [][]float64
}

// cellsFor divides a point into at most most intervals and computes the masses.
func (s *selection) cellsFor(point, most int) *cells {
	some := make([]weighted, len(s.entries))
	for i := range s.entries {
		some[i] = s.entries[i].weighted
	}
	return s.cellsOf(point, most, some, true)
}

// cellsOf is cellsFor from some particles of each entry; with the masses by
// particle only if asked for.
func (s *selection) cellsOf(point, most int, some []weighted, parts bool) *cells {
	p := &s.e.points[point]
	c := &cells{point: point}
	shown, size := s.shownAt(point, some)
	if len(p.Words) > 0 {
		c.n = len(p.Words) + 1
	} else {
		c.edges = s.edgesOf(p, shown, some, most)
		c.n = len(c.edges) + 2
	}
	broad := c.broadMass(p)
	masses := make([]float64, len(s.entries)*c.n)
	c.mass = make([][]float64, len(s.entries))
	var all, part []float64
	if parts {
		c.part, all = make([][]float64, len(s.entries)), make([]float64, size*c.n)
	} else {
		part = make([]float64, c.n)
	}
	s.sound.begin(s.e.set.ManyParticles, c.n)
	for i := range s.entries {
		c.mass[i] = masses[i*c.n : (i+1)*c.n]
		if parts {
			c.part[i], all = all[:len(shown[i])*c.n], all[len(shown[i])*c.n:]
		}
		for n, x := range shown[i] {
			if parts {
				part = c.part[i][n*c.n : (n+1)*c.n]
			}
			s.massOf(c, p, i, x, s.soundAt(c, p, some[i].n[n], x.sound, broad), broad, part)
			s.mixBefore(c, p, i, some[i].n[n], broad, part)
			for o, m := range part {
				c.mass[i][o] += some[i].w[n] * m
			}
		}
	}
	s.mixUnlisted(c, p, broad)
	return c
}

// soundMasses holds the masses of a sound system by particle: most causes leave most
// points as they are.
type soundMasses struct {
	n     int // of cells
	known []bool
	of    []float64 // [particle*n+cell]
}

// begin makes it ready for a point.
func (m *soundMasses) begin(particles, n int) {
	m.n = n
	m.known = slices.Grow(m.known[:0], particles)[:particles]
	clear(m.known)
	m.of = slices.Grow(m.of[:0], particles*n)[:particles*n]
}

// soundAt returns the masses of a particle in which a sound system shows y.
func (s *selection) soundAt(c *cells, p *Point, particle int, y float64, broad []float64) []float64 {
	m := &s.sound
	of := m.of[particle*m.n : (particle+1)*m.n]
	if !m.known[particle] {
		m.known[particle] = true
		s.massAt(c, p, y, 0, broad, of)
	}
	return of
}

// mixBefore blends the masses of what the repairs since it was read do not change
// with those of what was read then, unless that was wrong.
func (s *selection) mixBefore(c *cells, p *Point, entry, particle int, broad, part []float64) {
	j, read := s.before[c.point]
	if !read {
		return
	}
	w, r := s.in.ev[j], &s.rows[s.entries[entry].row]
	if r.hyp >= 0 && !s.e.staysAs(c.point, r.acting[w.epoch], r.now(), particle) {
		return
	}
	y, spread := math.NaN(), 0.0
	switch w.outcome.Kind {
	case IsWord:
		y = float64(w.outcome.Word)
	case IsValue:
		y, spread = w.outcome.Value, s.in.e.sigma(p, w.outcome.Value)
	}
	again := slices.Grow(s.missing[:0], c.n)[:c.n]
	s.missing = again
	s.massAt(c, p, y, spread, broad, again)
	stray := s.in.wrongShare(j, r, particle)
	for o := range part {
		part[o] = (1-stray)*again[o] + stray*part[o]
	}
}

// shownAt returns what a point shows in some particles of each entry, and how many they are.
func (s *selection) shownAt(point int, some []weighted) (shown [][]showing, size int) {
	for i := range some {
		size += len(some[i].w)
	}
	s.shown = slices.Grow(s.shown[:0], size)
	shown = make([][]showing, len(some))
	for i := range some {
		from := len(s.shown)
		for _, n := range some[i].n {
			s.shown = append(s.shown, s.e.shows(point, s.entries[i].acting, n))
		}
		shown[i] = s.shown[from:]
	}
	return shown, size
}

// massOf writes to part the probability of each cell for what is shown under an
// entry; sound holds those of a sound system, which it is while its fault rests, too.
func (s *selection) massOf(c *cells, p *Point, entry int, x showing, sound, broad, part []float64) {
	if !x.affected() {
		copy(part, sound)
		return
	}
	s.massAt(c, p, x.y, s.e.effectSigma(p, x), broad, part)
	_, m := s.e.effectOn(p)
	if acting := s.entries[entry].acting; s.e.comesAndGoes(acting) {
		m = 1 - s.e.hyps[acting].Duty*(1-m)
	}
	for o := range part {
		part[o] = (1-m)*part[o] + m*sound[o]
	}
}

// massAt is massOf where the point certainly shows y, give or take spread (sd).
func (s *selection) massAt(c *cells, p *Point, y, spread float64, broad, part []float64) {
	eps := s.e.epsilon(p, s.c.Person)
	last := c.n - 1
	if math.IsNaN(y) {
		for o := range part {
			part[o] = eps * broad[o]
		}
		part[last] = 1 - eps
		return
	}
	stray := broad
	if len(p.Words) > 0 {
		stray = s.e.strays[c.point][int(y)]
	}
	for o := range last {
		part[o] = (1 - eps) * eps * stray[o]
	}
	part[last] = eps
	keep := (1 - eps) * (1 - eps)
	if len(p.Words) > 0 {
		part[int(y)] += keep
		return
	}
	sigma := math.Hypot(s.e.sigma(p, y), spread)
	below := 0.0
	for j, edge := range c.edges {
		z := (edge - y) / sigma
		if z < -5 { // less than 3e-7 lies further out
			continue
		}
		upTo := 1.0
		if z < 5 {
			upTo = quickCDF(z)
		}
		part[j] += keep * (upTo - below)
		if below = upTo; z >= 5 {
			return
		}
	}
	part[len(c.edges)] += keep * (1 - below)
}

// cdfTable holds normalCDF from −5 to 5 in steps of 1/128: interpolated between
// them it is right to 2e-6, the second derivative being at most 0.242.
var cdfTable = func() (t [1281]float64) {
	for i := range t {
		t[i] = normalCDF(float64(i)/128 - 5)
	}
	return t
}()

// quickCDF returns normalCDF for −5 ≤ z < 5 by interpolation.
func quickCDF(z float64) float64 {
	x := (z + 5) * 128
	i := int(x)
	return cdfTable[i] + (x-float64(i))*(cdfTable[i+1]-cdfTable[i])
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// broadMass returns the probability of each cell under the broad density.
func (c *cells) broadMass(p *Point) []float64 {
	out := make([]float64, c.n)
	if len(p.Words) > 0 {
		for o := range len(p.Words) {
			out[o] = 1 / float64(len(p.Words))
		}
		return out
	}
	from := p.Meter.Low
	for j, edge := range append(c.edges[:len(c.edges):len(c.edges)], p.Meter.High) {
		to := math.Min(math.Max(edge, p.Meter.Low), p.Meter.High)
		out[j] = math.Max(0, to-from) / (p.Meter.High - p.Meter.Low)
		from = math.Max(from, to)
	}
	return out
}

// mixUnlisted turns the masses of the unlisted causes, so far those of a
// healthy system, into the mix of an unlisted cause.
func (s *selection) mixUnlisted(c *cells, p *Point, broad []float64) {
	if _, read := s.before[c.point]; read { // no repair touched it
		return
	}
	pooled := make([][]float64, len(s.e.subs))
	for i, en := range s.entries {
		if en.sub < 0 || en.mimic {
			continue
		}
		if pooled[en.sub] == nil {
			pooled[en.sub] = s.pooledMass(c, en.sub, broad)
		}
		mix := mixFor(p.Subsystem, s.e.subs[en.sub].ID)
		rest := make([]float64, c.n)
		for o := range rest {
			rest[o] = mix.pooled*pooled[en.sub][o] + mix.broad*broad[o]
			c.mass[i][o] = mix.healthy*c.mass[i][o] + rest[o]
		}
		if c.part == nil {
			continue
		}
		for j, m := range c.part[i] {
			c.part[i][j] = mix.healthy*m + rest[j%c.n]
		}
	}
}

// pooledMass returns the mean mass over the entries of a subsystem.
func (s *selection) pooledMass(c *cells, sub int, broad []float64) []float64 {
	out := make([]float64, c.n)
	total := 0.0
	for i, en := range s.entries {
		if en.sub >= 0 || s.e.hyps[en.acting].sub != sub {
			continue
		}
		total += en.p
		for o, m := range c.mass[i] {
			out[o] += en.p * m
		}
	}
	if total == 0 {
		return broad
	}
	for o := range out {
		out[o] /= total
	}
	return out
}

// sample is a predicted value with its weight for placing edges.
type sample struct{ y, weight float64 }

// before orders samples; none is NaN.
func (a sample) before(b sample) int {
	switch {
	case a.y < b.y:
		return -1
	case a.y > b.y:
		return 1
	case a.weight < b.weight:
		return -1
	case a.weight > b.weight:
		return 1
	}
	return 0
}

// edgesOf places up to most−1 edges where predictions part: each step between
// neighbouring predictions counts by its weight and by its width in kernels, and
// the edges divide this measure evenly.
func (s *selection) edgesOf(p *Point, shown [][]showing, some []weighted, most int) []float64 {
	all := s.samplesOf(shown, some)
	if len(all) < 2 {
		return nil
	}
	steps := make([]float64, len(all)-1) // the measure of each step
	weight, width := 0.0, 0.0
	for j := range steps {
		width += gapOf(s.e, p, all[j].y, all[j+1].y)
		weight += all[j].weight
	}
	if width == 0 {
		return nil
	}
	total := 0.0
	for j := range steps {
		steps[j] = all[j].weight/weight + gapOf(s.e, p, all[j].y, all[j+1].y)/width
		total += steps[j]
	}
	return cut(all, steps, total, most)
}

// gapOf returns the distance of two predictions in kernels, at most 4: wider
// ones are told apart anyway.
func gapOf(e *Engine, p *Point, a, b float64) float64 {
	return math.Min((b-a)/e.sigma(p, b), 4)
}

// cut returns the edges that divide the measure of the steps into most equal
// parts, without edges between equal predictions.
func cut(all []sample, steps []float64, total float64, most int) []float64 {
	var edges []float64
	sum, next := 0.0, total/float64(most)
	for j, step := range steps {
		sum += step
		if sum < next || all[j].y == all[j+1].y {
			continue
		}
		edges = append(edges, (all[j].y+all[j+1].y)/2)
		for next <= sum {
			next += total / float64(most)
		}
		if len(edges) == most-1 {
			break
		}
	}
	return edges
}

// particlesForEdges is how many particles of each hypothesis place the edges
// when many hypotheses stand: practice: enough to see the spread.
const particlesForEdges = 4

// samplesOf returns predictions of all entries in rising order, those of a sound
// system once for each particle. The weight of an entry is the root of its
// probability, so that the rare ones get edges too.
func (s *selection) samplesOf(shown [][]showing, some []weighted) []sample {
	s.soundSamples = slices.Grow(s.soundSamples[:0], s.e.set.ManyParticles)[:s.e.set.ManyParticles]
	sound, all := s.soundSamples, s.samples[:0]
	clear(sound)
	for i, en := range s.entries {
		n := len(shown[i])
		if len(s.entries) > 20 {
			n = min(n, particlesForEdges)
		}
		weight := math.Sqrt(en.p) / float64(n)
		for k, x := range shown[i][:n] {
			switch {
			case math.IsNaN(x.y):
			case x.affected():
				all = append(all, sample{x.y, weight})
			default:
				one := &sound[some[i].n[k]]
				one.y, one.weight = x.y, one.weight+weight
			}
		}
	}
	for _, one := range sound {
		if one.weight > 0 {
			all = append(all, one)
		}
	}
	slices.SortFunc(all, sample.before)
	s.samples = all
	return all
}
