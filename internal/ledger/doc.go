// Package ledger folds the journal into views: a property with its systems,
// units, visits and tasks.
//
// A view is a pure function of the set of entries of a stream. It is thrown
// away and made anew at will, and does not depend on the order in which the
// entries arrived: they are folded by hybrid time, then id. References are by
// id and may come before what they refer to, because the clocks of two devices
// differ; an entry that refers to nothing known is kept under Loose.
//
// Nothing is converted or computed: readings stay as read.
package ledger
