// Package fieldtest is the catalogue of what a mechanic can measure or observe
// on a split air conditioner: how, with what, in how many minutes, at what
// risk, and what the reading would be in a given state of the plant.
//
// Checks, their points, set-up states, cautions and safety classes are text
// under data/. Predict reads the state of the plant and nothing else: there is
// no table of symptoms here.
package fieldtest
