// Package journal is the append-only record every other view is made from.
//
// An envelope is a fact that happened: it is appended, never changed and never
// deleted. A correction is a further envelope that names what it corrects.
// Envelopes of one subject share a stream. Two journals are merged by putting
// together the sets of their envelopes; reading in the order of Compare then
// shows the same record on every device, whatever the order of arrival.
//
// The package knows no word of any trade: kinds and payloads are for the
// packages above. Stores live in memlog, sqlitelog and others; package
// journaltest holds the suite that every store passes unchanged.
package journal
