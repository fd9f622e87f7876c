// Command rung is the service tool: pages, calculators, diagnosis, backup.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"

	"rung/internal/cli"
	"rung/internal/journal/sqlitelog"
	"rung/internal/ledger"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := cli.Run(ctx, os.Args[1:], cli.Env{
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr,
		Serve: serve, Backup: backup,
	})
	stop()
	os.Exit(status)
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
