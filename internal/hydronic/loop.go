package hydronic

import (
	"math"

	"rung/internal/quantity"
)

// gravity is the standard acceleration of free fall.
//
// published: NIST SP 811 (2008), appendix B
const gravity = 9.80665 // m/s²

// HeatCarried returns the heat that a flow of liquid carries over a difference
// of temperatures, with the liquid taken midway between both. Within 70 K the
// true enthalpy difference of water is met to 0.12 % (tested).
func HeatCarried(l Liquid, flow quantity.VolumeFlow, d quantity.TempDiff) quantity.Power {
	return quantity.Power(float64(l.Density) * float64(l.SpecificHeat) * float64(flow) * d.Kelvin())
}

// StaticPressure returns the pressure of a standing column of liquid.
func StaticPressure(l Liquid, height quantity.Length) quantity.PressureDiff {
	return quantity.PressureDiff(float64(l.Density) * gravity * float64(height))
}

// Head returns the height of liquid that stands for a pressure difference.
func Head(l Liquid, d quantity.PressureDiff) quantity.Length {
	return quantity.Length(d.Pascal() / (float64(l.Density) * gravity))
}

// Pipe is what a loop is made of, as it matters for its expansion.
type Pipe string

// The pipes with a known expansion.
const (
	Steel  Pipe = "steel"
	Copper Pipe = "copper"
)

// expansion returns the linear expansion in 1/K.
//
// memory: ASHRAE Systems and Equipment, expansion tanks, 6.5e-6 and 9.5e-6 in./in.
// per °F; that of steel gives the published factors of testdata/published
func (p Pipe) expansion() float64 {
	const perF = 1.8 // °F in a kelvin
	if p == Copper {
		return 9.5e-6 * perF
	}
	return 6.5e-6 * perF
}

// Expansion returns the share of the volume of a loop by which its filling grows
// beyond its pipes from cold to hot, the liquids at both temperatures given.
//
// memory: ASHRAE Systems and Equipment, (v2/v1 − 1) − 3αΔt; its factors are
// published, see testdata/published/expansion.txt
func Expansion(cold, hot Liquid, pipe Pipe, rise quantity.TempDiff) quantity.Ratio {
	return quantity.Ratio(float64(cold.Density)/float64(hot.Density) - 1 - 3*pipe.expansion()*rise.Kelvin())
}

// TankVolume returns the least volume of an expansion tank with a diaphragm that
// takes up the volume accepted between the fill pressure, to which its air was
// set, and the highest pressure.
//
// The highest must be above the fill pressure; otherwise the error is a
// *quantity.RangeError.
//
// published: a training page on expansion tanks, accepted/(1 − P1/P2) with absolute
// pressures
func TankVolume(accepted quantity.Volume, fill, highest quantity.Pressure) (quantity.Volume, error) {
	if err := quantity.CheckRange("hydronic.TankVolume", "highest pressure", highest.Pascal(), math.Nextafter(fill.Pascal(), math.Inf(1)), 10*maxPressure, "Pa"); err != nil {
		return 0, err
	}
	return quantity.Volume(float64(accepted) / (1 - float64(fill/highest))), nil
}
