//go:build js && wasm

package main

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"syscall/js"
)

// request makes a request from the arguments of the worker: method, address,
// headers as a list of names and values in turn, and body.
func request(args []js.Value) *http.Request {
	r := &http.Request{Method: args[0].String(), Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1, Header: http.Header{}}
	var err error
	if r.URL, err = url.Parse(args[1].String()); err != nil {
		r.URL = &url.URL{Path: "/"} // the browser sends none that is no address
	}
	for i := 1; i < args[2].Length(); i += 2 {
		r.Header.Add(args[2].Index(i-1).String(), args[2].Index(i).String())
	}
	body := make([]byte, args[3].Length())
	js.CopyBytesToGo(body, args[3])
	r.Body, r.ContentLength = io.NopCloser(bytes.NewReader(body)), int64(len(body))
	r.Host, r.RequestURI = r.URL.Host, r.URL.RequestURI()
	r.URL.Scheme, r.URL.Host = "", ""
	return r
}

// answer keeps what a handler writes.
type answer struct {
	status int
	header http.Header
	body   bytes.Buffer
}

func (a *answer) Header() http.Header { return a.header }

func (a *answer) WriteHeader(status int) {
	if a.status == 0 {
		a.status = status
	}
}

func (a *answer) Write(b []byte) (int, error) {
	a.WriteHeader(http.StatusOK)
	return a.body.Write(b)
}

// object is the answer as the worker takes it.
func (a *answer) object() map[string]any {
	a.WriteHeader(http.StatusOK)
	pairs := []any{}
	for name, values := range a.header {
		for _, v := range values {
			pairs = append(pairs, []any{name, v})
		}
	}
	body := js.Global().Get("Uint8Array").New(a.body.Len())
	js.CopyBytesToJS(body, a.body.Bytes())
	return map[string]any{"status": a.status, "headers": pairs, "body": body}
}

// serve answers a request. A panic in a handler ends that request alone.
func serve(h http.Handler, r *http.Request) (a *answer) {
	a = &answer{header: http.Header{}}
	defer func() {
		if x := recover(); x != nil {
			fmt.Println("a page failed:", r.Method, r.URL.Path, x)
			a = &answer{header: http.Header{"Content-Type": {"text/plain; charset=utf-8"}}}
			http.Error(a, "Something is wrong inside the program. What was recorded before is safe. Go back and try once more.", http.StatusInternalServerError)
		}
	}()
	h.ServeHTTP(a, r)
	return a
}

// promise answers a request as a promise of the browser.
func promise(h http.Handler, r *http.Request) js.Value {
	var start js.Func
	start = js.FuncOf(func(_ js.Value, args []js.Value) any {
		resolve := args[0]
		go func() {
			resolve.Invoke(serve(h, r).object())
			start.Release()
		}()
		return nil
	})
	return js.Global().Get("Promise").New(start)
}
