// Package fieldtest is the catalogue of what a mechanic can measure or observe
// on heating and cooling systems: how, with what, in how many minutes, at what
// risk, and what the reading would be.
//
// Checks, their points, set-up states, cautions and safety classes are text
// under data/. A point is read on a state of the plant (the single-stage split
// air conditioner, Predict), on a described system that is played through a
// call (package system, Wired), or on both; on nothing else: there is no table
// of symptoms here. How well that agrees with the trade is tested on
// eight nameplates against testdata/signatures.txt and confirming.txt; pairs of
// faults that no check separates are listed in data/alikes.txt.
//
// Left out: checks that change the circuit for a moment (a jumper at the board,
// a breaker in place of the fuse), waiting for an overload to close, nitrogen
// tests. What the
// eye and the hand tell apart is a threshold of judgement.
package fieldtest
