package calc

import (
	"math"
	"slices"
	"sync"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// FluidMap is what lies behind every pressure-enthalpy drawing of a
// refrigerant: the dome, and the vapour beside it on a grid.
//
// Between the points of the grid a line may be drawn straight: enthalpy strays
// from it by less than 0.15 % of the width of the dome.
type FluidMap struct {
	Refrigerant      string
	Critical         quantity.Temperature
	CriticalPressure quantity.Pressure
	// Dome are the saturation states by rising pressure, up to SaturationRange.
	Dome []refrigerant.Saturation
	// Vapour[i] is the vapour at the pressure of Dome[i], from the dew line to
	// 140 K of superheat; it ends sooner where the equation of state does.
	Vapour [][]VapourPoint
}

// VapourPoint is vapour at one pressure of a FluidMap.
type VapourPoint struct {
	Temperature quantity.Temperature
	Density     quantity.Density
	Enthalpy    quantity.SpecificEnthalpy
	Entropy     quantity.SpecificEntropy
}

// The grid of a FluidMap.
const (
	domeRows     = 30
	domeFrom     = 223.15 // K, -58 °F: below any evaporator of the trade
	domeAbove    = 15.0   // K above the end of the saturation line, where that lies higher
	domeCrowding = 1.6    // how much denser the rows stand towards the top
)

// superheats are the columns of the grid, in K: close to the dome enthalpy bends
// most.
var superheats = []float64{0, 2, 5, 9, 14, 20, 28, 38, 50, 64, 80, 98, 118, 140}

// fluidMaps remembers the maps: they depend on nothing but the refrigerant.
var fluidMaps sync.Map // name: FluidMap

// MapOf returns the map of f.
func MapOf(f *refrigerant.Fluid) (FluidMap, error) {
	if m, ok := fluidMaps.Load(f.Name()); ok {
		return m.(FluidMap), nil
	}
	m, err := mapOf(f)
	if err == nil && slices.Contains(refrigerant.Names(), f.Name()) { // compositions are without number
		fluidMaps.Store(f.Name(), m)
	}
	return m, err
}

func mapOf(f *refrigerant.Fluid) (FluidMap, error) {
	m := FluidMap{Refrigerant: f.Name()}
	m.Critical, m.CriticalPressure = f.Critical()
	lo, hi := f.SaturationRange()
	from := math.Max(domeFrom, float64(lo)+domeAbove)
	for i := range domeRows {
		left := math.Pow(1-float64(i)/(domeRows-1), domeCrowding)
		t, err := f.SaturationAtTemp(quantity.Temperature(float64(hi) - left*(float64(hi)-from)))
		if err != nil {
			return m, err
		}
		s, err := f.SaturationAtPressure(t.DewPressure)
		if err != nil {
			return m, err
		}
		m.Dome = append(m.Dome, s)
		m.Vapour = append(m.Vapour, vapourRow(f, s))
	}
	return m, nil
}

// vapourRow returns the vapour at one pressure, from the dew line on.
func vapourRow(f *refrigerant.Fluid, s refrigerant.Saturation) []VapourPoint {
	row := []VapourPoint{{s.DewTemp, s.VapourDensity, s.VapourEnthalpy, s.VapourEntropy}}
	for _, superheat := range superheats[1:] {
		t := s.DewTemp + quantity.Temperature(superheat)
		x, err := f.StateAt(s.DewPressure, t)
		if err != nil {
			break // the end of the equation, or too near the critical point to tell
		}
		row = append(row, VapourPoint{t, x.Density, x.Enthalpy, x.Entropy})
	}
	return row
}
