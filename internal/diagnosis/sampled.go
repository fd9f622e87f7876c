package diagnosis

import "math"

// Sizes of the sampled information: practice: a millisecond for one purchase.
const (
	sampledEntries   = 40 // the likeliest
	sampledParticles = 12 // of each, the first
	sampledTruths    = 32
)

// sampler estimates what several points say together. Cells cannot hold the
// difference of two readings, such as a superheat; here readings are drawn
// and each is held against every particle.
type sampler struct {
	s       *selection
	entries []int     // indices of entries, the likeliest first
	p       []float64 // their probabilities, adding up to 1
	entropy float64   // of the class under p, nat
}

func (s *selection) newSampler() *sampler {
	m := &sampler{s: s}
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
		m.p = append(m.p, s.entries[i].p/total)
		class[s.entries[i].class] += s.entries[i].p / total
	}
	for _, p := range class {
		m.entropy -= xlogx(p)
	}
	return m
}

// cloud is what one point would show under every particle of the sampler.
type cloud struct {
	point int
	ys    [][]float64 // [entry][particle]
}

func (m *sampler) cloudOf(point int) cloud {
	c := cloud{point: point, ys: make([][]float64, len(m.entries))}
	for j, i := range m.entries {
		en := &m.s.entries[i]
		c.ys[j] = m.s.e.predicted(nil, point, en.acting, min(sampledParticles, len(en.w)))
	}
	return c
}

// information estimates the information in nats about the repair class in
// reading all points together.
func (m *sampler) information(points []int) float64 {
	var clouds []cloud
	for _, p := range points {
		clouds = append(clouds, m.cloudOf(p))
	}
	after := 0.0
	post := make([]float64, len(m.s.classP))
	for t := range sampledTruths {
		j, n := m.truth(t)
		n = min(n, len(clouds[0].ys[j])-1)
		m.posterior(post, clouds, j, n, t)
		for _, p := range post {
			after -= xlogx(p) / sampledTruths
		}
	}
	return math.Max(0, m.entropy-after)
}

// truth returns the entry and particle of sample t: the entries in proportion
// to their probabilities, the particles in turn.
func (m *sampler) truth(t int) (entry, particle int) {
	u := (float64(t) + 0.5) / sampledTruths
	for j, p := range m.p {
		if u -= p; u < 0 {
			return j, t % sampledParticles
		}
	}
	return len(m.p) - 1, t % sampledParticles
}

// posterior writes the probability of each class if entry j, particle n were
// true and each point read with an error of its own.
func (m *sampler) posterior(post []float64, clouds []cloud, j, n, t int) {
	e := m.s.e
	evidences := make([]evidence, len(clouds))
	for k, c := range clouds {
		p := &e.points[c.point]
		v := evidence{point: c.point, eps: e.epsilon(p, m.s.c.Person), widen: 1}
		switch y := c.ys[j][n]; {
		case math.IsNaN(y):
			v.outcome = NotReadable()
		case len(p.Words) > 0:
			v.outcome = Word(int(y))
		default:
			// Errors from an even sequence, one for each point.
			u := kronecker(0.5, math.Sqrt(prime(k)), t)
			v.outcome = Value(y + e.sigma(p, y)/e.set.KernelScale*math.Sqrt2*math.Erfinv(2*clampUnit(u)-1))
		}
		evidences[k] = v
	}
	clear(post)
	total := 0.0
	for i := range m.entries {
		en := &m.s.entries[m.entries[i]]
		like := 0.0
		for q := range clouds[0].ys[i] {
			l := en.w[q]
			for k := range clouds {
				l *= m.likelihood(en, evidences[k], clouds[k].ys[i][q])
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

// likelihood is that of the engine, with the broad share of an unlisted cause.
func (m *sampler) likelihood(en *entry, v evidence, y float64) float64 {
	l := m.s.e.likelihood(v, y)
	if en.sub < 0 {
		return l
	}
	mix := mixFor(m.s.e.points[v.point].Subsystem, m.s.e.subs[en.sub].ID)
	return mix.healthy*l + (1-mix.healthy)*m.s.e.broad(v)
}

// clampUnit keeps a quantile off 0 and 1.
func clampUnit(u float64) float64 { return math.Min(math.Max(u, 1e-6), 1-1e-6) }
