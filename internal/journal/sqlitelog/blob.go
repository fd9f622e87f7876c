//go:build !js

package sqlitelog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"rung/internal/blob"
)

// Blobs returns the blobs kept in the file of the journal.
func (l *Log) Blobs() blob.Store { return blobs{l} }

// blobs is a blob.Store in the file of a log.
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
	// One statement is one transaction, on the disk when it returns. What is kept
	// already is not written again.
	if _, err := s.log.write.ExecContext(ctx, `insert into blob (hash, content) values (?, ?) on conflict (hash) do nothing`, key, b); err != nil {
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
	err = s.log.read.QueryRowContext(ctx, `select content from blob where hash = ?`, key).Scan(&b)
	if errors.Is(err, sql.ErrNoRows) {
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

// asked is how many hashes one question names: fewer than SQLite has room for.
const asked = 500

// Missing implements blob.Store.
func (s blobs) Missing(ctx context.Context, list []blob.Hash) ([]blob.Hash, error) {
	kept := map[blob.Hash]bool{}
	for part := range slices.Chunk(list, asked) {
		var keys []any
		for _, h := range part {
			key, err := h.Binary()
			if err != nil {
				return nil, err
			}
			keys = append(keys, key)
		}
		if err := s.there(ctx, keys, kept); err != nil {
			return nil, fmt.Errorf("ask for blobs: %w", storeError(err))
		}
	}
	return blob.Lacking(list, kept), nil
}

// there notes in kept which of the keys are kept.
func (s blobs) there(ctx context.Context, keys []any, kept map[blob.Hash]bool) error {
	rows, err := s.log.read.QueryContext(ctx, `select hash from blob where hash in (?`+strings.Repeat(", ?", len(keys)-1)+`)`, keys...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var key []byte
		if err := rows.Scan(&key); err != nil {
			return err
		}
		kept[blob.HashFrom(key)] = true
	}
	return rows.Err()
}

// verify reads every blob and compares it with its hash. A file of an earlier
// program, opened to be read only, has none.
func (s blobs) verify(ctx context.Context) error {
	var tables int
	err := s.log.read.QueryRowContext(ctx, `select count(*) from sqlite_schema where type = 'table' and name = 'blob'`).Scan(&tables)
	if err != nil || tables == 0 {
		return err
	}
	rows, err := s.log.read.QueryContext(ctx, `select hash, content from blob`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var key, b []byte
		if err := rows.Scan(&key, &b); err != nil {
			return err
		}
		if err := blob.Sound(blob.HashFrom(key), b); err != nil {
			return err
		}
	}
	return rows.Err()
}
