// Package fault is the catalogue of what can break in the heating and cooling
// of a house and what is done about it.
//
// A fault of the split air conditioner is a change of plant parameters, sized
// by one severity quantile from 0 (mild) to 1 (worst). A fault of furnaces,
// boilers, heat pumps, electric heat and of wiring that the plant lacks is an
// edit of the same id in the descriptions of package system; the catalogue then
// has everything but its effect. Either way it says nothing of symptoms: what a
// meter shows follows from the plant or the wiring alone. Faults, repairs,
// complaints and the pairs that come together are text under data/, each with
// its source; the weights are starting points for a shop's own record.
//
// Left out: variable speed, and what data/left-out.txt lists. Effects of age and
// season on the weights are not here.
package fault
