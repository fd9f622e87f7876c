//go:build js && wasm

package main

import (
	"context"
	"fmt"
	"syscall/js"

	"rung/internal/exchange"
	"rung/internal/journal/idblog"
	"rung/internal/web"
)

// keeper keeps the state of the exchange beside the journal.
type keeper struct{ log *idblog.Log }

func (k keeper) Load(ctx context.Context) ([]byte, error) {
	text, err := k.log.Setting(ctx, "exchange")
	return []byte(text), err
}

func (k keeper) Save(ctx context.Context, state []byte) error {
	return k.log.SetSetting(ctx, "exchange", string(state))
}

// room says how much this phone may still take: what the browser gives this
// address, less what is used.
func room(ctx context.Context) (bytes int64, known bool) {
	storage := js.Global().Get("navigator").Get("storage")
	if storage.IsUndefined() || storage.Get("estimate").IsUndefined() {
		return 0, false
	}
	stop := js.Global().Get("AbortController").New() // of nothing: an estimate is soon made
	v, err := await(ctx, stop, storage.Call("estimate"))
	if err != nil || v.Get("quota").Type() != js.TypeNumber || v.Get("usage").Type() != js.TypeNumber {
		return 0, false
	}
	return int64(v.Get("quota").Float() - v.Get("usage").Float()), true
}

// unsent tells the pages what waits to be handed on.
func unsent(c *exchange.Client) func(context.Context) (web.Unsent, error) {
	return func(ctx context.Context) (web.Unsent, error) {
		s, err := c.Status(ctx)
		return web.Unsent{Count: s.Waiting, Oldest: s.Oldest, Exchanged: s.Last}, err
	}
}

// office asks the server that the phone was set up by, by the fetch of the
// browser, which adds the sign-in of this browser.
type office struct{}

// Post implements exchange.Transport.
func (o office) Post(ctx context.Context, body []byte) (int, []byte, error) {
	return o.Do(ctx, "POST", exchange.Path, body)
}

// Do implements exchange.PhotoTransport.
func (office) Do(ctx context.Context, method, path string, body []byte) (int, []byte, error) {
	stop := js.Global().Get("AbortController").New()
	request := map[string]any{"method": method, "credentials": "same-origin", "signal": stop.Get("signal")}
	if method != "GET" { // which may have no body
		content := js.Global().Get("Uint8Array").New(len(body))
		js.CopyBytesToJS(content, body)
		request["body"], request["headers"] = content, map[string]any{"Content-Type": exchange.ContentType(path)}
	}
	answer, err := await(ctx, stop, js.Global().Call("fetch", path, request))
	if err != nil {
		return 0, nil, err
	}
	buffer, err := await(ctx, stop, answer.Call("arrayBuffer"))
	if err != nil {
		return 0, nil, err
	}
	view := js.Global().Get("Uint8Array").New(buffer)
	text := make([]byte, view.Length())
	js.CopyBytesToGo(text, view)
	return answer.Get("status").Int(), text, nil
}

// await waits for a promise, and stops what it is of when ctx ends.
func await(ctx context.Context, stop, promise js.Value) (js.Value, error) {
	done, failed := make(chan js.Value, 1), make(chan js.Value, 1)
	keep := func(c chan js.Value) js.Func {
		return js.FuncOf(func(_ js.Value, args []js.Value) any { c <- args[0]; return nil })
	}
	good, bad := keep(done), keep(failed)
	promise.Call("then", good, bad)
	defer good.Release()
	defer bad.Release()
	select {
	case v := <-done:
		return v, nil
	case v := <-failed:
		return js.Undefined(), fmt.Errorf("ask the office: %s", v.Get("message").String())
	case <-ctx.Done():
		stop.Call("abort")
		select { // it is answered one way or the other, and then the functions may go
		case <-done:
		case <-failed:
		}
		return js.Undefined(), ctx.Err()
	}
}
