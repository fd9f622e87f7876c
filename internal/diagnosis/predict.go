package diagnosis

import "math"

// predictions keeps what the world predicted, demand by demand, so that what
// nobody asks for is never solved. A prediction is kept as one number: the
// value, the index of the word, or NaN if not readable.
type predictions struct {
	demands []demandPoints
	// of[d][h][n] holds particle n of hypothesis h at demand d, one number for each of
	// demands[d].points; nil as long as it is not solved.
	of      [][][][]float64
	place   []place // of each point
	scratch []Outcome
	solved  int
}

// place says where the prediction of a point is found.
type place struct{ demand, at int }

func (c *predictions) init(hyps, particles int, demands []demandPoints) {
	c.demands = demands
	c.of = make([][][][]float64, len(demands))
	most, points := 0, 0
	for d, dp := range demands {
		c.of[d] = make([][][]float64, hyps)
		for h := range c.of[d] {
			c.of[d][h] = make([][]float64, particles)
		}
		most = max(most, len(dp.points))
		points += len(dp.points)
	}
	c.place = make([]place, points)
	for d, dp := range demands {
		for at, p := range dp.points {
			c.place[p] = place{d, at}
		}
	}
	c.scratch = make([]Outcome, most)
}

// copyFrom takes over what another has solved; its hypotheses are the first of these.
func (c *predictions) copyFrom(o *predictions) {
	for d := range o.of {
		copy(c.of[d], o.of[d])
	}
}

// particle returns the predictions of particle n of hypothesis h at demand d.
func (e *Engine) particle(d, h, n int) []float64 {
	c := &e.cache
	if known := c.of[d][h][n]; known != nil {
		return known
	}
	out := c.scratch[:len(c.demands[d].points)]
	clear(out)
	e.world.Predict(h, n, c.demands[d].demand, out)
	c.solved++
	row := make([]float64, len(out))
	for i, o := range out {
		row[i] = o.number()
	}
	c.of[d][h][n] = row
	return row
}

// number packs an outcome: value, word index, or NaN.
func (o Outcome) number() float64 {
	switch o.Kind {
	case IsWord:
		return float64(o.Word)
	case IsNotReadable:
		return math.NaN()
	}
	return o.Value
}

// predicted returns what a point shows under hypothesis h in particle n.
func (e *Engine) predicted(point, h, n int) float64 {
	pl := e.cache.place[point]
	return e.particle(pl.demand, h, n)[pl.at]
}

// dust is the share of an even weight below which a particle is left out where
// few will do: together such particles weigh less than 1 %.
const dust = 0.01

// weighted is some particles with weights that add up to 1.
type weighted struct {
	n []int // rising
	w []float64
}

// lightened returns the heaviest of the particles, at most most of them.
func (p weighted) lightened(most int) weighted {
	out := heaviest(p.w, most)
	for i, j := range out.n {
		out.n[i] = p.n[j]
	}
	return out
}

// heaviest returns the particles of most weight, at most most of them, without dust.
func heaviest(w []float64, most int) weighted {
	order := make([]int, 0, len(w))
	for n := range w {
		if w[n] >= dust/float64(len(w)) {
			order = append(order, n)
		}
	}
	if len(order) > most {
		sortBy(order, func(n int) float64 { return -w[n] })
		order = order[:most]
		sortBy(order, func(n int) float64 { return float64(n) })
	}
	out := weighted{n: order, w: make([]float64, len(order))}
	kept := 0.0
	for _, n := range order {
		kept += w[n]
	}
	for i, n := range order {
		out.w[i] = w[n] / kept
	}
	return out
}
