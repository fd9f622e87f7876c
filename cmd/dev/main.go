// Command dev builds Rung and serves a made-up shop on this machine:
//
//	go run ./cmd/dev
//
// The journal is the file rung-demo.db in the current directory; it is made and
// filled when it is not there. Arguments are passed on to "rung serve".
package main

import (
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"syscall"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintf(os.Stderr, "dev: %v\n", err)
		os.Exit(1)
	}
}

func run(args []string) error {
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
