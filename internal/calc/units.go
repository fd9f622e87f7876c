package calc

import (
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// mustUnit finds a unit of the table; a missing one is a broken program.
func mustUnit(dim quantity.Dimension, symbol string) tradeunit.Unit {
	u, err := tradeunit.Lookup(dim, symbol)
	if err != nil {
		panic("calc: " + err.Error())
	}
	return u
}

func mustSI(number float64, dim quantity.Dimension, symbol string) float64 {
	return mustUnit(dim, symbol).SI(number, StandardPressure)
}

func mustOf(si float64, dim quantity.Dimension, symbol string) float64 {
	return mustUnit(dim, symbol).Of(si, StandardPressure)
}
