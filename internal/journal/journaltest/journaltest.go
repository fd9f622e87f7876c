// Package journaltest holds the conformance suite of package journal. A store
// is finished when it passes Run unchanged.
package journaltest

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"rung/internal/journal"
)

// Opener returns a new, empty log that keeps the lists of the summary and is
// cleaned up with the test.
type Opener func(testing.TB, journal.Summary) journal.Log

// Run runs the suite.
func Run(t *testing.T, open Opener) {
	for _, c := range []struct {
		name string
		test func(*testing.T, Opener)
	}{
		{"what goes in comes out", testRoundTrip},
		{"an empty log", testEmpty},
		{"appending twice changes nothing", testIdempotent},
		{"one id, two contents", testConflict},
		{"a bad envelope keeps the batch out", testAllOrNothing},
		{"streams are ordered by time, then id", testOrder},
		{"unknown kinds are kept", testUnknownKind},
		{"a cursor meets every envelope once", testCursor},
		{"a foreign cursor is refused", testForeignCursor},
		{"a reader loses nothing while others write", testConcurrent},
		{"merging is set union", testMerge},
		{"lists follow the streams", testLists},
		{"a cancelled context", testCancelled},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, open) })
	}
}

// Envelopes returns n valid envelopes over a few streams and devices, made
// from seed, with ids and times in no useful order.
func Envelopes(seed uint64, n int) []journal.Envelope {
	r := rand.New(rand.NewPCG(seed, 1))
	start := journal.TimeOf(time.Date(2026, 7, 14, 9, 0, 0, 0, time.UTC))
	list := make([]journal.Envelope, n)
	for i := range list {
		binary.BigEndian.PutUint64(list[i].ID[:8], r.Uint64()>>1)
		binary.BigEndian.PutUint64(list[i].ID[8:], uint64(i)+1)
		list[i].Stream = journal.Stream(fmt.Sprintf("house/%d", r.IntN(5)))
		list[i].Device = fmt.Sprintf("phone-%d", r.IntN(3))
		list[i].Time = start + journal.Time(r.IntN(n+1)) // ties are wanted
		list[i].Author = "ada"
		list[i].Kind = "something-happened"
		list[i].Version = 1 + r.IntN(3)
		list[i].Payload = []byte(fmt.Sprintf(`{"n":%d}`, i))
	}
	return list
}

func testRoundTrip(t *testing.T, open Opener) {
	log := open(t, journal.Summary{})
	want := Envelopes(1, 1)[0]
	want.Author, want.Payload = "Zoë 雪", []byte{0, 1, 0xff, '\''}
	bare := journal.Envelope{ID: journal.ID{15: 1}, Stream: want.Stream, Time: 1, Kind: "k", Version: 1}
	largest := Envelopes(2, 1)[0]
	largest.Stream, largest.Time, largest.Payload = want.Stream, 1<<63-1, make([]byte, journal.MaxPayload)
	mustAppend(t, log, want, bare, largest)
	got := stream(t, log, want.Stream)
	if len(got) != 3 || !journal.Equal(got[0], bare) || !journal.Equal(got[1], want) || !journal.Equal(got[2], largest) {
		t.Errorf("Stream = %.300v", got)
	}
}

func testEmpty(t *testing.T, open Opener) {
	log := open(t, journal.Summary{})
	if got := stream(t, log, "house/1"); len(got) != 0 {
		t.Errorf("Stream = %v, want nothing", got)
	}
	mustAppend(t, log)
	got, next, err := log.Since(t.Context(), journal.Start, 10)
	if len(got) != 0 || next != journal.Start || err != nil {
		t.Errorf("Since(Start) = %v, %q, %v, want nothing", got, next, err)
	}
	if rows, err := log.Rows(t.Context(), "x", ""); len(rows) != 0 || err != nil {
		t.Errorf("Rows = %v, %v, want nothing", rows, err)
	}
}

func testIdempotent(t *testing.T, open Opener) {
	log := open(t, journal.Summary{})
	batch := Envelopes(3, 20)
	mustAppend(t, log, batch...)
	mustAppend(t, log, batch[5:15]...)
	more := append(Envelopes(4, 21)[20:], batch[3])
	more = append(more, more[0]) // and twice within one batch
	mustAppend(t, log, more...)
	sameSet(t, all(t, log, 7), append(slices.Clone(batch), more[0]))
}

