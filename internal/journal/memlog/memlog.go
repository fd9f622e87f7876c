// Package memlog is a journal in memory, for tests and for trying things out.
// It forgets everything when the program ends.
package memlog

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"rung/internal/journal"
)

// Log is a journal.Log in memory. The zero value is not usable; see New.
type Log struct {
	summary journal.Summary
	mu      sync.RWMutex
	arrived []journal.Envelope
	byID    map[journal.ID]journal.Envelope
	streams map[journal.Stream][]journal.Envelope // each in the order of Compare
	rows    map[journal.Stream][]journal.Row
	blobs   blobs
}

// New returns an empty log that keeps the lists of summary.
func New(summary journal.Summary) *Log {
	return &Log{
		summary: summary,
		byID:    map[journal.ID]journal.Envelope{},
		streams: map[journal.Stream][]journal.Envelope{},
		rows:    map[journal.Stream][]journal.Row{},
	}
}

// Append implements journal.Log.
func (l *Log) Append(ctx context.Context, batch []journal.Envelope) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	fresh := map[journal.ID]journal.Envelope{}
	var added []journal.Envelope
	for _, e := range batch {
		if err := e.Check(); err != nil {
			return err
		}
		known, ok := l.byID[e.ID]
		if !ok {
			known, ok = fresh[e.ID]
		}
		switch {
		case !ok:
			e.Payload = slices.Clone(e.Payload)
			fresh[e.ID] = e
			added = append(added, e)
		case !journal.Equal(known, e):
			return fmt.Errorf("append %s: %w", e.ID, journal.ErrConflict)
		}
	}
	touched := map[journal.Stream]bool{}
	for _, e := range added {
		l.insert(e)
		touched[e.Stream] = true
	}
	if l.summary.Rows != nil {
		for s := range touched {
			l.rows[s] = l.summary.Rows(s, l.streams[s])
		}
	}
	return nil
}

// insert adds a checked and unknown envelope.
func (l *Log) insert(e journal.Envelope) {
	l.arrived = append(l.arrived, e)
	l.byID[e.ID] = e
	s := l.streams[e.Stream]
	at, _ := slices.BinarySearchFunc(s, e, journal.Compare)
	l.streams[e.Stream] = slices.Insert(s, at, e)
}

// Stream implements journal.Log.
func (l *Log) Stream(ctx context.Context, s journal.Stream) ([]journal.Envelope, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return slices.Clone(l.streams[s]), ctx.Err()
}

// Since implements journal.Log. A cursor is the number of envelopes before it
// and the id of the last of them.
func (l *Log) Since(ctx context.Context, after journal.Cursor, limit int) ([]journal.Envelope, journal.Cursor, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	from := 0
	if after != journal.Start {
		number, id, _ := strings.Cut(string(after), ".")
		n, err := strconv.Atoi(number)
		if err != nil || n < 1 || n > len(l.arrived) || l.arrived[n-1].ID.String() != id {
			return nil, journal.Start, fmt.Errorf("%.60q: %w", after, journal.ErrCursor)
		}
		from = n
	}
	to := min(len(l.arrived), from+max(0, limit))
	if to > from {
		after = journal.Cursor(fmt.Sprintf("%d.%s", to, l.arrived[to-1].ID))
	}
	return slices.Clone(l.arrived[from:to]), after, ctx.Err()
}

// Rows implements journal.Log.
func (l *Log) Rows(ctx context.Context, list, prefix string) ([]journal.Row, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	var found []journal.Row
	for _, rows := range l.rows {
		for _, r := range rows {
			if r.List == list && strings.HasPrefix(r.Key, prefix) {
				found = append(found, r)
			}
		}
	}
	slices.SortFunc(found, func(a, b journal.Row) int { return strings.Compare(a.Key, b.Key) })
	return found, ctx.Err()
}
