package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rung/internal/blob"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
)

// inMemoryFile is a journal in memory under the name of a file.
type inMemoryFile struct{ *memlog.Log }

func (inMemoryFile) Close() error { return nil }

// envelope returns the n-th entry of a house, still empty.
func envelope(n byte, id record.PropertyID) journal.Envelope {
	return journal.Envelope{ID: journal.ID{15: n}, Stream: id.Stream(), Device: "office", Author: "Ada",
		Time: journal.TimeOf(time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC))}
}

// houseEntry returns the entry of a house.
func houseEntry(n byte, id record.PropertyID, name, address string) journal.Envelope {
	return record.Encode(envelope(n, id), record.PropertyAdded{Property: id, Name: name, Address: address})
}

func TestExportAndImport(t *testing.T) {
	dir := t.TempDir()
	logs := map[string]*memlog.Log{}
	for _, name := range []string{"a.db", "b.db"} {
		logs[name] = memlog.New(ledger.Summary())
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	list := []journal.Envelope{houseEntry(1, "P1", "Mill house", "1 Mill Road"), houseEntry(2, "P2", "Old mill", "7 Brook Lane")}
	secret := list[0]
	secret.ID, secret.Stream = journal.ID{15: 3}, "office/users"
	photo := []byte("a picture")
	list = append(list, record.Encode(envelope(4, "P2"), record.SystemAdded{System: "S", Kind: "split-air-conditioner"}),
		record.Encode(envelope(5, "P2"), record.UnitAdded{Unit: "U", System: "S", Kind: "outdoor-unit"}),
		record.Encode(envelope(6, "P2"), record.PhotoTaken{Unit: "U", Hash: blob.HashOf(photo), Type: "image/jpeg", Bytes: len(photo)}))
	if err := logs["a.db"].Append(t.Context(), append(list, secret)); err != nil {
		t.Fatal(err)
	}
	if err := logs["a.db"].Blobs().Put(t.Context(), blob.HashOf(photo), photo); err != nil {
		t.Fatal(err)
	}
	run := func(status int, says string, args ...string) {
		t.Helper()
		for i, a := range args {
			if strings.HasSuffix(a, ".db") || strings.HasSuffix(a, ".rung") {
				args[i] = filepath.Join(dir, a)
			}
		}
		var out bytes.Buffer
		env := Env{Stdout: &out, Stderr: &out, Device: "office", Open: func(_ context.Context, path string, _ bool) (JournalFile, error) {
			return inMemoryFile{logs[filepath.Base(path)]}, nil
		}}
		if got := Run(t.Context(), args, env); got != status || !strings.Contains(out.String(), says) {
			t.Errorf("%v: status %d, says %s; want %d and %q", args, got, &out, status, says)
		}
	}
	run(0, "wrote 5 entries and 1 photos", "export", "--file", "a.db", "all.rung")
	run(3, "exists", "export", "--file", "a.db", "all.rung")
	run(0, "wrote 4 entries and 1 photos", "export", "--file", "a.db", "--property", "P2", "one.rung")
	run(3, "part of several", "export", "--file", "a.db", "--property", "mill", "none.rung")
	run(3, "no property", "export", "--file", "a.db", "--property", "nowhere", "none.rung")
	run(0, "4 of 4 entries of office", "import", "--file", "b.db", "one.rung")
	run(0, "1 of 1 photos", "import", "--file", "b.db", "one.rung")
	run(0, "5 of 5 entries of office", "import", "--file", "b.db", "all.rung")
	run(0, "5 of 5 entries", "import", "--file", "b.db", "all.rung")
	if got, err := logs["b.db"].Blobs().Get(t.Context(), blob.HashOf(photo)); err != nil || string(got) != string(photo) {
		t.Errorf("the photo is %q, %v", got, err)
	}
	if got, _, err := logs["b.db"].Since(t.Context(), journal.Start, 10); err != nil || len(got) != 5 {
		t.Errorf("%d entries were taken in, %v", len(got), err)
	}

	other := list[0]
	other.Author = "Ben"
	var file bytes.Buffer
	if err := exchange.WriteBundle(&file, exchange.Bundle{Entries: []journal.Envelope{other}}); err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{"other.rung": file.Bytes(), "torn.rung": file.Bytes()[:file.Len()/2]} {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	run(1, "differs", "import", "--file", "b.db", "other.rung")
	run(3, "nothing was taken in", "import", "--file", "b.db", "torn.rung")
}
