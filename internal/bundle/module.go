package bundle

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// module is a WebAssembly program taken apart: its sections as they are, and
// what the data section lays into memory at the start.
//
// published: WebAssembly Core Specification 2.0, section 5.5
type module struct {
	sections []section
	memory   []byte // from address 0 to the last byte laid
}

type section struct {
	id   byte
	body []byte
}

// The ids of sections, and what a data segment begins with.
const (
	dataSection  = 11
	preamble     = "\x00asm\x01\x00\x00\x00"
	activeInZero = 0    // a segment laid into memory 0 when the program starts
	i32Const     = 0x41 // its address: one constant …
	endOfExpr    = 0x0b // … and no more
	mostMemory   = 1 << 28
)

var errNotWasm = errors.New("not a WebAssembly program as the linker of Go writes it")

// takeApart reads a program. It takes what the linker of Go writes: one
// data section at most, its segments at constant addresses of memory 0.
func takeApart(program []byte) (*module, error) {
	if len(program) < len(preamble) || string(program[:len(preamble)]) != preamble {
		return nil, errNotWasm
	}
	m := &module{}
	for r := (reader{left: program[len(preamble):]}); len(r.left) > 0; {
		s := section{id: r.byte()}
		s.body = r.take(r.unsigned())
		if r.failed {
			return nil, errNotWasm
		}
		if s.id == dataSection {
			if err := m.lay(s.body); err != nil {
				return nil, err
			}
		}
		m.sections = append(m.sections, s)
	}
	return m, nil
}

// lay lays the segments of a data section into m.memory.
func (m *module) lay(body []byte) error {
	r := reader{left: body}
	for n := r.unsigned(); n > 0; n-- {
		kind, op, at, end := r.byte(), r.byte(), r.signed(), r.byte()
		data := r.take(r.unsigned())
		if r.failed || kind != activeInZero || op != i32Const || end != endOfExpr || at < 0 || at > mostMemory {
			return fmt.Errorf("%w: data segment", errNotWasm)
		}
		if more := at + len(data) - len(m.memory); more > 0 {
			m.memory = append(m.memory, make([]byte, more)...)
		}
		copy(m.memory[at:], data)
	}
	return nil
}

// gap is the run of zeroes that ends a segment; memory is zero at the start
// anyway. The linker takes 8, until it has made the hundred thousand segments
// that browsers allow; whole tables pack tighter than such pieces, by 0.15 MB
// of 1.7, and are laid quicker.
const gap = 256

// program puts m together again.
func (m *module) program() []byte {
	out := []byte(preamble)
	for _, s := range m.sections {
		if s.id == dataSection {
			s.body = segments(m.memory)
		}
		out = binary.AppendUvarint(append(out, s.id), uint64(len(s.body)))
		out = append(out, s.body...)
	}
	return out
}

// segments is the body of a data section that lays memory.
func segments(memory []byte) []byte {
	var body []byte
	n := 0
	for at := 0; at < len(memory); {
		if memory[at] == 0 {
			at++
			continue
		}
		end, zeroes := at, 0
		for i := at; i < len(memory) && zeroes < gap; i++ {
			if zeroes++; memory[i] != 0 {
				end, zeroes = i+1, 0
			}
		}
		body = appendSigned(append(body, activeInZero, i32Const), at)
		body = binary.AppendUvarint(append(body, endOfExpr), uint64(end-at))
		body = append(body, memory[at:end]...)
		at = end
		n++
	}
	return append(binary.AppendUvarint(nil, uint64(n)), body...)
}

// appendSigned appends v as a signed LEB128.
func appendSigned(b []byte, v int) []byte {
	for v < -64 || v > 63 {
		b = append(b, byte(v)|0x80)
		v >>= 7
	}
	return append(b, byte(v)&0x7f)
}

// reader reads what is left, and remembers if that was too short.
type reader struct {
	left   []byte
	failed bool
}

func (r *reader) take(n int) []byte {
	if n < 0 || n > len(r.left) {
		r.failed, r.left = true, nil
		return nil
	}
	b := r.left[:n]
	r.left = r.left[n:]
	return b
}

func (r *reader) byte() byte {
	if b := r.take(1); b != nil {
		return b[0]
	}
	return 0
}

func (r *reader) unsigned() int {
	v, n := binary.Uvarint(r.left)
	r.failed = r.failed || n <= 0 || v > 1<<31
	r.take(max(n, 0))
	return int(v)
}

func (r *reader) signed() int {
	v, shift := 0, 0
	for {
		b := r.byte()
		v |= int(b&0x7f) << shift
		shift += 7
		if b < 0x80 || r.failed || shift > 35 {
			if b&0x40 != 0 {
				v |= -1 << shift
			}
			return v
		}
	}
}
