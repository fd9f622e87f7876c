package refrigerant

import "math"

// axis is a grid of positive numbers, every power of two divided into 2^k
// equal cells: fine where the number is small, with no logarithm to find the
// cell. The leading bits of a float64 count these nodes one after the other.
type axis struct {
	first uint64  // node 0, its leading bits
	n     int     // number of nodes
	shift uint    // bits of a float64 below those that name the node
	step  float64 // 2^-k, cell width over the power of two below
}

// newAxis returns the axis with 2^k cells to a doubling from lo to hi, both
// moved outward to the next node.
func newAxis(lo, hi float64, k uint) axis {
	a := axis{shift: 52 - k, step: 1 / float64(uint64(1)<<k)}
	a.first = math.Float64bits(lo) >> a.shift
	last := math.Float64bits(hi) >> a.shift
	if math.Float64frombits(last<<a.shift) < hi {
		last++
	}
	a.n = int(last-a.first) + 1
	return a
}

// node returns the number at node i.
func (a *axis) node(i int) float64 { return math.Float64frombits((a.first + uint64(i)) << a.shift) }

// place is a position on an axis: between nodes cell and cell+1, at the
// fraction t of the width h.
type place struct {
	cell int
	t, h float64
}

// locate returns the place of v, which must lie between the first and the last
// node. At the last node it is the start of a cell that tables fill with a
// copy of that node.
func (a *axis) locate(v float64) place {
	const (
		exponent = 0x7ff << 52
		mantissa = 1<<52 - 1
		one      = 0x3ff << 52 // of 1 ≤ x < 2
	)
	bits := math.Float64bits(v)
	return place{
		cell: int(bits>>(a.shift&63) - a.first),
		t:    math.Float64frombits(one|bits<<((52-a.shift)&63)&mantissa) - 1,
		h:    math.Float64frombits(bits&exponent) * a.step,
	}
}

// hermite holds the weights of a cubic: value and slope at the start of the
// cell, value and slope at its end.
type hermite struct{ f0, m0, f1, m1 float64 }

func (p place) weights() hermite {
	t, u := p.t, 1-p.t
	return hermite{
		f0: u * u * (1 + 2*t),
		m0: u * u * t * p.h,
		f1: t * t * (3 - 2*t),
		m1: -t * t * u * p.h,
	}
}
