package chart

import (
	"fmt"
	"math"
	"sort"

	"rung/internal/calc"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
	"rung/internal/tradeunit"
)

// enthalpyPlot is a pressure-enthalpy drawing: enthalpy in J/kg along x,
// absolute pressure in Pa up y on a logarithmic scale.
type enthalpyPlot struct {
	plot
	fluid              *refrigerant.Fluid
	m                  calc.FluidMap
	states             []calc.Values
	loP, hiP, loH, hiH float64 // Pa, J/kg
	temp, press, heat  scaled
	entropy, volume    scaled
	metric             bool
}

// pressureEnthalpy draws the result of the calculator of that name.
func pressureEnthalpy(in, out calc.Values, units tradeunit.System) (string, error) {
	fluid, err := refrigerant.Lookup(in.Word("refrigerant"))
	if err != nil {
		return "", err
	}
	m, err := calc.MapOf(fluid)
	if err != nil {
		return "", err
	}
	ambient := calc.Ambient(in)
	c := enthalpyPlot{
		plot: plot{left: 42, top: 24, right: width - 8, bottom: 330}, fluid: fluid, m: m, states: out.Rows("states"), metric: units == tradeunit.SI,
		temp:    unitOf(quantity.DimTemperature, units, ambient),
		press:   unitOf(quantity.DimPressure, units, ambient),
		heat:    unitOf(quantity.DimSpecificEnthalpy, units, ambient),
		entropy: unitOf(quantity.DimSpecificEntropy, units, ambient),
		volume:  unitOf(quantity.DimSpecificVolume, units, ambient),
	}
	c.window()
	c.axes()
	c.background()
	c.dome()
	c.frame()
	c.loop()
	c.labels()
	y := c.key(c.bottom + 46)
	y = c.table(y)
	y = c.sums(out, y, units)
	y = c.notes(out.Warnings(), y)
	return c.finish("pressure-enthalpy", c.spoken(), y+10), nil
}

// window chooses what is shown: from half the suction pressure to above the
// critical point, and a margin around dome and cycle.
func (c *enthalpyPlot) window() {
	low, first, last := math.Inf(1), math.Inf(1), math.Inf(-1)
	for _, s := range c.states {
		p, _ := s.Number("pressure")
		h, _ := s.Number("enthalpy")
		low, first, last = math.Min(low, p), math.Min(first, h), math.Max(last, h)
	}
	c.loP, c.hiP = low*0.5, float64(c.m.CriticalPressure)*1.2
	if first := float64(c.m.Dome[0].DewPressure); c.loP < first { // where the map begins, if that leaves room
		c.loP = math.Min(first, low*0.85)
	}
	for _, s := range c.m.Dome {
		if float64(s.DewPressure) >= c.loP {
			first, last = math.Min(first, float64(s.LiquidEnthalpy)), math.Max(last, float64(s.VapourEnthalpy))
		}
	}
	span := last - first
	c.loH, c.hiH = first-0.05*span, math.Max(last+0.06*span, c.mostVapour()+0.24*span)
	c.x = func(h float64) float64 { return c.left + (h-c.loH)/(c.hiH-c.loH)*(c.right-c.left) }
	logLo, logHi := math.Log(c.loP), math.Log(c.hiP)
	c.y = func(p float64) float64 { return c.bottom - (math.Log(p)-logLo)/(logHi-logLo)*(c.bottom-c.top) }
}

// mostVapour is the greatest enthalpy of the dew line, J/kg.
func (c *enthalpyPlot) mostVapour() float64 {
	most := math.Inf(-1)
	for _, s := range c.m.Dome {
		most = math.Max(most, float64(s.VapourEnthalpy))
	}
	return most
}

// axes draws pressure to the left, in gauge units on a scale of absolute
// pressure, and enthalpy below.
func (c *enthalpyPlot) axes() {
	last := math.Inf(1)
	for _, g := range c.pressureTicks() {
		p := c.press.si(g)
		if p < c.loP || p > c.hiP {
			continue
		}
		y := c.y(p)
		if last-y < letters+3 {
			continue
		}
		c.plot.draw("path", "grid", fmt.Sprintf(`d="M%s %sH%s"`, num(c.left), num(y), num(c.right)))
		c.write("axis-tick", "end", c.left-4, y+4, letters, plain(g))
		last = y
	}
	lo, hi := c.heat.of(c.loH), c.heat.of(c.hiH)
	for _, h := range multiples(lo, hi, nice((hi-lo)/8)) {
		x := c.x(c.heat.si(h))
		c.plot.draw("path", "grid", fmt.Sprintf(`d="M%s %sV%s"`, num(x), num(c.top), num(c.bottom)))
		if x > c.left+8 && x < c.right-8 {
			c.write("axis-tick", "middle", x, c.bottom+15, letters, plain(h))
		}
	}
	c.write("axis", "start", 2, 14, letters, c.press.Symbol)
	c.write("axis bold", "middle", (c.left+c.right)/2, 15, 15, c.fluid.Name())
	c.write("axis", "end", c.right, c.bottom+32, letters, "enthalpy, "+c.heat.Symbol)
}

