// Command rung is the service tool: pages, calculators, diagnosis, backup.
package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"rung/internal/authority"
	"rung/internal/cli"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/journal/sqlitelog"
	"rung/internal/ledger"
	"rung/internal/office"
	"rung/internal/visit"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := cli.Run(ctx, os.Args[1:], cli.Env{
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr,
		Serve: serve, Visits: inMemory, Backup: backup, Open: open, Device: deviceName(),
		Accounts: accounts, NewPassword: func() string { return strings.ToLower(rand.Text()) }, Authority: makeAuthority,
	})
	stop()
	os.Exit(status)
}

// inMemory returns the use cases over a journal that is forgotten.
func inMemory() (*visit.Service, error) {
	return newService(memlog.New(ledger.Summary()), nil)
}

// newService returns the use cases over a journal; see visit.Config for ahead.
func newService(log store, ahead func(step func() bool)) (*visit.Service, error) {
	return visit.New(visit.Config{
		Log: log, Blobs: log.Blobs(), Now: time.Now, IDs: journal.NewIDSource(time.Now, rand.Reader), Device: deviceName(), Zone: time.Local, Random: rand.Reader, Ahead: ahead,
	})
}

// deviceName is this machine in the journal.
func deviceName() string {
	name, err := os.Hostname()
	if err != nil {
		return "server"
	}
	return name
}

// open opens a journal for one command.
func open(ctx context.Context, path string, write bool) (cli.JournalFile, error) {
	return sqlitelog.Open(ctx, path, sqlitelog.Options{Summary: ledger.Summary(), ReadOnly: !write})
}

// makeAuthority makes the authority of a shop and returns the fingerprint of its
// root.
func makeAuthority(dir, name string) (string, error) {
	a, err := authority.Init(dir, name, time.Now())
	if err != nil {
		return "", err
	}
	return office.Fingerprint(a.Root()), nil
}

// backup copies a journal that may be in use.
func backup(ctx context.Context, from, to string) (int, error) {
	log, err := sqlitelog.Open(ctx, from, sqlitelog.Options{Summary: ledger.Summary(), ReadOnly: true})
	if err != nil {
		return 0, err
	}
	defer log.Close()
	entries, err := log.Backup(ctx, to)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", from, err)
	}
	return entries, nil
}
