package bundle

import (
	"bytes"
	"encoding/binary"
	"errors"
	"slices"
)

// funcTables are the tables that the runtime of Go keeps about functions, within
// the memory of a program: for the collector, for unwinding a panic, and for
// telling where one was.
//
// published: runtime/symtab.go and runtime2.go of Go 1.26 (pcHeader, moduledata, _func)
type funcTables struct {
	memory                               []byte
	names, units, files, pcs, funcs, fds span // of memory; units and files only tell names of files, fds is what the collector reads
	count                                int  // of functions
}

// span is a part of memory.
type span struct{ from, to int }

func (s span) of(memory []byte) []byte { return memory[s.from:s.to] }

// known is the version whose tables these are. Before another is put here, what
// reads the fields that are cleared must be read again in its runtime.
const known = "go1.26"

var errTables = errors.New("the tables of functions are not known to be those of " + known)

// The header of the tables: its magic, for instructions of any length and
// pointers of 8 bytes; then words of 8 bytes.
var magic = []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8}

const word = 8

// Words of moduledata, which begins with the address of the header.
const (
	wordNames, wordUnits, wordFiles, wordPCs, wordFuncs, wordIndex = 1, 4, 7, 10, 13, 16 // slices: address, length, capacity
	wordFuncData, wordEnd                                          = 40, 41              // addresses
	moduleWords                                                    = 42
)

// findTables finds the tables, and looks whether two accounts of them agree: the
// header's and the module's.
func findTables(memory []byte) (*funcTables, error) {
	var found []*funcTables
	for at := 0; ; {
		i := bytes.Index(memory[at:], magic)
		if i < 0 {
			break
		}
		at += i
		if t := tablesAt(memory, at); t != nil {
			found = append(found, t)
		}
		at += len(magic)
	}
	if len(found) != 1 {
		return nil, errTables
	}
	return found[0], nil
}

// tablesAt returns the tables whose header is at an address, nil if there are none.
func tablesAt(memory []byte, header int) *funcTables {
	if header%word != 0 {
		return nil
	}
	var address [word]byte
	binary.LittleEndian.PutUint64(address[:], uint64(header))
	for at := 0; ; at += word {
		i := bytes.Index(memory[at:], address[:])
		if i < 0 {
			return nil
		}
		at = (at + i) &^ (word - 1)
		if t := tablesOf(memory, header, at); t != nil {
			return t
		}
	}
}

// tablesOf returns the tables of the module at an address.
func tablesOf(memory []byte, header, module int) *funcTables {
	if module+moduleWords*word > len(memory) || header+9*word > len(memory) {
		return nil
	}
	in := func(base, i int) int { return int(binary.LittleEndian.Uint64(memory[base+i*word:])) }
	slice := func(i, size int) span { return span{in(module, i), in(module, i) + size*in(module, i+1)} }
	t := &funcTables{memory: memory, count: in(header, 1)}
	t.names, t.units, t.files, t.pcs, t.funcs = slice(wordNames, 1), slice(wordUnits, 4), slice(wordFiles, 1), slice(wordPCs, 1), slice(wordFuncs, 1)
	t.fds = span{in(module, wordFuncData), in(module, wordEnd)}
	end := header
	for i, s := range []span{t.names, t.units, t.files, t.pcs, t.funcs} { // one after the other, where the header says
		if s.from < end || s.to < s.from || s.to > len(memory) || s.from != header+in(header, 4+i) {
			return nil
		}
		end = s.to
	}
	if in(module, 0) != header || t.fds.from < end || t.fds.to < t.fds.from || t.fds.to > len(memory) {
		return nil
	}
	if in(module, wordIndex) != t.funcs.from || in(module, wordIndex+1) != t.count+1 {
		return nil
	}
	return t
}

// Fields of a function, in words of 4 bytes, and what follows them: offsets of
// its tables by address, and of what else is known of it.
const (
	fieldSP, fieldFile, fieldLine, fieldTables, fieldUnit, fieldStart, fieldKinds = 4, 5, 6, 7, 8, 9, 10
	funcWords                                                                     = 11
	none                                                                          = ^uint32(0)
)

// What is dropped of both lists: where preemption by a signal is safe, which
// there is none of in a browser, and the arguments that a traceback prints.
var (
	droppedTables = []int{0, 3} // PCDATA_UnsafePoint, PCDATA_ArgLiveIndex
	droppedData   = []int{5, 6} // FUNCDATA_ArgInfo, FUNCDATA_ArgLiveInfo
)

// function is one of the functions: its words in memory.
type function struct {
	fields, tables, data []byte
}

