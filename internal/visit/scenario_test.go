package visit_test

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/scenario"
	"rung/internal/visit"
)

// TestScenarios plays the calls of testdata/scenario, each with its hidden fault.
func TestScenarios(t *testing.T) {
	files, err := filepath.Glob("testdata/scenario/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scenarios: %v", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			script, err := scenario.Parse(string(text))
			if err != nil {
				t.Fatal(err)
			}
			for _, failure := range scenario.Play(t.Context(), newCall(t), script, t.Logf) {
				t.Error(failure)
			}
		})
	}
}

// newCall returns a service over an empty journal in memory.
func newCall(t testing.TB) *visit.Service {
	t.Helper()
	now := time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC)
	clock := func() time.Time { now = now.Add(time.Second); return now }
	s, err := visit.New(visit.Config{
		Log: memlog.New(ledger.Summary()), Now: clock, IDs: journal.NewIDSource(clock, rand.NewChaCha8([32]byte{7})), Device: "phone",
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}
