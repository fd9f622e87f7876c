// Package system describes the electrical side of a house's heating and cooling
// systems as text, and plays their sequences of operation.
//
// A description lists conductors, contacts, coils, loads, motors, transformers
// and boards between named points, with the ladders they are drawn in, the
// calls that a thermostat can make, and the few quantities of the heat side
// that boards and limits feel: draft, the heat of an igniter, a flame, water or
// air that warms. [Describe] has them; [Description.Build] compiles it into one
// network and the devices of package relay, after any number of edits: an open
// conductor, a short between any two points, crossed wires, a wrong terminal, a
// reversed transformer, a welded contact, a dead flame. A fault is a list of
// edits, and nothing in it says what a meter shows: that follows.
//
// [System.Play] makes a call and lets time pass. Its [Play] answers at any
// moment: which mode each board is in, volts between any two points with the
// load of the meter, amps in any conductor, ohms of what is dead.
//
// Left out: the refrigerant side and air flow, which package plant has; run-up
// and bounce of contacts; heat in more detail than first-order lags, whose
// times and targets are typical, not computed (practice: each says so beside
// it). Wiring diagrams of real equipment differ: the diagram on the panel wins.
package system
