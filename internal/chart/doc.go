// Package chart draws SVG: the ladder diagram of a unit with what is live in
// it, bars of odds, ranges of expected readings, the past of a reading, and on
// axes the pressure-enthalpy chart with a measured cycle and the psychrometric
// chart with states of air.
//
// Drawings are plain text with class names, links and titles. Colour comes
// from the style sheet of the page; meaning never hangs on colour alone, so a
// live wire is also thicker and carries a label. A drawing is made 358 units
// wide, one unit being a pixel on a phone held upright. Those on axes carry
// their own strokes, so that they can be saved as files, and place each name
// where it crosses no other.
package chart
