//go:build js && wasm

package idblog

import (
	"context"
	"fmt"
	"syscall/js"

	"rung/internal/journal"
)

// Append implements journal.Log.
func (l *Log) Append(ctx context.Context, batch []journal.Envelope) error {
	for _, e := range batch {
		if err := e.Check(); err != nil {
			return err
		}
	}
	if len(batch) == 0 {
		return ctx.Err()
	}
	if err := l.append(ctx, batch); err != nil {
		return fmt.Errorf("append to journal: %w", err)
	}
	return nil
}

func (l *Log) append(ctx context.Context, batch []journal.Envelope) error {
	t, err := l.begin(ctx, true, envelopes, rows)
	if err != nil {
		return err
	}
	defer t.release()
	fresh, err := t.unknown(ctx, batch)
	if err != nil {
		t.abort()
		return err
	}
	if len(fresh) == 0 {
		return t.commit(ctx)
	}
	var touched []journal.Stream
	if err := t.do(func() {
		store := t.store(envelopes)
		seen := map[journal.Stream]bool{}
		for _, e := range fresh {
			store.Call("add", value(e))
			if !seen[e.Stream] {
				seen[e.Stream] = true
				touched = append(touched, e.Stream)
			}
		}
	}); err != nil {
		return err
	}
	for _, s := range touched {
		if err := l.summarise(ctx, t, s); err != nil {
			t.abort()
			return err
		}
	}
	return t.commit(ctx)
}

// unknown returns the envelopes of a batch that are not kept yet, each once.
// It is ErrConflict if one of its ids belongs to another envelope.
func (t *transaction) unknown(ctx context.Context, batch []journal.Envelope) ([]journal.Envelope, error) {
	requests := make([]js.Value, len(batch))
	if _, err := t.ask(ctx, func() js.Value {
		byID := t.store(envelopes).Call("index", "id")
		for i, e := range batch {
			requests[i] = byID.Call("get", e.ID.String())
		}
		return requests[len(requests)-1]
	}); err != nil {
		return nil, err
	}
	var fresh []journal.Envelope
	known := map[journal.ID]journal.Envelope{}
	for i, e := range batch {
		k, ok := known[e.ID]
		if found := requests[i].Get("result"); !ok && !found.IsUndefined() {
			var err error
			if k, err = decode(bytesFrom(found.Get("whole"))); err != nil {
				return nil, err
			}
			ok = true
		}
		switch {
		case !ok:
			known[e.ID] = e
			fresh = append(fresh, e)
		case !journal.Equal(k, e):
			return nil, fmt.Errorf("%s: %w", e.ID, journal.ErrConflict)
		}
	}
	return fresh, nil
}
