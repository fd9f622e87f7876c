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
	// Low and High are between what was expected on that day; both zero if nothing is known of it.
	Low, High float64
}

func (p Past) expected() bool { return p.Low != 0 || p.High != 0 }

// Ahead is where readings are expected to be on a day to come, and between what nine
// of ten are. The zero value is no forecast.
type Ahead struct {
	On               time.Time
	Value, Low, High float64 // in the unit shown
	Limit            float64 // not to be passed; 0 for none
}

// Trend draws past readings over the calendar, with the numbers of the last,
// the first, the highest and the lowest where there is room. Nothing is drawn between readings but a thin
// line: what happened there is not known.
func Trend(list []Past, label string) string { return TrendAhead(list, Ahead{}, label) }

// TrendAhead is Trend with the band of what was expected on each day, where that is
// known, and with the forecast: a bar in which nine of ten readings lie, dashed towards it from the last.
func TrendAhead(list []Past, ahead Ahead, label string) string {
	const height = 132.0
	var c canvas
	if len(list) == 0 {
		return c.wrap("trend", label, 1)
	}
	f := frameOf(list, ahead)
	c.line("scale", 0, f.bottom+28, width, f.bottom+28)
	f.band(&c, list)
	for i := 1; i < len(list); i++ {
		c.line("past", f.x(list[i-1].On), f.y(list[i-1].Value), f.x(list[i].On), f.y(list[i].Value))
	}
	f.forecast(&c, list[len(list)-1], ahead)
	for _, p := range list {
		class := "dot settled"
		if !p.Settled {
			class = "dot unsettled"
		}
		c.element("circle", class, "cx", f.x(p.On), "cy", f.y(p.Value), "r", 5)
	}
	for _, l := range labels(list, func(p Past) float64 { return f.x(p.On) }) {
		p, dy := list[l.index], 19.0
		if l.above {
			dy = -9
		}
		c.text("value", anchorAt(f.x(p.On)), f.x(p.On), f.y(p.Value)+dy, p.Text)
	}
	c.text("day", "start", 0, height-6, f.first.Format("Jan 2006"))
	if f.last.After(f.first) {
		c.text("day", "end", width, height-6, f.last.Format("Jan 2006"))
	}
	return c.wrap("trend", label, height)
}

// frame is the calendar and the scale of a trend.
type frame struct {
	first, last time.Time
	lo, hi      float64
	top, bottom float64
}

func frameOf(list []Past, ahead Ahead) frame {
	f := frame{first: list[0].On, last: list[len(list)-1].On, lo: math.Inf(1), hi: math.Inf(-1), top: 24, bottom: 84}
	cover := func(values ...float64) {
		for _, v := range values {
			f.lo, f.hi = math.Min(f.lo, v), math.Max(f.hi, v)
		}
	}
	for _, p := range list {
		cover(p.Value)
		if p.expected() {
			cover(p.Low, p.High)
		}
	}
	if !ahead.On.IsZero() {
		f.last = ahead.On
		cover(ahead.Value, ahead.Low, ahead.High)
		if ahead.Limit != 0 {
			cover(ahead.Limit)
		}
	}
	if f.hi == f.lo {
		f.lo, f.hi = f.lo-1, f.hi+1
	}
	return f
}

func (f frame) x(on time.Time) float64 {
	if !f.last.After(f.first) {
		return width / 2
	}
	return 24 + (width-48)*float64(on.Sub(f.first))/float64(f.last.Sub(f.first))
}

func (f frame) y(v float64) float64 { return f.bottom - (f.bottom-f.top)*(v-f.lo)/(f.hi-f.lo) }

// band draws what was expected on each day, as a bar behind the reading.
func (f frame) band(c *canvas, list []Past) {
	for _, p := range list {
		if p.expected() {
			c.element("rect", "expected", "x", f.x(p.On)-9, "y", f.y(p.High), "width", 18, "height", f.y(p.Low)-f.y(p.High), "rx", 3)
		}
	}
}

// forecast draws where the readings go.
func (f frame) forecast(c *canvas, last Past, ahead Ahead) {
	if ahead.On.IsZero() {
		return
	}
	x := f.x(ahead.On)
	if ahead.Limit != 0 {
		c.line("limit", 0, f.y(ahead.Limit), width, f.y(ahead.Limit))
	}
	c.element("rect", "ahead", "x", x-9, "y", f.y(ahead.High), "width", 18, "height", math.Max(f.y(ahead.Low)-f.y(ahead.High), 1), "rx", 3)
	c.line("towards", f.x(last.On), f.y(last.Value), x, f.y(ahead.Value))
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
