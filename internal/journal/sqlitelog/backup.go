//go:build !js

package sqlitelog

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"rung/internal/journal"
)

// Backup writes a copy of the journal as of now to the file path, which must
// not exist, while the journal stays in use. The copy gets its name only after
// it was read back whole and found sound. It returns the number of entries.
func (l *Log) Backup(ctx context.Context, path string) (entries int, err error) {
	if _, err := os.Lstat(path); !errors.Is(err, os.ErrNotExist) {
		return 0, fmt.Errorf("back up journal: %s exists already: give another name", filepath.Base(path))
	}
	partial := path + ".partial"
	if err := os.Remove(partial); err != nil && !errors.Is(err, os.ErrNotExist) {
		return 0, fmt.Errorf("back up journal: %w: %w", journal.ErrStorage, err)
	}
	defer os.Remove(partial)
	if entries, err = l.copyTo(ctx, partial); err != nil {
		return 0, fmt.Errorf("back up journal: %w", storeError(err))
	}
	if err := settle(partial, path); err != nil {
		return 0, fmt.Errorf("back up journal: %w: %w", journal.ErrStorage, err)
	}
	return entries, nil
}

// copyTo writes and examines the copy, which must hold all that the journal
// held before copying began.
func (l *Log) copyTo(ctx context.Context, path string) (int, error) {
	var before int
	if err := l.read.QueryRowContext(ctx, `select count(*) from envelope`).Scan(&before); err != nil {
		return 0, err
	}
	// Through the writing connection: the others may not write, not even elsewhere.
	if _, err := l.write.ExecContext(ctx, `vacuum into ?`, path); err != nil {
		return 0, err
	}
	copied, err := open(ctx, path, Options{ReadOnly: true})
	if err != nil {
		return 0, err
	}
	defer copied.Close()
	n, err := copied.Verify(ctx)
	if err == nil && n < before {
		err = fmt.Errorf("%w: the copy has %d of %d entries", journal.ErrCorrupt, n, before)
	}
	return n, err
}

// settle forces the file to the disk and gives it its name.
func settle(partial, path string) error {
	f, err := os.OpenFile(partial, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(partial, path); err != nil {
		return err
	}
	d, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	// A directory cannot be synced on every system; the file itself is safe.
	d.Sync()
	return d.Close()
}

// Verify reads the whole file: its structure, its indexes, the checksum of
// every entry and the hash of every blob. It returns the number of entries, or an error that wraps
// journal.ErrCorrupt and says what is wrong.
func (l *Log) Verify(ctx context.Context) (entries int, err error) {
	var verdict string
	if err := l.read.QueryRowContext(ctx, `pragma integrity_check(1)`).Scan(&verdict); err != nil {
		return 0, fmt.Errorf("verify journal: %w", storeError(err))
	}
	if verdict != "ok" {
		return 0, fmt.Errorf("verify journal: %w: %s", journal.ErrCorrupt, verdict)
	}
	if err := (blobs{l}).verify(ctx); err != nil {
		return 0, fmt.Errorf("verify journal: %w", storeError(err))
	}
	for c := journal.Start; ; {
		page, next, err := l.Since(ctx, c, 1000)
		if err != nil {
			return 0, fmt.Errorf("verify journal: %w", err)
		}
		if len(page) == 0 {
			return entries, nil
		}
		entries, c = entries+len(page), next
	}
}
