package chart

import "fmt"

// Symbol is the kind of a device in a ladder.
type Symbol int

// The symbols.
const (
	Contact    Symbol = iota // switch, relay contact, pressure switch
	Coil                     // relay or contactor coil
	Motor                    // compressor, fan, blower
	Capacitor                // run capacitor section
	Fuse                     // fuse or breaker
	Winding                  // transformer winding
	Resistance               // heater, resistor
	Box                      // anything with its name inside its label
)

// halfWidth is half the room a symbol takes along the wire.
func (s Symbol) halfWidth() float64 {
	switch s {
	case Coil, Motor:
		return 15
	case Capacitor:
		return 5
	}
	return 20
}

// drawSymbol draws the symbol of d centred at x, y. An open contact shows its
// blade lifted; a closed one lies on the wire.
func drawSymbol(c *canvas, d Device, x, y float64) {
	switch d.Kind {
	case Contact:
		drawContact(c, d.Open, x, y)
	case Coil:
		c.element("circle", "body", "cx", x, "cy", y, "r", 15)
		c.path("mark", fmt.Sprintf("M%s %sl5 -7l5 14l5 -14l5 7", num(x-10), num(y)))
	case Motor:
		c.element("circle", "body", "cx", x, "cy", y, "r", 15)
		c.text("letter", "middle", x, y+6, "M")
	case Capacitor:
		c.line("plate", x-5, y-14, x-5, y+14)
		c.path("plate", fmt.Sprintf("M%s %sq-8 14 0 28", num(x+9), num(y-14)))
	case Fuse:
		c.element("rect", "body", "x", x-20, "y", y-8, "width", 40, "height", 16, "rx", 8)
		if d.Open {
			c.path("mark", fmt.Sprintf("M%s %sl8 0m6 -6l-4 12m8 -12l-4 12m6 -6l8 0", num(x-16), num(y)))
		} else {
			c.path("mark", fmt.Sprintf("M%s %sq8 -10 16 0q8 10 16 0", num(x-16), num(y)))
		}
	case Winding:
		c.path("body", fmt.Sprintf("M%s %sq5 -16 10 0q5 -16 10 0q5 -16 10 0q5 -16 10 0", num(x-20), num(y)))
	case Resistance:
		c.path("body", fmt.Sprintf("M%s %sl4 -8l8 16l8 -16l8 16l8 -16l4 8", num(x-20), num(y)))
	default:
		c.element("rect", "body", "x", x-20, "y", y-12, "width", 40, "height", 24, "rx", 3)
	}
}

func drawContact(c *canvas, open bool, x, y float64) {
	c.element("circle", "pole", "cx", x-16, "cy", y, "r", 4)
	c.element("circle", "pole", "cx", x+16, "cy", y, "r", 4)
	if open {
		c.line("blade", x-13, y-3, x+13, y-17)
		return
	}
	c.line("blade", x-12, y, x+12, y)
}
