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

	"rung/internal/blob"
	"rung/internal/journal"
	"rung/internal/record"
)

// Bundle is a pile of entries as one file: from a phone without signal to
// another phone, or to the office. Taking it in twice changes nothing.
type Bundle struct {
	Device  string    // that made it
	Made    time.Time // by its clock
	Entries []journal.Envelope
	Photos  []Photo // that the entries name, as far as they fit; see GatherPhotos
}

// Photo is a photo on its way in a file.
type Photo struct {
	Hash    blob.Hash `json:"photo"`
	Content []byte    `json:"content"`
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

// MaxBundlePhotos bounds the photos in one bundle, in bytes: a file of them must
// still be taken in by a page, and sent by a message.
//
// practice: some forty photos as the page shrinks them.
const MaxBundlePhotos = 20 << 20

// head is the first line of a bundle; an entry stands on each of the others, and
// a photo on each after them.
type head struct {
	Bundle  int       `json:"rung-entries"` // version of the file
	Entries int       `json:"entries"`
	Photos  int       `json:"photos,omitempty"`
	Device  string    `json:"device,omitempty"`
	Made    time.Time `json:"made,omitzero"`
}

// Versions of the file. As with the exchange, fields are added without raising
// it. A file with photos is of the second, because a program that knows only the
// first would take their lines for damage; one without is of the first.
const (
	plainBundle  = 1
	photosBundle = 2
)

// WriteBundle writes a bundle: lines of JSON, packed by gzip, whose checksum
// tells a torn file.
func WriteBundle(w io.Writer, b Bundle) error {
	z := gzip.NewWriter(w)
	e := json.NewEncoder(z)
	h := head{plainBundle, len(b.Entries), len(b.Photos), b.Device, b.Made}
	if len(b.Photos) > 0 {
		h.Bundle = photosBundle
	}
	err := e.Encode(h)
	for _, x := range pack(b.Entries) {
		err = errors.Join(err, e.Encode(x))
	}
	for _, x := range b.Photos {
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
	if h.Bundle > photosBundle {
		return Bundle{}, fmt.Errorf("%w that this program knows: it was made by a later one, which must take it in", ErrBundle)
	}
	b := Bundle{Device: h.Device, Made: h.Made}
	for {
		var line struct {
			Envelope
			Photo
		}
		err := d.Decode(&line)
		if errors.Is(err, io.EOF) {
			break // after the checksum was compared
		}
		if err != nil {
			return Bundle{}, fmt.Errorf("%w: line %d of %d: %w", ErrBundle, len(b.Entries)+len(b.Photos)+1, h.Entries+h.Photos, err)
		}
		if line.Hash == "" {
			b.Entries = append(b.Entries, line.unpack())
		} else if err := blob.Check(line.Hash, line.Content); err != nil {
			return Bundle{}, fmt.Errorf("%w: photo %d of %d: %w", ErrBundle, len(b.Photos)+1, h.Photos, err)
		} else {
			b.Photos = append(b.Photos, line.Photo)
		}
	}
	if len(b.Entries) != h.Entries || len(b.Photos) != h.Photos {
		return Bundle{}, fmt.Errorf("%w: it holds %d of %d entries and %d of %d photos", ErrBundle, len(b.Entries), h.Entries, len(b.Photos), h.Photos)
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

// PhotosOf returns the photos that the entries of a property name, the newest
// first; of all properties for "".
func PhotosOf(ctx context.Context, log journal.Log, p record.PropertyID) ([]blob.Hash, error) {
	lines, err := photoLines(ctx, log, p)
	return hashesOf(lines), err
}

// GatherPhotos returns those of the photos that are here, in the order of the
// list, as far as a bundle holds them, and how many did not fit. Those that are
// not here or damaged are passed over.
func GatherPhotos(ctx context.Context, store blob.Store, list []blob.Hash) (photos []Photo, left int, err error) {
	missing, err := store.Missing(ctx, list)
	if err != nil {
		return nil, 0, fmt.Errorf("gather photos: %w", err)
	}
	room := MaxBundlePhotos
	here := blob.Lacking(list, setOf(missing))
	for i, h := range here {
		b, err := store.Get(ctx, h)
		switch {
		case errors.Is(err, blob.ErrMissing), errors.Is(err, journal.ErrCorrupt):
			continue
		case err != nil:
			return nil, 0, fmt.Errorf("gather photos: %w", err)
		case len(b) > room:
			return photos, len(here) - i, nil // an older and smaller one must not overtake it
		}
		photos, room = append(photos, Photo{h, b}), room-len(b)
	}
	return photos, 0, nil
}

// TakeInPhotos keeps the photos of a bundle that entries of the journal name,
// after its entries were taken in, and returns how many are kept now. An error is
// one of the store; taking the bundle in again goes on where it stopped.
func TakeInPhotos(ctx context.Context, log journal.Log, store blob.Store, photos []Photo) (kept int, err error) {
	for _, x := range photos {
		places, err := placesOf(ctx, log, x.Hash)
		if err == nil && len(places) > 0 {
			err = store.Put(ctx, x.Hash, x.Content)
			kept++
		}
		if err != nil {
			return kept, fmt.Errorf("take in photos: %w", err)
		}
	}
	return kept, nil
}