func get(b []byte, i int) uint32    { return binary.LittleEndian.Uint32(b[4*i:]) }
func set(b []byte, i int, v uint32) { binary.LittleEndian.PutUint32(b[4*i:], v) }

// function returns a function, by its place in the index.
func (t *funcTables) function(i int) (function, error) {
	all := t.funcs.of(t.memory)
	if 8*(i+1) > len(all) {
		return function{}, errTables
	}
	r := reader{left: all[min(int(get(all, 2*i+1)), len(all)):]}
	var f function
	if f.fields = r.take(4 * funcWords); r.failed {
		return f, errTables
	}
	f.tables = r.take(4 * int(get(f.fields, fieldTables)))
	f.data = r.take(4 * int(get(f.fields, fieldKinds)>>24))
	if r.failed {
		return f, errTables
	}
	return f, nil
}

// withoutLines takes out of the memory of a program what only tracebacks read,
// but for the names of functions: files and lines, which are a quarter of the
// packed data, arguments, and the types that a generic function was made for.
// The runtime says "?" for a file that it does not know.
func withoutLines(memory []byte) error {
	t, err := findTables(memory)
	if err != nil {
		return err
	}
	pcs, data := newUses(t.pcs), newUses(t.fds)
	for i := range t.count {
		f, err := t.function(i)
		if err != nil {
			return err
		}
		pcs.keep(get(f.fields, fieldSP))
		for _, field := range []int{fieldFile, fieldLine} {
			pcs.drop(get(f.fields, field))
			set(f.fields, field, 0)
		}
		set(f.fields, fieldUnit, 0)
		set(f.fields, fieldStart, 0)
		pcs.list(f.tables, droppedTables, 0)
		data.list(f.data, droppedData, none)
	}
	clear(t.units.of(memory))
	clear(t.files.of(memory))
	pcs.sweep(memory)
	data.sweep(memory)
	t.shortenNames()
	return nil
}

// uses are the uses of the entries of one table. An entry reaches to where the
// next begins.
type uses struct {
	table span
	kept  map[int]bool // by offset: false for one that is dropped
}

func newUses(table span) *uses { return &uses{table: table, kept: map[int]bool{}} }

func (u *uses) keep(offset uint32) { u.kept[int(offset)] = true }
func (u *uses) drop(offset uint32) { u.kept[int(offset)] = u.kept[int(offset)] }

// list notes the entries of a function, and drops those at the places given.
func (u *uses) list(entries []byte, dropped []int, nothing uint32) {
	for i := range len(entries) / 4 {
		switch e := get(entries, i); {
		case e == nothing:
		case slices.Contains(dropped, i):
			u.drop(e)
			set(entries, i, nothing)
		default:
			u.keep(e)
		}
	}
}

// sweep clears the entries that are dropped.
func (u *uses) sweep(memory []byte) {
	table := u.table.of(memory)
	var offsets []int
	for o := range u.kept {
		offsets = append(offsets, o)
	}
	slices.Sort(offsets)
	for i, o := range offsets {
		end := len(table)
		if i+1 < len(offsets) {
			end = offsets[i+1]
		}
		if !u.kept[o] {
			clear(table[o:end])
		}
	}
}

// ours begin the names of functions that an error report must tell apart; of all
// others it tells the package.
var ours = [][]byte{[]byte("rung/"), []byte("main."), []byte("runtime.")}

// shortenNames leaves out of names what tracebacks do not print, and of functions
// that are not ours all but the package.
func (t *funcTables) shortenNames() {
	all := t.names.of(t.memory)
	for len(all) > 0 {
		end := bytes.IndexByte(all, 0)
		if end < 0 {
			return
		}
		name := all[:end]
		if from, to := bytes.IndexByte(name, '['), bytes.LastIndexByte(name, ']'); from >= 0 && to > from {
			n := copy(name[from:], "[...]"+string(name[to+1:]))
			clear(name[from+n:])
		}
		if !slices.ContainsFunc(ours, func(prefix []byte) bool { return bytes.HasPrefix(name, prefix) }) {
			clear(name[packageEnd(name):])
		}
		all = all[end+1:]
	}
}

// packageEnd returns where the package ends in the name of a function.
func packageEnd(name []byte) int {
	path := bytes.LastIndexByte(name, '/') + 1
	if paren := bytes.IndexByte(name, '('); paren >= 0 && paren < path { // a type of another package in it
		path = bytes.LastIndexByte(name[:paren], '/') + 1
	}
	if dot := bytes.IndexByte(name[path:], '.'); dot >= 0 {
		return path + dot
	}
	return len(name)
}