// pressureTicks are round gauge pressures, rising; below zero is vacuum.
func (c *enthalpyPlot) pressureTicks() []float64 {
	list := []float64{-90, -80, -60, -40, -20, -12, -10, -5, 0}
	for power := 1.0; power <= 1e5; power *= 10 {
		for _, m := range []float64{1, 1.5, 2, 3, 4, 5, 6, 8} {
			list = append(list, m*power)
		}
	}
	return list
}

// dome draws the bubble and the dew line, and between their last points the cap
// that is not computed.
func (c *enthalpyPlot) dome() {
	var bubble, dew []point
	for _, s := range c.m.Dome {
		bubble = append(bubble, point{float64(s.LiquidEnthalpy), float64(s.BubblePressure)})
		dew = append(dew, point{float64(s.VapourEnthalpy), float64(s.DewPressure)})
	}
	a, b := bubble[len(bubble)-1], dew[len(dew)-1]
	c.curve("cap", []point{a, {(a.x + b.x) / 2, float64(c.m.CriticalPressure)}, b})
	c.curve("bubble", bubble)
	c.curve("dew", dew)
}

// background draws quality, isotherms, isentropes and isochores.
func (c *enthalpyPlot) background() {
	for _, x := range []float64{0.2, 0.4, 0.6, 0.8} {
		var list []point
		for _, s := range c.m.Dome {
			list = append(list, point{lerp(float64(s.LiquidEnthalpy), float64(s.VapourEnthalpy), x), float64(s.DewPressure)})
		}
		c.curve("quality", list)
	}
	for _, t := range c.isotherms() {
		c.curve("isotherm", c.isotherm(c.temp.si(t)))
	}
	for _, s := range c.isentropes() {
		c.curve("isentrope", c.vapourLine(c.entropy.si(s), entropyOf))
	}
	for _, v := range c.isochores() {
		c.curve("isochore", c.vapourLine(c.volume.si(v), volumeOf))
	}
}

// isotherms are the round temperatures drawn, in the unit shown.
func (c *enthalpyPlot) isotherms() []float64 {
	row := c.m.Vapour[c.rowAbove(c.loP)]
	most := c.temp.of(float64(row[len(row)-1].Temperature))
	step := 40.0 // °F
	if c.metric {
		step = 20 // °C
	}
	return multiples(c.temp.of(float64(c.m.Dome[0].DewTemp)), most, step)
}

// isotherm returns the line of one temperature in K: down through the liquid,
// across the dome, down through the vapour.
func (c *enthalpyPlot) isotherm(T float64) []point {
	var list []point
	if s, err := c.fluid.SaturationAtTemp(quantity.Temperature(T)); err == nil {
		if x, err := c.fluid.StateAt(quantity.Pressure(c.hiP), quantity.Temperature(T)); err == nil {
			list = append(list, point{float64(x.Enthalpy), c.hiP})
		}
		list = append(list, point{float64(s.LiquidEnthalpy), float64(s.BubblePressure)}, point{float64(s.VapourEnthalpy), float64(s.DewPressure)})
	}
	return append(list, c.vapourLine(T, temperatureOf)...)
}

func temperatureOf(v calc.VapourPoint) float64 { return float64(v.Temperature) }
func entropyOf(v calc.VapourPoint) float64     { return float64(v.Entropy) }
func volumeOf(v calc.VapourPoint) float64      { return 1 / float64(v.Density) }

