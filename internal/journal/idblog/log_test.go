//go:build js && wasm

package idblog

import (
	"errors"
	"fmt"
	"strconv"
	"syscall/js"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/journaltest"
)

var made int

// newName returns the name of a database that is gone after the test.
func newName(t testing.TB) string {
	t.Helper()
	made++
	name := fmt.Sprintf("test-%d-%d", time.Now().UnixMilli(), made)
	t.Cleanup(func() { js.Global().Get("indexedDB").Call("deleteDatabase", name) })
	return name
}

func open(t testing.TB, name string, s journal.Summary) *Log {
	t.Helper()
	l, err := Open(t.Context(), name, s)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

func TestLog(t *testing.T) {
	journaltest.Run(t, func(t testing.TB, s journal.Summary) journal.Log { return open(t, newName(t), s) })
}

// TestKeptAfterClosing: what was appended is there for the next program.
func TestKeptAfterClosing(t *testing.T) {
	name := newName(t)
	batch := journaltest.Envelopes(1, 30)
	l := open(t, name, journal.Summary{})
	if err := l.Append(t.Context(), batch); err != nil {
		t.Fatal(err)
	}
	if err := l.SetSetting(t.Context(), "name", "Zoë"); err != nil {
		t.Fatal(err)
	}
	l.Close()
	l.Close() // twice does no harm
	if err := l.Append(t.Context(), batch); !errors.Is(err, journal.ErrClosed) {
		t.Errorf("Append to a closed log = %v, want ErrClosed", err)
	}
	again := open(t, name, journal.Summary{})
	if n, err := again.Entries(t.Context()); n != len(batch) || err != nil {
		t.Errorf("Entries = %d, %v, want %d", n, err, len(batch))
	}
	if v, err := again.Setting(t.Context(), "name"); v != "Zoë" || err != nil {
		t.Errorf("Setting = %q, %v", v, err)
	}
	if v, err := again.Setting(t.Context(), "none"); v != "" || err != nil {
		t.Errorf("Setting of nothing = %q, %v", v, err)
	}
}

// TestTwoPrograms: an old and a new worker write to one database.
func TestTwoPrograms(t *testing.T) {
	name := newName(t)
	a, b := open(t, name, journal.Summary{}), open(t, name, journal.Summary{})
	batch := journaltest.Envelopes(2, 40)
	for i, e := range batch {
		if err := []*Log{a, b}[i%2].Append(t.Context(), []journal.Envelope{e, batch[i/2]}); err != nil {
			t.Fatal(err)
		}
	}
	for _, l := range []*Log{a, b} {
		if n, err := l.Entries(t.Context()); n != len(batch) || err != nil {
			t.Errorf("Entries = %d, %v, want %d", n, err, len(batch))
		}
	}
}

// TestListsOfAnotherVersion are made anew when the log is opened.
func TestListsOfAnotherVersion(t *testing.T) {
	name := newName(t)
	l := open(t, name, journal.Summary{Version: "none"})
	if err := l.Append(t.Context(), journaltest.Envelopes(3, 50)); err != nil {
		t.Fatal(err)
	}
	l.Close()
	for _, version := range []string{"1", "2"} {
		s := journal.Summary{Version: version, Rows: func(s journal.Stream, es []journal.Envelope) []journal.Row {
			return []journal.Row{{List: "n" + version, Key: string(s), Value: []byte(strconv.Itoa(len(es)))}}
		}}
		l := open(t, name, s)
		total := 0
		found, err := l.Rows(t.Context(), "n"+version, "")
		for _, r := range found {
			n, _ := strconv.Atoi(string(r.Value))
			total += n
		}
		if len(found) != 5 || total != 50 || err != nil {
			t.Errorf("version %s: %d rows, %d envelopes, %v", version, len(found), total, err)
		}
		if old, _ := l.Rows(t.Context(), "n1", ""); version == "2" && len(old) != 0 {
			t.Errorf("the lists of version 1 are still there: %v", old)
		}
		l.Close()
	}
}

// TestDamage: an entry that was changed under the log is not shown.
func TestDamage(t *testing.T) {
	l := open(t, newName(t), journal.Summary{})
	e := journaltest.Envelopes(4, 1)[0]
	for _, spoil := range []func([]byte) []byte{
		func(b []byte) []byte { b[30] ^= 1; return b },
		func(b []byte) []byte { return b[:3] },
		func([]byte) []byte { return nil },
	} {
		tx, err := l.begin(t.Context(), true, envelopes)
		if err != nil {
			t.Fatal(err)
		}
		v := value(e)
		v["seq"], v["whole"] = 1, bytesOf(spoil(encode(e)))
		if err := tx.do(func() { tx.store(envelopes).Call("put", v) }); err != nil {
			t.Fatal(err)
		}
		if err := tx.commit(t.Context()); err != nil {
			t.Fatal(err)
		}
		tx.release()
		if _, err := l.Stream(t.Context(), e.Stream); !errors.Is(err, journal.ErrCorrupt) {
			t.Errorf("Stream = %v, want ErrCorrupt", err)
		}
	}
}

// TestMadeRoom closes the log for a later program that changes the stores.
func TestMadeRoom(t *testing.T) {
	name := newName(t)
	l := open(t, name, journal.Summary{})
	js.Global().Get("indexedDB").Call("open", name, schema+1)
	select {
	case <-l.Done():
	case <-time.After(5 * time.Second):
		t.Fatal("the log holds the database against a later program")
	}
	if _, err := l.Stream(t.Context(), "x"); !errors.Is(err, journal.ErrClosed) {
		t.Errorf("Stream = %v, want ErrClosed", err)
	}
	if _, err := Open(t.Context(), name, journal.Summary{}); !errors.Is(err, journal.ErrBusy) {
		t.Errorf("Open by an earlier program = %v, want ErrBusy", err)
	}
}

// replaced sets a property of the browser for the time of a test.
func replaced(t *testing.T, on js.Value, name string, f func(this js.Value, args []js.Value) any) {
	t.Helper()
	before := on.Get(name)
	on.Set(name, js.FuncOf(f))
	t.Cleanup(func() { on.Set(name, before) })
}

// TestNoAnswer: requests that are never answered end within the limit, and
// leave nothing behind.
func TestNoAnswer(t *testing.T) {
	l := open(t, newName(t), journal.Summary{})
	batch := journaltest.Envelopes(5, 2)
	if err := l.Append(t.Context(), batch[:1]); err != nil {
		t.Fatal(err)
	}
	t.Run("of a read and an append", func(t *testing.T) {
		dead := func(js.Value, []js.Value) any { return map[string]any{} }
		index := js.Global().Get("IDBIndex").Get("prototype")
		replaced(t, index, "get", dead)
		replaced(t, index, "getAll", dead)
		if _, err := l.Stream(t.Context(), batch[0].Stream); !errors.Is(err, journal.ErrStorage) {
			t.Errorf("Stream = %v, want ErrStorage", err)
		}
		if err := l.Append(t.Context(), batch[1:]); !errors.Is(err, journal.ErrStorage) {
			t.Errorf("Append = %v, want ErrStorage", err)
		}
	})
	t.Run("of open", func(t *testing.T) {
		replaced(t, js.Global().Get("IDBFactory").Get("prototype"), "open", func(js.Value, []js.Value) any { return map[string]any{} })
		if _, err := Open(t.Context(), "never", journal.Summary{}); !errors.Is(err, journal.ErrStorage) {
			t.Errorf("Open = %v, want ErrStorage", err)
		}
	})
	if n, err := l.Entries(t.Context()); n != 1 || err != nil {
		t.Errorf("Entries = %d, %v, want 1", n, err)
	}
}

// TestComputingIsNoSilence: an answer that cannot come in while the program
// computes is waited for.
func TestComputingIsNoSilence(t *testing.T) {
	l := open(t, newName(t), journal.Summary{})
	go func() {
		for from := time.Now(); time.Since(from) < Limit+Limit/2; {
		}
	}()
	if err := l.Append(t.Context(), journaltest.Envelopes(6, 1)); err != nil {
		t.Error(err)
	}
}

// TestNoStore: a browser without IndexedDB is told so.
func TestNoStore(t *testing.T) {
	global := js.Global()
	kept := global.Get("Object").Call("getOwnPropertyDescriptor", global, "indexedDB")
	global.Get("Object").Call("defineProperty", global, "indexedDB", map[string]any{"value": js.Undefined(), "configurable": true})
	defer global.Get("Object").Call("defineProperty", global, "indexedDB", kept)
	if _, err := Open(t.Context(), "none", journal.Summary{}); !errors.Is(err, journal.ErrStorage) {
		t.Errorf("Open = %v, want ErrStorage", err)
	}
}

// TestFull runs where the browser gives the origin little room: entries are
// refused with ErrFull sooner or later, and those acknowledged are all there.
func TestFull(t *testing.T) {
	if !js.Global().Get("littleRoom").Truthy() {
		t.Skip("SKIPPED here: the quota of this page is not small; run in one where it is")
	}
	name := newName(t)
	l := open(t, name, journal.Summary{})
	acknowledged := 0
	for i, e := range journaltest.Envelopes(7, 60) {
		e.Payload = noise(journal.MaxPayload, uint32(i)+1)
		err := l.Append(t.Context(), []journal.Envelope{e})
		if errors.Is(err, journal.ErrFull) {
			break
		}
		if err != nil {
			t.Fatalf("Append %d = %v, want nil or ErrFull", i, err)
		}
		acknowledged++
	}
	if acknowledged == 0 || acknowledged == 60 {
		t.Fatalf("%d of 60 entries of 1 MB fit: nothing is shown by that", acknowledged)
	}
	l.Close()
	if n, err := open(t, name, journal.Summary{}).Entries(t.Context()); n != acknowledged || err != nil {
		t.Errorf("Entries = %d, %v, want the %d acknowledged", n, err, acknowledged)
	}
}

// noise returns bytes that cannot be packed tighter.
//
// published: Marsaglia 2003, "Xorshift RNGs", the triple 13, 17, 5.
func noise(n int, x uint32) []byte {
	b := make([]byte, n)
	for i := range b {
		x ^= x << 13
		x ^= x >> 17
		x ^= x << 5
		b[i] = byte(x)
	}
	return b
}

// BenchmarkAppend appends to a stream of a few dozen. Budget: 10 ms, which a
// form takes with its strict commit and the lists.
func BenchmarkAppend(b *testing.B) {
	l := open(b, newName(b), journal.Summary{})
	n := 0
	var batch []journal.Envelope
	for b.Loop() {
		if n%200 == 0 {
			batch = journaltest.Envelopes(uint64(n)+1000, 200)
		}
		if err := l.Append(b.Context(), batch[n%200:n%200+1]); err != nil {
			b.Fatal(err)
		}
		n++
	}
}

// BenchmarkStream reads a stream of 40. Budget: 3 ms.
func BenchmarkStream(b *testing.B) {
	l := open(b, newName(b), journal.Summary{})
	if err := l.Append(b.Context(), journaltest.Envelopes(8, 200)); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if list, err := l.Stream(b.Context(), "house/1"); err != nil || len(list) < 20 {
			b.Fatal(len(list), err)
		}
	}
}
