package chart

import (
	"math"
	"time"
)

// Past is one past reading.
type Past struct {
	On      time.Time
	Value   float64 // in the unit shown
	Text    string  // as read
	Settled bool    // drawn filled if so, hollow if not
}

// Trend draws past readings over the calendar, with the numbers of the last,
// the first, the highest and the lowest where there is room. Nothing is drawn between readings but a thin
// line: what happened there is not known.
func Trend(list []Past, label string) string {
	const height, top, bottom = 132.0, 24.0, 84.0
	var c canvas
	if len(list) == 0 {
		return c.wrap("trend", label, 1)
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range list {
		lo, hi = math.Min(lo, p.Value), math.Max(hi, p.Value)
	}
	if hi == lo {
		lo, hi = lo-1, hi+1
	}
	first, last := list[0].On, list[len(list)-1].On
	x := func(p Past) float64 {
		if !last.After(first) {
			return width / 2
		}
		return 24 + (width-48)*float64(p.On.Sub(first))/float64(last.Sub(first))
	}
	y := func(p Past) float64 { return bottom - (bottom-top)*(p.Value-lo)/(hi-lo) }
	c.line("scale", 0, bottom+28, width, bottom+28)
	for i := 1; i < len(list); i++ {
		c.line("past", x(list[i-1]), y(list[i-1]), x(list[i]), y(list[i]))
	}
	for _, p := range list {
		class := "dot settled"
		if !p.Settled {
			class = "dot unsettled"
		}
		c.element("circle", class, "cx", x(p), "cy", y(p), "r", 5)
	}
	for _, l := range labels(list, x) {
		p, dy := list[l.index], 19.0
		if l.above {
			dy = -9
		}
		c.text("value", anchorAt(x(p)), x(p), y(p)+dy, p.Text)
	}
	c.text("day", "start", 0, height-6, first.Format("Jan 2006"))
	if last.After(first) {
		c.text("day", "end", width, height-6, last.Format("Jan 2006"))
	}
	return c.wrap("trend", label, height)
}

// label is the number of one reading, above or below its dot.
type label struct {
	index int
	above bool
}

// labels picks the readings that carry their number: last, first, highest and
// lowest, in this order, leaving out what would stand too close to another.
func labels(list []Past, x func(Past) float64) []label {
	hi, lo := 0, 0
	for i, p := range list {
		if p.Value > list[hi].Value {
			hi = i
		}
		if p.Value < list[lo].Value {
			lo = i
		}
	}
	const room = 52 // px, for five digits
	var chosen []label
	for _, i := range []int{len(list) - 1, 0, hi, lo} {
		l := label{i, i != lo || hi == lo}
		free := true
		for _, other := range chosen {
			if other.index == i || other.above == l.above && math.Abs(x(list[other.index])-x(list[i])) < room {
				free = false
			}
		}
		if free {
			chosen = append(chosen, l)
		}
	}
	return chosen
}

func anchorAt(x float64) string {
	switch {
	case x < 60:
		return "start"
	case x > width-60:
		return "end"
	}
	return "middle"
}
