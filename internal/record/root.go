package record

import "rung/internal/journal"

// Root returns the kind of entry that a withdrawal of id is about in the end,
// through withdrawals of withdrawals, and whether id is that entry itself. The
// kind is empty if it is not among the entries of the stream, or they run in a
// circle.
func Root(stream []journal.Envelope, id EntryID) (kind string, direct bool) {
	at := map[EntryID]journal.Envelope{}
	for _, e := range stream {
		at[EntryID(e.ID.String())] = e
	}
	direct = true
	for range len(stream) + 1 {
		e, known := at[id]
		if !known {
			return "", direct
		}
		event, err := Decode(e)
		w, back := event.(EntryWithdrawn)
		if err != nil || !back {
			return e.Kind, direct
		}
		id, direct = w.Entry, false
	}
	return "", false
}
