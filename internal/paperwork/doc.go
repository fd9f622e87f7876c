// Package paperwork holds the papers of a visit as plain data: the panel note
// that stays at the unit, and the report for the customer. From the same data
// come the page for screen and print, the PDF, and the code on the note. The
// PDF is left out of the build for the browser, whose own printing makes one.
//
// # The code on the panel note
//
// The code is a QR symbol that holds plain text, so that any phone can show it
// without a server, an account or this program. One fact stands on each line:
// a word in capitals, one space, the rest of the line.
//
//	RUNG 1
//	UNIT 12 Sample Lane / 2 upstairs / Outdoor unit
//	ID 01J2ZK6V0Q
//	DAY 2026-07-14
//	BY J. Sample, 555 0142
//	SAID upstairs stays warm
//	FOUND run capacitor, HERM section open
//	DID run capacitor replaced, 40+5 µF 440 V
//	REFR R-410A, 5 lb 6 oz
//	ADDED 0 oz
//	READ suction pressure: 118 psig
//	READ liquid pressure: 335 psig; not settled
//	UNJUDGED outdoor air 52 °F is below 65 °F
//	TASK judge charge at 65 °F or more
//	FILTER 20x25x1
//	DUE 2027-04
//
// The first line names the format and its version. Lines of one word may
// repeat (READ, UNJUDGED); an unknown word is kept and passed on. In a line
// "\n" and "\r" stand for line breaks, "\\" for a backslash, and in a READ line
// "\:" and "\;" for the signs that part name, value and doubt. A note too long
// for a symbol that a phone reads off a dusty panel loses its last readings,
// and says so: "MORE 3".
package paperwork
