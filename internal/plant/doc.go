// Package plant puts a house system together from its units, parts, wiring and
// nameplate, and says how it behaves.
//
// The one machine so far is a single-stage split air conditioner: an outdoor
// unit with compressor, condenser fan, dual run capacitor and contactor; an air
// handler or furnace with coil, blower, transformer and board; a thermostat and
// the cables between them; through a TXV or a fixed orifice R-410A or R-22, or a
// refrigerant of about the pressures of one of them (see [Refrigerants]). Told
// that it is a heat pump it also heats by its refrigerant circuit, called by Y and
// G as if its reversing valve were over.
//
// A [Nameplate] may be mostly unknown: [Nameplate.Complete] fills it in by the
// habits of the trade and lists what it took, [Nameplate.Check] refuses what no
// such machine can have. [Build] calibrates cycle and ducts to it, fits the
// motors, and compiles the wiring. Every physical parameter that a tolerance or
// a fault may change has a stable path, listed in data/parameters.txt, and a
// place in [Params]. [Solver.Solve] then couples:
//
//   - the 24 V side and the sequence of operation, stepped by package relay over
//     the solved networks: who calls, what is in the way, what pulls in;
//   - the motors: whether they start, at what slip and amps they balance;
//   - blower, filter, coil and ducts, whose flow the blower's speed follows;
//   - the refrigerant side, which sets the compressor's torque and feels its
//     speed, and feels the air of both fans;
//   - what ends a run: pressure switches, overload, breaker, fuses.
//
// Limits, trips and stalled motors are results. A [State] answers for every
// meter: volts between any two nodes with the meter's load, amps, ohms of a dead
// part, pressures and temperatures at rest and running, air, looks, and the
// trace of events. [Wiring] is the structure from which a ladder is drawn.
//
// Left out: the sag of the indoor supply under the outdoor unit; the 120° between
// the legs of a 208 V service (they are taken as opposed, so each reads 104 V to
// ground instead of 120 V); the run-up of
// motors and pressures in time (times in the trace are typical, not computed,
// but for fuses, coils and overloads); ice that grows while one looks (a coil
// below freezing is an outcome, ice from before is a parameter); restarts
// against unequal pressures; the short-circuited current in shorted turns; the
// moisture of attic air in a leaky return; the burner or elements of a heating
// call, of which only W, the relay and the blower are here; the wiring of a
// reversing valve, defrost and auxiliary heat of a heat pump.
//
// Range: -30 to 52 °C outdoors, 5 to 41 °C indoors, 180 to 265 V, to 3500 m.
// Below 10 °C outdoors everything electrical, the air side and standing
// pressures hold as ever; the running refrigerant side is an extrapolation and
// says so in the Doubt of its state, and charge is not to be judged there.
// Nothing is published for the coupled whole: what the parts are checked
// against stands with them; here the facts of the trade are tests, with
// conservation of energy, monotone sweeps and random plants.
package plant
