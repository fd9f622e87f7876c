//go:build !js

package pglog

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rung/internal/journal"
)

// Rows implements journal.Log.
func (l *Log) Rows(ctx context.Context, list, prefix string) ([]journal.Row, error) {
	found, err := l.rows(ctx, list, prefix)
	if err != nil {
		return nil, fmt.Errorf("read list %s: %w", list, storeError(err))
	}
	return found, nil
}

func (l *Log) rows(ctx context.Context, list, prefix string) ([]journal.Row, error) {
	statement, args := `select key, value from list_row where list = $1 and key >= $2`, []any{list, []byte(prefix)}
	if end := afterPrefix(prefix); end != nil {
		statement, args = statement+` and key < $3`, append(args, end)
	}
	rows, err := l.pool.Query(ctx, statement+` order by key`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var found []journal.Row
	for rows.Next() {
		var key []byte
		r := journal.Row{List: list}
		if err := rows.Scan(&key, &r.Value); err != nil {
			return nil, err
		}
		r.Key = string(key)
		found = append(found, r)
	}
	return found, rows.Err()
}

// afterPrefix returns the first key that sorts after every key that starts with
// prefix; nil if there is none.
func afterPrefix(prefix string) []byte {
	b := []byte(prefix)
	for i := len(b) - 1; i >= 0; i-- {
		if b[i] < 0xff {
			b[i]++
			return b[:i+1]
		}
	}
	return nil
}

// summarise writes the rows of a stream anew, in one round.
func (l *Log) summarise(ctx context.Context, tx pgx.Tx, s journal.Stream) error {
	if l.summary.Rows == nil {
		return nil
	}
	envelopes, _, err := query(ctx, tx, `where stream = $1 order by time, id`, string(s))
	if err != nil {
		return err
	}
	var round pgx.Batch
	round.Queue(`delete from list_row where stream = $1`, string(s))
	for _, r := range l.summary.Rows(s, envelopes) {
		round.Queue(`insert into list_row (list, key, stream, value) values ($1, $2, $3, $4)`,
			r.List, []byte(r.Key), string(s), append([]byte{}, r.Value...))
	}
	return tx.SendBatch(ctx, &round).Close()
}

// rebuildLists makes all lists anew if they are of another version, while
// appends wait.
func (l *Log) rebuildLists(ctx context.Context) error {
	if same, err := l.sameLists(ctx, l.pool); same || err != nil {
		return err
	}
	return l.inTransaction(ctx, func(tx pgx.Tx) error {
		if err := waitFor(ctx, tx, lockKey(l.schema, lockLists)); err != nil {
			return err
		}
		if same, err := l.sameLists(ctx, tx); same || err != nil { // another server was quicker
			return err
		}
		rows, err := tx.Query(ctx, `select distinct stream from envelope`)
		if err != nil {
			return err
		}
		streams, err := pgx.CollectRows(rows, pgx.RowTo[journal.Stream])
		if err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `delete from list_row`); err != nil {
			return err
		}
		for _, s := range streams {
			if err := l.summarise(ctx, tx, s); err != nil {
				return err
			}
		}
		_, err = tx.Exec(ctx, `insert into list_state (one, version) values (1, $1)
			on conflict (one) do update set version = excluded.version`, l.summary.Version)
		return err
	})
}

// sameLists reports whether the lists kept are of our version.
func (l *Log) sameLists(ctx context.Context, q interface {
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}) (bool, error) {
	var kept string
	err := q.QueryRow(ctx, `select version from list_state`).Scan(&kept)
	if errors.Is(err, pgx.ErrNoRows) {
		return false, nil
	}
	return err == nil && kept == l.summary.Version, err
}
