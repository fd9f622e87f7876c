package exchange

import (
	"bufio"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"rung/internal/journal"
)

// Bundle is a pile of entries as one file: from a phone without signal to
// another phone, or to the office. Taking it in twice changes nothing.
type Bundle struct {
	Device  string    // that made it
	Made    time.Time // by its clock
	Entries []journal.Envelope
}

// ErrBundle says that a file is no bundle, or not a whole one: nothing of it is
// taken in.
var ErrBundle = errors.New("not a whole file of entries")

// BundleType is the media type of the file, BundleName its ending.
const (
	BundleType = "application/vnd.rung.entries+gzip"
	BundleName = ".rung"
)

// maxUnpacked bounds a bundle when unpacked, in bytes: a small file can be made
// that unpacks without end. practice: some years of a shop.
const maxUnpacked = 1 << 30

// head is the first line of a bundle; an entry stands on each of the others.
type head struct {
	Bundle  int       `json:"rung-entries"` // version of the file
	Entries int       `json:"entries"`
	Device  string    `json:"device,omitempty"`
	Made    time.Time `json:"made,omitzero"`
}

// bundleVersion is that of the file. As with the exchange, fields are added
// without raising it.
const bundleVersion = 1

// WriteBundle writes a bundle: lines of JSON, packed by gzip, whose checksum
// tells a torn file.
func WriteBundle(w io.Writer, b Bundle) error {
	z := gzip.NewWriter(w)
	e := json.NewEncoder(z)
	err := e.Encode(head{bundleVersion, len(b.Entries), b.Device, b.Made})
	for _, x := range pack(b.Entries) {
		err = errors.Join(err, e.Encode(x))
	}
	if err := errors.Join(err, z.Close()); err != nil {
		return fmt.Errorf("write bundle: %w", err)
	}
	return nil
}

// ReadBundle reads a bundle whole. What is wrong with it is an ErrBundle.
func ReadBundle(r io.Reader) (Bundle, error) {
	z, err := gzip.NewReader(bufio.NewReader(r))
	if err != nil {
		return Bundle{}, fmt.Errorf("%w: %w", ErrBundle, err)
	}
	limited := io.LimitReader(z, maxUnpacked)
	d := json.NewDecoder(limited)
	var h head
	if err := d.Decode(&h); err != nil || h.Bundle < 1 {
		return Bundle{}, fmt.Errorf("%w: its first line is another one's", ErrBundle)
	}
	if h.Bundle > bundleVersion {
		return Bundle{}, fmt.Errorf("%w that this program knows: it was made by a later one, which must take it in", ErrBundle)
	}
	b := Bundle{Device: h.Device, Made: h.Made}
	for {
		var e Envelope
		err := d.Decode(&e)
		if errors.Is(err, io.EOF) {
			break // after the checksum was compared
		}
		if err != nil {
			return Bundle{}, fmt.Errorf("%w: entry %d of %d: %w", ErrBundle, len(b.Entries)+1, h.Entries, err)
		}
		b.Entries = append(b.Entries, e.unpack())
	}
	if len(b.Entries) != h.Entries {
		return Bundle{}, fmt.Errorf("%w: it holds %d of %d entries", ErrBundle, len(b.Entries), h.Entries)
	}
	return b, nil
}

// TakenIn says what became of the entries of a bundle.
type TakenIn struct {
	Kept    int    // in the journal now, also those that were there before
	Flagged []Flag // each with the reason; only those that are Ahead were taken
}

// TakeIn puts the entries of a bundle into a journal at the moment now, whoever
// wrote them. Each counts on its own: a bad one keeps no other out. An error is
// one of the store; taking the bundle in again goes on where it stopped.
func TakeIn(ctx context.Context, log journal.Log, entries []journal.Envelope, now time.Time) (TakenIn, error) {
	return Gate{Log: log, Now: func() time.Time { return now }}.TakeIn(ctx, Grant{Trusted: true}, entries)
}

// TakeIn is TakeIn for who brings the bundle: what he may not bring is kept
// aside.
func (g Gate) TakeIn(ctx context.Context, by Grant, entries []journal.Envelope) (TakenIn, error) {
	var in TakenIn
	var batch []journal.Envelope
	flush := func() error {
		sound := slices.DeleteFunc(slices.Clone(batch), func(e journal.Envelope) bool { return e.Check() != nil })
		unsound := slices.DeleteFunc(batch, func(e journal.Envelope) bool { return e.Check() == nil })
		sound, aside, err := g.pass(ctx, by, sound)
		if err != nil {
			return err
		}
		kept, refused, err := appendEach(ctx, g.Log, append(sound, unsound...))
		in.Kept, in.Flagged, batch = in.Kept+len(kept), append(append(append(in.Flagged, aside...), refused...), ahead(kept, g.Now())...), nil
		return err
	}
	for _, e := range entries {
		if !Travels(e.Stream) {
			in.Flagged = append(in.Flagged, Flag{e.ID, NotTaken, "No file brings entries of " + string(e.Stream) + "."})
			continue
		}
		if batch = append(batch, e); len(batch) == MaxEnvelopes {
			if err := flush(); err != nil {
				return in, fmt.Errorf("take in: %w", err)
			}
		}
	}
	if err := flush(); err != nil {
		return in, fmt.Errorf("take in: %w", err)
	}
	return in, nil
}

// Gather returns what of a journal may leave it, all of it or one stream, in
// the order of journal.Compare within a stream.
func Gather(ctx context.Context, log journal.Log, only journal.Stream) ([]journal.Envelope, error) {
	if only != "" {
		if !Travels(only) {
			return nil, fmt.Errorf("gather entries: those of %s stay at the office", only)
		}
		list, err := log.Stream(ctx, only)
		if err != nil {
			return nil, fmt.Errorf("gather entries: %w", err)
		}
		return list, nil
	}
	var list []journal.Envelope
	for at := journal.Start; ; {
		page, next, err := log.Since(ctx, at, 1000)
		if err != nil {
			return nil, fmt.Errorf("gather entries: %w", err)
		}
		if len(page) == 0 {
			return list, nil
		}
		for _, e := range page {
			if Travels(e.Stream) {
				list = append(list, e)
			}
		}
		at = next
	}
}
