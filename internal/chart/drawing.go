package chart

import (
	"fmt"
	"math"

	"rung/internal/calc"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// drawers turn the values of a calculator into its drawing.
var drawers = map[string]func(in, out calc.Values, units tradeunit.System) (string, error){
	"pressure-enthalpy":   pressureEnthalpy,
	"psychrometric-chart": psychrometric,
}

// Draw draws what the calculator of that name made out of in. It is an error
// if there is no drawing of it, which calc.Calculator.Drawn tells beforehand.
func Draw(name string, in, out calc.Values, units tradeunit.System) (string, error) {
	draw, ok := drawers[name]
	if !ok {
		return "", fmt.Errorf("chart: there is no drawing of %q", name)
	}
	return draw(in, out, units)
}

// scaled converts between SI and the unit of an axis.
type scaled struct {
	tradeunit.Unit
	ambient quantity.Pressure
}

func (u scaled) of(si float64) float64    { return u.Of(si, u.ambient) }
func (u scaled) si(shown float64) float64 { return u.SI(shown, u.ambient) }
func (u scaled) text(si float64) string   { return calc.Show(u.Unit, si, u.ambient) }
func (u scaled) number(v calc.Values, name string) string {
	x, ok := v.Number(name)
	if !ok {
		return "–"
	}
	return u.text(x)
}

// unitOf returns the unit in which a dimension is drawn.
func unitOf(dim quantity.Dimension, units tradeunit.System, ambient quantity.Pressure) scaled {
	return scaled{calc.Field{Dim: dim}.ShownIn(units), ambient}
}

// notes writes warnings below a drawing and returns where they end.
func (p *plot) notes(list []string, y float64) float64 {
	const line, limit = 16.0, 44 // px; letters
	for _, n := range list {
		for i, l := range breakWords("⚠ "+n, limit) {
			class := "note"
			if i == 0 {
				class += " first"
			}
			y += line
			p.write(class, "start", 4, y, 12.5, l)
		}
		y += 4
	}
	return y
}

// lerp is the value between a and b at the share t of the way.
func lerp(a, b, t float64) float64 { return a + t*(b-a) }

var nan = math.NaN()
