package bundle

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// inMemory builds the program and returns its memory, as it is and slim.
func inMemory(t *testing.T) (whole, slimmed []byte) {
	t.Helper()
	program, err := compile(t.Context(), Options{Source: "."})
	if err != nil {
		t.Fatal(err)
	}
	m, err := takeApart(program)
	if err != nil {
		t.Fatal(err)
	}
	less, err := slim(program, known)
	if err != nil {
		t.Fatal(err)
	}
	n, err := takeApart(less)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range m.sections {
		if s.id != dataSection && !bytes.Equal(s.body, n.sections[i].body) {
			t.Errorf("section %d, %d bytes, is another in the slim program", s.id, len(s.body))
		}
	}
	if cut := len(m.memory) - len(n.memory); cut < 0 || cut >= gap {
		t.Errorf("the slim program lays %d bytes fewer", cut)
	}
	return m.memory, append(n.memory, make([]byte, max(0, len(m.memory)-len(n.memory)))...)
}

// TestWithoutLines: what the collector and a panic read of every function is in
// the slim program as it was, and so is everything outside of the tables.
func TestWithoutLines(t *testing.T) {
	whole, slimmed := inMemory(t)
	a, err := findTables(whole)
	if err != nil {
		t.Fatal(err)
	}
	b, err := findTables(slimmed)
	if err != nil {
		t.Fatal(err)
	}
	if from, to := a.names.from, a.fds.to; !bytes.Equal(whole[:from], slimmed[:from]) || !bytes.Equal(whole[to:], slimmed[to:]) {
		t.Error("bytes outside of the tables changed")
	}
	if a.count < 1000 || a.count != b.count {
		t.Fatalf("%d and %d functions", a.count, b.count)
	}
	for i := range a.count {
		f, err := a.function(i)
		if err != nil {
			t.Fatal(err)
		}
		g, _ := b.function(i)
		name := nameAt(a, f.fields)
		left := nameAt(b, g.fields)
		own := strings.HasPrefix(name, "rung/") || strings.HasPrefix(name, "main.") || strings.HasPrefix(name, "runtime.")
		if short, _, generic := strings.Cut(name, "["); own && (!generic && left != name || !strings.HasPrefix(left, short)) {
			t.Fatalf("%s is called %s", name, left)
		}
		if begins, _, _ := strings.Cut(left, "["); !strings.HasPrefix(name, begins) || begins == "" && name != "" {
			t.Fatalf("%s is called %s", name, left)
		}
		if get(g.fields, fieldFile)|get(g.fields, fieldLine) != 0 {
			t.Fatalf("%s has lines", name)
		}
		for _, field := range []int{0, 1, 2, 3, fieldSP, fieldTables, fieldKinds} {
			if get(f.fields, field) != get(g.fields, field) {
				t.Fatalf("%s: field %d is another", name, field)
			}
		}
		if why := sameTables(a, b, f, g); why != "" {
			t.Fatalf("%s: %s", name, why)
		}
	}
}

// nameAt returns the name of a function.
func nameAt(t *funcTables, fields []byte) string {
	name, _, _ := bytes.Cut(t.names.of(t.memory)[get(fields, 1):], []byte{0})
	return string(name)
}

// sameTables compares the tables of a function that are kept, read as the runtime
// reads them, and says what differs.
func sameTables(a, b *funcTables, f, g function) string {
	steps := func(t *funcTables, offset uint32) string { return string(pairs(t.pcs.of(t.memory)[offset:])) }
	if at := get(f.fields, fieldSP); at != 0 && steps(a, at) != steps(b, at) {
		return "the frames"
	}
	for i := range len(f.tables) / 4 {
		at := get(f.tables, i)
		if slices.Contains(droppedTables, i) {
			at = 0
		}
		if get(g.tables, i) != at || at != 0 && steps(a, at) != steps(b, at) {
			return "a table by address"
		}
	}
	for i := range len(f.data) / 4 {
		at := get(f.data, i)
		if slices.Contains(droppedData, i) {
			at = none
		}
		if get(g.data, i) != at {
			return "what is known of it"
		}
		if read := readers[i]; read != nil && at != none && !bytes.Equal(read(a.fds.of(a.memory)[at:]), read(b.fds.of(b.memory)[at:])) {
			return fmt.Sprint("what the collector reads, kind ", i, ": ", read(a.fds.of(a.memory)[at:]), read(b.fds.of(b.memory)[at:]))
		}
	}
	return ""
}

// pairs returns a table of steps, of values and addresses, up to its end.
func pairs(table []byte) []byte {
	r := reader{left: table}
	for first := true; ; first = false {
		if value := r.unsigned(); value == 0 && !first || r.failed {
			return table[:len(table)-len(r.left)]
		}
		r.unsigned()
	}
}

// readers return one entry of what is known of a function, by its kind: which
// words of arguments and locals are pointers, objects on the stack, and which
// calls to defer there are.
var readers = map[int]func([]byte) []byte{
	0: bitmaps, 1: bitmaps,
	2: func(b []byte) []byte { return b[:8+16*int(binary.LittleEndian.Uint64(b))] },
	4: func(b []byte) []byte { r := reader{left: b}; r.unsigned(); r.unsigned(); return b[:len(b)-len(r.left)] },
}

func bitmaps(b []byte) []byte { return b[:8+int(get(b, 0))*(int(get(b, 1)+7)/8)] }

// TestTablesUnknown: what is not laid out as known is left alone.
func TestTablesUnknown(t *testing.T) {
	program, err := compile(t.Context(), Options{Source: "."})
	if err != nil {
		t.Fatal(err)
	}
	spoil := func(change func(b []byte)) []byte { b := slices.Clone(program); change(b); return b }
	at := bytes.Index(program, magic)
	for name, c := range map[string]struct {
		program []byte
		version string
	}{
		"a later version":                   {program, "go1.27.1"},
		"a version whose name begins alike": {program, "go1.260"},
		"another magic":                     {spoil(func(b []byte) { b[at]++ }), known},
		"a function more":                   {spoil(func(b []byte) { b[at+8]++ }), known},
		"a table moved":                     {spoil(func(b []byte) { b[at+4*8]++ }), known},
		"cut short":                         {program[:len(program)/2], known},
		"no program":                        {[]byte("something else"), known},
		"empty":                             {nil, known},
	} {
		was := slices.Clone(c.program)
		got, err := slim(c.program, c.version)
		if !errors.Is(err, errTables) && !errors.Is(err, errNotWasm) {
			t.Errorf("%s: %v", name, err)
		}
		if !bytes.Equal(got, was) {
			t.Errorf("%s: the program was changed", name)
		}
	}
}

// TestSigned: addresses of segments, which are signed, come back.
func TestSigned(t *testing.T) {
	for _, v := range []int{0, 1, 63, 64, -1, -64, -65, 127, 128, 8191, 8192, 1<<31 - 1, -1 << 31} {
		r := reader{left: appendSigned(nil, v)}
		if got := r.signed(); got != v || r.failed || len(r.left) > 0 {
			t.Errorf("%d comes back as %d", v, got)
		}
	}
}
