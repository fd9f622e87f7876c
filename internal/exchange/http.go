//go:build !js

package exchange

import (
	"bytes"
	"context"
	"io"
	"net/http"

	"rung/internal/blob"
)

// HTTP is the Transport of a program that is no browser: a browser has its own
// way to ask, and the client of net/http would make the program there larger by
// megabytes.
type HTTP struct {
	URL    string       // of the office, without Path
	Client *http.Client // nil is http.DefaultClient
	Header http.Header  // sign-in, if any
}

// Post implements Transport.
func (h HTTP) Post(ctx context.Context, body []byte) (int, []byte, error) {
	return h.Do(ctx, http.MethodPost, Path, body)
}

// mostAnswer bounds an answer: the largest photo, with room to see that more is
// wrong.
const mostAnswer = 2 * blob.MaxSize

// Do implements PhotoTransport.
func (h HTTP) Do(ctx context.Context, method, path string, body []byte) (int, []byte, error) {
	r, err := http.NewRequestWithContext(ctx, method, h.URL+path, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	for name, values := range h.Header {
		r.Header[name] = values
	}
	r.Header.Set("Content-Type", ContentType(path))
	client := h.Client
	if client == nil {
		client = http.DefaultClient
	}
	a, err := client.Do(r)
	if err != nil {
		return 0, nil, err
	}
	defer a.Body.Close()
	answer, err := io.ReadAll(io.LimitReader(a.Body, mostAnswer))
	return a.StatusCode, answer, err
}
