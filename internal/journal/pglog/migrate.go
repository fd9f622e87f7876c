//go:build !js

package pglog

import (
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// Applied migrations are frozen: a change of the tables is a further file.
//
//go:embed migrations/*.sql
var migrations embed.FS

// ErrNewer says that a newer program made the tables.
var ErrNewer = errors.New("the journal was written by a newer version of this program")

// errChanged says that a migration that was applied differs from ours.
var errChanged = errors.New("the journal was made by other migrations than those of this program")

// Keys of the advisory locks, mixed with the name of the schema: changing the
// tables, and keeping the lists.
const (
	lockTables = "tables"
	lockLists  = "lists"
)

// lockKey returns the key of an advisory lock of a schema.
func lockKey(schema, what string) int64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "rung/%s/%s", schema, what)
	return int64(h.Sum64())
}

// migrate brings the tables of a schema up to date, all steps in one
// transaction under a lock, so that servers started together do not meet.
func migrate(ctx context.Context, pool *pgxpool.Pool, schema string, steps fs.FS) error {
	names, err := fs.Glob(steps, "migrations/*.sql")
	if err != nil {
		return err
	}
	return pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
		if err := waitFor(ctx, tx, lockKey(schema, lockTables)); err != nil {
			return err
		}
		last, err := lastStep(ctx, tx, schema)
		if err != nil {
			return err
		}
		for i, name := range names {
			text, err := fs.ReadFile(steps, name)
			if err != nil {
				return err
			}
			if err := migrateOne(ctx, tx, i+1, name, string(text)); err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
		}
		if last > len(names) {
			return fmt.Errorf("%w: step %d, known up to %d", ErrNewer, last, len(names))
		}
		return nil
	})
}

// waitFor takes a lock for the rest of a transaction, however long another
// server needs that is at the same work: a start is no place to give up.
func waitFor(ctx context.Context, tx pgx.Tx, key int64) error {
	if _, err := tx.Exec(ctx, `set local lock_timeout = 0`); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `select pg_advisory_xact_lock($1)`, key)
	return err
}

// lastStep returns the number of steps applied, after making the schema and the
// table of steps if they are not there: without that right an existing schema
// can still be used.
func lastStep(ctx context.Context, tx pgx.Tx, schema string) (int, error) {
	var there bool
	if err := tx.QueryRow(ctx, `select to_regclass($1) is not null`, schema+".migration").Scan(&there); err != nil {
		return 0, err
	}
	if !there {
		if _, err := tx.Exec(ctx, `create schema if not exists `+schema+`; create table migration (
			number integer primary key, name text not null, sha256 text not null)`); err != nil {
			return 0, err
		}
	}
	var last int
	err := tx.QueryRow(ctx, `select count(*) from migration`).Scan(&last)
	return last, err
}

func migrateOne(ctx context.Context, tx pgx.Tx, number int, name, text string) error {
	hash := sha256.Sum256([]byte(text))
	sum := hex.EncodeToString(hash[:])
	var applied string
	switch err := tx.QueryRow(ctx, `select sha256 from migration where number = $1`, number).Scan(&applied); {
	case err == nil && applied != sum:
		return errChanged
	case err == nil:
		return nil
	case !errors.Is(err, pgx.ErrNoRows):
		return err
	}
	if _, err := tx.Exec(ctx, text); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, `insert into migration (number, name, sha256) values ($1, $2, $3)`, number, name, sum)
	return err
}
