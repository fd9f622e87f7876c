// Package calc is the registry of calculators: small sums of the trade and
// the property functions behind them, each with named fields.
//
// One entry serves the command line, the programming interface and the pages.
// A calculator is pure: fields in, fields out, an error that names the field.
// Values are SI inside; the caller chooses the units in which they are shown.
package calc
