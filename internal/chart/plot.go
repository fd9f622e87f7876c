package chart

import (
	"fmt"
	"html"
	"math"
	"strings"
)

// letters are the sizes of text in a plot, in pixels on a phone.
const (
	letters = 13.0
	wide    = 0.62 // width of a letter over its size, on the safe side for digits and small letters
	broad   = 1.0  // the same of a broad one
)

// looks are the strokes of a plot by class, so that a drawing saved to a file
// looks like the one on the page. The style sheet changes colours only. Every
// kind of line has its own dash or weight: it must be told in grey too.
var looks = map[string]string{
	"paper":     `fill="#ffffff" stroke="none"`,
	"frame":     `stroke="#12181d" stroke-width="1.5"`,
	"grid":      `stroke="#8b949b" stroke-width="0.5"`,
	"bubble":    `stroke="#12181d" stroke-width="3"`,
	"dew":       `stroke="#12181d" stroke-width="3" stroke-dasharray="14 4"`,
	"cap":       `stroke="#12181d" stroke-width="1.5" stroke-dasharray="2 3"`,
	"quality":   `stroke="#434c54" stroke-width="0.7" stroke-dasharray="3 4"`,
	"isotherm":  `stroke="#a8430a" stroke-width="1"`,
	"isentrope": `stroke="#11593a" stroke-width="1" stroke-dasharray="8 3 2 3"`,
	"isochore":  `stroke="#0a4a63" stroke-width="1" stroke-dasharray="1.5 3.5"`,
	"loop":      `stroke="#7a2c00" stroke-width="4.5" stroke-linejoin="round"`,
	"spot":      `fill="#ffffff" stroke="#12181d" stroke-width="2"`,
	"mark":      `fill="#12181d" stroke="#ffffff" stroke-width="1.5"`,
	"leader":    `stroke="#12181d" stroke-width="1"`,

	"saturation": `stroke="#12181d" stroke-width="3"`,
	"humidity":   `stroke="#434c54" stroke-width="1"`,
	"wet-bulb":   `stroke="#0a4a63" stroke-width="1" stroke-dasharray="7 4"`,
	"enthalpy":   `stroke="#a8430a" stroke-width="1.2" stroke-dasharray="1.5 3.5"`,
	"mixing":     `stroke="#12181d" stroke-width="2"`,
	"coil":       `stroke="#7a2c00" stroke-width="4"`,
	"arrow":      `fill="#7a2c00" stroke="none"`,
}

// text strokes paper around its letters, so that a line below does not cross it.
const textLook = `fill="currentColor" stroke="#ffffff" stroke-width="3.5" stroke-linejoin="round" paint-order="stroke"`

// plot is a drawing with axes. Coordinates are pixels until scaled.
type plot struct {
	canvas
	left, top, right, bottom float64 // the plotting area
	x, y                     func(float64) float64
	taken                    []region // where text and marks stand
}

// region is a rectangle by its edges.
type region struct{ x0, y0, x1, y1 float64 }

func (b region) meets(o region) bool { return b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1 }

func (b region) grown(by float64) region { return region{b.x0 - by, b.y0 - by, b.x1 + by, b.y1 + by} }

// draw writes one element in the look of its class, the first word of it.
func (p *plot) draw(name, class, attrs string) {
	first, _, _ := strings.Cut(class, " ")
	fmt.Fprintf(&p.b, "<%s class=\"%s\" %s %s></%s>\n", name, class, looks[first], attrs, name)
}

// point is a place in the units of the axes.
type point struct{ x, y float64 }

// curve draws a line through points given in the units of the axes, cut at the
// edges of the plotting area. A point that is no number breaks the line.
func (p *plot) curve(class string, points []point) {
	var d strings.Builder
	pen := false
	for i := 1; i < len(points); i++ {
		a, b, ok := p.clip(p.at(points[i-1]), p.at(points[i]))
		if !ok {
			pen = false
			continue
		}
		if !pen {
			fmt.Fprintf(&d, "M%s %s", num(a.x), num(a.y))
		}
		fmt.Fprintf(&d, "L%s %s", num(b.x), num(b.y))
		pen = b == p.at(points[i])
	}
	if d.Len() > 0 {
		p.draw("path", class, `d="`+d.String()+`"`)
	}
}

func (p *plot) at(q point) point { return point{p.x(q.x), p.y(q.y)} }

// area is the plotting area.
func (p *plot) area() region { return region{p.left, p.top, p.right, p.bottom} }

