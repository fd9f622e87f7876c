package diagnosis

import "math"

// Sizes of the sampled information: practice: a millisecond for one purchase.
const (
	sampledEntries   = 30 // the likeliest
	sampledParticles = 12 // of each, the heaviest
	sampledTruths    = 24
)

// sampler estimates what several points say together. Cells cannot hold the
// difference of two readings, such as a superheat; here readings are drawn
// and each is held against every particle.
type sampler struct {
	s       *selection
	entries []int      // indices of entries, the likeliest first
	some    []weighted // particles of each
	p       []float64  // their probabilities, adding up to 1
	entropy float64    // of the class under p, nat
	tables  map[int][]float64
}

func (s *selection) newSampler() *sampler {
	m := &sampler{s: s, tables: map[int][]float64{}}
	order := make([]int, len(s.entries))
	for i := range order {
		order[i] = i
	}
	sortBy(order, func(i int) float64 { return -s.entries[i].p })
	m.entries = order[:min(sampledEntries, len(order))]
	total := 0.0
	for _, i := range m.entries {
		total += s.entries[i].p
	}
	class := make([]float64, len(s.classP))
	for _, i := range m.entries {
		m.some = append(m.some, s.entries[i].lightened(sampledParticles))
		m.p = append(m.p, s.entries[i].p/total)
		class[s.entries[i].class] += s.entries[i].p / total
	}
	for _, p := range class {
		m.entropy -= xlogx(p)
	}
	return m
}

// truth returns the entry and its particle of sample t: both in proportion to
// their probabilities.
func (m *sampler) truth(t int) (entry, particle int) {
	entry = pick(m.p, (float64(t)+0.5)/sampledTruths)
	return entry, pick(m.some[entry].w, kronecker(0.5, math.Phi, t))
}

// pick returns the index at which the weights, which add up to 1, reach u.
func pick(w []float64, u float64) int {
	for i, x := range w {
		if u -= x; u < 0 {
			return i
		}
	}
	return len(w) - 1
}

// table returns the likelihoods of what a point would show in each sample:
// [sample][entry][particle], sampledParticles places for each entry.
func (m *sampler) table(point int) []float64 {
	if known, done := m.tables[point]; done {
		return known
	}
	ys := make([][]showing, len(m.entries))
	for j, i := range m.entries {
		for _, n := range m.some[j].n {
			ys[j] = append(ys[j], m.s.e.shows(point, m.s.entries[i].acting, n))
		}
	}
	sound := make([]float64, m.s.e.set.ManyParticles) // likelihood in a sound system, by particle
	out := make([]float64, sampledTruths*len(m.entries)*sampledParticles)
	noise, gone := math.Sqrt(prime(point)), math.Sqrt(prime(len(m.s.e.points)+point))
	for t := range sampledTruths {
		j, n := m.truth(t)
		// Errors from even sequences, two for each point.
		v := m.drawn(point, ys[j][n], kronecker(0.5, noise, t), kronecker(0.5, gone, t))
		clear(sound)
		for i := range m.entries {
			at := out[(t*len(m.entries)+i)*sampledParticles:]
			for q, x := range ys[i] {
				of := &sound[m.some[i].n[q]]
				if *of == 0 {
					*of = m.s.e.likelihoodAt(v, x.sound)
				}
				at[q] = m.likelihood(&m.s.entries[m.entries[i]], v, x, *of)
			}
		}
	}
	m.tables[point] = out
	return out
}

// drawn returns a reading of what a point shows, with errors at the quantiles noise
// of the meter and gone of what does not come about.
func (m *sampler) drawn(point int, x showing, noise, gone float64) evidence {
	e := m.s.e
	p := &e.points[point]
	y := x.y
	if _, missing := e.effectOn(p); gone < missing {
		y = x.sound
	}
	v := evidence{point: point, eps: e.epsilon(p, m.s.c.Person), widen: 1}
	switch {
	case math.IsNaN(y):
		v.outcome = NotReadable()
	case len(p.Words) > 0:
		v.outcome = Word(int(y))
	default:
		v.outcome = Value(y + e.sigma(p, y)/e.set.KernelScale*math.Sqrt2*math.Erfinv(2*clampUnit(noise)-1))
	}
	return v
}

// information estimates the information in nats about the repair class in
// reading all points together.
func (m *sampler) information(points []int) float64 {
	tables := make([][]float64, len(points))
	for k, p := range points {
		tables[k] = m.table(p)
	}
	after := 0.0
	post := make([]float64, len(m.s.classP))
	for t := range sampledTruths {
		m.posterior(post, tables, t)
		for _, p := range post {
			after -= xlogx(p) / sampledTruths
		}
	}
	return math.Max(0, m.entropy-after)
}

// posterior writes the probability of each class in sample t.
func (m *sampler) posterior(post []float64, tables [][]float64, t int) {
	clear(post)
	total := 0.0
	for i := range m.entries {
		en := &m.s.entries[m.entries[i]]
		from := (t*len(m.entries) + i) * sampledParticles
		like := 0.0
		for q, l := range m.some[i].w {
			for _, table := range tables {
				l *= table[from+q]
			}
			like += l
		}
		post[en.class] += m.p[i] * like
		total += m.p[i] * like
	}
	if total == 0 { // no particle kept has weight: nothing learnt
		return
	}
	for c := range post {
		post[c] /= total
	}
}

// likelihood is that of the engine, with the broad share of an unlisted cause; sound
// is that in a sound system.
func (m *sampler) likelihood(en *entry, v evidence, x showing, sound float64) float64 {
	l := sound
	if x.affected() {
		l = m.s.e.likelihoodBeside(v, x, sound)
	}
	if en.sub < 0 || en.mimic {
		return l
	}
	mix := mixFor(m.s.e.points[v.point].Subsystem, m.s.e.subs[en.sub].ID)
	return mix.healthy*l + (1-mix.healthy)*m.s.e.broad(v)
}

// clampUnit keeps a quantile off 0 and 1.
func clampUnit(u float64) float64 { return math.Min(math.Max(u, 1e-6), 1-1e-6) }
