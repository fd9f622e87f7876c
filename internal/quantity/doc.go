// Package quantity holds the physical quantities that cross package borders.
//
// Each is a defined float64 in SI base units: a small comparable value whose
// zero is zero of the unit. Arithmetic between unlike quantities is done in
// plain float64 inside a function, with the unit in a comment; there is no
// algebra of dimensions here. Trade units live in package tradeunit.
//
// A temperature and a difference of temperatures are two types, and so are an
// absolute pressure and a difference of pressures: a gauge shows a difference,
// and becomes absolute only through the air pressure of the site.
package quantity
