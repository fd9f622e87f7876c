package diagnosis

import (
	"fmt"
	"math"
	"slices"
)

// Card returns what the point should show here and today: under a healthy
// system first, then under the leading causes given all readings so far.
func (e *Engine) Card(c Case, ref Ref) ([]Expectation, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	point, known := e.pointAt[ref]
	if !known {
		return nil, fmt.Errorf("diagnosis: no point %s/%s at demand %s", ref.Check, ref.Point, ref.Demand)
	}
	in, b, err := e.believe(c)
	if err != nil {
		return nil, err
	}
	var out []Expectation
	for _, h := range in.worthExpecting(b, b) {
		out = append(out, in.expectation(b, h, point, c.Epoch()))
	}
	return out, nil
}

// prediction is what is shown with its weight and the sigma of its kernel.
type prediction struct {
	showing
	sigma, weight float64
}

// predictionsOf returns what hypothesis h predicts for a point in an epoch,
// from at most most particles of each row, the weights adding up to 1.
func (in *inference) predictionsOf(b *belief, h, point, epoch, most int) []prediction {
	e := in.e
	var out []prediction
	for i := range b.rows {
		r := &b.rows[i]
		if r.hyp != h || b.hyp[h] == 0 {
			continue
		}
		some := heaviest(b.weights(i), most)
		out = slices.Grow(out, len(some.w))
		for j, w := range some.w {
			x := e.shows(point, r.acting[epoch], some.n[j])
			p := prediction{showing: x, weight: w * b.p[i] / b.hyp[h]}
			if len(e.points[point].Words) == 0 && !math.IsNaN(p.y) {
				p.sigma = math.Hypot(e.sigma(&e.points[point], p.y), e.effectSigma(&e.points[point], x))
			}
			out = append(out, p)
		}
	}
	return out
}

// expectation returns what hypothesis h expects at a point.
func (in *inference) expectation(b *belief, h, point, epoch int) Expectation {
	e := in.e
	x := Expectation{Cause: e.hyps[h].ID}
	all := in.predictionsOf(b, h, point, epoch, e.set.FewParticles)
	if words := len(e.points[point].Words); words > 0 {
		x.Words = make([]float64, words)
	}
	var values []prediction
	for _, p := range all {
		switch {
		case math.IsNaN(p.y):
			x.NotReadableShare += p.weight
		case x.Words != nil:
			x.Words[int(p.y)] += p.weight
		default:
			x.ValueShare += p.weight
			values = append(values, p)
		}
	}
	if len(values) > 0 && x.ValueShare > 0 {
		x.Range = Range{mixtureQuantile(values, 0.05), mixtureQuantile(values, 0.5), mixtureQuantile(values, 0.95)}
	}
	return x
}

// mixtureCDF returns the probability that a reading of the mixture lies below x.
func mixtureCDF(all []prediction, x float64) float64 {
	sum, total := 0.0, 0.0
	for _, p := range all {
		sum += p.weight * normalCDF((x-p.y)/p.sigma)
		total += p.weight
	}
	return sum / total
}

// mixtureQuantile inverts mixtureCDF by bisection, to a thousandth of the least sigma.
func mixtureQuantile(all []prediction, q float64) float64 {
	low, high, least := math.Inf(1), math.Inf(-1), math.Inf(1)
	for _, p := range all {
		low, high = math.Min(low, p.y-6*p.sigma), math.Max(high, p.y+6*p.sigma)
		least = math.Min(least, p.sigma)
	}
	for range 60 {
		if high-low <= least/1000 {
			break
		}
		mid := (low + high) / 2
		if mixtureCDF(all, mid) < q {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}
