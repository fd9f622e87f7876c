// Package cycle is a steady model of a vapour-compression machine with its
// faults: what every gauge, pipe clamp and thermometer shows, from the plate
// of the machine, the air around it and what is wrong with it.
//
// Calibrate finds the machine behind a plate; Machine.Solve returns the
// running state, Machine.Stand the state at rest. One kind of machine is
// covered: a single-stage split air conditioner or heat pump, fixed orifice or
// TXV; R-410A or R-22, and every other refrigerant with tables with less to show
// for it (see Measured misfit). Condition.Mode says which way it runs.
//
// # How it works
//
// Three numbers are sought: both saturation pressures and the enthalpy at the
// compressor. Given these, every component is explicit, so one pass around the
// loop costs about a microsecond, and Newton's method needs 10 to 30 passes.
// Three conditions close the loop: enthalpy at the compressor, pumped against
// metered flow, and the charge. Where Newton's method runs into a limit, two of them
// are closed with the third unknown held there; where it fails, nested bracketing
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
// In heating the same two coils change roles and the same compressor draws from
// the outdoor one; compressor and coils are those the cooling figures fix unless
// the plate gives heating figures too. The indoor coil holds less liquid, so at the
// heating rating point a buffer of charge is out of play, chosen to give the target
// subcooling there. A coil that leaves wet fills an accumulator. The metering device
// outdoors starts from 8 °F of superheat at 47 °F.
//
// Between a leak of 0.6 and 1 of the displaced flow readings are interpolated
// to those of a compressor that does not pump. With a restriction above about
// 900 kPa at rated flow several states can exist; a cold solve gives the one
// reached by raising the restriction from nothing, a warm one may stay on
// another.
//
// # Left out
//
// The growth of ice and frost with time and the defrost that ends it: a coil that
// freezes is the outcome Icing, its readings are those of the bare coil, and
// State.FrostRate says how fast it goes; an iced coil is a Condition of less airflow
// and a Fault of fouling. Auxiliary heat, cycling and every other transient, hunting
// valves, receivers, fan-cycling controls in cool weather, lifts and very long lines.
// Uneven feed of the coil's circuits was tried, 10 % either way: it moves the order of
// losses between metering devices at low airflow by a third of what is missing, and
// costs accuracy elsewhere.
//
// # Range
//
// Outdoor -30 to 52 °C, return -10 to 54 °C, plates of 4 to 22 kW and EER 1.9 to
// 5 W/W; outside, a *quantity.RangeError. The upper pressure limit stands at 0.9
// of the critical pressure (44 bar, R-410A). Absolute charge comes out 0 to 40 %
// below the plate's.
//
// Below 10 °C outdoors and beyond 13 to 41 °C indoors the balances close, but
// nothing was there to compare them with: DoubtCold stands beside the state. The
// compressor's friction is a share of its work, so power falls too far with the
// pressure ratio; that of a real one stops at some 15 to 30 % (practice). A
// fixed orifice leaves its correlation there for the law of a plain orifice. With
// several faults at once a fixed orifice in the cold may have no state that
// holds; the outcome is then NoBalance.
//
// # Measured misfit
//
// The tests compare the model with 671 published and practice figures;
// testdata/missed.txt lists the 34 that miss their tolerance, and docs/validation.md
// tables all. data/discrepancy.txt turns them into a standard deviation for each
// reading. In short:
//
//   - A tested machine, predicted from plate-level data in eight healthy states
//     from 70 to 100 °F outdoors: saturation of the liquid within 1 °F, discharge
//     within 3 °F, subcooling within 4 °F, capacity and flow within 5 %, power
//     within 2 %; suction saturation 6 °F low throughout, the one figure that a
//     class average cannot know.
//   - Charge, TXV, 70 to 130 %: capacity within 0.04 and power within 0.03.
//     The charge balance was fitted to these.
//   - Weather, 67 °F wet bulb, 75 to 115 °F: capacity within 0.02 with a TXV. The
//     rise of capacity with wet bulb is three quarters of the published, with a
//     fixed orifice two fifths.
//   - Power over 75 to 115 °F within 0.03 of the fleet average with a TXV, up to
//     0.08 low with a fixed orifice in dry air. At half the outdoor air within 0.03 for
//     a machine of the efficiency class that was measured.
//   - Superheat of a fixed orifice against the rule of the trade within 5 °F.
//   - Indoor airflow: capacity within 0.03 down to half, 0.06 low at 40 %.
//   - Drop of the air over the indoor coil 1 °F high, within 3 °F.
//   - Heating, charge 70 to 130 %: capacity within 0.09, power within 0.07, half of
//     it fitted. Over outdoor temperature nothing but practice was there.
//
// Other refrigerants than R-410A and R-22 were compared with nothing published;
// their pressures follow from the same coils, their properties are checked.
//
// A fixed orifice suffers too little from low airflow and overcharge. Pressures,
// superheat and subcooling under faults could not be checked against laboratory
// tables; none could be had, in heating none at all.
package cycle
