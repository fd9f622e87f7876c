package chart

import (
	"fmt"
	"math"
	"strings"

	"rung/internal/calc"
	"rung/internal/moistair"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// airPlot is a psychrometric drawing: dry bulb in K along x, humidity ratio in
// kg/kg up y, at one air pressure.
type airPlot struct {
	plot
	pressure             quantity.Pressure
	units                tradeunit.System
	states               []calc.Values
	loT, hiT, hiW        float64 // K, kg/kg
	temp, humidity, heat scaled
	share                scaled
	lines                airLines
}

// airLines are the round values drawn, in the units shown, and their distances.
type airLines struct{ temp, wetBulb, humidity, enthalpy float64 }

// psychrometric draws the result of the calculator of that name.
func psychrometric(_, out calc.Values, units tradeunit.System) (string, error) {
	p, _ := out.Number("air_pressure")
	c := airPlot{
		plot: plot{left: 8, top: 26, right: width - 40, bottom: 310}, pressure: quantity.Pressure(p), units: units, states: out.Rows("states"),
		temp: unitOf(quantity.DimTemperature, units, 0), humidity: unitOf(quantity.DimHumidityRatio, units, 0),
		heat: unitOf(quantity.DimSpecificEnthalpy, units, 0), share: unitOf(quantity.DimRatio, units, 0),
		lines: airLines{temp: 10, wetBulb: 10, humidity: 20, enthalpy: 5}, // °F, °F, gr/lb, Btu/lb
	}
	if units == tradeunit.SI {
		c.lines = airLines{temp: 5, wetBulb: 5, humidity: 5, enthalpy: 10} // °C, °C, g/kg, kJ/kg
	}
	if err := c.window(); err != nil {
		return "", err
	}
	c.axes()
	if err := c.background(); err != nil {
		return "", err
	}
	c.frame()
	c.processes()
	c.spots()
	c.names()
	y := c.key(c.bottom + 50)
	y = c.table(y)
	y = c.sums(out, y)
	y = c.notes(out.Warnings(), y)
	return c.finish("psychrometric", c.spoken(out), y+10), nil
}

// The usual window: indoor and outdoor air of a summer's day.
const (
	usualLowT  = 273.15 // K
	usualHighT = 316.5  // K, 110 °F
	usualHighW = 0.020  // kg/kg
)

// window chooses what is shown: a usual window, widened to hold every state.
func (c *airPlot) window() error {
	lo, hi, most := usualLowT, usualHighT, usualHighW
	for _, s := range c.states {
		T, _ := s.Number("dry_bulb")
		W, _ := s.Number("humidity_ratio")
		const room = 4 // K
		lo, hi, most = math.Min(lo, T-room), math.Max(hi, T+room), math.Max(most, W*1.15)
	}
	step := c.lines.temp
	c.loT = c.temp.si(math.Floor(c.temp.of(lo)/step+1e-9) * step)
	c.hiT = c.temp.si(math.Ceil(c.temp.of(hi)/step-1e-9) * step)
	c.hiW = c.humidity.si(math.Ceil(c.humidity.of(most)/c.lines.humidity-1e-9) * c.lines.humidity)
	c.x = func(T float64) float64 { return c.left + (T-c.loT)/(c.hiT-c.loT)*(c.right-c.left) }
	c.y = func(W float64) float64 { return c.bottom - W/c.hiW*(c.bottom-c.top) }
	// Both ends must be air that the formulas know.
	for _, T := range []float64{c.loT, c.hiT} {
		if _, err := moistair.FromRelativeHumidity(quantity.Temperature(T), 0.5, c.pressure); err != nil {
			return err
		}
	}
	return nil
}

func (c *airPlot) axes() {
	lo, hi := c.temp.of(c.loT), c.temp.of(c.hiT)
	step := c.lines.temp
	for (hi-lo)/step > 9 {
		step *= 2
	}
	for _, t := range multiples(lo, hi, step) {
		x := c.x(c.temp.si(t))
		c.draw("path", "grid", fmt.Sprintf(`d="M%s %sV%s"`, num(x), num(c.bottom), num(c.y(c.saturated(c.temp.si(t))))))
		c.write("axis-tick", "middle", math.Max(x, c.left+letters/2), c.bottom+15, letters, plain(t))
	}
	most := c.humidity.of(c.hiW)
	step = c.lines.humidity
	for most/step > 10 {
		step *= 2
	}
	for _, w := range multiples(0, most, step) {
		y := c.y(c.humidity.si(w))
		c.draw("path", "grid", fmt.Sprintf(`d="M%s %sH%s"`, num(c.right), num(y), num(c.x(math.Min(c.hiT, c.dewPoint(c.humidity.si(w)))))))
		c.write("axis-tick", "start", c.right+4, math.Min(y+4, c.bottom), letters, plain(w))
	}
	c.write("axis", "end", width-2, 15, letters, "humidity, "+c.humidity.Symbol)
	c.write("axis", "end", c.right, c.bottom+32, letters, "dry bulb, "+c.temp.Symbol)
	pressure := calc.Field{Dim: quantity.DimPressure, USUnit: "psia"}.ShownIn(c.units)
	c.write("axis", "start", 4, 15, letters, "air at "+calc.Show(pressure, float64(c.pressure), 0)+" "+pressure.Symbol)
}

// saturated is the humidity ratio of saturated air at T in K, at most that of
// the upper edge.
func (c *airPlot) saturated(T float64) float64 {
	// Saturated air has its dry bulb for wet bulb: nothing is left to solve.
	s, err := moistair.FromWetBulb(quantity.Temperature(T), quantity.Temperature(T), c.pressure)
	if err != nil {
		return c.hiW
	}
	return math.Min(float64(s.HumidityRatio), c.hiW)
}

// dewPoint is the temperature in K at which air of the humidity ratio W is
// saturated, by halving; the lower edge if it lies below.
func (c *airPlot) dewPoint(W float64) float64 {
	lo, hi := c.loT, c.hiT
	for range 30 {
		mid := (lo + hi) / 2
		if c.saturated(mid) < W {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// state finds a state by its name.
func (c *airPlot) state(name string) (point, bool) {
	for _, s := range c.states {
		if s.Word("air") == name {
			return c.placeOf(s), true
		}
	}
	return point{}, false
}

func (c *airPlot) placeOf(s calc.Values) point {
	T, _ := s.Number("dry_bulb")
	W, _ := s.Number("humidity_ratio")
	return point{T, W}
}

// processes draws mixing, and what the coil does with an arrow to the supply.
func (c *airPlot) processes() {
	r, okReturn := c.state("return")
	o, okOutdoor := c.state("outdoor")
	m, okMixed := c.state("mixed")
	s, okSupply := c.state("supply")
	if okReturn && okOutdoor && okMixed {
		c.curve("mixing", []point{r, m, o})
		c.keep(c.at(m), c.at(o))
	}
	from, ok := m, okMixed
	if !ok {
		from, ok = r, okReturn
	}
	if ok && okSupply {
		c.curve("coil", []point{from, s})
		c.arrow(c.at(from), c.at(s))
		c.keep(c.at(from), c.at(s))
	}
}

// arrow draws a head in the middle of the line from a to b, in pixels.
func (c *airPlot) arrow(a, b point) {
	dx, dy := b.x-a.x, b.y-a.y
	length := math.Hypot(dx, dy)
	if length < 24 {
		return
	}
	dx, dy = dx/length, dy/length
	tip := point{(a.x+b.x)/2 + 9*dx, (a.y+b.y)/2 + 9*dy}
	left := point{tip.x - 16*dx - 8*dy, tip.y - 16*dy + 8*dx}
	right := point{tip.x - 16*dx + 8*dy, tip.y - 16*dy - 8*dx}
	c.draw("path", "arrow", fmt.Sprintf(`d="M%s %sL%s %sL%s %sZ"`, num(tip.x), num(tip.y), num(left.x), num(left.y), num(right.x), num(right.y)))
}

// spots draws the mark of each state and its name where there is room, with a
// thin line to it if that is not close.
func (c *airPlot) spots() {
	for _, s := range c.states {
		at := c.at(c.placeOf(s))
		c.mark(s.Word("air"), at)
		c.taken = append(c.taken, region{at.x - 6, at.y - 6, at.x + 6, at.y + 6})
	}
	for _, s := range c.states {
		name := s.Word("air")
		at := c.at(c.placeOf(s))
		half := float64(len(name)) * letters * wide / 2
		var places []point
		for _, d := range []float64{10, 22, 38, 60} {
			places = append(places, point{at.x + half + d, at.y}, point{at.x - half - d, at.y}, point{at.x, at.y - d - 5}, point{at.x, at.y + d + 5},
				point{at.x + half + d, at.y - d}, point{at.x - half - d, at.y - d}, point{at.x + half + d, at.y + d}, point{at.x - half - d, at.y + d})
		}
		start := c.b.Len()
		q, ok := c.try("name bold", letters, name, places...)
		if !ok || math.Abs(q.x-at.x)-half < 16 && math.Abs(q.y-at.y) < 20 {
			continue
		}
		c.leader(start, at, q, half)
	}
}

// leader draws a thin line from a mark to its name, below the name written
// since start.
func (c *airPlot) leader(start int, at, q point, half float64) {
	name := c.b.String()[start:]
	rest := c.b.String()[:start]
	c.b.Reset()
	c.b.WriteString(rest)
	end := point{math.Max(q.x-half, math.Min(q.x+half, at.x)), q.y}
	c.draw("path", "leader", fmt.Sprintf(`d="M%s %sL%s %s"`, num(at.x), num(at.y), num(end.x), num(end.y)))
	c.b.WriteString(name)
}

// mark draws the sign of a state: each has its own shape.
func (c *airPlot) mark(name string, at point) {
	x, y := num(at.x), num(at.y)
	switch name {
	case "return":
		c.draw("circle", "mark "+name, fmt.Sprintf(`cx="%s" cy="%s" r="6"`, x, y))
	case "outdoor":
		c.draw("path", "mark "+name, fmt.Sprintf(`d="M%s %sm-6 -6h12v12h-12z"`, x, y))
	case "mixed":
		c.draw("path", "mark "+name, fmt.Sprintf(`d="M%s %sm0 -8l8 8l-8 8l-8 -8z"`, x, y))
	default:
		c.draw("path", "mark "+name, fmt.Sprintf(`d="M%s %sm0 5l-7 -12h14z"`, x, y))
	}
}

// key explains the kinds of line and returns where it ends.
func (c *airPlot) key(y float64) float64 {
	for i, k := range []struct{ class, text string }{
		{"wet-bulb", "wet bulb, " + c.temp.Symbol}, {"enthalpy", "enthalpy, " + c.heat.Symbol + " of dry air"}, {"humidity", "relative humidity, %"},
	} {
		at := y + float64(i)*17
		c.draw("path", k.class, fmt.Sprintf(`d="M4 %sh36"`, num(at)))
		c.write("key", "start", 48, at+4, 12.5, k.text)
	}
	return y + 3*17
}

// table lists the states and returns where it ends.
func (c *airPlot) table(y float64) float64 {
	const line = 19.0
	columns := []struct {
		x          float64
		name, head string
		u          scaled
	}{
		{128, "dry_bulb", c.temp.Symbol, c.temp}, {192, "wet_bulb", "wet " + c.temp.Symbol, c.temp}, {238, "relative_humidity", "%", c.share},
		{296, "humidity_ratio", c.humidity.Symbol, c.humidity}, {width - 4, "enthalpy", c.heat.Symbol, c.heat},
	}
	y += 10
	for _, col := range columns {
		c.write("head", "end", col.x, y, 12.5, col.head)
	}
	for _, s := range c.states {
		y += line
		c.mark(s.Word("air"), point{10, y - 4})
		c.write("name", "start", 24, y, letters, s.Word("air"))
		for _, col := range columns {
			name := col.name
			if name == "enthalpy" && c.units == tradeunit.US {
				name = "enthalpy-ip"
			}
			text := col.u.number(s, name)
			if x, ok := s.Number(name); ok && name == "relative_humidity" {
				text = fmt.Sprintf("%.0f", col.u.of(x)) // no instrument knows it better
			}
			c.write("value bold", "end", col.x, y, letters, text)
		}
	}
	return y
}

// sums writes what the coil does.
func (c *airPlot) sums(out calc.Values, y float64) float64 {
	fall, ok := out.Number("temperature_drop")
	if !ok {
		return y + 4
	}
	way, side := "cooled by", "taken out"
	if fall < 0 {
		way = "heated by"
	}
	heat := "down"
	if h, _ := out.Number("enthalpy_drop"); h < 0 {
		heat = "up"
	}
	if water, _ := out.Number("water_removed"); water < 0 {
		side = "taken up"
	}
	diff := unitOf(quantity.DimTempDiff, c.units, 0)
	drop := "enthalpy_drop"
	if c.units == tradeunit.US {
		drop = "enthalpy-drop-ip"
	}
	lines := []string{
		fmt.Sprintf("%s %s %s · enthalpy %s %s %s", way, size(diff.number(out, "temperature_drop")), diff.Symbol, heat, size(c.heat.number(out, drop)), c.heat.Symbol),
		fmt.Sprintf("water %s %s %s", side, size(c.humidity.number(out, "water_removed")), c.humidity.Symbol),
	}
	if _, ok := out.Number("sensible_share"); ok {
		lines[1] += fmt.Sprintf(" · sensible %s %%", c.share.number(out, "sensible_share"))
	}
	for _, l := range lines {
		y += 19
		c.write("sum", "start", 4, y, letters, l)
	}
	return y + 4
}

// size is a number without its sign.
func size(number string) string { return strings.TrimPrefix(number, "-") }

// spoken is the drawing in words.
func (c *airPlot) spoken(out calc.Values) string {
	text := "Psychrometric chart."
	for _, s := range c.states {
		text += fmt.Sprintf(" %s air: %s %s dry bulb, %s %s wet bulb.", capital(s.Word("air")),
			c.temp.number(s, "dry_bulb"), c.temp.Symbol, c.temp.number(s, "wet_bulb"), c.temp.Symbol)
	}
	return text
}
