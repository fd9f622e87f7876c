// Command rung is the service tool: pages, calculators, diagnosis, backup.
package main

import (
	"context"
	"os"
	"os/signal"

	"rung/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	status := cli.Run(ctx, os.Args[1:], cli.Env{Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr})
	stop()
	os.Exit(status)
}
