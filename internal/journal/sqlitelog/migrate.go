//go:build !js

package sqlitelog

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
)

// Applied migrations are frozen: a change of the tables is a further file.
//
//go:embed migrations/*.sql
var migrations embed.FS

// ErrNewer says that a newer program wrote the file.
var ErrNewer = errors.New("the journal file was written by a newer version of this program")

// errChanged says that a migration that was applied differs from ours.
var errChanged = errors.New("the journal file was made by other migrations than those of this program")

// migrate brings the tables of db up to date, each step in its own transaction.
func migrate(ctx context.Context, db *sql.DB, steps fs.FS) error {
	names, err := fs.Glob(steps, "migrations/*.sql")
	if err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, `create table if not exists migration (
		number integer primary key, name text not null, sha256 text not null) strict`); err != nil {
		return err
	}
	for i, name := range names {
		text, err := fs.ReadFile(steps, name)
		if err != nil {
			return err
		}
		if err := migrateOne(ctx, db, i+1, name, string(text)); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	var last int
	if err := db.QueryRowContext(ctx, `select count(*) from migration`).Scan(&last); err != nil {
		return err
	}
	if last > len(names) {
		return fmt.Errorf("%w: step %d, known up to %d", ErrNewer, last, len(names))
	}
	return nil
}

func migrateOne(ctx context.Context, db *sql.DB, number int, name, text string) error {
	hash := sha256.Sum256([]byte(text))
	sum := hex.EncodeToString(hash[:])
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	var applied string
	switch err := tx.QueryRowContext(ctx, `select sha256 from migration where number = ?`, number).Scan(&applied); {
	case err == nil && applied != sum:
		return errChanged
	case err == nil:
		return nil
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	if _, err := tx.ExecContext(ctx, text); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `insert into migration (number, name, sha256) values (?, ?, ?)`, number, name, sum); err != nil {
		return err
	}
	return tx.Commit()
}
