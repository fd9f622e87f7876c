//go:build !js

package sqlitelog

import (
	"context"
	"path/filepath"
	"testing"

	"rung/internal/journal"
	"rung/internal/journal/journaltest"
)

// The budgets stand with the common benchmark.
func BenchmarkLog(b *testing.B) {
	journaltest.Benchmark(b, func(t testing.TB, s journal.Summary) journal.Log {
		return openTest(t, filepath.Join(t.TempDir(), "j.db"), Options{Summary: s})
	})
}

// Budget: 200 ms to open a journal of 20,000 entries, with the examination of
// the file.
func BenchmarkOpen(b *testing.B) {
	path := filepath.Join(b.TempDir(), "j.db")
	l := openTest(b, path, Options{})
	fill(b, l, 1, 20_000)
	l.Close()
	for b.Loop() {
		l, err := Open(context.Background(), path, Options{})
		if err != nil {
			b.Fatal(err)
		}
		l.Close()
	}
}
