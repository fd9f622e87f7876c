package memlog

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"rung/internal/blob"
)

// Blobs returns the blobs kept beside the journal.
func (l *Log) Blobs() blob.Store { return &l.blobs }

// blobs is a blob.Store in memory. Its zero value is empty.
type blobs struct {
	mu   sync.RWMutex
	kept map[blob.Hash][]byte
}

// Put implements blob.Store.
func (s *blobs) Put(ctx context.Context, h blob.Hash, b []byte) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := blob.Check(h, b); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.kept == nil {
		s.kept = map[blob.Hash][]byte{}
	}
	s.kept[h] = slices.Clone(b)
	return nil
}

// Get implements blob.Store.
func (s *blobs) Get(ctx context.Context, h blob.Hash) ([]byte, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	b, ok := s.kept[h]
	if !ok {
		return nil, fmt.Errorf("read blob %.70s: %w", h, blob.ErrMissing)
	}
	return slices.Clone(b), ctx.Err()
}

// Missing implements blob.Store.
func (s *blobs) Missing(ctx context.Context, list []blob.Hash) ([]blob.Hash, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return slices.DeleteFunc(slices.Clone(list), func(h blob.Hash) bool { return s.kept[h] != nil }), ctx.Err()
}
