//go:build js && wasm

package idblog

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"syscall/js"

	"rung/internal/journal"
)

// castagnoli is the polynomial of the checksum of an entry.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// encode writes every field of e, the texts and the payload after their
// lengths, and the checksum of it all.
func encode(e journal.Envelope) []byte {
	b := make([]byte, 0, 96+len(e.Stream)+len(e.Device)+len(e.Author)+len(e.Kind)+len(e.Payload))
	b = append(b, e.ID[:]...)
	b = binary.BigEndian.AppendUint64(b, uint64(e.Time))
	b = binary.AppendUvarint(b, uint64(e.Version))
	for _, s := range []string{string(e.Stream), e.Device, e.Author, e.Kind, string(e.Payload)} {
		b = binary.AppendUvarint(b, uint64(len(s)))
		b = append(b, s...)
	}
	return binary.BigEndian.AppendUint32(b, crc32.Checksum(b, castagnoli))
}

// decode reads what encode wrote. What does not match its checksum is
// journal.ErrCorrupt.
func decode(b []byte) (journal.Envelope, error) {
	var e journal.Envelope
	body := b[:max(0, len(b)-4)]
	if len(body) < 24 || crc32.Checksum(body, castagnoli) != binary.BigEndian.Uint32(b[len(body):]) {
		return e, fmt.Errorf("%w: an entry does not match its checksum", journal.ErrCorrupt)
	}
	copy(e.ID[:], body)
	e.Time = journal.Time(binary.BigEndian.Uint64(body[16:]))
	r := reader{rest: body[24:]}
	e.Version = int(r.number())
	e.Stream, e.Device, e.Author, e.Kind = journal.Stream(r.text()), string(r.text()), string(r.text()), string(r.text())
	e.Payload = append([]byte{}, r.text()...)
	if r.bad || len(r.rest) > 0 {
		return e, fmt.Errorf("%w: an entry is of another shape", journal.ErrCorrupt)
	}
	return e, nil
}

// reader takes numbers and texts off bytes until one is missing.
type reader struct {
	rest []byte
	bad  bool
}

func (r *reader) number() uint64 {
	v, n := binary.Uvarint(r.rest)
	if n <= 0 {
		r.rest, r.bad = nil, true
		return 0
	}
	r.rest = r.rest[n:]
	return v
}

func (r *reader) text() []byte {
	n := r.number()
	if n > uint64(len(r.rest)) {
		r.rest, r.bad = nil, true
		return nil
	}
	t := r.rest[:n]
	r.rest = r.rest[n:]
	return t
}

// value is an envelope as the store holds it: what it is found by beside the
// whole. Times are written so that they sort as texts.
func value(e journal.Envelope) map[string]any {
	return map[string]any{
		"id": e.ID.String(), "stream": string(e.Stream), "time": fmt.Sprintf("%016x", uint64(e.Time)), "whole": bytesOf(encode(e)),
	}
}

// kept returns the envelopes of a list of values.
func kept(list js.Value) ([]journal.Envelope, error) {
	found := make([]journal.Envelope, list.Length())
	for i := range found {
		var err error
		if found[i], err = decode(bytesFrom(list.Index(i).Get("whole"))); err != nil {
			return nil, err
		}
	}
	return found, nil
}

// bytesOf copies bytes to the browser.
func bytesOf(b []byte) js.Value {
	v := js.Global().Get("Uint8Array").New(len(b))
	js.CopyBytesToJS(v, b)
	return v
}

// bytesFrom copies bytes from the browser; what is no Uint8Array is empty.
func bytesFrom(v js.Value) []byte {
	if !v.InstanceOf(js.Global().Get("Uint8Array")) {
		return nil
	}
	b := make([]byte, v.Length())
	js.CopyBytesToGo(b, v)
	return b
}
