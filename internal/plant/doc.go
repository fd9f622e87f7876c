// Package plant puts a house system together from its units, parts, wiring and
// nameplate, and says how it behaves.
//
// The one machine so far is a single-stage split air conditioner: an outdoor
// unit with compressor, condenser fan, dual run capacitor and contactor; an air
// handler or furnace with coil, blower, transformer and board; a thermostat and
// the cables between them. Every physical parameter that a tolerance or a fault
// may change has a stable path, listed in data/parameters.txt.
package plant
