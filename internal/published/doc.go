// Package published reads values from outside the project and compares ours
// with them. Only tests import it, and the program in gen, which writes
// docs/validation.md from the comparisons the tests make.
//
// A file of testdata/published holds rows of cells under a head of comments:
//
//	# Saturation pressure of water
//	# published: ASHRAE Fundamentals 2017, ch. 1, table 3, as quoted in the
//	#   PsychroLib tests (not seen in print)
//	# tolerance: 300 ppm, what the handbook claims for its own formula
//	# columns: T[K] pressure[Pa] tolerance[-]
//	278.15 872.6 3e-4
//
// The first line is the title. A source (published, practice or memory), a
// tolerance with its reason and the columns are required; "computed" names the
// program that computed the rows from the same equations, so that they check
// arithmetic and not substance; "note" is printed on the page. Two or more
// blanks after the # continue the line above; other comments stay in the file.
// A head line between rows holds from there on. Cells are parted by blanks, or
// by | if the columns are. A column "source" gives each row its own.
package published
