package trial

import (
	"math"
	"math/rand/v2"
	"sort"
)

// Figure is a number with its 95 % interval, from calls drawn again with
// replacement. Of is the number of calls it rests on; a figure that rests on none is null.
type Figure struct {
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	Of    int      `json:"of"`
}

// redraws is how often the calls are drawn again.
// published: Efron and Tibshirani 1993, ch. 13, as cited in the literature: percentile
// intervals want about a thousand; 400 leave the ends uncertain by a tenth of the width.
const redraws = 400

// figure works out a statistic of n calls, given by their indices, with its interval.
func figure(n int, seed uint64, statistic func(calls []int) float64) Figure {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	f := Figure{Of: n}
	if n == 0 {
		return f
	}
	if f.Value = finite(statistic(all)); f.Value == nil {
		return f
	}
	r := rand.New(rand.NewPCG(seed, 77))
	var found []float64
	again := make([]int, n)
	for range redraws {
		for i := range again {
			again[i] = r.IntN(n)
		}
		if x := statistic(again); !math.IsNaN(x) {
			found = append(found, x)
		}
	}
	if len(found) == 0 {
		return f
	}
	sort.Float64s(found)
	at := func(q float64) *float64 { return finite(found[int(q*float64(len(found)-1)+0.5)]) }
	f.Low, f.High = at(0.025), at(0.975)
	return f
}

func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// mean returns the figure of a mean.
func mean(x []float64, seed uint64) Figure {
	return figure(len(x), seed, func(calls []int) float64 {
		sum := 0.0
		for _, i := range calls {
			sum += x[i]
		}
		return sum / float64(len(calls))
	})
}

// excess returns the figure of Σ a / Σ b − 1: by what share a exceeds b.
func excess(a, b []float64, seed uint64) Figure {
	return figure(len(a), seed, func(calls []int) float64 {
		x, y := 0.0, 0.0
		for _, i := range calls {
			x, y = x+a[i], y+b[i]
		}
		return x/y - 1
	})
}

// calibrationBins is the number of bins of equal count.
const calibrationBins = 10

// calibrationError returns the expected calibration error of stated confidences:
// the mean over bins of equal count of the distance between the confidence
// stated and the share that was right.
//
// published: Guo et al. 2017, eq. 3, here with bins of equal count.
func calibrationError(stated, right []float64, calls []int) float64 {
	order := append([]int(nil), calls...)
	sort.SliceStable(order, func(i, j int) bool { return stated[order[i]] < stated[order[j]] })
	sum := 0.0
	for b := range calibrationBins {
		from, to := b*len(order)/calibrationBins, (b+1)*len(order)/calibrationBins
		diff := 0.0
		for _, i := range order[from:to] {
			diff += stated[i] - right[i]
		}
		sum += math.Abs(diff)
	}
	return sum / float64(len(order))
}

// calibrated returns the figure of calibrationError. A small sample shows some error
// also where there is none, and redraws of it show more: read it as a bound from above.
func calibrated(stated, right []float64, seed uint64) Figure {
	return figure(len(stated), seed, func(calls []int) float64 { return calibrationError(stated, right, calls) })
}

// brier returns the mean square of stated minus right.
func brier(stated, right []float64, seed uint64) Figure {
	x := make([]float64, len(stated))
	for i := range x {
		x[i] = (stated[i] - right[i]) * (stated[i] - right[i])
	}
	return mean(x, seed)
}

// leastStated keeps the log score finite.
const leastStated = 1e-3

// logScore returns the mean of minus the logarithm of the probability given to
// what came about, in nat.
func logScore(stated, right []float64, seed uint64) Figure {
	x := make([]float64, len(stated))
	for i, p := range stated {
		p = math.Min(math.Max(p, leastStated), 1-leastStated)
		x[i] = -right[i]*math.Log(p) - (1-right[i])*math.Log(1-p)
	}
	return mean(x, seed)
}

// separation returns the area under the curve of true against false alarms: the
// probability that a call of the kind sought scores higher than another.
//
// published: Mann and Whitney 1947, the statistic U over the product of the counts.
func separation(score []float64, sought []bool, seed uint64) Figure {
	return figure(len(score), seed, func(calls []int) float64 {
		order := append([]int(nil), calls...)
		sort.SliceStable(order, func(i, j int) bool { return score[order[i]] < score[order[j]] })
		ranks, yes, no := 0.0, 0.0, 0.0
		for from := 0; from < len(order); {
			to := from
			for to < len(order) && score[order[to]] == score[order[from]] {
				to++
			}
			for _, i := range order[from:to] {
				if sought[i] {
					ranks += float64(from+to+1) / 2 // the mean rank of equals
					yes++
				} else {
					no++
				}
			}
			from = to
		}
		return (ranks - yes*(yes+1)/2) / (yes * no)
	})
}
