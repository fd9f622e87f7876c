//go:build !js

package sqlitelog

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"rung/internal/journal"
	"rung/internal/journal/journaltest"
)

func openTest(t testing.TB, path string, o Options) *Log {
	t.Helper()
	l, err := Open(context.Background(), path, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

func TestLog(t *testing.T) {
	journaltest.Run(t, func(t testing.TB, s journal.Summary) journal.Log {
		return openTest(t, filepath.Join(t.TempDir(), "shop journal?100%.db"), Options{Summary: s})
	})
}

func fill(t testing.TB, l *Log, seed uint64, n int) []journal.Envelope {
	t.Helper()
	batch := journaltest.Envelopes(seed, n)
	for part := range slices.Chunk(batch, 500) {
		if err := l.Append(context.Background(), part); err != nil {
			t.Fatal(err)
		}
	}
	return batch
}

func count(t testing.TB, l *Log) int {
	t.Helper()
	n, err := l.Verify(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestReopen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	l := openTest(t, path, Options{})
	fill(t, l, 1, 100)
	_, at, err := l.Since(t.Context(), journal.Start, 60)
	if err != nil {
		t.Fatal(err)
	}
	l.Close()
	if _, err := l.Stream(t.Context(), "house/1"); !errors.Is(err, journal.ErrClosed) {
		t.Errorf("Stream after Close = %v, want ErrClosed", err)
	}
	if err := l.Append(t.Context(), journaltest.Envelopes(2, 1)); !errors.Is(err, journal.ErrClosed) {
		t.Errorf("Append after Close = %v, want ErrClosed", err)
	}
	l = openTest(t, path, Options{})
	rest, _, err := l.Since(t.Context(), at, 100)
	if err != nil || len(rest) != 40 {
		t.Errorf("after reopening the cursor met %d more, %v, want 40", len(rest), err)
	}
}

// Two programs on one file: a server and a command of the same shop.
func TestTwoPrograms(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	a, b := openTest(t, path, Options{}), openTest(t, path, Options{})
	done := make(chan error)
	go func() {
		var err error
		for _, e := range journaltest.Envelopes(1, 60) {
			err = errors.Join(err, b.Append(context.Background(), []journal.Envelope{e}))
		}
		done <- err
	}()
	for _, e := range journaltest.Envelopes(2, 60) {
		if err := a.Append(t.Context(), []journal.Envelope{e}); err != nil {
			t.Error(err)
		}
	}
	if err := <-done; err != nil {
		t.Error(err)
	}
	if n := count(t, a); n != 120 || count(t, b) != 120 {
		t.Errorf("one program sees %d entries, the other %d, want 120", n, count(t, b))
	}
}

// The database itself gives SQLITE_FULL at its page limit, as it does when the
// disk has no room.
func TestFull(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	l := openTest(t, path, Options{MaxPages: 60})
	batch := journaltest.Envelopes(3, 200)
	kept := 0
	var err error
	for i := range batch {
		batch[i].Payload = make([]byte, 3000)
		if err = l.Append(t.Context(), batch[i:i+1]); err != nil {
			break
		}
		kept++
	}
	if !errors.Is(err, journal.ErrFull) {
		t.Fatalf("Append to a full journal = %v, want ErrFull", err)
	}
	if n := count(t, l); n != kept || kept < 10 {
		t.Errorf("%d entries are in the log, %d were acknowledged", n, kept)
	}
	l.Close()
	l = openTest(t, path, Options{}) // room was made
	if err := l.Append(t.Context(), batch); err != nil {
		t.Errorf("Append after making room = %v", err)
	}
	if n := count(t, l); n != len(batch) {
		t.Errorf("%d entries, want %d", n, len(batch))
	}
}

func TestReadOnly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	fill(t, openTest(t, path, Options{}), 4, 20)
	l := openTest(t, path, Options{ReadOnly: true})
	if err := l.Append(t.Context(), journaltest.Envelopes(5, 1)); !errors.Is(err, journal.ErrReadOnly) {
		t.Errorf("Append = %v, want ErrReadOnly", err)
	}
	if n := count(t, l); n != 20 {
		t.Errorf("%d entries, want 20", n)
	}
	if _, err := Open(t.Context(), path+".none", Options{ReadOnly: true}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("Open of no file = %v, want fs.ErrNotExist", err)
	}
	if _, err := Open(t.Context(), filepath.Join(path, "below", "a-file"), Options{}); !errors.Is(err, journal.ErrStorage) {
		t.Errorf("Open below a file = %v, want ErrStorage", err)
	}
}

// spoil changes bytes of a closed journal file.
func spoil(t *testing.T, path string, change func([]byte) []byte) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	b = change(b)
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return b
}

func TestDamagedFile(t *testing.T) {
	for name, change := range map[string]func([]byte) []byte{
		"no database": func(b []byte) []byte { copy(b, strings.Repeat("x", 100)); return b },
		"lost pages":  func(b []byte) []byte { clear(b[8192 : len(b)-4096]); return b },
		"cut off":     func(b []byte) []byte { return b[:len(b)/2] },
	} {
		path := filepath.Join(t.TempDir(), "j.db")
		l := openTest(t, path, Options{})
		fill(t, l, 6, 300)
		l.Close()
		before := spoil(t, path, change)
		if l, err := Open(t.Context(), path, Options{}); !errors.Is(err, journal.ErrCorrupt) {
			t.Errorf("%s: Open = %v, want ErrCorrupt", name, err)
			if err == nil {
				l.Close()
			}
		}
		if after, _ := os.ReadFile(path); !slices.Equal(before, after) {
			t.Errorf("%s: opening changed the damaged file", name)
		}
	}
}

// A flipped bit inside a payload leaves the structure of the file sound; only
// the checksum of the entry tells.
func TestDamagedEntry(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	l := openTest(t, path, Options{})
	batch := fill(t, l, 7, 50)
	batch[17].ID[15] = 0xee
	batch[17].Payload = []byte(`"compressor 118 psig"`)
	if err := l.Append(t.Context(), batch[17:18]); err != nil {
		t.Fatal(err)
	}
	l.Close()
	spoil(t, path, func(b []byte) []byte {
		return []byte(strings.Replace(string(b), "118 psig", "119 psig", 1))
	})
	l = openTest(t, path, Options{})
	if _, err := l.Verify(t.Context()); !errors.Is(err, journal.ErrCorrupt) {
		t.Errorf("Verify = %v, want ErrCorrupt", err)
	}
	if _, err := l.Stream(t.Context(), batch[17].Stream); !errors.Is(err, journal.ErrCorrupt) {
		t.Errorf("Stream = %v, want ErrCorrupt", err)
	}
	if _, err := l.Backup(t.Context(), path+".copy"); !errors.Is(err, journal.ErrCorrupt) {
		t.Errorf("Backup = %v, want ErrCorrupt", err)
	}
	if left, _ := filepath.Glob(path + ".copy*"); len(left) > 0 {
		t.Errorf("a bad copy was left: %v", left)
	}
}

func TestEntriesCannotBeChanged(t *testing.T) {
	l := openTest(t, filepath.Join(t.TempDir(), "j.db"), Options{})
	fill(t, l, 8, 10)
	for _, statement := range []string{`update envelope set author = 'eve'`, `delete from envelope where seq = 3`} {
		if _, err := l.write.Exec(statement); err == nil {
			t.Errorf("%s succeeded", statement)
		}
	}
	if n := count(t, l); n != 10 {
		t.Errorf("%d entries, want 10", n)
	}
}

func TestBackup(t *testing.T) {
	dir := t.TempDir()
	l := openTest(t, filepath.Join(dir, "j.db"), Options{})
	batch := fill(t, l, 9, 400)
	path := filepath.Join(dir, "it's a copy.db")
	n, err := l.Backup(t.Context(), path)
	if err != nil || n != 400 {
		t.Fatalf("Backup = %d, %v, want 400", n, err)
	}
	if _, err := l.Backup(t.Context(), path); err == nil {
		t.Error("Backup over an existing file succeeded")
	}
	_, at, err := l.Since(t.Context(), journal.Start, 1000)
	if err != nil {
		t.Fatal(err)
	}
	restored := openTest(t, path, Options{})
	if more, _, err := restored.Since(t.Context(), at, 10); err != nil || len(more) != 0 {
		t.Errorf("a cursor of the original in its copy: %v, %v", more, err)
	}
	if err := restored.Append(t.Context(), batch); err != nil || count(t, restored) != 400 {
		t.Errorf("appending the same again: %v, %d entries", err, count(t, restored))
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*.partial")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// The copy is of one moment even while others write.
func TestBackupWhileWriting(t *testing.T) {
	dir := t.TempDir()
	l := openTest(t, filepath.Join(dir, "j.db"), Options{})
	fill(t, l, 10, 200)
	done := make(chan error)
	go func() {
		for _, e := range journaltest.Envelopes(11, 100) {
			if err := l.Append(context.Background(), []journal.Envelope{e}); err != nil {
				done <- err
				return
			}
		}
		done <- nil
	}()
	n, err := l.Backup(t.Context(), filepath.Join(dir, "copy.db"))
	if err != nil || n < 200 || n > 300 {
		t.Errorf("Backup = %d, %v", n, err)
	}
	if err := <-done; err != nil {
		t.Error(err)
	}
}

func TestListsAreRebuilt(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	summary := func(version, list string) journal.Summary {
		return journal.Summary{Version: version, Rows: func(s journal.Stream, es []journal.Envelope) []journal.Row {
			return []journal.Row{{List: list, Key: string(s), Value: []byte(fmt.Sprint(len(es)))}}
		}}
	}
	l := openTest(t, path, Options{Summary: summary("1", "old")})
	fill(t, l, 12, 90)
	want, _ := l.Rows(t.Context(), "old", "")
	l.Close()

	l = openTest(t, path, Options{Summary: summary("2", "new")})
	got, err := l.Rows(t.Context(), "new", "")
	if err != nil || len(got) != len(want) || len(got) != 5 {
		t.Fatalf("Rows = %v, %v, want those of %v", got, err, want)
	}
	for i := range got {
		if got[i].Key != want[i].Key || string(got[i].Value) != string(want[i].Value) {
			t.Errorf("row %d = %v, want %v", i, got[i], want[i])
		}
	}
	if old, _ := l.Rows(t.Context(), "old", ""); len(old) != 0 {
		t.Errorf("old rows are left: %v", old)
	}
}

func TestMigrations(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	l := openTest(t, path, Options{})
	try := func(next, file string) error {
		steps := fstest.MapFS{file: {Data: []byte(next)}}
		ours, err := fs.Glob(migrations, "migrations/*.sql")
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range ours {
			text, err := fs.ReadFile(migrations, name)
			if err != nil {
				t.Fatal(err)
			}
			steps[name] = &fstest.MapFile{Data: text}
		}
		return migrate(t.Context(), l.write, steps)
	}
	if err := try(`create table half (a integer) strict; create table half (b integer) strict`, "migrations/999.sql"); err == nil {
		t.Error("a failing step gave no error")
	}
	if err := try(`create table half (a integer) strict`, "migrations/999.sql"); err != nil {
		t.Errorf("the failed step left something behind: %v", err)
	}
	if err := try(`create table half (c integer) strict`, "migrations/999.sql"); !errors.Is(err, errChanged) {
		t.Errorf("a changed step = %v, want errChanged", err)
	}
	l.Close()
	if _, err := Open(t.Context(), path, Options{}); !errors.Is(err, ErrNewer) {
		t.Errorf("Open of a newer file = %v, want ErrNewer", err)
	}
}

// TestKill kills a writing process in the middle of its work, again and again,
// and wants every entry that it was told is safe. It says nothing about a
// machine that loses power: that rests on synchronous=FULL and the disk.
func TestKill(t *testing.T) {
	if path := os.Getenv("JOURNAL_KILL_TEST"); path != "" {
		writeUntilKilled(t, path)
		return
	}
	path := filepath.Join(t.TempDir(), "j.db")
	var acknowledged []string
	for round := range 8 {
		acknowledged = append(acknowledged, killedWriter(t, path, round, 15+7*round)...)
	}
	l := openTest(t, path, Options{})
	count(t, l)
	for _, text := range acknowledged {
		id, err := journal.ParseID(text)
		if err != nil {
			t.Fatal(err)
		}
		var n int
		if err := l.read.QueryRow(`select count(*) from envelope where id = ?`, id[:]).Scan(&n); err != nil || n != 1 {
			t.Errorf("acknowledged entry %s is in the log %d times, %v", text, n, err)
		}
	}
	t.Logf("%d entries acknowledged, none lost", len(acknowledged))
}

// killedWriter starts a writer, kills it after n acknowledgements, and returns
// all that it printed.
func killedWriter(t *testing.T, path string, round, n int) []string {
	cmd := exec.Command(os.Args[0], "-test.run=^TestKill$")
	cmd.Env = append(os.Environ(), "JOURNAL_KILL_TEST="+path, fmt.Sprintf("JOURNAL_KILL_ROUND=%d", round))
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var ids []string
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if id, ok := strings.CutPrefix(lines.Text(), "kept "); ok && len(id) == 26 {
			ids = append(ids, id)
		}
		if len(ids) == n {
			cmd.Process.Kill()
		}
	}
	cmd.Wait()
	if len(ids) < n {
		t.Fatalf("round %d: the writer stopped after %d entries", round, len(ids))
	}
	return ids
}

func writeUntilKilled(t *testing.T, path string) {
	var round uint64
	fmt.Sscan(os.Getenv("JOURNAL_KILL_ROUND"), &round)
	l := openTest(t, path, Options{})
	for _, e := range journaltest.Envelopes(1000+round, 100_000) {
		e.ID[14] = byte(round)
		if err := l.Append(context.Background(), []journal.Envelope{e}); err != nil {
			t.Fatal(err)
		}
		fmt.Printf("kept %s\n", e.ID)
	}
}
