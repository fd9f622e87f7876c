// Package trial measures the advice of package diagnosis on simulated visits.
//
// A hidden plant is drawn with what the engine does not know: which fault it has
// and how severe, the tolerances of its sound parts, surroundings a little off
// those told, meters that have drifted, readings that are plainly wrong, checks that cannot be
// done. With a model error the plant also differs from the engine's: effects are
// larger or smaller, missing or borrowed from another fault, tolerances wider, meters worse.
// Several ways of working play the same calls with the same luck; each call's
// figures are then compared in pairs.
//
// Some repairs are taken out of the engine's catalogue, with all faults that they
// cure; one call in twenty has one of those faults, which no listed cause explains.
//
// Configurations, that is plates and days, are divided: numbers of the engine are
// chosen on those for tuning, figures are reported on those for testing.
//
// The plants, the priors and the minutes are the engine's own apart from that, so
// the figures bound what to expect in the field from above.
package trial
