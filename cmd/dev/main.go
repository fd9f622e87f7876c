// Command dev builds Rung, with the part that works without signal, and serves
// a made-up shop on this machine:
//
//	go run ./cmd/dev
//
// The journal is the file rung-demo.db in the current directory; it is made and
// filled when it is not there. Arguments are passed on to "rung serve".
//
//	go run ./cmd/dev build
//
// builds the release instead: one file, rung, packed as tightly as can be.
package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"syscall"
	"time"

	"rung/internal/bundle"
)

func main() {
	run := serve
	if len(os.Args) == 2 && os.Args[1] == "build" {
		run = func([]string) error { return release() }
	}
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintf(os.Stderr, "dev: %v\n", err)
		os.Exit(1)
	}
}

// dist is where the server takes the part for the browser from, when it is
// compiled.
const dist = "internal/web/dist"

// How tightly the program for the browser is packed: while one works on it, so
// that a change is seen soon; and for a release, which takes some minutes.
const (
	quick = 0
	tight = 11
)

// forBrowser builds the part for the browser, and says how large it is.
func forBrowser(brotli int) error {
	fmt.Println("building the part for the browser …")
	from := time.Now()
	s, err := bundle.Build(context.Background(), bundle.Options{Source: ".", Into: dist, Brotli: brotli})
	if err != nil {
		return err
	}
	if s.Whole != nil {
		fmt.Println("lines for tracebacks are left in it:", s.Whole)
	}
	fmt.Printf("%.1f MB, gzip %.1f MB, brotli %.1f MB, in %s\n", float64(s.Raw)/1e6, float64(s.Gzip)/1e6, float64(s.Brotli)/1e6, time.Since(from).Round(time.Second))
	return nil
}

// release builds one file that holds everything.
func release() error {
	if err := forBrowser(tight); err != nil {
		return err
	}
	return command("go", "build", "-trimpath", "-ldflags=-s -w", "./cmd/rung").Run()
}

func serve(args []string) error {
	if err := forBrowser(quick); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "rung-dev")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	program := filepath.Join(dir, "rung")
	if runtime.GOOS == "windows" {
		program += ".exe"
	}
	fmt.Println("building …")
	if err := command("go", "build", "-o", program, "./cmd/rung").Run(); err != nil {
		return fmt.Errorf("build: %w", err)
	}
	serve := []string{"serve", "--demo", "--gallery", "--file", "rung-demo.db", "--shop", "Sample Heating and Cooling", "--phone", "555-0100"}
	c := command(program, append(serve, args...)...)
	// Ctrl-C reaches the server by itself; this program only waits for it.
	signal.Notify(make(chan os.Signal, 1), os.Interrupt, syscall.SIGTERM)
	return c.Run()
}

// command runs a program with this one's output.
func command(name string, args ...string) *exec.Cmd {
	c := exec.Command(name, args...)
	c.Stdout, c.Stderr = os.Stdout, os.Stderr
	return c
}
