// Package cycle is a steady model of a vapour-compression machine with its
// faults: what every gauge, pipe clamp and thermometer shows, from the plate
// of the machine, the air around it and what is wrong with it.
//
// Calibrate finds the machine behind a plate; Machine.Solve returns the
// running state, Machine.Stand the state at rest. One kind of machine is
// covered: a single-stage split air conditioner in cooling, fixed orifice or
// TXV, R-410A or R-22.
//
// # How it works
//
// Three numbers are sought: both saturation pressures and the enthalpy at the
// compressor. Given these, every component is explicit, so one pass around the
// loop costs about a microsecond, and Newton's method needs 10 to 30 passes.
// Three conditions close the loop: enthalpy at the compressor, pumped against
// metered flow, and the charge. Where Newton's method fails, nested bracketing
// finds the state or the limit. A pass and a solve allocate nothing, and there
// is no state outside the arguments.
//
// # Assumptions
//
// The outdoor coil has three zones and the indoor coil two, each slice meeting
// entering air; the indoor coil is all wet or all dry. Charge is used relative
// to the rated charge only. Foreign gas collects in the outdoor coil and adds
// its partial pressure there. Subcooling, superheat and condensing temperature
// at the rating point are the plate's or the class average's; the superheat of a
// fixed orifice is pinned there to the rule of the trade, (3 WB - 80 - outdoor)/2
// in °F, because no correlation predicts it from geometry.
//
// Between a leak of 0.6 and 1 of the displaced flow readings are interpolated
// to those of a compressor that does not pump. With a restriction above about
// 900 kPa at rated flow several states can exist; a cold solve gives the one
// reached by raising the restriction from nothing, a warm one may stay on
// another.
//
// # Left out
//
// Heating, ice and frost growth, cycling and every other transient, hunting
// valves, receivers and accumulators, fan-cycling controls in cool weather,
// uneven distribution in the coils, lifts and very long lines.
//
// # Range
//
// Outdoor 10 to 52 °C, return 13 to 41 °C, plates of 4 to 22 kW and EER 1.9 to
// 5 W/W; outside, a *quantity.RangeError. The upper pressure limit stands at 0.9
// of the critical pressure (44 bar, R-410A). Absolute charge comes out 0 to 40 %
// below the plate's.
//
// # Measured misfit
//
// testdata/comparison.txt holds every published figure next to the model's,
// with those missed marked; a test keeps it current. In short: capacity and
// power against outdoor temperature at 67 °F wet bulb within 2 and 5 points
// from 75 to 115 °F; capacity under 70 to 130 % charge within 5 points of the
// laboratory correlation; indoor airflow down to half within 2 points. Weak:
// wet-bulb sensitivity of capacity is about half the published; power rises
// too little at 115 °F; a fixed orifice suffers too little from low airflow and
// overcharge. Pressures, superheat and subcooling under faults could not be
// checked against laboratory tables, since none could be had.
package cycle
