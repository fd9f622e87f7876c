//go:build unix

package pglog

import (
	"testing"

	"rung/internal/journal"
	"rung/internal/journal/journaltest"
)

// The budgets stand with the common benchmark. The server forces every commit
// to the disk, as in use.
func BenchmarkLog(b *testing.B) {
	journaltest.Benchmark(b, func(t testing.TB, s journal.Summary) journal.Log { return openTest(t, Options{Summary: s}) })
}
