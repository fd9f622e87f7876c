package chart

import "math"

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

// The grid of Ranges, in pixels.
const (
	rangeWide   = 190.0 // of the scale, where the numbers stand to its right
	rangeLetter = 30    // letters of a name, per line
	rangeNumber = 14    // letters of numbers beside the scale; more stand above it
	rangeLine   = 23.0
)

// Ranges draws the ranges on one common scale, each below its own name and
// beside its numbers, and a mark across all of them at what was read, unless
// read is NaN.
func Ranges(list []Range, read float64, label string) string {
	lo, hi := scale(list, read)
	wide := rangeWide
	for _, r := range list {
		if len([]rune(r.Text)) > rangeNumber {
			wide = width
		}
	}
	at := func(x float64) float64 { return 4 + (x-lo)/(hi-lo)*(wide-8) }
	var c canvas
	y := 0.0
	for i, r := range list {
		class := "range"
		if i == 0 {
			class += " first"
		}
		c.open("g", class)
		for _, l := range breakWords(r.Name, rangeLetter) {
			y += rangeLine
			c.text("name", "start", 0, y-4, l)
		}
		if wide == width {
			y += rangeLine
			c.text("value", "start", 0, y-4, r.Text)
		}
		y += 12
		c.line("scale", 0, y, wide, y)
		c.element("rect", "span", "x", at(r.Lo), "y", y-5, "width", math.Max(5, at(r.Hi)-at(r.Lo)), "height", 10, "rx", 5)
		if !math.IsNaN(read) {
			c.line("read", at(read), y-8, at(read), y+8)
		}
		if wide < width {
			c.text("value", "end", width, y+5, r.Text)
		}
		y += 14
		c.close("g")
	}
	return c.wrap("ranges", label, y)
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