// vapourLine returns the line in the vapour on which a property, rising with
// superheat, has one value: from high pressure to low.
func (c *enthalpyPlot) vapourLine(value float64, of func(calc.VapourPoint) float64) []point {
	var list []point
	for i := len(c.m.Vapour) - 1; i >= 0; i-- {
		row := c.m.Vapour[i]
		j := sort.Search(len(row), func(j int) bool { return of(row[j]) >= value })
		if j == 0 || j == len(row) {
			continue
		}
		a, b := row[j-1], row[j]
		t := (value - of(a)) / (of(b) - of(a))
		list = append(list, point{lerp(float64(a.Enthalpy), float64(b.Enthalpy), t), float64(c.m.Dome[i].DewPressure)})
	}
	return list
}

// rowAbove is the first row of the map at p in Pa or above.
func (c *enthalpyPlot) rowAbove(p float64) int {
	i := sort.Search(len(c.m.Dome), func(i int) bool { return float64(c.m.Dome[i].DewPressure) >= p })
	return min(i, len(c.m.Dome)-1)
}

// isentropes are the round entropies drawn, in the unit shown.
func (c *enthalpyPlot) isentropes() []float64 {
	row := c.m.Vapour[c.rowAbove(2*c.loP)] // about the suction pressure
	lo, hi := c.entropy.of(float64(row[0].Entropy)), c.entropy.of(float64(row[min(6, len(row)-1)].Entropy))
	return multiples(lo, hi, nice((hi-lo)/3.5))
}

// isochores are the round specific volumes drawn, in the unit shown.
func (c *enthalpyPlot) isochores() []float64 {
	most := c.volume.of(volumeOf(c.m.Vapour[c.rowAbove(c.loP)][0]))
	var list []float64
	for v := nice(most / 30); v < most*1.3; v = nice(v * 1.5) {
		list = append(list, v)
	}
	return list
}

// loop draws the measured cycle with its numbered points.
func (c *enthalpyPlot) loop() {
	var list []point
	for _, s := range c.states {
		list = append(list, c.place(s))
	}
	list = append(list, list[0])
	c.curve("loop", list)
	for i := 1; i < len(list); i++ {
		c.keep(c.plot.at(list[i-1]), c.plot.at(list[i]))
	}
	for _, s := range c.states {
		at := c.plot.at(c.place(s))
		c.plot.draw("circle", "spot", fmt.Sprintf(`cx="%s" cy="%s" r="10"`, num(at.x), num(at.y)))
		c.write("digit bold", "middle", at.x, at.y+4.8, letters, s.Word("point"))
		c.taken = append(c.taken, region{at.x - 11, at.y - 11, at.x + 11, at.y + 11})
	}
}

func (c *enthalpyPlot) place(s calc.Values) point {
	p, _ := s.Number("pressure")
	h, _ := s.Number("enthalpy")
	return point{h, p}
}

// labels names the lines where there is room, the more useful first.
func (c *enthalpyPlot) labels() {
	c.nameDome()
	for _, t := range c.isotherms() {
		line := c.isotherm(c.temp.si(t))
		if len(line) == 0 {
			continue
		}
		top, end := c.plot.at(line[0]), c.plot.at(line[len(line)-1])
		places := []point{c.lowest(line, 12), c.lowest(line, 26), {top.x, top.y - 8}, {end.x, end.y - 10}}
		if line[0].y == c.hiP { // it comes down from the upper edge
			places = append([]point{{top.x, c.top + 12}, {top.x, c.top + 28}}, places...)
		}
		c.try("isotherm-name", 12.5, plain(t)+"°", places...)
	}
	for _, s := range c.isentropes() {
		line := c.vapourLine(c.entropy.si(s), entropyOf)
		c.along("isentrope-name", "s "+plain(s), line)
	}
	for _, v := range c.isochores() {
		c.along("isochore-name", "v "+plain(v), c.vapourLine(c.volume.si(v), volumeOf))
	}
}

// nameDome writes bubble and dew outside the dome and the shares of vapour
// inside it.
func (c *enthalpyPlot) nameDome() {
	var left, right []point
	for _, share := range []float64{0.55, 0.45, 0.65, 0.35, 0.75, 0.25} {
		s := c.m.Dome[c.rowAbove(c.loP*math.Pow(c.hiP/c.loP, share))]
		a, b := c.plot.at(point{float64(s.LiquidEnthalpy), float64(s.BubblePressure)}), c.plot.at(point{float64(s.VapourEnthalpy), float64(s.DewPressure)})
		left = append(left, point{a.x - 32, a.y})
		right = append(right, point{b.x - 22, b.y})
	}
	c.try("line-name bold", letters, "bubble", left...)
	c.try("line-name bold", letters, "dew", right...)
	s := c.m.Dome[c.rowAbove(c.loP*1.12)]
	for _, x := range []float64{0.2, 0.4, 0.6, 0.8} {
		at := c.plot.at(point{lerp(float64(s.LiquidEnthalpy), float64(s.VapourEnthalpy), x), c.loP})
		c.try("quality-name", 12, fmt.Sprintf("%.0f%%", 100*x), point{at.x, c.bottom - 11}, point{at.x, c.bottom - 26})
	}
}

