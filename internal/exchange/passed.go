package exchange

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"rung/internal/journal"
)

// Passed are entries that came in by another device than the one they were
// written on, which has not brought them itself yet. Nothing is wrong with that:
// the phone may lie in a river. But only its own bringing proves that they were
// written on it, for entries are not signed. A device that has lost the state of
// its exchange offers all that it holds, and so confirms also what it got from
// the office; it was told then that it had not written it, see Client.foreign.
type Passed struct {
	Device, Author string // by what the entries say
	Bringer        string // the device that brought them; empty for a file taken in
	Person         string // whose that is, or who took the file in
	At             time.Time
	Entries        []journal.Envelope
}

// passedStream is beside heldStream: it is read at every exchange, and small.
const passedStream journal.Stream = ServerOnly + "passed"

// The entries of the stream.
const (
	kindPassed    = "entries-passed"
	kindConfirmed = "passed-confirmed"
)

// passedNote is the payload of both: the ids, with the streams they are in.
type passedNote struct {
	Entries []passedRef `json:"entries"`
	Person  string      `json:"person,omitempty"`
}

type passedRef struct {
	ID     journal.ID     `json:"id"`
	Stream journal.Stream `json:"stream"`
}

// notePassed notes what was passed on, and what the device of origin brought
// itself afterwards.
func (h Held) notePassed(ctx context.Context, by Grant, passed, confirmed []journal.Envelope) error {
	for _, n := range []struct {
		kind string
		list []journal.Envelope
	}{{kindPassed, passed}, {kindConfirmed, confirmed}} {
		if len(n.list) == 0 {
			continue
		}
		note := passedNote{Person: by.Author}
		for _, e := range n.list {
			note.Entries = append(note.Entries, passedRef{e.ID, e.Stream})
		}
		payload, err := json.Marshal(note)
		if err != nil {
			panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
		}
		sum := sha256.Sum256(append([]byte(n.kind+by.Device), payload...))
		err = h.Log.Append(ctx, []journal.Envelope{{
			ID: n.list[0].ID.Derive(int(binary.BigEndian.Uint32(sum[:4])) + 1), Stream: passedStream, Device: by.Device, Time: journal.TimeOf(h.Now()),
			Author: by.Author, Kind: n.kind, Version: 1, Payload: payload,
		}})
		if err != nil && !errors.Is(err, journal.ErrConflict) { // noted before, by a request whose answer was lost
			return fmt.Errorf("note what was passed on: %w", err)
		}
	}
	return nil
}

// unconfirmed returns, by their ids, the notes of entries that the device of
// origin has not brought itself.
func (h Held) unconfirmed(ctx context.Context) (map[journal.ID]passedBy, error) {
	envelopes, err := h.Log.Stream(ctx, passedStream)
	if err != nil {
		return nil, fmt.Errorf("passed on: %w", err)
	}
	open, confirmed := map[journal.ID]passedBy{}, map[journal.ID]bool{}
	for _, e := range envelopes {
		var note passedNote
		if err := json.Unmarshal(e.Payload, &note); err != nil {
			return nil, fmt.Errorf("passed on: %s: %w", e.ID, err)
		}
		for _, r := range note.Entries {
			if e.Kind == kindConfirmed {
				confirmed[r.ID] = true
			} else if _, again := open[r.ID]; !again {
				open[r.ID] = passedBy{r.Stream, e.Device, note.Person, e.Time.Wall()}
			}
		}
	}
	for id := range confirmed {
		delete(open, id)
	}
	return open, nil
}

type passedBy struct {
	stream          journal.Stream
	bringer, person string
	at              time.Time
}

// Passed lists what was passed on and not confirmed, by device of origin and
// bringer, the first brought first.
func (h Held) Passed(ctx context.Context) ([]Passed, error) {
	open, err := h.unconfirmed(ctx)
	if err != nil {
		return nil, err
	}
	var streams []journal.Stream
	for _, p := range open {
		if !slices.Contains(streams, p.stream) {
			streams = append(streams, p.stream)
		}
	}
	slices.Sort(streams)
	var list []Passed
	for _, s := range streams {
		envelopes, err := h.Log.Stream(ctx, s)
		if err != nil {
			return nil, fmt.Errorf("passed on: %w", err)
		}
		for _, e := range envelopes {
			p, waits := open[e.ID]
			if !waits {
				continue
			}
			i := slices.IndexFunc(list, func(x Passed) bool {
				return x.Device == e.Device && x.Author == e.Author && x.Bringer == p.bringer && x.Person == p.person
			})
			if i < 0 {
				i = len(list)
				list = append(list, Passed{Device: e.Device, Author: e.Author, Bringer: p.bringer, Person: p.person, At: p.at})
			}
			list[i].Entries = append(list[i].Entries, e)
			if p.at.Before(list[i].At) {
				list[i].At = p.at
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Passed) int { return a.At.Compare(b.At) })
	return list, nil
}
