package exchange

import (
	"encoding/json"
	"errors"
	"fmt"
	"unicode/utf8"

	"rung/internal/journal"
	"rung/internal/ledger"
)

// Version is that of the exchange as this program speaks it, Minimum the oldest
// that it still understands. Fields are only ever added, and unknown ones are
// passed over, so the number rises only when an older program would lose
// something.
const (
	Version = 1
	Minimum = 1
)

// What one request or answer holds at most. A single entry may be larger.
// practice: a batch goes through a weak signal in some seconds.
const (
	MaxEnvelopes = 500
	MaxBytes     = 1 << 20 // of payload and names
	maxBody      = 4 << 20 // of a request: MaxBytes as text, or one entry of journal.MaxPayload
	maxWants     = 500
	MaxFound     = 50
)

// room is what one request or answer holds.
type room struct{ count, bytes int }

var full = room{MaxEnvelopes, MaxBytes}

// Request is what a device sends.
type Request struct {
	Version   int              `json:"version"`
	Device    string           `json:"device"`
	Cursor    string           `json:"cursor,omitempty"` // of the last answer; empty at first
	Envelopes []Envelope       `json:"envelopes,omitempty"`
	Wants     []journal.Stream `json:"wants,omitempty"` // carried beside what Policy gives
	// Find asks for properties by a part of their name or address, and for
	// nothing else: Cursor comes back as it was.
	Find string `json:"find,omitempty"`
	// Mark is that of the Standing that the device knows.
	Mark string `json:"mark,omitempty"`
}

// Answer is what comes back.
type Answer struct {
	Version int `json:"version"`
	// Cursor is for the next request, as soon as Envelopes are kept.
	Cursor    string     `json:"cursor"`
	Envelopes []Envelope `json:"envelopes,omitempty"`
	// Accepted holds the ids of the request that are in the journal now.
	Accepted []journal.ID `json:"accepted,omitempty"`
	Flagged  []Flag       `json:"flagged,omitempty"`
	// More says that there is more to give at once.
	More bool `json:"more,omitempty"`
	// Restarted says that the journal was replaced by an older copy, or the
	// cursor is not known: offer everything again.
	Restarted bool `json:"restarted,omitempty"`
	// Found holds the properties asked for by Find, at most MaxFound.
	Found []ledger.PropertyLine `json:"found,omitempty"`
	// Standing is how the device stands with the office, if that is other than what
	// it knows.
	Standing *Standing `json:"standing,omitempty"`
}

// Flag says what is the matter with one entry of the request.
type Flag struct {
	ID   journal.ID `json:"id"`
	Why  Why        `json:"why"`
	Text string     `json:"text"`
}

// Why is the reason of a flag.
type Why string

// The reasons. All but Ahead and NotOurs mean that the entry was not taken.
const (
	Ahead    Why = "ahead"     // taken; its clock is more than journal.MaxAhead ahead of the office's
	Differs  Why = "differs"   // another entry has this id
	Invalid  Why = "invalid"   // no valid entry
	NotTaken Why = "not-taken" // of a stream that no device writes
	NotOurs  Why = "not-ours"  // came from the office, names this device and is none of its entries
	Aside    Why = "aside"     // kept aside at the office until the owner says what becomes of it, see Held
)

// Envelope is a journal.Envelope on its way. Its payload travels as text where
// it is one, which packs well, and else as base 64: its bytes do not change.
type Envelope struct {
	ID      journal.ID     `json:"id"`
	Stream  journal.Stream `json:"stream"`
	Device  string         `json:"device,omitempty"`
	Time    journal.Time   `json:"time,string"` // more than a number of JavaScript holds
	Author  string         `json:"author,omitempty"`
	Kind    string         `json:"kind"`
	Version int            `json:"version"`
	Text    string         `json:"text,omitempty"`
	Bytes   []byte         `json:"bytes,omitempty"`
}

func pack(list []journal.Envelope) []Envelope {
	packed := make([]Envelope, len(list))
	for i, e := range list {
		packed[i] = Envelope{ID: e.ID, Stream: e.Stream, Device: e.Device, Time: e.Time, Author: e.Author, Kind: e.Kind, Version: e.Version}
		if cheapText(e.Payload) {
			packed[i].Text = string(e.Payload)
		} else {
			packed[i].Bytes = e.Payload
		}
	}
	return packed
}

func unpack(list []Envelope) []journal.Envelope {
	unpacked := make([]journal.Envelope, len(list))
	for i, e := range list {
		unpacked[i] = e.unpack()
	}
	return unpacked
}

// cheapText reports whether a payload is a text that JSON writes with fewer
// characters than base 64 has.
func cheapText(payload []byte) bool {
	more := 0
	for _, c := range payload {
		switch {
		case c < ' ', c == '<', c == '>', c == '&':
			more += 5 // as \u0000
		case c == '"', c == '\\':
			more++
		}
	}
	return more <= len(payload)/3 && utf8.Valid(payload)
}

func (e Envelope) unpack() journal.Envelope {
	u := journal.Envelope{ID: e.ID, Stream: e.Stream, Device: e.Device, Time: e.Time, Author: e.Author, Kind: e.Kind, Version: e.Version, Payload: e.Bytes}
	if e.Text != "" {
		u.Payload = []byte(e.Text)
	}
	return u
}

// weight is the size of an envelope for the limits.
func weight(e journal.Envelope) int {
	return 64 + len(e.Stream) + len(e.Device) + len(e.Author) + len(e.Kind) + len(e.Payload)
}

func weigh(list []journal.Envelope) int {
	sum := 0
	for _, e := range list {
		sum += weight(e)
	}
	return sum
}

// Kind sorts the refusals of a whole request.
type Kind string

// The refusals.
const (
	TooOld   Kind = "too-old"   // this program must be renewed
	Denied   Kind = "denied"    // sign in again, or the device was withdrawn
	BadForm  Kind = "bad-form"  // no request of an exchange
	NoRoom   Kind = "no-room"   // the office's store is full
	NotNow   Kind = "not-now"   // try later
	TooLarge Kind = "too-large" // send less at once
)

// Error is the refusal of a whole request: nothing of it was acknowledged.
type Error struct {
	Kind    Kind   `json:"kind"`
	Message string `json:"message"` // one sentence that says what to do
}

func (e *Error) Error() string { return e.Message }

// refusal is an Error in an answer, as every programming interface here has it.
type refusal struct {
	Error *Error `json:"error"`
}

// ErrAnswer says that an answer is none of an exchange.
var ErrAnswer = errors.New("not an answer of the office")

// readAnswer reads an answer or the refusal in it.
func readAnswer(status int, body []byte) (Answer, error) {
	var a struct {
		Answer
		refusal
	}
	if err := json.Unmarshal(body, &a); err != nil {
		return Answer{}, fmt.Errorf("%w (status %d): %w", ErrAnswer, status, err)
	}
	switch {
	case a.Error != nil:
		return Answer{}, a.Error
	case status != 200 || a.Version < 1:
		return Answer{}, fmt.Errorf("%w (status %d)", ErrAnswer, status)
	case a.Version < Minimum:
		return Answer{}, &Error{TooOld, "The program at the office is too old for this phone. Entries stay on the phone until it is renewed."}
	}
	return a.Answer, nil
}