// lowest is the place on a line a few pixels above the lower edge.
func (c *enthalpyPlot) lowest(line []point, above float64) point {
	for i := 1; i < len(line); i++ {
		a, b := c.plot.at(line[i-1]), c.plot.at(line[i])
		if y := c.bottom - above; a.y <= y && y < b.y {
			return point{lerp(a.x, b.x, (y-a.y)/(b.y-a.y)), y}
		}
	}
	return point{nan, nan}
}

// along writes a name on a line where it first finds room, from the top.
func (c *enthalpyPlot) along(class, name string, line []point) {
	var places []point
	for _, q := range line[min(len(line), max(2, len(line)/4)):] {
		places = append(places, c.plot.at(q))
	}
	c.try(class, 12, name, places...)
}

// key explains the kinds of line and returns where it ends.
func (c *enthalpyPlot) key(y float64) float64 {
	for i, k := range []struct{ class, text string }{
		{"isotherm", "temperature, " + c.temp.Symbol}, {"quality", "share of vapour"},
		{"isentrope", "s: entropy, " + c.entropy.Symbol}, {"isochore", "v: volume, " + c.volume.Symbol},
	} {
		x, at := 4.0, y+float64(i)*17
		c.plot.draw("path", k.class, fmt.Sprintf(`d="M%s %sh36"`, num(x), num(at)))
		c.write("key", "start", x+44, at+4, 12.5, k.text)
	}
	c.plot.draw("path", "bubble", fmt.Sprintf(`d="M%s %sh36"`, num(252), num(y)))
	c.write("key", "start", 296, y+4, 12.5, "bubble")
	c.plot.draw("path", "dew", fmt.Sprintf(`d="M%s %sh36"`, num(252), num(y+17)))
	c.write("key", "start", 296, y+21, 12.5, "dew")
	return y + 4*17
}

// shortNames are the points of the cycle in a table.
var shortNames = map[string]string{"1": "suction", "2": "discharge", "3": "liquid", "4": "metering out"}

// table lists the points and returns where it ends.
func (c *enthalpyPlot) table(y float64) float64 {
	const line = 19.0
	columns := []struct {
		x    float64
		name string
		u    scaled
	}{{196, "temperature", c.temp}, {272, "pressure", c.press}, {width - 4, "enthalpy", c.heat}}
	y += 10
	for _, col := range columns {
		c.write("head", "end", col.x, y, 12.5, col.u.Symbol)
	}
	for _, s := range c.states {
		y += line
		c.write("name bold", "start", 4, y, letters, s.Word("point"))
		c.write("name", "start", 22, y, letters, shortNames[s.Word("point")])
		for _, col := range columns {
			c.write("value bold", "end", col.x, y, letters, col.u.number(s, col.name))
		}
	}
	return y
}

// sums writes the few numbers that sum the cycle up.
func (c *enthalpyPlot) sums(out calc.Values, y float64, units tradeunit.System) float64 {
	diff := unitOf(quantity.DimTempDiff, units, 0)
	ratio, _ := out.Number("compression_ratio")
	for _, l := range []string{
		fmt.Sprintf("superheat %s · subcooling %s %s", diff.number(out, "superheat"), diff.number(out, "subcooling"), diff.Symbol),
		fmt.Sprintf("compression ratio %.2f · effect %s %s", ratio, c.heat.number(out, "refrigerating_effect"), c.heat.Symbol),
	} {
		y += 19
		c.write("sum", "start", 4, y, letters, l)
	}
	return y + 4
}

// spoken is the drawing in words.
func (c *enthalpyPlot) spoken() string {
	text := "Pressure-enthalpy chart of " + c.fluid.Name() + " with the measured cycle."
	for _, s := range c.states {
		text += fmt.Sprintf(" Point %s, %s: %s %s, %s %s, %s %s.", s.Word("point"), s.Word("at"),
			c.temp.number(s, "temperature"), c.temp.Symbol, c.press.number(s, "pressure"), c.press.Symbol, c.heat.number(s, "enthalpy"), c.heat.Symbol)
	}
	return text
}
