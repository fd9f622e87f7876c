package diagnosis

import "math"

// predictions keeps what the world predicted, demand by demand. A prediction is
// kept as one number: the value, the index of the word, or NaN if not readable.
type predictions struct {
	demands []demandPoints
	// of[d][h] holds the particles of hypothesis h at demand d solved so far,
	// each len(demands[d].points) numbers.
	of      [][][]float64
	place   []place // of each point
	scratch []Outcome
	solved  int
}

// place says where the prediction of a point is found.
type place struct{ demand, at int }

func (c *predictions) init(hyps int, demands []demandPoints) {
	c.demands = demands
	c.of = make([][][]float64, len(demands))
	most, points := 0, 0
	for d, dp := range demands {
		c.of[d] = make([][]float64, hyps)
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

// fill solves hypothesis h at demand d up to particle n−1.
func (e *Engine) fill(d, h, n int) {
	c := &e.cache
	width := len(c.demands[d].points)
	have := len(c.of[d][h]) / width
	for i := have; i < n; i++ {
		out := c.scratch[:width]
		clear(out)
		e.world.Predict(h, i, c.demands[d].demand, out)
		c.solved++
		for _, o := range out {
			c.of[d][h] = append(c.of[d][h], o.number())
		}
	}
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

// predicted appends to out the predictions of a point for n particles of
// hypothesis h and returns it.
func (e *Engine) predicted(out []float64, point, h, n int) []float64 {
	pl := e.cache.place[point]
	e.fill(pl.demand, h, n)
	width := len(e.cache.demands[pl.demand].points)
	row := e.cache.of[pl.demand][h]
	for i := range n {
		out = append(out, row[i*width+pl.at])
	}
	return out
}
