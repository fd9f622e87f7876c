//go:build !js

package sqlitelog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"rung/internal/journal"
)

// columns are those that scanAll expects.
const columns = `seq, id, stream, device, time, author, kind, version, payload, sum`

// scanAll reads and closes rows, compares every checksum, and returns the
// envelopes and the last seq.
func scanAll(rows *sql.Rows) (list []journal.Envelope, last int64, err error) {
	defer rows.Close()
	for rows.Next() {
		var e journal.Envelope
		var id []byte
		var kept int64
		if err := rows.Scan(&last, &id, &e.Stream, &e.Device, &e.Time, &e.Author, &e.Kind, &e.Version, &e.Payload, &kept); err != nil {
			return nil, 0, err
		}
		if copy(e.ID[:], id) != len(e.ID) || e.Checksum() != kept {
			return nil, 0, fmt.Errorf("%w: entry %d does not match its checksum", journal.ErrCorrupt, last)
		}
		list = append(list, e)
	}
	return list, last, rows.Err()
}

// Stream implements journal.Log.
func (l *Log) Stream(ctx context.Context, s journal.Stream) ([]journal.Envelope, error) {
	rows, err := l.read.QueryContext(ctx, `select `+columns+` from envelope where stream = ? order by time, id`, string(s))
	if err != nil {
		return nil, fmt.Errorf("read journal: %w", storeError(err))
	}
	list, _, err := scanAll(rows)
	if err != nil {
		return nil, fmt.Errorf("read journal: %w", storeError(err))
	}
	return list, nil
}

// Since implements journal.Log. A cursor is the last seq and the id found
// there: one writer at a time gives out seq, so a later one is never visible
// before an earlier one.
func (l *Log) Since(ctx context.Context, after journal.Cursor, limit int) ([]journal.Envelope, journal.Cursor, error) {
	from, err := l.place(ctx, after)
	if err != nil {
		return nil, journal.Start, fmt.Errorf("read journal: %w", storeError(err))
	}
	rows, err := l.read.QueryContext(ctx, `select `+columns+` from envelope where seq > ? order by seq limit ?`, from, max(0, limit))
	if err != nil {
		return nil, journal.Start, fmt.Errorf("read journal: %w", storeError(err))
	}
	list, last, err := scanAll(rows)
	if err != nil {
		return nil, journal.Start, fmt.Errorf("read journal: %w", storeError(err))
	}
	if len(list) > 0 {
		after = journal.Cursor(fmt.Sprintf("%d.%s", last, list[len(list)-1].ID))
	}
	return list, after, nil
}

// place returns the seq of a cursor, after making sure that the entry there is
// still the one the cursor was made at.
func (l *Log) place(ctx context.Context, c journal.Cursor) (int64, error) {
	if c == journal.Start {
		return 0, nil
	}
	number, text, _ := strings.Cut(string(c), ".")
	seq, err := strconv.ParseInt(number, 10, 64)
	id, idErr := journal.ParseID(text)
	if err != nil || idErr != nil {
		return 0, fmt.Errorf("%.60q: %w", c, journal.ErrCursor)
	}
	var one int
	err = l.read.QueryRowContext(ctx, `select 1 from envelope where seq = ? and id = ?`, seq, id[:]).Scan(&one)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("%.60q: %w", c, journal.ErrCursor)
	}
	return seq, err
}
