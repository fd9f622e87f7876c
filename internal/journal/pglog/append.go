//go:build !js

package pglog

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"rung/internal/journal"
)

// Append implements journal.Log.
func (l *Log) Append(ctx context.Context, batch []journal.Envelope) error {
	for _, e := range batch {
		if err := e.Check(); err != nil {
			return err
		}
	}
	if len(batch) == 0 {
		return ctx.Err()
	}
	if err := l.inTransaction(ctx, func(tx pgx.Tx) error { return l.append(ctx, tx, batch) }); err != nil {
		return fmt.Errorf("append to journal: %w", storeError(err))
	}
	return nil
}

// append locks the streams, then inserts by id: two transactions that take the
// same locks and ids in the same order never wait for each other in a ring.
func (l *Log) append(ctx context.Context, tx pgx.Tx, batch []journal.Envelope) error {
	sorted := slices.Clone(batch)
	slices.SortStableFunc(sorted, func(a, b journal.Envelope) int { return bytes.Compare(a.ID[:], b.ID[:]) })
	inserted, err := l.insert(ctx, tx, sorted)
	if err != nil {
		return err
	}
	var touched []journal.Stream
	for i, e := range sorted {
		if inserted[i] {
			touched = append(touched, e.Stream)
		} else if err := sameAsKept(ctx, tx, e); err != nil {
			return err
		}
	}
	slices.Sort(touched)
	for _, s := range slices.Compact(touched) {
		if err := l.summarise(ctx, tx, s); err != nil {
			return err
		}
	}
	return nil
}

// insert sends locks and entries in one round and reports which entries were
// not there yet.
func (l *Log) insert(ctx context.Context, tx pgx.Tx, sorted []journal.Envelope) (inserted []bool, err error) {
	var round pgx.Batch
	locks := l.lockStreams(&round, sorted)
	for _, e := range sorted {
		round.Queue(`insert into envelope (id, stream, device, time, author, kind, version, payload, sum)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9) on conflict (id) do nothing`,
			e.ID[:], string(e.Stream), e.Device, int64(e.Time), e.Author, e.Kind, e.Version, append([]byte{}, e.Payload...), e.Checksum())
	}
	results := tx.SendBatch(ctx, &round)
	defer func() { err = errors.Join(err, results.Close()) }()
	for range locks {
		if _, err := results.Exec(); err != nil {
			return nil, err
		}
	}
	inserted = make([]bool, len(sorted))
	for i := range sorted {
		tag, err := results.Exec()
		if err != nil {
			return nil, err
		}
		inserted[i] = tag.RowsAffected() == 1
	}
	return inserted, nil
}

// lockStreams queues the locks under which the lists are kept, and returns
// their number: the rows of a stream must be made by one transaction at a time,
// and not while all are made anew.
func (l *Log) lockStreams(round *pgx.Batch, batch []journal.Envelope) int {
	if l.summary.Rows == nil {
		return 0
	}
	round.Queue(`select pg_advisory_xact_lock_shared($1)`, lockKey(l.schema, lockLists))
	var keys []int64
	for _, e := range batch {
		keys = append(keys, lockKey(l.schema, "stream "+string(e.Stream)))
	}
	slices.Sort(keys)
	keys = slices.Compact(keys)
	for _, k := range keys {
		round.Queue(`select pg_advisory_xact_lock($1)`, k)
	}
	return 1 + len(keys)
}

// sameAsKept returns ErrConflict if the envelope kept under e's id is not e.
func sameAsKept(ctx context.Context, tx pgx.Tx, e journal.Envelope) error {
	kept, _, err := query(ctx, tx, `where id = $1`, e.ID[:])
	switch {
	case err != nil:
		return err
	case len(kept) != 1:
		return errors.New("pglog: id neither inserted nor kept")
	case !journal.Equal(kept[0], e):
		return fmt.Errorf("%s: %w", e.ID, journal.ErrConflict)
	}
	return nil
}
