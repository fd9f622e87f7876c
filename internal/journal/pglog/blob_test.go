//go:build unix

package pglog

import (
	"errors"
	"testing"

	"rung/internal/blob"
	"rung/internal/blob/blobtest"
	"rung/internal/journal"
)

func TestBlobs(t *testing.T) {
	blobtest.Run(t, func(t testing.TB) blob.Store { return openTest(t, Options{}).Blobs() })
}

// TestBlobsOfTwoServers: what one server keeps the other has at once, and the
// database lets nobody change or delete it.
func TestBlobsOfTwoServers(t *testing.T) {
	schema := freshSchema(t)
	one, two := openTest(t, Options{Schema: schema}), openTest(t, Options{Schema: schema})
	b := blobtest.Noise(1, 300_000)
	for _, l := range []*Log{one, two} {
		if err := l.Blobs().Put(t.Context(), blob.HashOf(b), b); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := two.Blobs().Get(t.Context(), blob.HashOf(b)); err != nil {
		t.Error(err)
	}
	for _, statement := range []string{`update blob set content = 'x'`, `delete from blob`, `truncate blob`} {
		if _, err := one.pool.Exec(t.Context(), statement); err == nil {
			t.Errorf("%s is let through", statement)
		}
	}
	one.Close()
	if err := one.Blobs().Put(t.Context(), blob.HashOf(b), b); !errors.Is(err, journal.ErrClosed) {
		t.Errorf("Put into a closed store = %v, want ErrClosed", err)
	}
}
