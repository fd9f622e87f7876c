package chart

import (
	"fmt"

	"rung/internal/calc"
	"rung/internal/moistair"
	"rung/internal/quantity"
)

// background draws curves of relative humidity, and the lines of wet bulb and
// enthalpy.
func (c *airPlot) background() error {
	for _, rh := range []float64{0.2, 0.4, 0.6, 0.8, 1} {
		line, err := c.humid(rh)
		if err != nil {
			return err
		}
		class := "humidity"
		if rh == 1 {
			class = "saturation"
		}
		c.curve(class, line)
	}
	for _, t := range c.wetBulbs() {
		c.curve("wet-bulb", c.wetBulb(c.temp.si(t)))
	}
	for _, h := range c.enthalpies() {
		c.curve("enthalpy", c.enthalpy(h))
	}
	return nil
}

// humid returns the curve of one relative humidity.
func (c *airPlot) humid(rh float64) ([]point, error) {
	const pieces = 40
	var line []point
	for i := range pieces + 1 {
		T := lerp(c.loT, c.hiT, float64(i)/pieces)
		s, err := moistair.FromRelativeHumidity(quantity.Temperature(T), quantity.RelativeHumidity(rh), c.pressure)
		if err != nil {
			return nil, err
		}
		line = append(line, point{T, float64(s.HumidityRatio)})
	}
	return line, nil
}

func (c *airPlot) wetBulbs() []float64 {
	return multiples(c.temp.of(c.loT)+c.lines.wetBulb/2, c.temp.of(c.hiT), c.lines.wetBulb)
}

// wetBulb returns the line of one wet bulb in K: straight enough from
// saturation to bone-dry air.
func (c *airPlot) wetBulb(Tw float64) []point {
	var line []point
	for T := Tw; T <= c.hiT+1; T += 4 {
		s, err := moistair.FromWetBulb(quantity.Temperature(T), quantity.Temperature(Tw), c.pressure)
		if err != nil {
			break // drier than any air
		}
		line = append(line, point{T, float64(s.HumidityRatio)})
	}
	if n := len(line); n > 1 && line[n-1].x < c.hiT { // on to bone-dry air
		a, b := line[n-2], line[n-1]
		if slope := (b.y - a.y) / (b.x - a.x); slope < 0 {
			line = append(line, point{b.x - b.y/slope, 0})
		}
	}
	return line
}

// enthalpies are the round enthalpies drawn, in the unit shown.
func (c *airPlot) enthalpies() []float64 {
	lo := calc.AirEnthalpy(c.units, c.loT, c.saturated(c.loT))
	hi := calc.AirEnthalpy(c.units, c.hiT, c.hiW)
	step := c.lines.enthalpy
	for (c.heat.of(hi)-c.heat.of(lo))/step > 14 {
		step *= 2
	}
	return multiples(c.heat.of(lo), c.heat.of(hi), step)
}

// enthalpy returns the line of one enthalpy, in the unit shown, from a little
// outside saturation to dry air.
func (c *airPlot) enthalpy(h float64) []point {
	want := c.heat.si(h)
	at := func(W float64) point { // straight in T and W to the eye
		T0 := c.loT
		a, b := calc.AirEnthalpy(c.units, T0, W), calc.AirEnthalpy(c.units, T0+1, W)
		return point{T0 + (want-a)/(b-a), W}
	}
	edge := c.saturationOf(at)
	const outside = 26 // px, above and left of saturation
	rise := outside / (c.bottom - c.top) * c.hiW
	return []point{at(edge + rise), at(edge), at(0)}
}

// saturationOf returns the humidity ratio at which a line meets saturation, by
// halving.
func (c *airPlot) saturationOf(at func(W float64) point) float64 {
	lo, hi := 0.0, c.hiW*2
	for range 30 {
		mid := (lo + hi) / 2
		q := at(mid)
		s, err := moistair.FromWetBulb(quantity.Temperature(q.x), quantity.Temperature(q.x), c.pressure)
		if err == nil && float64(s.HumidityRatio) > mid {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// names writes the values of the lines where there is room.
func (c *airPlot) names() {
	for _, rh := range []float64{0.2, 0.4, 0.6, 0.8} {
		line, err := c.humid(rh)
		if err != nil {
			continue
		}
		var places []point
		for i := len(line) - 1; i > 0; i-- {
			q := c.at(line[i])
			places = append(places, point{q.x - 4, q.y})
		}
		c.try("humidity-name", 12, fmt.Sprintf("%.0f%%", 100*rh), places...)
	}
	for _, t := range c.wetBulbs() {
		if line := c.wetBulb(c.temp.si(t)); len(line) > 0 {
			q := c.at(line[0])
			c.try("wet-bulb-name", 12, plain(t)+"°", point{q.x - 12, q.y - 5}, point{q.x - 6, q.y - 11}, point{q.x - 16, q.y})
		}
	}
	for _, h := range c.enthalpies() {
		q := c.at(c.enthalpy(h)[0])
		c.try("enthalpy-name", 12, plain(h), point{q.x - 8, q.y - 5}, point{q.x - 12, q.y}, point{q.x, q.y - 8})
	}
}
