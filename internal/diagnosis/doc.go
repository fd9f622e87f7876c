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
// predicted without the fault that the part cures, or with what the repair may have left
// behind. A reading taken again stands for the earlier one: alike, it is trusted ten times
// as far; otherwise hardly at all, until a third tells.
//
// # Choice
//
// Unsafe actions are taken off the list before anything is scored. The rest is
// weighed roughly, the best in full, by the expected information about the repair, in bits
// per minute with the minutes of setting up counted; points behind one panel are also scored
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
// Package trial plays calls against hidden plants; docs/reference-trial.md has the figures and
// the command. Right to begin with means the repair that cures; of a pair, that of the fault which
// brought the other about, or either where the catalogue leaves the order free. What the
// engine misses is mostly mild (some overcharge, a fan capacitor a little weak, a kinked line), what it
// repairs wrongly mostly looks alike or was read wrongly; a cause that is not on the list mostly
// looks like one that is, until a repair was in vain.
//
// # Limits
//
// Two faults at once are considered where the World lists the pair; of a real system also
// on demand, where an unlisted cause is likely or a repair changed the readings and is not
// proven to have cured. Settings carry the provenance of each number; Epsilon and
// KernelScale were chosen on simulated calls of systems set apart, the rest is practice.
package diagnosis
