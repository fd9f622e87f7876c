// Package fieldtest is the catalogue of what a mechanic can measure or observe
// on heating and cooling systems: how, with what, in how many minutes, at what
// risk, and what the reading would be.
//
// Checks, their points, set-up states, cautions and safety classes are text
// under data/. A point is read on a state of the plant (the single-stage split
// air conditioner, Predict), on a described system that is played through a
// call (package system, Wired), or on both; on nothing else: there is no table
// of symptoms here. How well that agrees with the trade is tested on
// eight nameplates against testdata/signatures.txt and confirming.txt, and on
// described furnaces, electric heat and condensate against testdata/heat.txt;
// pairs of faults that no check separates on the plant are listed in
// data/alikes.txt.
//
// Left out: a breaker in place of the fuse, wires moved while watching volts on a
// described system, waiting for an overload to close, nitrogen tests. A jumper at
// the board is a call of the description; what is changed for the moment of a
// reading, as a jumper from T to T, is said with it. What the eye and the hand
// tell apart is a threshold of judgement.
package fieldtest
