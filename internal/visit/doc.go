// Package visit holds what people do with the program on a service call: enter
// a property, a system, a unit and its nameplate; open a visit; take readings
// and take them back; ask for advice; repair; prove; close.
//
// It joins the two sides that know nothing of each other: the record (journal,
// ledger) and the reasoning (diagnosis, over plant, fault and fieldtest). It
// keeps no state of its own: what it returns follows from the journal, the
// catalogues and the settings.
//
// Numbers go in as typed and come out in trade units, and reasons as whole
// sentences; see the files of data/ for their wording.
package visit
