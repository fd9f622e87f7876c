//go:build !js

package sqlitelog

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"rung/internal/journal"
	"rung/internal/journal/journaltest"
)

// Budget: 5 ms for one durable entry; the disk's sync dominates.
func BenchmarkAppendOne(b *testing.B) {
	l := openTest(b, filepath.Join(b.TempDir(), "j.db"), Options{})
	batch := journaltest.Envelopes(1, b.N)
	b.ResetTimer()
	for i := range batch {
		if err := l.Append(context.Background(), batch[i:i+1]); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 30 ms for 500 entries, what one exchange between devices brings.
func BenchmarkAppend500(b *testing.B) {
	l := openTest(b, filepath.Join(b.TempDir(), "j.db"), Options{})
	batch := journaltest.Envelopes(1, 500*b.N)
	b.ResetTimer()
	for part := range slices.Chunk(batch, 500) {
		if err := l.Append(context.Background(), part); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 5 ms for a stream of 400 entries among 20,000.
func BenchmarkStream(b *testing.B) {
	l := openTest(b, filepath.Join(b.TempDir(), "j.db"), Options{})
	batch := journaltest.Envelopes(1, 20_000)
	for i := range batch {
		batch[i].Stream = journal.Stream(fmt.Sprint("house/", i%50))
	}
	if err := l.Append(context.Background(), batch); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if s, err := l.Stream(context.Background(), "house/7"); err != nil || len(s) != 400 {
			b.Fatal(len(s), err)
		}
	}
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
