//go:build !js

package pglog

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rung/internal/journal"
)

// place is where an entry stands in the order of arrival.
type place struct {
	xid uint64
	seq int64
}

// querier is a pool or a transaction.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

// query reads the envelopes that the rest of a statement selects, compares
// every checksum, and returns them with the last place.
func query(ctx context.Context, q querier, rest string, args ...any) (list []journal.Envelope, last place, err error) {
	rows, err := q.Query(ctx, `select xid::text, seq, id, stream, device, time, author, kind, version, payload, sum from envelope `+rest, args...)
	if err != nil {
		return nil, last, err
	}
	defer rows.Close()
	for rows.Next() {
		var e journal.Envelope
		var id []byte
		var xid string
		var at, kept int64
		if err := rows.Scan(&xid, &last.seq, &id, &e.Stream, &e.Device, &at, &e.Author, &e.Kind, &e.Version, &e.Payload, &kept); err != nil {
			return nil, last, err
		}
		e.Time = journal.Time(at)
		if last.xid, err = strconv.ParseUint(xid, 10, 64); err != nil {
			return nil, last, err
		}
		if copy(e.ID[:], id) != len(e.ID) || e.Checksum() != kept {
			return nil, last, fmt.Errorf("%w: entry %d does not match its checksum", journal.ErrCorrupt, last.seq)
		}
		list = append(list, e)
	}
	return list, last, rows.Err()
}

// Stream implements journal.Log.
func (l *Log) Stream(ctx context.Context, s journal.Stream) ([]journal.Envelope, error) {
	list, _, err := query(ctx, l.pool, `where stream = $1 order by time, id`, string(s))
	if err != nil {
		return nil, fmt.Errorf("read journal: %w", storeError(err))
	}
	return list, nil
}

// patience bounds how long Since waits at its end for a transaction to finish
// that hides entries already committed. Appends take milliseconds; what takes
// longer, such as a dump of the database, must not hold a phone up.
const patience = time.Second

// Since implements journal.Log. A cursor is the last transaction and number and
// the id found there. Only entries of transactions older than every one still
// running are given: whatever commits later stands behind them. Where that
// leaves nothing although there is something, it waits for a moment, so that who
// has just appended finds it.
func (l *Log) Since(ctx context.Context, after journal.Cursor, limit int) ([]journal.Envelope, journal.Cursor, error) {
	from, err := l.place(ctx, after)
	if err != nil {
		return nil, journal.Start, fmt.Errorf("read journal: %w", storeError(err))
	}
	list, last, err := l.since(ctx, from, limit)
	for wait := time.Millisecond; err == nil && len(list) == 0 && limit > 0 && wait < patience/2; wait *= 2 {
		var hidden bool
		if hidden, err = l.hidden(ctx, from); !hidden {
			break
		}
		if err = sleep(ctx, wait); err == nil {
			list, last, err = l.since(ctx, from, limit)
		}
	}
	if err != nil {
		return nil, journal.Start, fmt.Errorf("read journal: %w", storeError(err))
	}
	if len(list) > 0 {
		after = journal.Cursor(fmt.Sprintf("%d.%d.%s", last.xid, last.seq, list[len(list)-1].ID))
	}
	return list, after, nil
}

// since reads a page. It is ordered by the column, not by the text selected,
// in which 1000 comes before 999.
func (l *Log) since(ctx context.Context, from place, limit int) ([]journal.Envelope, place, error) {
	return query(ctx, l.pool, `where (xid, seq) > ($1::text::xid8, $2) and xid < pg_snapshot_xmin(pg_current_snapshot())
		order by envelope.xid, seq limit $3`, strconv.FormatUint(from.xid, 10), from.seq, max(0, limit))
}

// hidden reports whether anything committed stands after a place.
func (l *Log) hidden(ctx context.Context, from place) (is bool, err error) {
	err = l.pool.QueryRow(ctx, `select exists (select from envelope where (xid, seq) > ($1::text::xid8, $2))`,
		strconv.FormatUint(from.xid, 10), from.seq).Scan(&is)
	return is, err
}

func sleep(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}

// place returns the place of a cursor, after making sure that the entry there
// is still the one the cursor was made at.
func (l *Log) place(ctx context.Context, c journal.Cursor) (place, error) {
	if c == journal.Start {
		return place{}, nil
	}
	parts := strings.Split(string(c), ".")
	if len(parts) != 3 {
		return place{}, fmt.Errorf("%.60q: %w", c, journal.ErrCursor)
	}
	xid, err1 := strconv.ParseUint(parts[0], 10, 64)
	seq, err2 := strconv.ParseInt(parts[1], 10, 64)
	id, err3 := journal.ParseID(parts[2])
	if err := errors.Join(err1, err2, err3); err != nil {
		return place{}, fmt.Errorf("%.60q: %w", c, journal.ErrCursor)
	}
	var one int
	err := l.pool.QueryRow(ctx, `select 1 from envelope where seq = $1 and xid = $2::text::xid8 and id = $3`,
		seq, strconv.FormatUint(xid, 10), id[:]).Scan(&one)
	if errors.Is(err, pgx.ErrNoRows) {
		return place{}, fmt.Errorf("%.60q: %w", c, journal.ErrCursor)
	}
	return place{xid, seq}, err
}

// Verify reads the whole journal and compares the checksum of every entry. It
// returns the number of entries, or an error that wraps journal.ErrCorrupt. The
// pages of the database are examined by its own tools.
func (l *Log) Verify(ctx context.Context) (entries int, err error) {
	for c := journal.Start; ; {
		page, next, err := l.Since(ctx, c, 1000)
		if err != nil {
			return 0, fmt.Errorf("verify journal: %w", err)
		}
		if len(page) == 0 {
			return entries, nil
		}
		entries, c = entries+len(page), next
	}
}
