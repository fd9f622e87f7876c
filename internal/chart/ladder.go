package chart

import (
	"math"
	"strings"
)

// Diagram is a wiring diagram drawn as a ladder: one section per voltage, each
// with two rails and the rungs between them.
type Diagram struct {
	Label    string // what is drawn, for a screen reader
	Sections []Section
}

// Section is one ladder: two rails and their rungs.
type Section struct {
	Heading     string // "240 V, outdoor unit"
	Left, Right Node   // the rails
	Rungs       []Rung
}

// Rung is a row of devices in series. Its nodes stand before, between and
// after the devices: one more than there are devices. A rung that does not
// start or end at a rail of its section starts or ends at a tag with the name
// of the node.
type Rung struct {
	Name    string
	State   string // "carries 24 V", at the right of the name
	Devices []Device
	Nodes   []Node
}

// Live says how much voltage or current a wire has.
type Live int

// From dead to carrying current.
const (
	Dead    Live = iota // no voltage to ground, or to the common of 24 V
	Waiting             // voltage, but no current: it waits at an open switch
	Flowing             // carries current
)

func (l Live) class() string { return [...]string{"dead", "waiting", "flowing"}[l] }

// Device is a part of the circuit between two nodes.
type Device struct {
	ID    string
	Name  string
	Kind  Symbol
	State string // "closed", "open", "pulled in", "running"
	Open  bool   // drawn as not conducting
	Live  Live
}

// Node is a point of the circuit on which a lead of a meter can be put.
type Node struct {
	ID   string
	Name string
	Note string // "240 V": against the other rail
	Live Live
	Href string // where a tap leads; empty if it cannot be tapped
	Lead string // "red" or "black" if a lead is on it
}

// The grid of a ladder, in pixels. Two devices stand beside each other, so
// that their names can be read on a phone; longer rungs run on in a next line.
const (
	perLine    = 2
	railLeft   = 8.0
	railRight  = width - 8.0
	nodeLeft   = 36.0
	nodeMiddle = width / 2.0
	nodeRight  = width - 36.0
	turnLeft   = 20.0         // where a rung that runs on comes back
	turnRight  = width - 20.0 // where it leaves the line
	textHeight = 16.0
	below      = 50.0 // from a wire to the lower edge of its line: node name and volts
	nameLetter = 16   // letters of a device name per line
	tagLetter  = 7    // letters of a name in a tag, per line
)

// Ladder draws d. Text stands in bands of its own above and below each wire,
// so that no wire runs through it.
func Ladder(d Diagram) string {
	var c canvas
	y := 0.0
	for _, s := range d.Sections {
		y = drawSection(&c, s, y)
	}
	return c.wrap("ladder", d.Label, y)
}

// drawSection draws s from y downwards and returns where it ends.
func drawSection(c *canvas, s Section, y float64) float64 {
	c.text("heading", "middle", width/2, y+18, s.Heading)
	drawRailName(c, s.Left, railLeft-6, "start", y+18)
	drawRailName(c, s.Right, railRight+6, "end", y+18)
	top := y + 28
	y = top
	for _, r := range s.Rungs {
		y = drawRung(c, s, r, y)
	}
	c.line("rail "+s.Left.Live.class(), railLeft, top, railLeft, y)
	c.line("rail "+s.Right.Live.class(), railRight, top, railRight, y)
	return y + 18
}

func drawRailName(c *canvas, n Node, x float64, anchor string, y float64) {
	c.text("rail-name", anchor, x, y, n.Name)
}

// drawRung draws r from y downwards and returns where it ends.
func drawRung(c *canvas, s Section, r Rung, y float64) float64 {
	y += 8
	for i, l := range breakWords(r.Name, 40) {
		c.text("rung-name", "start", turnLeft, y+textHeight*float64(i+1)-2, l)
	}
	y += textHeight * float64(len(breakWords(r.Name, 40)))
	if r.State != "" {
		c.text("rung-state", "start", turnLeft, y+textHeight-2, r.State)
		y += textHeight
	}
	for first := 0; first < len(r.Devices); first += perLine {
		last := min(first+perLine, len(r.Devices))
		y = drawLine(c, s, r, first, last, y)
	}
	return y + 6
}

// drawLine draws the devices first to last of r in one line below y.
func drawLine(c *canvas, s Section, r Rung, first, last int, y float64) float64 {
	wire := y + headroom(r, first)
	middles := []float64{nodeMiddle}
	if last-first == perLine {
		middles = []float64{(nodeLeft + nodeMiddle) / 2, (nodeMiddle + nodeRight) / 2}
	}
	left, drawFirst := lineStart(c, s, r, first, wire)
	right, drawLast := lineEnd(c, s, r, last, wire)
	for i, d := range r.Devices[first:last] {
		x2 := nodeMiddle
		if i == last-first-1 {
			x2 = right
		}
		drawDevice(c, d, r.Nodes[first+i], r.Nodes[first+i+1], left, middles[i], x2, wire)
		left = x2
	}
	drawFirst() // nodes lie on the wires
	if last-first == perLine {
		drawNode(c, r.Nodes[first+1], nodeMiddle, wire, "middle")
	}
	drawLast()
	return wire + below
}

// headroom returns the height of the names and states above the wire of the
// line that starts with device first.
func headroom(r Rung, first int) float64 {
	lines := 0
	for _, d := range r.Devices[first:min(first+perLine, len(r.Devices))] {
		lines = max(lines, len(d.captions()))
	}
	return textHeight*float64(lines) + 26
}

// captions returns the lines above a device: its name, and its state.
func (d Device) captions() []string {
	lines := breakWords(d.Name, nameLetter)
	if d.State != "" {
		lines = append(lines, d.State)
	}
	return lines
}

