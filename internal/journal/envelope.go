package journal

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"unicode/utf8"
)

// Stream names a subject whose envelopes are read together, such as
// "property/01J9…".
type Stream string

// Envelope is one entry of the journal.
type Envelope struct {
	ID      ID
	Stream  Stream
	Device  string // on which it was written
	Time    Time
	Author  string // who wrote it
	Kind    string // what happened, "lower-case-with-dashes"
	Version int    // of the payload of this kind, from 1
	Payload []byte // opaque here
}

// Limits of one envelope.
const (
	MaxPayload = 1 << 20 // bytes; photos are not journal entries
	MaxName    = 200     // bytes of stream, device, author and kind, each
)

// Errors of a Log. An error of a store wraps one of these, or ErrStorage.
var (
	ErrInvalid  = errors.New("not a valid envelope")
	ErrConflict = errors.New("another envelope has the same id")
	ErrCursor   = errors.New("cursor does not belong to this journal: read from the start")
	ErrFull     = errors.New("no room left for the journal: nothing of this entry was kept")
	ErrReadOnly = errors.New("the journal can be read but not written")
	ErrCorrupt  = errors.New("the journal is damaged")
	ErrBusy     = errors.New("the journal is in use by another program")
	ErrStorage  = errors.New("the storage of the journal failed")
	ErrClosed   = errors.New("the journal is closed")
)

// Compare orders envelopes for folding: by hybrid time, then by id.
func Compare(a, b Envelope) int {
	if c := cmp.Compare(a.Time, b.Time); c != 0 {
		return c
	}
	return bytes.Compare(a.ID[:], b.ID[:])
}

// Equal reports whether a and b are the same in every field.
func Equal(a, b Envelope) bool {
	return a.ID == b.ID && a.Stream == b.Stream && a.Device == b.Device && a.Time == b.Time &&
		a.Author == b.Author && a.Kind == b.Kind && a.Version == b.Version && bytes.Equal(a.Payload, b.Payload)
}

// Check returns an error that wraps ErrInvalid and says what is wrong with e,
// or nil.
func (e Envelope) Check() error {
	if e.ID == (ID{}) {
		return fmt.Errorf("%w: no id", ErrInvalid)
	}
	for _, f := range []struct{ name, value string }{{"stream", string(e.Stream)}, {"kind", e.Kind}, {"device", e.Device}, {"author", e.Author}} {
		if err := checkName(f.value, f.name == "stream" || f.name == "kind"); err != nil {
			return fmt.Errorf("%w: %s %.60q %w", ErrInvalid, f.name, f.value, err)
		}
	}
	switch {
	case e.Time == 0 || e.Time > maxTime:
		return fmt.Errorf("%w: time %d", ErrInvalid, e.Time)
	case e.Version < 1:
		return fmt.Errorf("%w: version %d", ErrInvalid, e.Version)
	case len(e.Payload) > MaxPayload:
		return fmt.Errorf("%w: payload of %d bytes, at most %d", ErrInvalid, len(e.Payload), MaxPayload)
	}
	return nil
}

func checkName(s string, required bool) error {
	switch {
	case s == "" && required:
		return errors.New("is missing")
	case len(s) > MaxName:
		return fmt.Errorf("is longer than %d bytes", MaxName)
	case !utf8.ValidString(s):
		return errors.New("is not UTF-8")
	}
	for _, r := range s {
		if r < ' ' || r == 0x7f {
			return errors.New("contains a control character")
		}
	}
	return nil
}
