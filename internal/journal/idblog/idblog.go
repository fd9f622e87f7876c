//go:build js && wasm

package idblog

import (
	"context"
	"fmt"
	"sync"
	"syscall/js"
	"time"

	"rung/internal/journal"
)

// Limit is how long a call waits for the next event of the browser.
//
// practice: a request takes some milliseconds; a second without an event was
// met only with requests that were never answered at all.
const Limit = time.Second

// schema is the version of the database: of its stores and indexes. The second
// added the blobs.
const schema = 2

// The stores of the database.
const (
	envelopes = "envelope" // by seq, the order of arrival
	rows      = "row"      // of the lists, by stream, list and key
	settings  = "setting"  // of this device, by name
	blobs     = "blob"     // photos, by hash
)

// Log is a journal.Log in the browser.
type Log struct {
	summary journal.Summary
	db      js.Value
	closing sync.Once
	closed  chan struct{}
}

// Open opens the database name, which it makes if there is none, and brings
// the lists up to date with summary.
func Open(ctx context.Context, name string, summary journal.Summary) (*Log, error) {
	l := &Log{summary: summary, closed: make(chan struct{})}
	if err := l.open(ctx, name); err != nil {
		return nil, fmt.Errorf("open journal %s: %w", name, err)
	}
	if err := l.rebuildLists(ctx); err != nil {
		l.Close()
		return nil, fmt.Errorf("open journal %s: %w", name, err)
	}
	return l, nil
}

func (l *Log) open(ctx context.Context, name string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	var request js.Value
	if err := try(func() { request = js.Global().Get("indexedDB").Call("open", name, schema) }); err != nil {
		return err
	}
	w := newWaiter()
	given := false // up: an answer that comes later is of no use
	upgrade := js.FuncOf(func(_ js.Value, args []js.Value) any {
		makeStores(request.Get("result"), args[0].Get("oldVersion").Int())
		return nil
	})
	done := js.FuncOf(func(js.Value, []js.Value) any {
		if given {
			request.Get("result").Call("close")
		}
		w.answer()
		return nil
	})
	failed := js.FuncOf(func(js.Value, []js.Value) any {
		w.fail(domError(request.Get("error")))
		return nil
	})
	request.Set("onupgradeneeded", upgrade)
	request.Set("onsuccess", done)
	request.Set("onerror", failed)
	if err := w.wait(ctx, w.answered); err != nil {
		given = true
		return err
	}
	for _, f := range []js.Func{upgrade, done, failed} {
		f.Release()
	}
	l.db = request.Get("result")
	l.listen()
	return nil
}

// makeStores makes the stores that a database of an earlier version lacks, 0 for
// an empty one. What is in the others stays.
func makeStores(db js.Value, version int) {
	if version < 1 {
		makeJournal(db)
	}
	if version < 2 {
		db.Call("createObjectStore", blobs)
	}
}

func makeJournal(db js.Value) {
	e := db.Call("createObjectStore", envelopes, map[string]any{"keyPath": "seq", "autoIncrement": true})
	e.Call("createIndex", "id", "id", map[string]any{"unique": true})
	e.Call("createIndex", "order", []any{"stream", "time", "id"})
	r := db.Call("createObjectStore", rows, map[string]any{"keyPath": []any{"stream", "list", "key"}})
	r.Call("createIndex", "list", []any{"list", "key"})
	db.Call("createObjectStore", settings)
}

// listen closes the log when a later program wants to change the stores, which
// it cannot while this one holds them, or when the browser takes the database
// away.
func (l *Log) listen() {
	end := js.FuncOf(func(js.Value, []js.Value) any {
		l.Close()
		return nil
	})
	l.db.Set("onversionchange", end)
	l.db.Set("onclose", end)
}

// Close ends the use of the database. Calls after it give journal.ErrClosed.
func (l *Log) Close() error {
	l.closing.Do(func() {
		close(l.closed)
		l.db.Call("close")
	})
	return nil
}

// Done is closed when the log is: by Close, by a later program that wants to
// change the stores, or by the browser.
func (l *Log) Done() <-chan struct{} { return l.closed }

// Entries returns the number of envelopes.
func (l *Log) Entries(ctx context.Context) (int, error) {
	t, err := l.begin(ctx, false, envelopes)
	if err != nil {
		return 0, fmt.Errorf("count journal: %w", err)
	}
	defer t.release()
	n, err := t.ask(ctx, func() js.Value { return t.store(envelopes).Call("count") })
	if err != nil {
		return 0, fmt.Errorf("count journal: %w", err)
	}
	return n.Int(), nil
}

// Setting returns what this device keeps under a name; "" if it keeps nothing.
func (l *Log) Setting(ctx context.Context, name string) (string, error) {
	t, err := l.begin(ctx, false, settings)
	if err != nil {
		return "", fmt.Errorf("read setting %s: %w", name, err)
	}
	defer t.release()
	v, err := t.ask(ctx, func() js.Value { return t.store(settings).Call("get", name) })
	if err != nil {
		return "", fmt.Errorf("read setting %s: %w", name, err)
	}
	if v.IsUndefined() {
		return "", nil
	}
	return v.String(), nil
}

// SetSetting keeps value under a name on this device. It is no entry of the
// journal and stays here.
func (l *Log) SetSetting(ctx context.Context, name, value string) error {
	t, err := l.begin(ctx, true, settings)
	if err != nil {
		return fmt.Errorf("keep setting %s: %w", name, err)
	}
	defer t.release()
	if err := t.do(func() { t.store(settings).Call("put", value, name) }); err != nil {
		return fmt.Errorf("keep setting %s: %w", name, err)
	}
	if err := t.commit(ctx); err != nil {
		return fmt.Errorf("keep setting %s: %w", name, err)
	}
	return nil
}
