//go:build !js

package sqlitelog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

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
	query, args := `select key, value from list_row where list = ?1 and key >= ?2`, []any{list, prefix}
	if end, bounded := afterPrefix(prefix); bounded {
		query, args = query+` and key < ?3`, append(args, end)
	}
	rows, err := l.read.QueryContext(ctx, query+` order by key`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var found []journal.Row
	for rows.Next() {
		r := journal.Row{List: list}
		if err := rows.Scan(&r.Key, &r.Value); err != nil {
			return nil, err
		}
		found = append(found, r)
	}
	return found, rows.Err()
}

// afterPrefix returns the first text that sorts after every text that starts
// with prefix; false if there is none.
func afterPrefix(prefix string) (string, bool) {
	b := []byte(prefix)
	for i := len(b) - 1; i >= 0; i-- {
		if b[i] < 0xff {
			b[i]++
			return string(b[:i+1]), true
		}
	}
	return "", false
}

// summarise writes the rows of a stream anew.
func (l *Log) summarise(ctx context.Context, tx *sql.Tx, s journal.Stream) error {
	if l.summary.Rows == nil {
		return nil
	}
	found, err := tx.QueryContext(ctx, `select `+columns+` from envelope where stream = ? order by time, id`, string(s))
	if err != nil {
		return err
	}
	envelopes, _, err := scanAll(found)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `delete from list_row where stream = ?`, string(s)); err != nil {
		return err
	}
	for _, r := range l.summary.Rows(s, envelopes) {
		if _, err := tx.ExecContext(ctx, `insert into list_row (list, key, stream, value) values (?, ?, ?, ?)`,
			r.List, r.Key, string(s), append([]byte{}, r.Value...)); err != nil {
			return err
		}
	}
	return nil
}

// rebuildLists makes all lists anew if they are of another version.
func (l *Log) rebuildLists(ctx context.Context) error {
	var kept string
	err := l.write.QueryRowContext(ctx, `select version from list_state`).Scan(&kept)
	if err == nil && kept == l.summary.Version {
		return nil
	}
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	return l.inTransaction(ctx, func(tx *sql.Tx) error {
		streams, err := allStreams(ctx, tx)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `delete from list_row`); err != nil {
			return err
		}
		for _, s := range streams {
			if err := l.summarise(ctx, tx, s); err != nil {
				return err
			}
		}
		_, err = tx.ExecContext(ctx, `insert into list_state (one, version) values (1, ?1)
			on conflict (one) do update set version = ?1`, l.summary.Version)
		return err
	})
}

func allStreams(ctx context.Context, tx *sql.Tx) ([]journal.Stream, error) {
	rows, err := tx.QueryContext(ctx, `select distinct stream from envelope`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []journal.Stream
	for rows.Next() {
		var s journal.Stream
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	return list, rows.Err()
}
