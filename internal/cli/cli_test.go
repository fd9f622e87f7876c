package cli

import (
	"bytes"
	"context"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/tools/txtar"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/visit"
)

// A script is a txtar archive: "args" the command line, one argument a line;
// "stdin"; "status" the exit status; "says" lines that must stand in the output;
// "never" lines that must not.
func TestScripts(t *testing.T) {
	files, err := filepath.Glob("testdata/script/*.txtar")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) { runScript(t, file) })
	}
}

// inMemory returns the use cases over a journal in memory, with fixed clock and ids.
func inMemory() (*visit.Service, error) {
	clock := func() time.Time { return time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC) }
	return visit.New(visit.Config{
		Log: memlog.New(ledger.Summary()), Now: clock, IDs: journal.NewIDSource(clock, rand.NewChaCha8([32]byte{1})), Device: "test",
	})
}

func runScript(t *testing.T, file string) {
	a, err := txtar.ParseFile(file)
	if err != nil {
		t.Fatal(err)
	}
	part := map[string]string{"status": "0"}
	for _, f := range a.Files {
		part[f.Name] = string(f.Data)
	}
	var out bytes.Buffer
	status := Run(context.Background(), strings.Fields(part["args"]),
		Env{Stdin: strings.NewReader(part["stdin"]), Stdout: &out, Stderr: &out, Visits: inMemory})
	if want := strings.TrimSpace(part["status"]); strconv.Itoa(status) != want {
		t.Errorf("exit status %d, want %s", status, want)
	}
	for line := range strings.Lines(part["says"]) {
		if s := strings.TrimSpace(line); !strings.Contains(out.String(), s) {
			t.Errorf("the output lacks %q", s)
		}
	}
	for line := range strings.Lines(part["never"]) {
		if s := strings.TrimSpace(line); strings.Contains(out.String(), s) {
			t.Errorf("the output holds %q", s)
		}
	}
	if t.Failed() {
		t.Logf("output:\n%s", out.String())
	}
}