func testConflict(t *testing.T, open Opener) {
	for name, change := range map[string]func(*journal.Envelope){
		"stream":  func(e *journal.Envelope) { e.Stream += "x" },
		"device":  func(e *journal.Envelope) { e.Device += "x" },
		"time":    func(e *journal.Envelope) { e.Time++ },
		"author":  func(e *journal.Envelope) { e.Author += "x" },
		"kind":    func(e *journal.Envelope) { e.Kind += "x" },
		"version": func(e *journal.Envelope) { e.Version++ },
		"payload": func(e *journal.Envelope) { e.Payload = []byte("other") },
	} {
		log := open(t, journal.Summary{})
		batch := Envelopes(5, 3)
		mustAppend(t, log, batch[0])
		other := batch[0]
		change(&other)
		if err := log.Append(t.Context(), []journal.Envelope{batch[1], other, batch[2]}); !errors.Is(err, journal.ErrConflict) {
			t.Errorf("other %s: Append = %v, want ErrConflict", name, err)
		}
		sameSet(t, all(t, log, 7), batch[:1])
	}
}

func testAllOrNothing(t *testing.T, open Opener) {
	log := open(t, journal.Summary{})
	for name, spoil := range map[string]func(*journal.Envelope){
		"no id":           func(e *journal.Envelope) { e.ID = journal.ID{} },
		"no stream":       func(e *journal.Envelope) { e.Stream = "" },
		"no kind":         func(e *journal.Envelope) { e.Kind = "" },
		"no time":         func(e *journal.Envelope) { e.Time = 0 },
		"endless time":    func(e *journal.Envelope) { e.Time = 1 << 63 },
		"version 0":       func(e *journal.Envelope) { e.Version = 0 },
		"long author":     func(e *journal.Envelope) { e.Author = strings.Repeat("a", journal.MaxName+1) },
		"not UTF-8":       func(e *journal.Envelope) { e.Device = "\xff" },
		"control":         func(e *journal.Envelope) { e.Stream = "a\nb" },
		"payload too big": func(e *journal.Envelope) { e.Payload = make([]byte, journal.MaxPayload+1) },
	} {
		batch := Envelopes(6, 3)
		spoil(&batch[1])
		if err := log.Append(t.Context(), batch); !errors.Is(err, journal.ErrInvalid) {
			t.Errorf("%s: Append = %v, want ErrInvalid", name, err)
		}
	}
	if got := all(t, log, 7); len(got) != 0 {
		t.Errorf("log holds %v, want nothing", got)
	}
}

func testOrder(t *testing.T, open Opener) {
	log := open(t, journal.Summary{})
	batch := Envelopes(7, 200)
	for part := range slices.Chunk(batch, 13) {
		mustAppend(t, log, part...)
	}
	total := 0
	for s := range 5 {
		got := stream(t, log, journal.Stream(fmt.Sprintf("house/%d", s)))
		if !slices.IsSortedFunc(got, journal.Compare) {
			t.Errorf("house/%d is not in order", s)
		}
		total += len(got)
	}
	if total != len(batch) {
		t.Errorf("the streams hold %d envelopes, want %d", total, len(batch))
	}
}

func testUnknownKind(t *testing.T, open Opener) {
	log := open(t, journal.Summary{})
	e := Envelopes(8, 1)[0]
	e.Kind, e.Version, e.Payload = "from-a-later-program", 99, []byte("\x00not JSON")
	mustAppend(t, log, e)
	sameSet(t, all(t, log, 1), []journal.Envelope{e})
}