// clip cuts the line from a to b, in pixels, at the edges of the plotting area;
// false if nothing is left.
//
// published: Liang and Barsky 1984, ACM Trans. Graphics 3(1), as described in
// texts on computer graphics.
func (p *plot) clip(a, b point) (point, point, bool) {
	if math.IsNaN(a.x + a.y + b.x + b.y) {
		return a, b, false
	}
	dx, dy := b.x-a.x, b.y-a.y
	from, to := 0.0, 1.0
	for _, e := range [][2]float64{{-dx, a.x - p.left}, {dx, p.right - a.x}, {-dy, a.y - p.top}, {dy, p.bottom - a.y}} {
		switch {
		case e[0] == 0 && e[1] < 0:
			return a, b, false
		case e[0] < 0:
			from = math.Max(from, e[1]/e[0])
		case e[0] > 0:
			to = math.Min(to, e[1]/e[0])
		}
	}
	if from >= to {
		return a, b, false
	}
	cut := func(t float64) point {
		switch t { // exactly, so that a line is seen to go on
		case 0:
			return a
		case 1:
			return b
		}
		return point{a.x + t*dx, a.y + t*dy}
	}
	return cut(from), cut(to), true
}

// textRegion is where a text will stand.
func textRegion(anchor string, x, y, size float64, s string) region {
	w := 0.0
	for _, r := range s {
		if strings.ContainsRune("%mwMW⚠", r) {
			w += broad * size
			continue
		}
		w += wide * size
	}
	switch anchor {
	case "middle":
		x -= w / 2
	case "end":
		x -= w
	}
	return region{x, y - 0.78*size, x + w, y + 0.22*size}
}

// write puts a text where it must stand.
func (p *plot) write(class, anchor string, x, y, size float64, s string) {
	p.taken = append(p.taken, textRegion(anchor, x, y, size, s))
	weight := ""
	if strings.Contains(class, "bold") {
		weight = ` font-weight="700"`
	}
	fmt.Fprintf(&p.b, "<text class=\"%s\" %s%s font-size=\"%s\" text-anchor=\"%s\" x=\"%s\" y=\"%s\">%s</text>\n",
		class, textLook, weight, num(size), anchor, num(x), num(y), html.EscapeString(s))
}

// free says whether a region lies inside the plotting area clear of all text.
func (p *plot) free(b region) bool {
	const gap = 1.5
	area := p.area().grown(-2)
	if !(b.x0 >= area.x0 && b.x1 <= area.x1 && b.y0 >= area.y0 && b.y1 <= area.y1) { // also catches NaN
		return false
	}
	for _, t := range p.taken {
		if b.grown(gap).meets(t) {
			return false
		}
	}
	return true
}

// keep keeps names off the straight line from a to b, in pixels.
func (p *plot) keep(a, b point) {
	const apart, half = 6.0, 4.0 // px
	n := math.Ceil(math.Hypot(b.x-a.x, b.y-a.y) / apart)
	for i := 0.0; i <= n; i++ {
		x, y := lerp(a.x, b.x, i/math.Max(n, 1)), lerp(a.y, b.y, i/math.Max(n, 1))
		p.taken = append(p.taken, region{x - half, y - half, x + half, y + half})
	}
}

// try writes a text centred at the first of the places, in pixels, that is free,
// and returns it; nothing is written if none is.
func (p *plot) try(class string, size float64, s string, places ...point) (point, bool) {
	for _, q := range places {
		y := q.y + 0.28*size
		if p.free(textRegion("middle", q.x, y, size, s)) {
			p.write(class, "middle", q.x, y, size, s)
			return q, true
		}
	}
	return point{}, false
}

// frame draws the edge of the plotting area.
func (p *plot) frame() {
	p.draw("rect", "frame", fmt.Sprintf(`x="%s" y="%s" width="%s" height="%s"`, num(p.left), num(p.top), num(p.right-p.left), num(p.bottom-p.top)))
}

// finish frames the drawing; label says to a screen reader what is drawn.
func (p *plot) finish(class, label string, height float64) string {
	var out canvas
	out.open("svg", "plot "+class, "xmlns", "http://www.w3.org/2000/svg", "viewBox", "0 0 "+num(width)+" "+num(height),
		"role", "img", "aria-label", label, "fill", "none", "color", "#12181d", "font-family", "system-ui, sans-serif")
	out.b.WriteString("\n")
	fmt.Fprintf(&out.b, "<rect class=\"paper\" %s width=\"%s\" height=\"%s\"></rect>\n", looks["paper"], num(width), num(height))
	out.b.WriteString(p.b.String())
	out.close("svg")
	return out.b.String()
}

// nice returns the smallest of 1, 2, 5 times a power of ten that is at least x.
func nice(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= x*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// multiples returns the multiples of step from lo to hi.
func multiples(lo, hi, step float64) []float64 {
	var list []float64
	const slack = 1e-9
	for k := math.Ceil(lo/step - slack); k*step <= hi+slack*step; k++ {
		list = append(list, k*step)
	}
	return list
}

// plain prints a round number of an axis.
func plain(x float64) string {
	s := fmt.Sprintf("%.4g", x)
	if s == "-0" {
		return "0"
	}
	return s
}
