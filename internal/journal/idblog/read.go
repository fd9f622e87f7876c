//go:build js && wasm

package idblog

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"syscall/js"

	"rung/internal/journal"
)

// Stream implements journal.Log.
func (l *Log) Stream(ctx context.Context, s journal.Stream) ([]journal.Envelope, error) {
	t, err := l.begin(ctx, false, envelopes)
	if err != nil {
		return nil, fmt.Errorf("read journal: %w", err)
	}
	defer t.release()
	list, err := t.stream(ctx, s)
	if err != nil {
		return nil, fmt.Errorf("read journal: %w", err)
	}
	return list, nil
}

func (t *transaction) stream(ctx context.Context, s journal.Stream) ([]journal.Envelope, error) {
	found, err := t.ask(ctx, func() js.Value {
		return t.store(envelopes).Call("index", "order").Call("getAll", below(string(s)))
	})
	if err != nil {
		return nil, err
	}
	return kept(found)
}

// below is the range of the keys that begin with parts: in the order of keys a
// list comes after every text and every array of bytes.
func below(parts ...any) js.Value {
	return js.Global().Get("IDBKeyRange").Call("bound", parts, append(parts[:len(parts):len(parts)], []any{}))
}

// Since implements journal.Log. A cursor is the last seq and the id found
// there: one transaction at a time writes and gives out seq, so a later one is
// never visible before an earlier one.
func (l *Log) Since(ctx context.Context, after journal.Cursor, limit int) ([]journal.Envelope, journal.Cursor, error) {
	list, next, err := l.since(ctx, after, limit)
	if err != nil {
		return nil, journal.Start, fmt.Errorf("read journal: %w", err)
	}
	return list, next, nil
}

func (l *Log) since(ctx context.Context, after journal.Cursor, limit int) ([]journal.Envelope, journal.Cursor, error) {
	t, err := l.begin(ctx, false, envelopes)
	if err != nil {
		return nil, after, err
	}
	defer t.release()
	from, err := t.place(ctx, after)
	if err != nil || limit <= 0 {
		return nil, after, err
	}
	found, err := t.ask(ctx, func() js.Value {
		return t.store(envelopes).Call("getAll", js.Global().Get("IDBKeyRange").Call("lowerBound", from, true), limit)
	})
	if err != nil {
		return nil, after, err
	}
	list, err := kept(found)
	if err != nil || len(list) == 0 {
		return nil, after, err
	}
	last := len(list) - 1
	return list, journal.Cursor(fmt.Sprintf("%d.%s", found.Index(last).Get("seq").Int(), list[last].ID)), nil
}

// place returns the seq of a cursor, after making sure that the entry there is
// still the one the cursor was made at.
func (t *transaction) place(ctx context.Context, c journal.Cursor) (int, error) {
	if c == journal.Start {
		return 0, nil
	}
	number, id, _ := strings.Cut(string(c), ".")
	seq, err := strconv.ParseInt(number, 10, 52) // so that a number of the browser holds it
	if err != nil {
		return 0, fmt.Errorf("%.60q: %w", c, journal.ErrCursor)
	}
	found, err := t.ask(ctx, func() js.Value { return t.store(envelopes).Call("get", seq) })
	if err != nil {
		return 0, err
	}
	if found.IsUndefined() || found.Get("id").String() != id {
		return 0, fmt.Errorf("%.60q: %w", c, journal.ErrCursor)
	}
	return int(seq), nil
}