func testCursor(t *testing.T, open Opener) {
	log := open(t, journal.Summary{})
	batch := Envelopes(9, 100)
	mustAppend(t, log, batch[:40]...)
	first, at, err := log.Since(t.Context(), journal.Start, 25)
	if err != nil || len(first) != 25 {
		t.Fatalf("Since = %d envelopes, %v, want 25", len(first), err)
	}
	if again, _, _ := log.Since(t.Context(), journal.Start, 25); !slices.EqualFunc(first, again, journal.Equal) {
		t.Error("the same cursor gave other envelopes")
	}
	mustAppend(t, log, batch[40:]...)
	got := first
	for {
		page, next, err := log.Since(t.Context(), at, 9)
		if err != nil {
			t.Fatal(err)
		}
		if len(page) == 0 {
			if next != at {
				t.Errorf("at the end the cursor moved from %q to %q", at, next)
			}
			break
		}
		got, at = append(got, page...), next
	}
	sameSet(t, got, batch)
	if none, next, err := log.Since(t.Context(), at, 0); len(none) != 0 || next != at || err != nil {
		t.Errorf("Since(limit 0) = %v, %q, %v", none, next, err)
	}
}

func testForeignCursor(t *testing.T, open Opener) {
	log, other := open(t, journal.Summary{}), open(t, journal.Summary{})
	mustAppend(t, log, Envelopes(10, 3)...)
	mustAppend(t, other, Envelopes(11, 3)...)
	_, foreign, err := other.Since(t.Context(), journal.Start, 10)
	if err != nil {
		t.Fatal(err)
	}
	// The same journal as it was before its last envelopes: a restored backup.
	restored := open(t, journal.Summary{})
	_, later, err := log.Since(t.Context(), journal.Start, 10)
	if err != nil {
		t.Fatal(err)
	}
	for name, try := range map[string]func() error{
		"other log": func() error { _, _, err := log.Since(t.Context(), foreign, 10); return err },
		"later log": func() error { _, _, err := restored.Since(t.Context(), later, 10); return err },
		"no cursor": func() error { _, _, err := log.Since(t.Context(), "nonsense", 10); return err },
	} {
		if err := try(); !errors.Is(err, journal.ErrCursor) {
			t.Errorf("%s: %v, want ErrCursor", name, err)
		}
	}
}

func testConcurrent(t *testing.T, open Opener) {
	const writers, each = 4, 60
	log := open(t, journal.Summary{})
	batch := Envelopes(12, writers*each)
	var writing sync.WaitGroup
	for part := range slices.Chunk(batch, each) {
		writing.Go(func() {
			for two := range slices.Chunk(part, 2) {
				if err := log.Append(t.Context(), two); err != nil {
					t.Error(err)
				}
			}
		})
	}
	done := make(chan struct{})
	go func() { writing.Wait(); close(done) }()
	var got []journal.Envelope
	at := journal.Start
	for finished := false; ; {
		page, next, err := log.Since(t.Context(), at, 11)
		if err != nil {
			t.Fatal(err)
		}
		got, at = append(got, page...), next
		if len(page) > 0 {
			continue
		}
		if finished {
			break
		}
		select {
		case <-done:
			finished = true // and look once more
		default:
		}
	}
	sameSet(t, got, batch)
}

// testMerge splits a set of envelopes over devices with overlap, exchanges
// them in random directions and sizes, and wants every copy to be the union.
func testMerge(t *testing.T, open Opener) {
	for seed := range uint64(5) {
		r := rand.New(rand.NewPCG(seed, 2))
		union := Envelopes(seed+100, 60)
		logs := []journal.Log{open(t, countRows), open(t, countRows), open(t, countRows)}
		for i, e := range union {
			mustAppend(t, logs[i%len(logs)], e)
			mustAppend(t, logs[r.IntN(len(logs))], e)
		}
		for range 3 {
			for _, i := range r.Perm(len(logs)) {
				for _, j := range r.Perm(len(logs)) {
					batch := all(t, logs[i], 1+r.IntN(30))
					r.Shuffle(len(batch), func(a, b int) { batch[a], batch[b] = batch[b], batch[a] })
					mustAppend(t, logs[j], batch...)
				}
			}
		}
		for i, log := range logs {
			sameSet(t, all(t, log, 17), union)
			for s := range 5 {
				name := journal.Stream(fmt.Sprintf("house/%d", s))
				if a, b := stream(t, log, name), stream(t, logs[0], name); !slices.EqualFunc(a, b, journal.Equal) {
					t.Errorf("seed %d: %s differs between copy 0 and copy %d", seed, name, i)
				}
			}
			if a, b := rows(t, log, "count", ""), rows(t, logs[0], "count", ""); fmt.Sprint(a) != fmt.Sprint(b) {
				t.Errorf("seed %d: lists differ between copy 0 and copy %d", seed, i)
			}
		}
	}
}

