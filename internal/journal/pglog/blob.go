//go:build !js

package pglog

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rung/internal/blob"
)

// Blobs returns the blobs kept in the schema of the journal.
func (l *Log) Blobs() blob.Store { return blobs{l} }

// blobs is a blob.Store in the schema of a log.
type blobs struct{ log *Log }

// Put implements blob.Store.
func (s blobs) Put(ctx context.Context, h blob.Hash, b []byte) error {
	if err := blob.Check(h, b); err != nil {
		return err
	}
	key, err := h.Binary()
	if err != nil {
		return err
	}
	if _, err := s.log.pool.Exec(ctx, `insert into blob (hash, content) values ($1, $2) on conflict (hash) do nothing`, key, b); err != nil {
		return fmt.Errorf("keep blob: %w", storeError(err))
	}
	return nil
}

// Get implements blob.Store.
func (s blobs) Get(ctx context.Context, h blob.Hash) ([]byte, error) {
	key, err := h.Binary()
	if err != nil {
		return nil, err
	}
	var b []byte
	err = s.log.pool.QueryRow(ctx, `select content from blob where hash = $1`, key).Scan(&b)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, fmt.Errorf("read blob %s: %w", h, blob.ErrMissing)
	}
	if err != nil {
		return nil, fmt.Errorf("read blob: %w", storeError(err))
	}
	if err := blob.Sound(h, b); err != nil {
		return nil, err
	}
	return b, nil
}

// Missing implements blob.Store.
func (s blobs) Missing(ctx context.Context, list []blob.Hash) ([]blob.Hash, error) {
	keys := make([][]byte, len(list))
	for i, h := range list {
		var err error
		if keys[i], err = h.Binary(); err != nil {
			return nil, err
		}
	}
	rows, err := s.log.pool.Query(ctx, `select hash from blob where hash = any($1)`, keys)
	if err != nil {
		return nil, fmt.Errorf("ask for blobs: %w", storeError(err))
	}
	found, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
	if err != nil {
		return nil, fmt.Errorf("ask for blobs: %w", storeError(err))
	}
	kept := map[blob.Hash]bool{}
	for _, key := range found {
		kept[blob.HashFrom(key)] = true
	}
	return blob.Lacking(list, kept), nil
}