// wire returns what the wire between d and n has: current only if d carries
// it, though n may carry more for others.
func (d Device) wire(n Node) string {
	if d.Live == Flowing {
		return "wire " + Flowing.class()
	}
	return "wire " + min(n.Live, Waiting).class()
}

// lineStart draws the wire to the first device of a line. It returns where the
// device's own wire begins, and what draws the node there.
func lineStart(c *canvas, s Section, r Rung, first int, wire float64) (float64, func()) {
	n, class := r.Nodes[first], r.Devices[first].wire(r.Nodes[first])
	switch {
	case first > 0: // comes back from the line above
		return turnLeft, func() {}
	case n.ID != s.Left.ID:
		return turnLeft + n.tagWidth(), func() { drawTag(c, n, turnLeft, wire, "start") }
	}
	c.line(class, railLeft, wire, nodeLeft, wire)
	return nodeLeft, func() { drawNode(c, n, nodeLeft, wire, "start") }
}

// lineEnd draws the wire behind the last device of a line. It returns where
// the device's own wire ends, and what draws the node there.
func lineEnd(c *canvas, s Section, r Rung, last int, wire float64) (float64, func()) {
	n, class := r.Nodes[last], r.Devices[last-1].wire(r.Nodes[last])
	node := func() { drawNode(c, n, nodeRight, wire, "end") }
	switch {
	case last < len(r.Devices): // runs on in the next line
		turn := wire + below
		c.path(class, "M"+num(nodeRight)+" "+num(wire)+"H"+num(turnRight)+"V"+num(turn)+"H"+num(turnLeft)+"V"+num(turn+headroom(r, last)))
		return nodeRight, node
	case n.ID != s.Right.ID:
		return turnRight - n.tagWidth(), func() { drawTag(c, n, turnRight, wire, "end") }
	}
	c.line(class, nodeRight, wire, railRight, wire)
	return nodeRight, node
}

// drawDevice draws d at mid, its wires from x1 to x2, its name and state above.
func drawDevice(c *canvas, d Device, left, right Node, x1, mid, x2, wire float64) {
	half := d.Kind.halfWidth()
	c.line(d.wire(left), x1, wire, mid-half, wire)
	c.line(d.wire(right), mid+half, wire, x2, wire)
	class := "device " + d.Live.class()
	if d.Open {
		class += " open"
	}
	c.open("g", class, "id", "device-"+d.ID)
	drawSymbol(c, d, mid, wire)
	lines := d.captions()
	for i, l := range lines {
		text := "name"
		if d.State != "" && i == len(lines)-1 {
			text = "state"
		}
		c.text(text, "middle", mid, wire-24-textHeight*float64(len(lines)-1-i), l)
	}
	c.close("g")
}

// drawNode draws a dot at x with its name and volts below.
func drawNode(c *canvas, n Node, x, wire float64, anchor string) {
	at := x
	switch anchor {
	case "start":
		at = turnLeft - 4
	case "end":
		at = turnRight - 8 // left of a wire that turns down
	}
	drawTappable(c, n, func() {
		c.element("circle", "hit", "cx", x, "cy", wire, "r", 24)
		c.element("circle", "dot", "cx", x, "cy", wire, "r", 5)
		if n.Lead != "" {
			c.element("circle", "lead", "cx", x, "cy", wire, "r", 11)
		}
		if n.Name != "" {
			c.text("point", anchor, at, wire+26, n.Name)
		}
		if note := n.leadOrNote(); note != "" {
			c.text("volts", anchor, at, wire+42, note)
		}
	})
}

func (n Node) leadOrNote() string {
	if n.Lead != "" {
		return n.Lead + " lead"
	}
	return n.Note
}

// tagLines breaks the name of n into the lines of its tag.
func (n Node) tagLines() []string { return breakWords(n.Name, tagLetter) }

// tagWidth is how wide the tag of n is.
func (n Node) tagWidth() float64 {
	longest := 0
	for _, l := range n.tagLines() {
		longest = max(longest, len([]rune(l)))
	}
	return math.Max(30, 7.5*float64(longest)+10)
}

// drawTag draws the end of a rung that does not reach the rail: the name of
// the node in a box, with its outer edge at x.
func drawTag(c *canvas, n Node, x, wire float64, anchor string) {
	w, left := n.tagWidth(), x
	if anchor == "end" {
		left = x - w
	}
	lines := n.tagLines()
	half := 5 + 8*float64(len(lines)) // of the height
	drawTappable(c, n, func() {
		c.element("rect", "hit", "x", left-4, "y", wire-24, "width", math.Max(48, w+8), "height", 48)
		c.element("rect", "tag", "x", left, "y", wire-half, "width", w, "height", 2*half, "rx", 5)
		if n.Lead != "" {
			c.element("rect", "lead", "x", left-3, "y", wire-half-3, "width", w+6, "height", 2*half+6, "rx", 7)
		}
		for i, l := range lines {
			c.text("point", "middle", left+w/2, wire-half+textHeight*float64(i+1)+1, l)
		}
		if note := n.leadOrNote(); note != "" {
			c.text("volts", anchor, x, wire+half+18, note)
		}
	})
}

// drawTappable draws a node inside its link, if it has one.
func drawTappable(c *canvas, n Node, draw func()) {
	class := "node " + n.Live.class()
	if n.Lead != "" {
		class += " on " + n.Lead
	}
	if n.Href == "" {
		c.open("g", class)
		draw()
		c.close("g")
		return
	}
	// The label begins with what is seen, so that a spoken "T1" finds it.
	c.open("a", class, "href", n.Href, "aria-label", strings.TrimSpace(n.Name+" "+n.leadOrNote())+": put a lead here")
	draw()
	c.close("a")
}
