// Package calc is the registry of calculators: small sums of the trade and
// the property functions behind them, each with named fields.
//
// One entry serves the command line, the programming interface and the pages.
// A calculator is pure: fields in, fields out, an error that names the field.
// A result may be a table, and may carry warnings; a drawing of it is the work
// of package chart. What pages need beside it is filled in from the tables of
// catalogue.go where an entry does not say it itself.
// Values are SI inside; the caller chooses the units in which they are shown.
package calc
