package chart

import (
	"fmt"
	"html"
	"strconv"
	"strings"
)

// width of every drawing: what is left on the narrowest phone in common use.
const width = 358

// canvas collects the elements of one drawing.
type canvas struct{ b strings.Builder }

// element writes one element without content; attrs are name, value, name, value …
func (c *canvas) element(name, class string, attrs ...any) {
	c.open(name, class, attrs...)
	fmt.Fprintf(&c.b, "</%s>\n", name)
}

// open starts an element; the caller closes it.
func (c *canvas) open(name, class string, attrs ...any) {
	c.b.WriteString("<" + name)
	if class != "" {
		fmt.Fprintf(&c.b, ` class="%s"`, class)
	}
	for i := 0; i+1 < len(attrs); i += 2 {
		fmt.Fprintf(&c.b, ` %v="%s"`, attrs[i], attribute(attrs[i+1]))
	}
	c.b.WriteString(">")
}

func (c *canvas) close(name string) { c.b.WriteString("</" + name + ">\n") }

func (c *canvas) line(class string, x1, y1, x2, y2 float64) {
	c.element("path", class, "d", fmt.Sprintf("M%s %sL%s %s", num(x1), num(y1), num(x2), num(y2)))
}

func (c *canvas) path(class, d string) { c.element("path", class, "d", d) }

func (c *canvas) text(class, anchor string, x, y float64, s string) {
	c.open("text", class, "x", x, "y", y, "text-anchor", anchor)
	c.b.WriteString(html.EscapeString(s))
	c.close("text")
}

// wrap puts the drawing into its frame of the given height; label says to a
// screen reader what is drawn.
func (c *canvas) wrap(class, label string, height float64) string {
	var out canvas
	out.open("svg", class, "xmlns", "http://www.w3.org/2000/svg", "viewBox", "0 0 "+num(width)+" "+num(height),
		"role", "group", "aria-label", label, "fill", "none", "stroke", "currentColor", "font-family", "system-ui, sans-serif", "font-size", 13)
	out.b.WriteString("\n")
	out.b.WriteString(c.b.String())
	out.close("svg")
	return out.b.String()
}

func attribute(v any) string {
	switch v := v.(type) {
	case float64:
		return num(v)
	case string:
		return html.EscapeString(v)
	}
	return fmt.Sprint(v)
}

// num prints a coordinate to a tenth of a pixel.
func num(x float64) string {
	s := strconv.FormatFloat(x, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

// breakWords splits s into lines of at most limit letters; a longer word stays
// whole on its own line.
func breakWords(s string, limit int) []string {
	var lines []string
	line := ""
	for _, w := range strings.Fields(s) {
		switch {
		case line == "":
			line = w
		case len([]rune(line))+1+len([]rune(w)) <= limit:
			line += " " + w
		default:
			lines = append(lines, line)
			line = w
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
