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

// Held are the entries that somebody brought who may not bring them so: they
// say to be by another person, or what his role does not write. They are kept
// aside, in a stream of the office's journal that no view reads and that goes to
// no phone, until the owner takes them in or leaves them out. None is ever
// thrown away.
type Held struct {
	Log journal.Log
	Now func() time.Time
}

// Doubted is an entry kept aside.
type Doubted struct {
	ID      journal.ID // under which it is kept aside
	Entry   journal.Envelope
	Why     string    // in a sentence
	Bringer string    // the device that brought it; empty for a file taken in
	Person  string    // whose that device is, or who took the file in
	At      time.Time // when it was brought
	Left    bool      // the owner left it out
}

const heldStream journal.Stream = ServerOnly + "held"

// The entries of the stream.
const (
	kindHeld  = "entry-held"
	kindTaken = "held-taken" // by the owner, into the journal
	kindLeft  = "held-left"  // out, by the owner
)

// heldEntry is the payload of kindHeld.
type heldEntry struct {
	Entry  Envelope  `json:"entry"`
	Why    string    `json:"why"`
	Person string    `json:"person"`
	At     time.Time `json:"at"`
}

// heldRef is the payload of the two others.
type heldRef struct {
	Held journal.ID `json:"held"`
}

// put keeps entries aside. Those that are kept aside already stay as they are;
// one too large for that is flagged as not taken.
func (h Held) put(ctx context.Context, list []Doubted) ([]Flag, error) {
	var flags []Flag
	var batch []journal.Envelope
	for _, d := range list {
		payload, err := json.Marshal(heldEntry{pack([]journal.Envelope{d.Entry})[0], d.Why, d.Person, d.At})
		if err != nil {
			panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
		}
		batch = append(batch, journal.Envelope{
			ID: heldID(d), Stream: heldStream, Device: d.Bringer, Time: d.Entry.Time, Author: d.Person, Kind: kindHeld, Version: 1, Payload: payload,
		})
		flags = append(flags, Flag{d.Entry.ID, Aside, fmt.Sprintf("Kept aside at the office: %s of %s by %s. %s The owner decides, at the office under “Kept aside”.",
			d.Entry.Kind, d.Entry.Time.Wall().Format("2 January 2006 15:04"), orNobody(d.Entry.Author), d.Why)})
	}
	_, refused, err := appendEach(ctx, h.Log, batch)
	if err != nil {
		return nil, fmt.Errorf("keep aside: %w", err)
	}
	for _, r := range refused { // of those kept aside before, which differ, the first reason stands
		i := slices.IndexFunc(batch, func(e journal.Envelope) bool { return e.ID == r.ID })
		if r.Why == Invalid {
			flags[i].Why, flags[i].Text = NotTaken, list[i].Why+" It is too large to be kept aside, and stays on this phone."
		}
	}
	return flags, nil
}

func orNobody(author string) string {
	if author == "" {
		return "nobody"
	}
	return author
}

// heldID is the same whenever the same device brings the same entry.
func heldID(d Doubted) journal.ID {
	text, err := json.Marshal(pack([]journal.Envelope{d.Entry})[0])
	if err != nil {
		panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
	}
	sum := sha256.Sum256(append([]byte(d.Bringer+"\n"+d.Person+"\n"), text...))
	return d.Entry.ID.Derive(int(binary.BigEndian.Uint32(sum[:4])) + 1)
}

// List returns what is kept aside, oldest first: what was taken in, or came by
// another way since, is not among it.
func (h Held) List(ctx context.Context) ([]Doubted, error) {
	envelopes, err := h.Log.Stream(ctx, heldStream)
	if err != nil {
		return nil, fmt.Errorf("kept aside: %w", err)
	}
	taken, left := map[journal.ID]bool{}, map[journal.ID]bool{}
	var list []Doubted
	for _, e := range envelopes {
		switch e.Kind {
		case kindHeld:
			var x heldEntry
			if err := json.Unmarshal(e.Payload, &x); err != nil {
				return nil, fmt.Errorf("kept aside: %s: %w", e.ID, err)
			}
			list = append(list, Doubted{e.ID, x.Entry.unpack(), x.Why, e.Device, x.Person, x.At, false})
		case kindTaken, kindLeft:
			var x heldRef
			if err := json.Unmarshal(e.Payload, &x); err != nil {
				return nil, fmt.Errorf("kept aside: %s: %w", e.ID, err)
			}
			taken[x.Held], left[x.Held] = taken[x.Held] || e.Kind == kindTaken, left[x.Held] || e.Kind == kindLeft
		}
	}
	has := has{log: h.Log}
	var open []Doubted
	for _, d := range list {
		there, err := has.entry(ctx, d.Entry)
		if err != nil {
			return nil, fmt.Errorf("kept aside: %w", err)
		}
		if d.Left = left[d.ID]; !taken[d.ID] && !there {
			open = append(open, d)
		}
	}
	return open, nil
}

// Take puts entries that are kept aside into the journal, on somebody's word. The
// flags tell which could not be: they stay aside.
func (h Held) Take(ctx context.Context, by string, ids []journal.ID) ([]Flag, error) {
	list, err := h.chosen(ctx, ids)
	if err != nil {
		return nil, err
	}
	var flags []Flag
	for _, d := range list {
		_, refused, err := appendEach(ctx, h.Log, []journal.Envelope{d.Entry})
		if err == nil && refused == nil {
			err = h.mark(ctx, by, kindTaken, d, 1)
		}
		if err != nil {
			return flags, fmt.Errorf("take in: %w", err)
		}
		flags = append(flags, refused...)
	}
	return flags, nil
}

// Leave leaves entries out. They stay kept aside, and can be taken in later.
func (h Held) Leave(ctx context.Context, by string, ids []journal.ID) error {
	list, err := h.chosen(ctx, ids)
	if err != nil {
		return err
	}
	for _, d := range list {
		if err := h.mark(ctx, by, kindLeft, d, 2); err != nil {
			return fmt.Errorf("leave out: %w", err)
		}
	}
	return nil
}

func (h Held) chosen(ctx context.Context, ids []journal.ID) ([]Doubted, error) {
	list, err := h.List(ctx)
	return slices.DeleteFunc(list, func(d Doubted) bool { return !slices.Contains(ids, d.ID) }), err
}

// mark notes what was decided; the n-th entry about d. A second decision of the
// same sort changes nothing.
func (h Held) mark(ctx context.Context, by, kind string, d Doubted, n int) error {
	payload, err := json.Marshal(heldRef{d.ID})
	if err != nil {
		panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
	}
	err = h.Log.Append(ctx, []journal.Envelope{{
		ID: d.ID.Derive(n), Stream: heldStream, Time: journal.TimeOf(h.Now()), Author: by, Kind: kind, Version: 1, Payload: payload,
	}})
	if errors.Is(err, journal.ErrConflict) {
		return nil
	}
	return err
}
