package journal

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"
)

// ID identifies an envelope for ever: 48 bits of Unix milliseconds followed by
// 80 random bits. The zero ID identifies nothing.
//
// published: the ULID specification (github.com/ulid/spec), binary layout and
// canonical string.
type ID [16]byte

// alphabet is Crockford's base 32 without I, L, O and U, as the specification
// prescribes.
const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// ErrID says that a text is no ID.
var ErrID = errors.New("not an id of 26 characters")

// String returns the 26 characters of the canonical form. They sort as the
// bytes do.
func (id ID) String() string {
	hi, lo := binary.BigEndian.Uint64(id[:8]), binary.BigEndian.Uint64(id[8:])
	var s [26]byte
	for i := len(s) - 1; i >= 0; i-- {
		s[i] = alphabet[lo&31]
		lo = lo>>5 | hi<<59
		hi >>= 5
	}
	return string(s[:])
}

// ParseID reads the canonical form; lower case is accepted.
func ParseID(text string) (ID, error) {
	var hi, lo uint64
	if len(text) != 26 || text[0] > '7' {
		return ID{}, fmt.Errorf("%.40q: %w", text, ErrID)
	}
	for i := range len(text) {
		v := digit(text[i])
		if v < 0 {
			return ID{}, fmt.Errorf("%.40q: %w", text, ErrID)
		}
		hi = hi<<5 | lo>>59
		lo = lo<<5 | uint64(v)
	}
	var id ID
	binary.BigEndian.PutUint64(id[:8], hi)
	binary.BigEndian.PutUint64(id[8:], lo)
	return id, nil
}

// digit returns the value of one character, or -1.
func digit(c byte) int {
	if 'a' <= c && c <= 'z' {
		c -= 'a' - 'A'
	}
	for i := range len(alphabet) {
		if alphabet[i] == c {
			return i
		}
	}
	return -1
}

// Time returns the moment at which the ID was made, to the millisecond.
func (id ID) Time() time.Time {
	return time.UnixMilli(int64(binary.BigEndian.Uint64(id[:8]) >> 16)).UTC()
}

// MarshalText returns the canonical form, and an empty text for the zero ID.
func (id ID) MarshalText() ([]byte, error) {
	if id == (ID{}) {
		return nil, nil
	}
	return []byte(id.String()), nil
}

// UnmarshalText reads what MarshalText wrote.
func (id *ID) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*id = ID{}
		return nil
	}
	v, err := ParseID(string(text))
	if err != nil {
		return err
	}
	*id = v
	return nil
}

// IDSource makes IDs, rising within one source even within one millisecond or
// when the clock is set back. It may be used by several goroutines.
type IDSource struct {
	now    func() time.Time
	random io.Reader
	mu     sync.Mutex
	last   ID
}

// NewIDSource returns a source that takes the time from now and 80 bits for
// every ID from random, crypto/rand.Reader in earnest.
func NewIDSource(now func() time.Time, random io.Reader) *IDSource {
	return &IDSource{now: now, random: random}
}

// Next returns a new ID. It panics if random fails, because a journal without
// distinct ids loses entries.
func (s *IDSource) Next() ID {
	s.mu.Lock()
	defer s.mu.Unlock()
	var id ID
	binary.BigEndian.PutUint64(id[:8], uint64(s.now().UnixMilli())<<16)
	if _, err := io.ReadFull(s.random, id[6:]); err != nil {
		panic("journal: no random bits: " + err.Error())
	}
	if string(id[:6]) <= string(s.last[:6]) {
		id = s.last.next()
	}
	s.last = id
	return id
}

// next returns the ID that follows.
func (id ID) next() ID {
	for i := len(id) - 1; i >= 0; i-- {
		id[i]++
		if id[i] != 0 {
			break
		}
	}
	return id
}

// Derive returns the n-th of a family of ids that belong together: id itself
// for n = 0, ids of the same moment otherwise. Whoever derives again gets the
// same ids, so what was sent twice is recognised.
func (id ID) Derive(n int) ID {
	if n == 0 {
		return id
	}
	h := sha256.Sum256(binary.BigEndian.AppendUint64(id[:], uint64(n)))
	copy(h[:6], id[:6])
	return ID(h[:16])
}
