// Package scenario plays service calls from text scripts, for tests.
//
// A script names a machine, hides a fault in it, and then does what a mechanic
// would: takes the proposed checks, repairs, proves. Every reading comes from a
// hidden plant whose tolerances were drawn by another seed than the engine's
// own, is blurred by its meter, and goes in as text through the use cases of
// package visit, as from a page.
//
//	# A weak run capacitor is found with few readings.
//	plate refrigerant = R-410A; metering = txv; nominal-cooling = 3 ton; seer = 14
//	hide herm-cap-weak 0.7
//	seed 11
//	air outdoor = 95 °F; return-dry-bulb = 78 °F; return-wet-bulb = 65 °F; line = 240 V
//	complaint weak-cooling upstairs stays warm
//
//	follow 8
//	----
//	verdict: repair
//	repair: replace-run-capacitor
//	readings: at most 6
//
// A blank line separates steps; below ---- stands what must be true then. The
// commands and what can be expected are listed with the functions that carry
// them out.
package scenario
