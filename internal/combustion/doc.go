// Package combustion holds fuels and their flue gas: heating values, the air a
// fuel needs, and what the dry flue gas tells of excess air, loss and water.
//
// A fuel is its composition; everything else follows from molar masses, heats of
// combustion and the heat capacities of the gases. Gases are ideal: a real cubic
// foot of natural gas holds 0.2 % more, one of propane 1.7 % more (memory: GPSA
// Engineering Data Book). Combustion is complete but for the carbon monoxide that
// is read; it and soot carry no loss here.
//
// Against the efficiency table of a public tip sheet, 2 to 10 % oxygen and 200 to
// 600 °F above the air, the answers lie 0.3 to 0.65 points higher
// (testdata/published).
package combustion
