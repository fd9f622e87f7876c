package exchange

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"slices"

	"rung/internal/journal"
)

// place is what a cursor of the office holds: all that it must know of a phone.
// The phone keeps it without looking into it.
type place struct {
	// At is how far into the order of arrival the phone has everything of the
	// streams that it carries.
	At journal.Cursor `json:"at,omitempty"`
	// Have holds the marks of the properties that the phone carries.
	Have marks `json:"have,omitempty"`
	// Fill is the property of which the phone gets now what arrived before At.
	Fill *filling `json:"fill,omitempty"`
	// Last is the last entry taken from the phone, to notice if it is gone, while
	// At lies before it. A copy of a journal holds all that arrived before an
	// entry that it holds.
	Last *taken `json:"last,omitempty"`
}

// filling is a property that is sent from its beginning, in the order of
// journal.Compare, after the entry at Time and ID.
type filling struct {
	Stream journal.Stream `json:"stream"`
	Time   journal.Time   `json:"time,string"`
	ID     journal.ID     `json:"id"`
}

type taken struct {
	Stream journal.Stream `json:"stream"`
	ID     journal.ID     `json:"id"`
}

// mark stands for the name of a stream: some hundreds of them go to and fro
// with every request. Two names with the same 64 bits do not occur by chance.
type mark uint64

func markOf(s journal.Stream) mark {
	h := sha256.Sum256([]byte(s))
	return mark(binary.BigEndian.Uint64(h[:]))
}

type marks map[mark]bool

// MarshalJSON writes the marks as one text of base 64.
func (m marks) MarshalJSON() ([]byte, error) {
	sorted := make([]mark, 0, len(m))
	for k := range m {
		sorted = append(sorted, k)
	}
	slices.Sort(sorted)
	b := make([]byte, 0, 8*len(sorted))
	for _, k := range sorted {
		b = binary.BigEndian.AppendUint64(b, uint64(k))
	}
	return json.Marshal(b)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (m *marks) UnmarshalJSON(text []byte) error {
	var b []byte
	if err := json.Unmarshal(text, &b); err != nil {
		return err
	}
	*m = marks{}
	for ; len(b) >= 8; b = b[8:] {
		(*m)[mark(binary.BigEndian.Uint64(b))] = true
	}
	return nil
}

// text returns the cursor.
func (p place) text() string {
	b, err := json.Marshal(p)
	if err != nil {
		panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

// parsePlace reads a cursor; false if it is none of ours.
func parsePlace(text string) (place, bool) {
	var p place
	b, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil || json.Unmarshal(b, &p) != nil {
		return place{}, false
	}
	return p, true
}
