// Package fault is the catalogue of what can break in a single-stage split air
// conditioner and what is done about it.
//
// A fault is a change of plant parameters, sized by one severity quantile from
// 0 (mild) to 1 (worst). It says nothing of symptoms: what a meter shows under
// a fault follows from the plant alone. Faults, repairs, complaints and the
// pairs that come together are text under data/, each with its source; the
// weights are starting points for a shop's own record.
//
// Left out: heat pumps, variable speed, zoning, two transformers. Effects of
// age and season on the weights are not here.
package fault
