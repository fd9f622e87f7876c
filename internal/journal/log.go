package journal

import "context"

// Log is an append-only store of envelopes. It may be used by several
// goroutines, and several processes where the store says so.
//
// A failed call wraps one of the errors of this package or that of its
// context. After a failed Append none of its envelopes is in the log.
type Log interface {
	// Append adds the envelopes that the log does not have yet, all of them or
	// none. When it returns nil they are durable, as far as the store can be.
	// Appending an envelope again changes nothing; the same id with other
	// content is ErrConflict.
	Append(ctx context.Context, batch []Envelope) error

	// Stream returns every envelope of a stream in the order of Compare;
	// an unknown stream is empty.
	Stream(ctx context.Context, s Stream) ([]Envelope, error)

	// Since returns up to limit envelopes in order of arrival after a cursor,
	// and the cursor after them. Following the cursors meets every envelope
	// exactly once, also those appended meanwhile. ErrCursor means that the
	// cursor was made by another log, or by a later state of this one that a
	// restored backup does not know: read again from Start.
	Since(ctx context.Context, after Cursor, limit int) ([]Envelope, Cursor, error)

	// Rows returns the rows of a list whose key starts with prefix, by key.
	Rows(ctx context.Context, list, prefix string) ([]Row, error)
}

// Cursor is a place in the order of arrival of one log. Its text means
// nothing outside that log.
type Cursor string

// Start is the place before the first envelope.
const Start Cursor = ""

// Row is one line of a list: a view over many streams, kept by the store so
// that a page need not fold them all. Key sorts the list and is unique in it
// together with the stream.
type Row struct {
	List, Key string
	Value     []byte
}

// Summary says which rows a stream contributes to the lists. A store computes
// the rows of a stream anew when it gains envelopes, in the same transaction;
// and those of all streams when it is opened with another Version.
type Summary struct {
	Version string
	// Rows is a pure function of the stream's envelopes in the order of Compare.
	Rows func(s Stream, envelopes []Envelope) []Row
}
