//go:build js && wasm

package idblog

import (
	"context"
	"fmt"
	"syscall/js"
	"time"

	"rung/internal/blob"
)

// blobLimit is Limit for a call that moves a whole photo.
//
// practice: eight megabytes take a poor phone a second or two, and the worker
// waits five for a page.
const blobLimit = 4 * time.Second

// Blobs returns the blobs kept in the database of the journal.
func (l *Log) Blobs() blob.Store { return blobStore{l} }

// blobStore is a blob.Store in the database of a log. A blob is a Uint8Array
// under its hash.
type blobStore struct{ log *Log }

// Put implements blob.Store.
func (s blobStore) Put(ctx context.Context, h blob.Hash, b []byte) error {
	if err := blob.Check(h, b); err != nil {
		return err
	}
	t, err := s.log.begin(ctx, true, blobs)
	if err != nil {
		return fmt.Errorf("keep blob: %w", err)
	}
	defer t.release()
	t.limit = blobLimit
	if err := t.do(func() { t.store(blobs).Call("put", bytesOf(b), string(h)) }); err != nil {
		return fmt.Errorf("keep blob: %w", err)
	}
	if err := t.commit(ctx); err != nil {
		return fmt.Errorf("keep blob: %w", err)
	}
	return nil
}

// Get implements blob.Store.
func (s blobStore) Get(ctx context.Context, h blob.Hash) ([]byte, error) {
	if _, err := blob.ParseHash(string(h)); err != nil {
		return nil, err
	}
	t, err := s.log.begin(ctx, false, blobs)
	if err != nil {
		return nil, fmt.Errorf("read blob: %w", err)
	}
	defer t.release()
	t.limit = blobLimit
	found, err := t.ask(ctx, func() js.Value { return t.store(blobs).Call("get", string(h)) })
	if err != nil {
		return nil, fmt.Errorf("read blob: %w", err)
	}
	if found.IsUndefined() {
		return nil, fmt.Errorf("read blob %s: %w", h, blob.ErrMissing)
	}
	b := bytesFrom(found)
	if err := blob.Sound(h, b); err != nil {
		return nil, err
	}
	return b, nil
}

// Missing implements blob.Store.
func (s blobStore) Missing(ctx context.Context, list []blob.Hash) ([]blob.Hash, error) {
	if len(list) == 0 {
		return nil, ctx.Err()
	}
	t, err := s.log.begin(ctx, false, blobs)
	if err != nil {
		return nil, fmt.Errorf("ask for blobs: %w", err)
	}
	defer t.release()
	requests := make([]js.Value, len(list))
	if _, err := t.ask(ctx, func() js.Value {
		store := t.store(blobs)
		for i, h := range list {
			requests[i] = store.Call("getKey", string(h)) // the key alone: no picture is read
		}
		return requests[len(requests)-1]
	}); err != nil {
		return nil, fmt.Errorf("ask for blobs: %w", err)
	}
	var missing []blob.Hash
	for i, h := range list {
		if requests[i].Get("result").IsUndefined() {
			missing = append(missing, h)
		}
	}
	return missing, nil
}
