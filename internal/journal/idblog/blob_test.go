//go:build js && wasm

package idblog

import (
	"errors"
	"syscall/js"
	"testing"
	"time"

	"rung/internal/blob"
	"rung/internal/blob/blobtest"
	"rung/internal/journal"
	"rung/internal/journal/journaltest"
)

func TestBlobs(t *testing.T) {
	blobtest.Run(t, func(t testing.TB) blob.Store { return open(t, newName(t), journal.Summary{}).Blobs() })
}

// madeBefore makes a database as the first version of the program did, with what
// fill puts into it.
func madeBefore(t *testing.T, name string, fill func(db js.Value)) {
	t.Helper()
	done := make(chan js.Value, 1)
	request := js.Global().Get("indexedDB").Call("open", name, 1)
	upgrade := js.FuncOf(func(js.Value, []js.Value) any {
		makeJournal(request.Get("result"))
		return nil
	})
	success := js.FuncOf(func(js.Value, []js.Value) any {
		done <- request.Get("result")
		return nil
	})
	defer upgrade.Release()
	defer success.Release()
	request.Set("onupgradeneeded", upgrade)
	request.Set("onsuccess", success)
	select {
	case db := <-done:
		fill(db)
		db.Call("close") // after what is under way
	case <-time.After(5 * time.Second):
		t.Fatal("the earlier database was not made")
	}
}

// TestUpgrade: a phone that was set up before there were blobs keeps all it has,
// and takes blobs from then on.
func TestUpgrade(t *testing.T) {
	name := newName(t)
	batch := journaltest.Envelopes(9, 20)
	madeBefore(t, name, func(db js.Value) {
		tx := db.Call("transaction", []any{envelopes, settings}, "readwrite")
		for _, e := range batch {
			tx.Call("objectStore", envelopes).Call("add", value(e))
		}
		tx.Call("objectStore", settings).Call("put", "phone-1", "device")
	})
	l := open(t, name, journal.Summary{})
	if n, err := l.Entries(t.Context()); n != len(batch) || err != nil {
		t.Errorf("Entries = %d, %v, want the %d of before", n, err, len(batch))
	}
	if got, err := l.Stream(t.Context(), batch[0].Stream); err != nil || len(got) == 0 {
		t.Errorf("Stream = %d entries, %v", len(got), err)
	}
	if device, err := l.Setting(t.Context(), "device"); device != "phone-1" || err != nil {
		t.Errorf("Setting = %q, %v", device, err)
	}
	b := blobtest.Noise(1, 1000)
	if err := l.Blobs().Put(t.Context(), blob.HashOf(b), b); err != nil {
		t.Errorf("Put = %v", err)
	}
	l.Close()
	if _, err := open(t, name, journal.Summary{}).Blobs().Get(t.Context(), blob.HashOf(b)); err != nil {
		t.Errorf("Get after closing = %v", err)
	}
	if err := l.Blobs().Put(t.Context(), blob.HashOf(b), b); !errors.Is(err, journal.ErrClosed) {
		t.Errorf("Put into a closed store = %v, want ErrClosed", err)
	}
}

// TestFullOfBlobs runs where the browser gives the origin little room: photos
// are refused with ErrFull sooner or later, those acknowledged are all there, and
// so are the entries.
func TestFullOfBlobs(t *testing.T) {
	if !js.Global().Get("littleRoom").Truthy() {
		t.Skip("SKIPPED here: the quota of this page is not small; run in one where it is")
	}
	name := newName(t)
	l := open(t, name, journal.Summary{})
	batch := journaltest.Envelopes(10, 20)
	if err := l.Append(t.Context(), batch); err != nil {
		t.Fatal(err)
	}
	var acknowledged []blob.Hash
	for i := range 60 {
		b := noise(1<<20, uint32(i)+100)
		err := l.Blobs().Put(t.Context(), blob.HashOf(b), b)
		if errors.Is(err, journal.ErrFull) {
			break
		}
		if err != nil {
			t.Fatalf("Put %d = %v, want nil or ErrFull", i, err)
		}
		acknowledged = append(acknowledged, blob.HashOf(b))
	}
	if n := len(acknowledged); n == 0 || n == 60 {
		t.Fatalf("%d of 60 blobs of 1 MB fit: nothing is shown by that", n)
	}
	l.Close()
	l = open(t, name, journal.Summary{})
	if n, err := l.Entries(t.Context()); n != len(batch) || err != nil {
		t.Errorf("Entries = %d, %v, want %d", n, err, len(batch))
	}
	for _, h := range acknowledged {
		if _, err := l.Blobs().Get(t.Context(), h); err != nil {
			t.Errorf("an acknowledged blob is gone: %v", err)
		}
	}
}
