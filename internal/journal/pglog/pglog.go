//go:build !js

package pglog

import (
	"context"
	"errors"
	"fmt"
	"regexp"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/puddle/v2"

	"rung/internal/journal"
)

// Log is a journal.Log in a PostgreSQL schema. Several processes may use one.
type Log struct {
	pool    *pgxpool.Pool
	schema  string
	summary journal.Summary
}

// Options of Open.
type Options struct {
	Summary journal.Summary
	// Schema holds the tables and is made if it is not there. Empty: "rung".
	Schema string
}

// names of schemas that need no quotes anywhere.
var names = regexp.MustCompile(`^[a-z][a-z0-9_]{0,40}$`)

// Open connects to the database of a URL, "postgres://user@host/name", and
// brings the tables and lists of the journal up to date. The error never holds
// the password of the URL.
func Open(ctx context.Context, url string, o Options) (*Log, error) {
	if o.Schema == "" {
		o.Schema = "rung"
	}
	l, err := open(ctx, url, o)
	if err != nil {
		return nil, fmt.Errorf("open journal in PostgreSQL: %w", storeError(err))
	}
	return l, nil
}

func open(ctx context.Context, url string, o Options) (*Log, error) {
	if !names.MatchString(o.Schema) {
		return nil, fmt.Errorf("%w: schema %q: want small letters, digits and _", journal.ErrStorage, o.Schema)
	}
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", journal.ErrStorage, err)
	}
	config.ConnConfig.RuntimeParams["search_path"] = o.Schema
	config.ConnConfig.RuntimeParams["application_name"] = "rung"
	config.AfterConnect = settle
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, err
	}
	l := &Log{pool: pool, schema: o.Schema, summary: o.Summary}
	if err := l.prepare(ctx); err != nil {
		l.Close()
		return nil, err
	}
	return l, nil
}

// settle makes a new connection durable, and keeps it from waiting or holding
// others up for ever.
//
// practice: five seconds are as long as a person waits before trying again.
func settle(ctx context.Context, c *pgx.Conn) error {
	_, err := c.Exec(ctx, `select set_config('lock_timeout', '5s', false),
		set_config('idle_in_transaction_session_timeout', '30s', false),
		set_config('synchronous_commit', case current_setting('synchronous_commit') when 'off' then 'on'
			else current_setting('synchronous_commit') end, false)`)
	return err
}

// prepare brings tables, numbers and lists up to date.
func (l *Log) prepare(ctx context.Context) error {
	var encoding string
	if err := l.pool.QueryRow(ctx, `select current_setting('server_encoding')`).Scan(&encoding); err != nil {
		return err
	}
	if encoding != "UTF8" {
		return fmt.Errorf("%w: the database is in %s and cannot hold every name; make one in UTF8", journal.ErrStorage, encoding)
	}
	if err := migrate(ctx, l.pool, l.schema, migrations); err != nil {
		return err
	}
	if err := l.renumber(ctx); err != nil {
		return err
	}
	return l.rebuildLists(ctx)
}

// renumber sets the transactions of all entries to nought if one of them is
// ahead of this database: they were restored from another one, and readers
// would wait for ever for their time to come.
func (l *Log) renumber(ctx context.Context) error {
	var foreign bool
	if err := l.pool.QueryRow(ctx, `select coalesce((select xid from envelope order by xid desc limit 1)
		>= pg_snapshot_xmax(pg_current_snapshot()), false)`).Scan(&foreign); err != nil || !foreign {
		return err
	}
	return l.inTransaction(ctx, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `lock table envelope in exclusive mode`); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `update envelope set xid = '0' where xid <> '0'`)
		return err
	})
}

func (l *Log) inTransaction(ctx context.Context, do func(pgx.Tx) error) error {
	return pgx.BeginFunc(ctx, l.pool, do)
}

// Close ends the use of the database. Calls after it give journal.ErrClosed.
func (l *Log) Close() error {
	l.pool.Close()
	return nil
}

// storeError makes an error of the driver one of package journal.
func storeError(err error) error {
	var failed *pgconn.PgError
	var unreachable *pgconn.ConnectError
	switch {
	case err == nil:
		return nil
	case errors.Is(err, puddle.ErrClosedPool):
		return fmt.Errorf("%w (%w)", journal.ErrClosed, err)
	case errors.As(err, &failed):
		return fmt.Errorf("%w (%w)", kindOf(failed.Code), err)
	case known(err):
		return err
	case errors.As(err, &unreachable):
		return fmt.Errorf("%w (%w)", journal.ErrStorage, err)
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	}
	return fmt.Errorf("%w (%w)", journal.ErrStorage, err)
}

// known reports whether err is one of package journal already.
func known(err error) bool {
	for _, k := range []error{journal.ErrInvalid, journal.ErrConflict, journal.ErrCursor, journal.ErrCorrupt, journal.ErrStorage, ErrNewer, errChanged} {
		if errors.Is(err, k) {
			return true
		}
	}
	return false
}

// kindOf returns the error of package journal for a condition.
//
// published: PostgreSQL 15 documentation, appendix A, error codes.
func kindOf(code string) error {
	switch code {
	case "53100", "54000", "53400": // disk full, a limit of the program, a limit of the configuration
		return journal.ErrFull
	case "25006", "42501": // read-only transaction, insufficient privilege
		return journal.ErrReadOnly
	case "55P03", "40001", "40P01", "53300", "57P03": // lock not available, serialisation, deadlock, too many connections, starting up
		return journal.ErrBusy
	case "XX001", "XX002": // data, index corrupted
		return journal.ErrCorrupt
	}
	return journal.ErrStorage
}
