// Package diagnosis finds out, together with the mechanic, what is wrong.
//
// It keeps a belief over causes, changes it by every reading, says what each
// reading did to it, and proposes the next check or the repair. There are no
// rules of the form "this reading means that fault": a World predicts what
// every point would read under every cause, and the belief follows from how
// well the predictions meet the readings.
//
// # Belief
//
// Each cause has a set of particles: draws of its severity and of everything
// else that is not known exactly (tolerances, line voltage, load). Particle n
// has the same draws of the rest under every cause. All readings of a visit are
// held against the same particle, so that they share one severity and one day.
// A reading x has the likelihood
//
//	(1−ε)·K(x − y) + ε·U(x)
//
// where y is the prediction, K a normal kernel of meter accuracy, resolution
// and model discrepancy in quadrature, widened, and U the broad density over
// the credible range: meters are held to the wrong terminal, and models err.
// A word ("running") has 1−ε on the predicted word and ε spread over all.
// One "unlisted cause" per subsystem stands for what the catalogue lacks.
//
// Repairs divide the visit into epochs: a reading after a part was replaced is
// predicted without the fault that the part cures.
//
// # Choice
//
// Unsafe actions are taken off the list before anything is scored. The rest is
// scored by the expected information about the repair, in bits per minute with
// the minutes of setting up counted; points behind one panel are also scored
// as one purchase. Near the end the belief is compiled into a small Problem that is
// solved exactly. Whether to repair at once is a comparison of expected minutes.
//
// # What it returns
//
// Advice is data: ids, SI numbers, probabilities, decibans. Sentences, and
// trade units, are made at the edge. The same World, Case and Settings give
// the same Advice, and the order of Case.Readings does not matter.
//
// # How good
//
// On 252 calls with one hidden fault each, every fault that three systems can
// have (TestFindsHiddenFaults with RUNG_SWEEP=1), 224 ended with the right
// repair first, 14 with another, 14 with none; a call took 5.7 checks on average. Severity,
// tolerances and errors of model and meters were drawn apart from those of the engine, but the plant was
// the engine's own: a bound from above on what to expect in the field. What it misses is
// mild (a blower a tap too slow, a denser filter, a few shorted turns, some overcharge) or
// looks alike (drier, kinked line, wrong orifice); what it repairs wrongly is mostly the cheaper of
// two likely repairs tried first (resetting a weak breaker, a start assist on a seized compressor).
//
// # Limits
//
// Two faults at once are considered only where the World lists the pair. Settings
// carry the provenance of each number; most are untuned (class practice).
package diagnosis
