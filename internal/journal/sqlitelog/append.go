//go:build !js

package sqlitelog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"rung/internal/journal"
)

// Append implements journal.Log.
func (l *Log) Append(ctx context.Context, batch []journal.Envelope) error {
	for _, e := range batch {
		if err := e.Check(); err != nil {
			return err
		}
	}
	if err := l.inTransaction(ctx, func(tx *sql.Tx) error { return l.append(ctx, tx, batch) }); err != nil {
		return fmt.Errorf("append to journal: %w", storeError(err))
	}
	return nil
}

func (l *Log) inTransaction(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := l.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if err := do(tx); err != nil {
		return err
	}
	return tx.Commit()
}

func (l *Log) append(ctx context.Context, tx *sql.Tx, batch []journal.Envelope) error {
	insert, err := tx.PrepareContext(ctx, `insert into envelope
		(id, stream, device, time, author, kind, version, payload, sum)
		values (?, ?, ?, ?, ?, ?, ?, ?, ?) on conflict (id) do nothing`)
	if err != nil {
		return err
	}
	defer insert.Close()
	touched := map[journal.Stream]bool{}
	for _, e := range batch {
		payload := e.Payload
		if payload == nil {
			payload = []byte{} // the driver would write null
		}
		result, err := insert.ExecContext(ctx, e.ID[:], string(e.Stream), e.Device, int64(e.Time), e.Author, e.Kind, e.Version, payload, e.Checksum())
		if err != nil {
			return err
		}
		n, err := result.RowsAffected()
		if err != nil {
			return err
		}
		if n == 1 {
			touched[e.Stream] = true
		} else if err := sameAsKept(ctx, tx, e); err != nil {
			return err
		}
	}
	for s := range touched {
		if err := l.summarise(ctx, tx, s); err != nil {
			return err
		}
	}
	return nil
}

// sameAsKept returns ErrConflict if the envelope kept under e's id is not e.
func sameAsKept(ctx context.Context, tx *sql.Tx, e journal.Envelope) error {
	rows, err := tx.QueryContext(ctx, `select `+columns+` from envelope where id = ?`, e.ID[:])
	if err != nil {
		return err
	}
	kept, _, err := scanAll(rows)
	switch {
	case err != nil:
		return err
	case len(kept) != 1:
		return errors.New("sqlitelog: id neither inserted nor kept")
	case !journal.Equal(kept[0], e):
		return fmt.Errorf("%s: %w", e.ID, journal.ErrConflict)
	}
	return nil
}
