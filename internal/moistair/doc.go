// Package moistair is the psychrometrics of air at about atmospheric pressure:
// wet bulb, dew point, relative humidity, humidity ratio, enthalpy and volume.
//
// It is the formulation of the ASHRAE Handbook of Fundamentals, chapter 1: air
// and water vapour as ideal gases, with the saturation pressure of Hyland and
// Wexler. Below freezing, saturation and wet bulb are over ice. Enthalpy is per
// kilogram of dry air and counts from dry air and liquid water at 0 °C.
//
// Range: -100 to 200 °C, 20 to 150 kPa. Against 300 computed rows of the same
// formulation (testdata/published), -23 to 51 °C and up to 2600 m, the largest
// differences are 0.0005 K of wet bulb, 0.0013 K of dew point, 2e-7 kg/kg and
// 0.5 J/kg, all from the rounding of what the rows give. What the formulation
// itself leaves out, chiefly the enhancement of the vapour pressure by the air,
// is within 0.7 % (memory: the handbook's statement on its ideal-gas relations).
//
// From takes any two properties that fix a state; Mix, Removed and
// ApparatusDewPoint do sums with states.
//
// The functions with plain numbers, SatEnthalpy and its kin, are for models of
// a coil: over liquid water also below 0 °C, so that no kink stands in the way
// of a solver.
package moistair
