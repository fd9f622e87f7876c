//go:build js && wasm

package idblog

import (
	"context"
	"errors"
	"fmt"
	"syscall/js"
	"time"

	"rung/internal/journal"
)

// waiter lets a goroutine wait for events.
type waiter struct {
	limit    time.Duration // of a wait
	answered chan struct{} // something comes for every answer
	ended    chan struct{} // closed by fail
	err      error         // why, once ended
}

func newWaiter() *waiter {
	return &waiter{limit: Limit, answered: make(chan struct{}, 1), ended: make(chan struct{})}
}

// answer says that the request waited for was answered.
func (w *waiter) answer() {
	select {
	case w.answered <- struct{}{}:
	default:
	}
}

// fail ends all waits with an error.
func (w *waiter) fail(err error) {
	if w.err == nil {
		w.err = err
		close(w.ended)
	}
}

// steps is into how many parts a wait is cut. A part is over in one go however
// long the program computed meanwhile, so that only time counts in which events
// could come in.
const steps = 20

// wait returns nil when done says so, or why there is nothing to wait for.
func (w *waiter) wait(ctx context.Context, done <-chan struct{}) error {
	for range steps {
		select {
		case <-done:
			return nil
		case <-w.ended:
			return w.err
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(w.limit / steps):
		}
	}
	return fmt.Errorf("%w: the browser did not answer within %s", journal.ErrStorage, w.limit)
}

// transaction is one of IndexedDB. It ends by itself when its requests are
// answered and no further one was made before this program waits for anything
// else; so between its calls nothing else may be waited for.
type transaction struct {
	tx    js.Value
	write bool
	*waiter
	answers, completed, aborted js.Func
	complete                    chan struct{}
}

// begin starts a transaction over stores.
func (l *Log) begin(ctx context.Context, write bool, stores ...any) (*transaction, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	select {
	case <-l.closed:
		return nil, journal.ErrClosed
	default:
	}
	mode, options := "readonly", map[string]any{}
	if write {
		mode, options = "readwrite", map[string]any{"durability": "strict"}
	}
	t := &transaction{write: write, waiter: newWaiter(), complete: make(chan struct{})}
	if err := try(func() { t.tx = l.db.Call("transaction", stores, mode, options) }); err != nil {
		return nil, err
	}
	t.answers = js.FuncOf(func(js.Value, []js.Value) any { t.answer(); return nil })
	t.completed = js.FuncOf(func(js.Value, []js.Value) any { close(t.complete); return nil })
	t.aborted = js.FuncOf(func(js.Value, []js.Value) any { t.fail(domError(t.tx.Get("error"))); return nil })
	t.tx.Set("oncomplete", t.completed)
	t.tx.Set("onabort", t.aborted)
	return t, nil
}

// store returns one of the stores of the transaction.
func (t *transaction) store(name string) js.Value { return t.tx.Call("objectStore", name) }

// do makes requests whose answers are not waited for.
func (t *transaction) do(make func()) error {
	if err := try(make); err != nil {
		t.abort()
		return err
	}
	return nil
}

// ask makes requests and waits for the last of them; as they are answered in
// turn, the others have their results too. It returns the result of the last.
func (t *transaction) ask(ctx context.Context, make func() js.Value) (js.Value, error) {
	var last js.Value
	if err := t.do(func() {
		last = make()
		last.Set("onsuccess", t.answers)
	}); err != nil {
		return js.Undefined(), err
	}
	if err := t.wait(ctx, t.answered); err != nil {
		t.abort()
		return js.Undefined(), err
	}
	return last.Get("result"), nil
}

// commit waits until what was written is kept for good. When it returns an
// error nothing is, except that a browser which does not say how a commit
// ended may have kept all of it; sending the same again is then safe.
func (t *transaction) commit(ctx context.Context) error {
	_ = try(func() { t.tx.Call("commit") }) // quicker where there is such a call; else by itself
	err := t.wait(ctx, t.complete)
	if err == nil || t.err != nil || t.abort() {
		return err
	}
	// It was too late to take it back: then how it ends is what counts.
	if t.wait(context.Background(), t.complete) == nil {
		return nil
	}
	return err
}

// abort takes the transaction back and reports whether it was still possible.
func (t *transaction) abort() bool {
	return try(func() { t.tx.Call("abort") }) == nil
}

// release frees what the transaction held for its events.
func (t *transaction) release() {
	t.tx.Set("oncomplete", js.Null())
	t.tx.Set("onabort", js.Null())
	t.answers.Release()
	t.completed.Release()
	t.aborted.Release()
}

// try runs what may throw and returns what was thrown as an error of package
// journal.
func try(f func()) (err error) {
	defer func() {
		switch x := recover().(type) {
		case nil:
		case js.Error:
			err = domError(x.Value)
		case *js.ValueError: // no indexedDB here, or none of its calls
			err = fmt.Errorf("%w: this browser has no such store (%w)", journal.ErrStorage, x)
		default:
			panic(x)
		}
	}()
	f()
	return nil
}

// kinds maps the names of exceptions to errors of package journal.
//
// published: Indexed Database API 3.0, W3C, section "Exceptions".
var kinds = map[string]error{
	"QuotaExceededError": journal.ErrFull,
	"InvalidStateError":  journal.ErrClosed,
	"ReadOnlyError":      journal.ErrReadOnly,
	"VersionError":       journal.ErrBusy, // a later program has changed the stores
	"NotReadableError":   journal.ErrCorrupt,
}

// domError makes an exception of the browser an error of package journal.
func domError(v js.Value) error {
	if !v.Truthy() {
		return fmt.Errorf("%w: broken off", journal.ErrStorage)
	}
	name, message := v.Get("name").String(), v.Get("message").String()
	kind, known := kinds[name]
	if !known {
		kind = journal.ErrStorage
	}
	return fmt.Errorf("%w (%w)", kind, errors.New(name+": "+message))
}
