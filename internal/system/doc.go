// Package system describes the electrical side of a house's heating and cooling
// systems as text, and plays their sequences of operation.
//
// A description lists conductors, contacts, coils, loads, motors, transformers
// and boards between named points, with the ladders they are drawn in, the
// calls that a thermostat can make, and the quantities of the heat side that
// boards, limits and instruments feel: draft, the heat of an igniter, a flame,
// gas and flue gas, water or air that warms. They lag behind targets, which are
// numbers, or values that follow by formulas from what the system is rated for
// (package airflow, combustion and moistair): so a clogged filter or a wrong gas
// pressure is one edited value, and rise, flue gas and limits follow. [Describe] has them; [Description.Build] compiles it into one
// network and the devices of package relay, after any number of edits: an open
// conductor, a short between any two points, crossed wires, a wrong terminal, a
// reversed transformer, a welded contact, a dead flame. A fault is a list of
// edits, at a severity where it has degrees ([Fault.EditsAt]), and nothing in it
// says what a meter shows: that follows.
//
// [System.Play] makes a call and lets time pass. Its [Play] answers at any
// moment: which mode each board is in, volts between any two points with the
// load of the meter, amps in any conductor, ohms of what is dead.
//
// Left out: the refrigerant side, which package plant has; run-up and bounce of
// contacts; heat in more detail than first-order lags, whose times are typical.
// Formulas are of natural gas, of a house at sea level and of steady running;
// carbon monoxide is a typical figure, and so is every target that no formula
// gives (practice: each says so beside it). Of two stages each is computed by
// itself. Wiring diagrams of real equipment differ: the diagram on the panel wins.
package system
