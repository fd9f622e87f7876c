// Package record holds the events of the trade: what may stand in the journal
// about properties, systems, units and visits.
//
// Each event is a frozen struct with a kind and a version, stored as JSON. A
// field is never renamed, never given another meaning and never removed; a
// change of meaning is a new version, and the old one is lifted to the new one
// on reading (see register). Kinds written by a later program decode to Unknown
// and are kept. Unknown facts are left out: an absent field means "not known".
//
// What was read from a meter or a plate is kept as read, decimal text and
// unit; nothing here converts or computes. A correction is an event of its own
// (EntryWithdrawn) that names the entry it corrects.
package record
