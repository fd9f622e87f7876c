//go:build js && wasm

package idblog

import (
	"context"
	"fmt"
	"syscall/js"

	"rung/internal/journal"
)

// Rows implements journal.Log. The keys of rows are kept as bytes, because
// texts would not sort as they do in Go.
func (l *Log) Rows(ctx context.Context, list, prefix string) ([]journal.Row, error) {
	found, err := l.rowsOf(ctx, list, prefix)
	if err != nil {
		return nil, fmt.Errorf("read list %s: %w", list, err)
	}
	return found, nil
}

func (l *Log) rowsOf(ctx context.Context, list, prefix string) ([]journal.Row, error) {
	t, err := l.begin(ctx, false, rows)
	if err != nil {
		return nil, err
	}
	defer t.release()
	found, err := t.ask(ctx, func() js.Value {
		return t.store(rows).Call("index", "list").Call("getAll", startingWith(list, prefix))
	})
	if err != nil {
		return nil, err
	}
	var answer []journal.Row
	for i := range found.Length() {
		r := found.Index(i)
		answer = append(answer, journal.Row{List: list, Key: string(bytesFrom(r.Get("key"))), Value: bytesFrom(r.Get("value"))})
	}
	return answer, nil
}

// startingWith is the range of the rows of a list whose key starts with prefix.
func startingWith(list, prefix string) js.Value {
	from := []any{list, bytesOf([]byte(prefix))}
	b := []byte(prefix)
	for i := len(b) - 1; i >= 0; i-- {
		if b[i] < 0xff {
			b[i]++
			return js.Global().Get("IDBKeyRange").Call("bound", from, []any{list, bytesOf(b[:i+1])}, false, true)
		}
	}
	return js.Global().Get("IDBKeyRange").Call("bound", from, []any{list, []any{}})
}

// summarise writes the rows of a stream anew.
func (l *Log) summarise(ctx context.Context, t *transaction, s journal.Stream) error {
	if l.summary.Rows == nil {
		return nil
	}
	list, err := t.stream(ctx, s)
	if err != nil {
		return err
	}
	return t.do(func() {
		store := t.store(rows)
		store.Call("delete", below(string(s)))
		for _, r := range l.summary.Rows(s, list) {
			store.Call("put", map[string]any{"stream": string(s), "list": r.List, "key": bytesOf([]byte(r.Key)), "value": bytesOf(r.Value)})
		}
	})
}

// summaryVersion is the setting that says which lists are kept.
const summaryVersion = "summary"

// rebuildLists makes all lists anew if they are of another version.
func (l *Log) rebuildLists(ctx context.Context) error {
	t, err := l.begin(ctx, true, envelopes, rows, settings)
	if err != nil {
		return err
	}
	defer t.release()
	found, err := t.ask(ctx, func() js.Value { return t.store(settings).Call("get", summaryVersion) })
	if err != nil {
		return err
	}
	if found.Type() == js.TypeString && found.String() == l.summary.Version {
		return t.commit(ctx)
	}
	if err := t.do(func() {
		t.store(rows).Call("clear")
		t.store(settings).Call("put", l.summary.Version, summaryVersion)
	}); err != nil {
		return err
	}
	for s, more, err := t.after(ctx, ""); more || err != nil; s, more, err = t.after(ctx, s) {
		if err == nil {
			err = l.summarise(ctx, t, s)
		}
		if err != nil {
			t.abort()
			return err
		}
	}
	return t.commit(ctx)
}

// after returns the stream whose name follows s.
func (t *transaction) after(ctx context.Context, s journal.Stream) (next journal.Stream, more bool, err error) {
	cursor, err := t.ask(ctx, func() js.Value {
		beyond := js.Global().Get("IDBKeyRange").Call("lowerBound", []any{string(s), []any{}}, true)
		return t.store(envelopes).Call("index", "order").Call("openKeyCursor", beyond)
	})
	if err != nil || cursor.IsNull() {
		return "", false, err
	}
	return journal.Stream(cursor.Get("key").Index(0).String()), true, nil
}
