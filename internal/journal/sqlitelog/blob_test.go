package sqlitelog

import (
	"database/sql"
	"errors"
	"path/filepath"
	"testing"

	"rung/internal/blob"
	"rung/internal/blob/blobtest"
	"rung/internal/journal"
	"rung/internal/journal/journaltest"
)

func TestBlobs(t *testing.T) {
	blobtest.Run(t, func(t testing.TB) blob.Store {
		return openTest(t, filepath.Join(t.TempDir(), "j.db"), Options{}).Blobs()
	})
}

// TestBlobsFull: where the disk is full a photo is refused whole, and what was
// acknowledged before, photos and entries, is there.
func TestBlobsFull(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	l := openTest(t, path, Options{MaxPages: 500})
	batch := fill(t, l, 1, 20)
	var acknowledged [][]byte
	var err error
	for i := range uint64(40) {
		b := blobtest.Noise(i, 100_000)
		if err = l.Blobs().Put(t.Context(), blob.HashOf(b), b); err != nil {
			break
		}
		acknowledged = append(acknowledged, b)
	}
	if !errors.Is(err, journal.ErrFull) || len(acknowledged) < 5 {
		t.Fatalf("after %d blobs Put = %v, want ErrFull", len(acknowledged), err)
	}
	l.Close()
	l = openTest(t, path, Options{MaxPages: 500})
	if n := count(t, l); n != len(batch) {
		t.Errorf("%d entries, want %d", n, len(batch))
	}
	for _, b := range acknowledged {
		if _, err := l.Blobs().Get(t.Context(), blob.HashOf(b)); err != nil {
			t.Errorf("an acknowledged blob is gone: %v", err)
		}
	}
	if err := l.Append(t.Context(), journaltest.Envelopes(77, 1)); err != nil {
		t.Logf("an entry after that: %v", err) // there may be room for one or not
	}
}

// TestBlobDamaged: bytes that changed under the store are not shown, and the
// check of a copy finds them. Nothing else changes or deletes a blob.
func TestBlobDamaged(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	l := openTest(t, path, Options{})
	b := blobtest.Noise(1, 10_000)
	h := blob.HashOf(b)
	if err := l.Blobs().Put(t.Context(), h, b); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Backup(t.Context(), path+".copy"); err != nil {
		t.Fatal(err)
	}
	if _, err := openTest(t, path+".copy", Options{}).Blobs().Get(t.Context(), h); err != nil {
		t.Errorf("the copy lacks the blob: %v", err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, statement := range []string{`update blob set content = x'00'`, `delete from blob`} {
		if _, err := db.ExecContext(t.Context(), statement); err == nil {
			t.Errorf("%s is let through", statement)
		}
	}
	for _, statement := range []string{`drop trigger blob_no_update`, `update blob set content = x'00'`} {
		if _, err := db.ExecContext(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := l.Blobs().Get(t.Context(), h); !errors.Is(err, journal.ErrCorrupt) {
		t.Errorf("Get of what changed = %v, want ErrCorrupt", err)
	}
	if _, err := l.Verify(t.Context()); !errors.Is(err, journal.ErrCorrupt) {
		t.Errorf("Verify = %v, want ErrCorrupt", err)
	}
}

// TestEarlierFile: the file of a program that knew no blobs can be copied and
// checked as it is, and takes blobs once it is opened to be written.
func TestEarlierFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	l := openTest(t, path, Options{})
	fill(t, l, 1, 20)
	for _, statement := range []string{`drop table blob`, `delete from migration where number = 2`} {
		if _, err := l.write.ExecContext(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
	l.Close()
	old := openTest(t, path, Options{ReadOnly: true})
	if n, err := old.Backup(t.Context(), path+".copy"); n != 20 || err != nil {
		t.Errorf("Backup = %d, %v", n, err)
	}
	b := blobtest.Noise(1, 1000)
	if err := openTest(t, path, Options{}).Blobs().Put(t.Context(), blob.HashOf(b), b); err != nil {
		t.Errorf("Put = %v", err)
	}
}

// BenchmarkBlob keeps and reads photos as the page shrinks them, each forced to
// the disk. Budget: 30 ms to keep one, 3 ms to read one.
func BenchmarkBlob(b *testing.B) {
	l := openTest(b, filepath.Join(b.TempDir(), "j.db"), Options{})
	n := uint64(0)
	var last blob.Hash
	b.Run("put", func(b *testing.B) {
		for b.Loop() {
			n++
			content := blobtest.Noise(n, 350_000)
			last = blob.HashOf(content)
			if err := l.Blobs().Put(b.Context(), last, content); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("get", func(b *testing.B) {
		for b.Loop() {
			if _, err := l.Blobs().Get(b.Context(), last); err != nil {
				b.Fatal(err)
			}
		}
	})
}
