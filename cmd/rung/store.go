package main

import (
	"context"
	"crypto/rand"
	"path/filepath"
	"strings"
	"time"

	"rung/internal/account"
	"rung/internal/blob"
	"rung/internal/cli"
	"rung/internal/journal"
	"rung/internal/journal/pglog"
	"rung/internal/journal/sqlitelog"
	"rung/internal/ledger"
)

// officeSchema holds the accounts in PostgreSQL, beside the schema of the work.
const officeSchema = "rung_office"

// store is a journal with the photos beside it.
type store interface {
	journal.Log
	Blobs() blob.Store
}

// openLog opens the journal of the work and returns how to close it.
func openLog(ctx context.Context, o cli.StoreOptions) (store, func() error, error) {
	if o.Postgres != "" {
		log, err := pglog.Open(ctx, o.Postgres, pglog.Options{Summary: ledger.Summary()})
		if err != nil {
			return nil, nil, err
		}
		return log, log.Close, nil
	}
	log, err := sqlitelog.Open(ctx, o.File, sqlitelog.Options{Summary: ledger.Summary()})
	if err != nil {
		return nil, nil, err
	}
	return log, log.Close, nil
}

// accounts opens the accounts beside the journal and returns how to close them.
func accounts(ctx context.Context, o cli.StoreOptions) (*account.Book, func() error, error) {
	if o.Postgres != "" {
		log, err := pglog.Open(ctx, o.Postgres, pglog.Options{Summary: account.Summary(), Schema: officeSchema})
		if err != nil {
			return nil, nil, err
		}
		return newBook(log), log.Close, nil
	}
	log, err := sqlitelog.Open(ctx, officeFile(o.File), sqlitelog.Options{Summary: account.Summary()})
	if err != nil {
		return nil, nil, err
	}
	return newBook(log), log.Close, nil
}

// officeFile is the file of the accounts beside that of the work: shop-office.db
// beside shop.db.
func officeFile(file string) string {
	ext := filepath.Ext(file)
	return strings.TrimSuffix(file, ext) + "-office" + ext
}

func newBook(log journal.Log) *account.Book {
	return account.New(account.Config{
		Log: log, Now: time.Now, IDs: journal.NewIDSource(time.Now, rand.Reader), Random: rand.Reader, Device: deviceName(),
	})
}
