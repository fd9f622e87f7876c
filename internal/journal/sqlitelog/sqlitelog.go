//go:build !js

package sqlitelog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"runtime"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"rung/internal/journal"
)

// Log is a journal.Log in an SQLite file.
type Log struct {
	path    string
	summary journal.Summary
	write   *sql.DB // one connection, immediate transactions
	read    *sql.DB // pool
}

// Options of Open.
type Options struct {
	Summary journal.Summary
	// MaxPages bounds the size of the file in pages of 4096 bytes, if not zero:
	// a journal that may not fill the disk. Beyond it appends give ErrFull.
	MaxPages int
	// ReadOnly opens an existing file without writing to it.
	ReadOnly bool
}

// Open opens the journal in the file path, which it makes if there is none,
// and examines the structure of the file. A damaged file gives
// journal.ErrCorrupt and is left as it is.
func Open(ctx context.Context, path string, o Options) (*Log, error) {
	l, err := open(ctx, path, o)
	if err != nil {
		return nil, fmt.Errorf("open journal %s: %w", filepath.Base(path), storeError(err))
	}
	return l, nil
}

func open(ctx context.Context, path string, o Options) (*Log, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if dir := filepath.Dir(path); !isDir(dir) {
		return nil, fmt.Errorf("%w: there is no directory %s", journal.ErrStorage, dir)
	}
	if o.ReadOnly {
		if _, err := os.Stat(path); err != nil {
			return nil, fmt.Errorf("%w: %w", journal.ErrStorage, err)
		}
	}
	l := &Log{path: path, summary: o.Summary}
	if l.write, err = sql.Open("sqlite", source(path, o, false)); err != nil {
		return nil, err
	}
	l.write.SetMaxOpenConns(1)
	if l.read, err = sql.Open("sqlite", source(path, o, true)); err != nil {
		l.write.Close()
		return nil, err
	}
	l.read.SetMaxOpenConns(max(4, runtime.NumCPU()))
	if err := l.prepare(ctx, o); err != nil {
		l.Close()
		return nil, err
	}
	return l, nil
}

func isDir(path string) bool {
	i, err := os.Stat(path)
	return err == nil && i.IsDir()
}

// source returns the data source name of the reading or the writing pool.
func source(path string, o Options, read bool) string {
	v := url.Values{"_pragma": {"busy_timeout(5000)", "foreign_keys(1)", "synchronous(FULL)"}}
	switch {
	case o.ReadOnly:
		v.Set("mode", "ro")
	case read:
		v.Add("_pragma", "query_only(1)")
	default:
		v.Add("_pragma", "journal_mode(WAL)")
		v.Set("_txlock", "immediate")
		if o.MaxPages > 0 {
			v.Add("_pragma", fmt.Sprintf("max_page_count(%d)", o.MaxPages))
		}
	}
	return (&url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(path), RawQuery: v.Encode()}).String()
}

// prepare examines the file and, unless it is only read, brings its tables and
// lists up to date.
func (l *Log) prepare(ctx context.Context, o Options) error {
	if err := quickCheck(ctx, l.write); err != nil {
		return err
	}
	if o.ReadOnly {
		return nil
	}
	if err := migrate(ctx, l.write, migrations); err != nil {
		return err
	}
	return l.rebuildLists(ctx)
}

// quickCheck walks the pages of the file, without the entries' own checksums.
func quickCheck(ctx context.Context, db *sql.DB) error {
	var verdict string
	if err := db.QueryRowContext(ctx, `pragma quick_check(1)`).Scan(&verdict); err != nil {
		return err
	}
	if verdict != "ok" {
		return fmt.Errorf("%w: %s", journal.ErrCorrupt, verdict)
	}
	return nil
}

// Path returns the file of the journal.
func (l *Log) Path() string { return l.path }

// Close ends the use of the file. Calls after it give journal.ErrClosed.
func (l *Log) Close() error {
	return errors.Join(l.read.Close(), l.write.Close())
}

// storeError makes an error of the driver one of package journal.
func storeError(err error) error {
	var failed *sqlite.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &failed):
		return fmt.Errorf("%w (%w)", kindOf(failed.Code()), err)
	case errors.Is(err, sql.ErrConnDone), errors.Is(err, sql.ErrTxDone), err.Error() == "sql: database is closed":
		return fmt.Errorf("%w (%w)", journal.ErrClosed, err)
	}
	return err
}

// kindOf returns the error of package journal for a result code; the low byte
// of an extended code is the primary one.
func kindOf(code int) error {
	switch code & 0xff {
	case sqlite3.SQLITE_FULL:
		return journal.ErrFull
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH:
		return journal.ErrReadOnly
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return journal.ErrCorrupt
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return journal.ErrBusy
	}
	return journal.ErrStorage
}
