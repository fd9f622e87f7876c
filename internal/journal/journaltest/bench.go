package journaltest

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"sync/atomic"
	"testing"

	"rung/internal/journal"
)

// Benchmark measures a store, the same for every one, so that they can be
// compared. docs/performance.md holds what was measured.
//
// Budgets: 5 ms for one durable entry, where the sync of the disk dominates;
// 100 ms for 500 entries, what one exchange between devices brings; 5 ms for a
// stream of 400 entries among 20,000; 200 ms to read 20,000 by their cursors.
func Benchmark(b *testing.B, open Opener) {
	b.Run("AppendOne", func(b *testing.B) { benchAppend(b, open, 1) })
	b.Run("Append500", func(b *testing.B) { benchAppend(b, open, 500) })
	b.Run("AppendByEight", func(b *testing.B) { benchWriters(b, open, 8) })
	log := open(b, journal.Summary{})
	batch := Envelopes(1, 20_000)
	for i := range batch {
		batch[i].Stream = journal.Stream(fmt.Sprint("house/", i%50))
	}
	for part := range slices.Chunk(batch, 1000) {
		mustAppend(b, log, part...)
	}
	b.Run("Stream400", func(b *testing.B) {
		for b.Loop() {
			if s := stream(b, log, "house/7"); len(s) != 400 {
				b.Fatal(len(s))
			}
		}
	})
	b.Run("Since20000", func(b *testing.B) {
		for b.Loop() {
			if n := len(all(b, log, 1000)); n != len(batch) {
				b.Fatal(n)
			}
		}
	})
}

// benchAppend appends in batches of size.
func benchAppend(b *testing.B, open Opener, size int) {
	log := open(b, journal.Summary{})
	batch := Envelopes(1, size*b.N)
	b.ResetTimer()
	for part := range slices.Chunk(batch, size) {
		if err := log.Append(context.Background(), part); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(size*b.N)/b.Elapsed().Seconds(), "entries/s")
}

// benchWriters appends one by one from several writers at once.
func benchWriters(b *testing.B, open Opener, writers int) {
	log := open(b, journal.Summary{})
	batch := Envelopes(1, b.N)
	var next atomic.Int64
	b.SetParallelism(max(1, writers/runtime.GOMAXPROCS(0))) // of them for each processor
	b.ResetTimer()
	b.RunParallel(func(p *testing.PB) {
		for p.Next() {
			i := next.Add(1) - 1
			if err := log.Append(context.Background(), batch[i:i+1]); err != nil {
				b.Error(err)
			}
		}
	})
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}
