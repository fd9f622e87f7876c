// Package airflow finds how much air a blower moves through filter, coil and
// ducts, and what the manometer reads on the way.
//
// Each resistance is a square law through its design point (design flow,
// design drop); the blower is a parabola through the same point, moved along
// the fan laws by speed. With these shapes flow follows in closed form, so
// there is nothing to iterate and nothing special at zero flow; only a
// constant-airflow blower at its power limit needs one bracketed root.
//
// Two blowers: a permanent-split-capacitor motor on a tap, whose flow falls
// when resistance rises, and an electronically commutated motor that holds its
// programmed flow and pays in power until it reaches a limit. A clogged filter
// therefore shows as low flow on the first and as high power on the second.
//
// Left out: duct leakage, the slightly lower exponent of clean filters
// (about 1.3 to 1.9 instead of 2), constant-torque motors, and the rise of a
// PSC motor's speed as it unloads, which the caller's motor model may feed
// back through Setting.Speed.
//
// Range: resistances up to 10⁴ times design, speeds up to 1.5 times nominal,
// air density 0.7 to 1.4 kg/m³. No published fan table was available to check
// against; the fan curve is practice, the fan laws and square laws are checked
// as properties.
package airflow
