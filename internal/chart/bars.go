package chart

import (
	"fmt"
	"math"
)

// Odds draws one bar for the share of the odds a cause has, 0 to 1.
func Odds(share float64, label string) string {
	share = math.Min(1, math.Max(0, share))
	var c canvas
	c.element("rect", "all", "x", 0, "y", 0, "width", width, "height", 14, "rx", 3)
	c.element("rect", "share", "x", 0, "y", 0, "width", width*share, "height", 14, "rx", 3)
	for i := 1; i < 10; i++ {
		x := float64(i) * width / 10
		c.line("tick", x, 0, x, 14)
	}
	return c.wrap("odds-bar", label, 14)
}

// Range is what a meter should show under one cause: the middle 90 %.
type Range struct {
	Name   string
	Lo, Hi float64 // in the unit of the meter
	Text   string  // "38 to 46 µF"
}

// Ranges draws the ranges on one common scale, each below its own name and
// numbers, and a mark across all of them at what was read, unless read is NaN.
func Ranges(list []Range, read float64, label string) string {
	lo, hi := scale(list, read)
	at := func(x float64) float64 { return 4 + (x-lo)/(hi-lo)*(width-8) }
	const row = 40.0
	var c canvas
	for i, r := range list {
		y := float64(i) * row
		class := "range"
		if i == 0 {
			class += " first"
		}
		c.open("g", class)
		c.text("name", "start", 0, y+15, r.Name)
		c.text("value", "end", width, y+15, r.Text)
		c.line("scale", 0, y+27, width, y+27)
		c.element("rect", "span", "x", at(r.Lo), "y", y+22, "width", math.Max(5, at(r.Hi)-at(r.Lo)), "height", 10, "rx", 5)
		c.close("g")
	}
	if !math.IsNaN(read) {
		for i := range list {
			y := float64(i) * row
			c.path("read", fmt.Sprintf("M%s %sv16", num(at(read)), num(y+19)))
		}
	}
	return c.wrap("ranges", label, row*float64(len(list)))
}

// scale returns the ends of a scale that holds all ranges and the reading.
func scale(list []Range, read float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, r := range list {
		lo, hi = math.Min(lo, r.Lo), math.Max(hi, r.Hi)
	}
	if !math.IsNaN(read) {
		lo, hi = math.Min(lo, read), math.Max(hi, read)
	}
	if !(hi > lo) {
		return lo - 1, lo + 1
	}
	return lo, hi
}