// countRows lists every stream with the number of its envelopes, and every
// envelope with its place in the stream.
var countRows = journal.Summary{Version: "1", Rows: func(s journal.Stream, es []journal.Envelope) []journal.Row {
	list := []journal.Row{{List: "count", Key: string(s), Value: []byte(strconv.Itoa(len(es)))}}
	for i, e := range es {
		list = append(list, journal.Row{List: "place", Key: e.ID.String(), Value: []byte(strconv.Itoa(i))})
	}
	return list
}}

func testLists(t *testing.T, open Opener) {
	log := open(t, countRows)
	batch := Envelopes(13, 50)
	for part := range slices.Chunk(batch, 7) {
		mustAppend(t, log, part...)
	}
	got := rows(t, log, "count", "house/")
	if len(got) != 5 {
		t.Fatalf("Rows = %v, want five", got)
	}
	for i, r := range got {
		s := fmt.Sprintf("house/%d", i)
		want := strconv.Itoa(len(stream(t, log, journal.Stream(s))))
		if r.List != "count" || r.Key != s || string(r.Value) != want {
			t.Errorf("row %d = %s %s %s, want count %s %s", i, r.List, r.Key, r.Value, s, want)
		}
	}
	if got := rows(t, log, "count", "house/3"); len(got) != 1 || got[0].Key != "house/3" {
		t.Errorf("Rows(house/3) = %v, want one", got)
	}
	if got := rows(t, log, "coun", ""); len(got) != 0 {
		t.Errorf("Rows of no list = %v", got)
	}
	places := rows(t, log, "place", "")
	if len(places) != len(batch) || !slices.IsSortedFunc(places, func(a, b journal.Row) int { return strings.Compare(a.Key, b.Key) }) {
		t.Errorf("%d rows of places, want %d in order", len(places), len(batch))
	}
	for _, r := range places {
		i, _ := strconv.Atoi(string(r.Value))
		id, _ := journal.ParseID(r.Key)
		e := batch[slices.IndexFunc(batch, func(e journal.Envelope) bool { return e.ID == id })]
		if at := stream(t, log, e.Stream); at[i].ID != id {
			t.Errorf("row of %s says place %d of %s, which is another", id, i, e.Stream)
		}
	}
}

func testCancelled(t *testing.T, open Opener) {
	log := open(t, journal.Summary{})
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := log.Append(ctx, Envelopes(14, 1)); !errors.Is(err, context.Canceled) {
		t.Errorf("Append = %v, want context.Canceled", err)
	}
	if got := all(t, log, 1); len(got) != 0 {
		t.Errorf("log holds %v, want nothing", got)
	}
}

func mustAppend(t testing.TB, log journal.Log, batch ...journal.Envelope) {
	t.Helper()
	if err := log.Append(t.Context(), batch); err != nil {
		t.Fatal(err)
	}
}

func stream(t testing.TB, log journal.Log, s journal.Stream) []journal.Envelope {
	t.Helper()
	list, err := log.Stream(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func rows(t testing.TB, log journal.Log, list, prefix string) []journal.Row {
	t.Helper()
	found, err := log.Rows(t.Context(), list, prefix)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// all follows the cursors from the start in pages of size.
func all(t testing.TB, log journal.Log, size int) []journal.Envelope {
	t.Helper()
	var list []journal.Envelope
	for at := journal.Start; ; {
		page, next, err := log.Since(t.Context(), at, size)
		if err != nil {
			t.Fatal(err)
		}
		if len(page) == 0 {
			return list
		}
		list, at = append(list, page...), next
	}
}

// sameSet wants the same envelopes in any order, none of them twice.
func sameSet(t testing.TB, got, want []journal.Envelope) {
	t.Helper()
	a, b := slices.Clone(got), slices.Clone(want)
	slices.SortFunc(a, journal.Compare)
	slices.SortFunc(b, journal.Compare)
	if !slices.EqualFunc(a, b, journal.Equal) {
		t.Errorf("%d envelopes, want %d, or they differ", len(got), len(want))
	}
}
