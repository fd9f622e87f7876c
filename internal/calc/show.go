package calc

import (
	"math"
	"strconv"

	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// metric are the units in which instruments of the metric trade show a
// dimension, where that is not the base unit of SI.
//
// practice: gauges in kPa over the air around them, superheat in K.
var metric = map[quantity.Dimension]string{
	quantity.DimTemperature:      "°C",
	quantity.DimPressure:         "kPa(g)",
	quantity.DimPower:            "kW",
	quantity.DimEnergy:           "kJ",
	quantity.DimCapacitance:      "µF",
	quantity.DimTime:             "min",
	quantity.DimRotation:         "rpm",
	quantity.DimVolumeFlow:       "L/s",
	quantity.DimSpecificEnthalpy: "kJ/kg",
	quantity.DimHumidityRatio:    "g/kg",
	quantity.DimRatio:            "%",
	quantity.DimHeatFlow:         "kW",
	quantity.DimVolume:           "L",
	quantity.DimLiquidFlow:       "L/min",
	quantity.DimFuelFlow:         "m³/h",
	quantity.DimHeatingValue:     "MJ/m³",
	quantity.DimAirEnthalpy:      "kJ/kg",
	quantity.DimViscosity:        "cP",
	quantity.DimTrace:            "ppm",
}

// ShownIn returns the unit in which people see the field: on pages, drawings
// and paper. Unlike Unit it is for SI what instruments show, not the base unit.
func (f Field) ShownIn(units tradeunit.System) tradeunit.Unit {
	if units == tradeunit.US {
		return f.Unit(units)
	}
	switch symbol := metric[f.Dim]; {
	case symbol == "":
		return units.Preferred(f.Dim)
	case f.Dim == quantity.DimPressure && f.USUnit != "": // absolute
		return mustUnit(f.Dim, "kPa")
	case f.Dim == quantity.DimRatio && f.USUnit == "1":
		return mustUnit(f.Dim, "1")
	default:
		return mustUnit(f.Dim, symbol)
	}
}

// resolved is how many decimals are worth showing, by unit; 4 if not listed.
//
// practice: what an instrument or a printed table of the trade resolves.
var resolved = map[string]int{
	"°F": 1, "°C": 1, "K": 1, "psig": 1, "psia": 2, "kPa": 1, "kPa(g)": 1, "Pa": 0, "inHg": 2, "in. w.c.": 2, "psi": 1,
	"ton": 2, "Btu/h": 0, "kW": 2, "W": 0, "VA": 0, "hp": 2, "V": 1, "mV": 1, "A": 2, "mA": 1, "µF": 2, "Hz": 1, "rpm": 0,
	"ft": 1, "in.": 2, "mm": 1, "m": 2, "min": 1, "h": 2, "s": 1, "fpm": 0, "CFM": 0, "gpm": 2, "L/s": 1,
	"Btu/lb": 2, "kJ/kg": 2, "J/(kg·K)": 1, "gr/lb": 1, "g/kg": 2, "kg/kg": 5, "%": 1, "1": 2,
	"gal": 2, "ft³": 3, "L": 1, "m³": 4, "L/min": 1, "ft³/h": 1, "m³/h": 3, "Btu/ft³": 0, "MJ/m³": 2, "ppm": 0, "lb/h": 1,
	"cP": 3, "Btu/(h·CFM·°F)": 3, "Btu/(h·gpm·°F)": 1, "lb/ft³": 2,
}

// Show prints the SI value si in u, to what is worth showing: at most four
// digits that mean something, and no decimal that no instrument resolves.
func Show(u tradeunit.Unit, si float64, ambient quantity.Pressure) string {
	const digits = 4
	x := u.Of(si, ambient)
	most, listed := resolved[u.Symbol]
	if !listed {
		most = 4
	}
	decimals := most
	if whole := math.Floor(math.Log10(math.Abs(x))) + 1; whole > 0 {
		decimals = max(0, min(most, digits-int(whole)))
	}
	if math.Abs(x) < 0.5*math.Pow(10, -float64(decimals)) {
		x = 0 // never "-0"
	}
	return strconv.FormatFloat(x, 'f', decimals, 64)
}
