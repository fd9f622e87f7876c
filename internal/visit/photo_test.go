package visit

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"image/png"
	"testing"

	"rung/internal/blob"
	"rung/internal/journal"
	"rung/internal/record"
)

// shot returns a picture of its own for every shade.
func shot(t testing.TB, shade uint8) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 12, 9))
	for i := range m.Pix {
		m.Pix[i] = shade
	}
	m.Set(1, 1, color.Gray{shade ^ 0x55})
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// kindOf returns the kind of an error of this package, "" of another.
func kindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return ""
}

func TestPhotos(t *testing.T) {
	s := newShop(t)
	s.blobs = s.log.Blobs()
	ctx := t.Context()
	property, system, unit := s.house()
	v := must(s.OpenVisit(ctx, s.by(), system, OpenInput{Words: "warm", Complaint: "not-cooling", Who: record.Person{Name: "Ada"}}))(t)
	by := s.by()
	in := PhotoInput{Visit: v, Unit: unit, Check: "cap-bench", Point: "herm", Shows: "damage", Caption: " swollen ", Customer: true, Content: shot(t, 1)}
	id := must(s.AddPhoto(ctx, by, in))(t)
	if again := must(s.AddPhoto(ctx, by, in))(t); again != id {
		t.Errorf("the same form is entry %s, then %s", id, again)
	}
	other := in
	other.Content = shot(t, 2)
	if _, err := s.AddPhoto(ctx, by, other); kindOf(err) != Conflict {
		t.Errorf("the same form with another picture = %v, want a Conflict", err)
	}
	plate := must(s.AddPhoto(ctx, s.by(), PhotoInput{Unit: unit, Shows: "nameplate", Content: shot(t, 3)}))(t)

	p, _, u, err := s.Unit(ctx, unit)
	s.ok(err)
	if len(u.Photos) != 2 || u.Photos[1].ID() != plate || len(p.Photos) != 2 {
		t.Fatalf("the unit shows %d photos, the property %d, want 2 and 2", len(u.Photos), len(p.Photos))
	}
	x := u.Photos[0]
	if x.Caption != "swollen" || x.Type != "image/png" || x.Width != 12 || x.Height != 9 || !x.Customer || x.Visit != v || x.Point != "herm" {
		t.Errorf("the photo is %+v", x.PhotoTaken)
	}
	b, kind, err := s.Picture(ctx, x.Hash)
	if err != nil || kind != "image/png" || len(b) != x.Bytes || blob.HashOf(b) != x.Hash {
		t.Errorf("its picture is %d bytes of %s, %v, want %d", len(b), kind, err, x.Bytes)
	}
	s.ok(s.MarkPhoto(ctx, s.by(), property, id, false))
	s.ok(s.WithdrawPhoto(ctx, s.by(), property, plate, "blurred"))
	p = must(s.Property(ctx, property))(t)
	if len(p.Photos) != 1 || p.Photos[0].Customer {
		t.Errorf("afterwards the photos are %+v", p.Photos)
	}
	for name, err := range map[string]error{
		"marking a visit":  s.MarkPhoto(ctx, s.by(), property, record.EntryID(v), true),
		"taking it back":   s.WithdrawPhoto(ctx, s.by(), property, record.EntryID(v), ""),
		"an unknown photo": s.MarkPhoto(ctx, s.by(), property, "nothing", true),
		"no property":      s.WithdrawPhoto(ctx, s.by(), "nowhere", id, ""),
	} {
		if kindOf(err) != NotFound {
			t.Errorf("%s = %v, want NotFound", name, err)
		}
	}
}

// TestPhotoRefused: what is no photo, belongs nowhere or cannot be kept leaves
// no entry.
func TestPhotoRefused(t *testing.T) {
	s := newShop(t)
	s.blobs = s.log.Blobs()
	v, unit := s.call()
	before := s.entries()
	for name, c := range map[string]struct {
		in    PhotoInput
		field string
		kind  Kind
	}{
		"nothing":        {PhotoInput{Visit: v}, "photo", Invalid},
		"a page":         {PhotoInput{Visit: v, Content: []byte("<!DOCTYPE html><script>")}, "photo", Invalid},
		"too large":      {PhotoInput{Visit: v, Content: make([]byte, blob.MaxSize+1)}, "photo", OutOfRange},
		"cut short":      {PhotoInput{Visit: v, Content: shot(t, 1)[:60]}, "photo", Invalid},
		"moving":         {PhotoInput{Visit: v, Content: append([]byte("RIFF\x16\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00\x02"), make([]byte, 9)...)}, "photo", Invalid},
		"another thing":  {PhotoInput{Visit: v, Shows: "selfie", Content: shot(t, 1)}, "shows", Invalid},
		"another check":  {PhotoInput{Visit: v, Check: "x", Content: shot(t, 1)}, "check", NotFound},
		"another point":  {PhotoInput{Visit: v, Check: "cap-bench", Point: "x", Content: shot(t, 1)}, "point", NotFound},
		"check nowhere":  {PhotoInput{Unit: unit, Check: "cap-bench", Content: shot(t, 1)}, "check", NotFound},
		"another unit":   {PhotoInput{Visit: v, Unit: "x", Content: shot(t, 1)}, "", NotFound},
		"another visit":  {PhotoInput{Visit: "x", Content: shot(t, 1)}, "", NotFound},
		"nowhere at all": {PhotoInput{Content: shot(t, 1)}, "", NotFound},
	} {
		_, err := s.AddPhoto(t.Context(), s.by(), c.in)
		var e *Error
		if !errors.As(err, &e) || e.Kind != c.kind || c.field != "" && e.Field(c.field) == "" {
			t.Errorf("%s: %v, want %s at %q", name, err, c.kind, c.field)
		}
	}
	s.blobs = full{s.log.Blobs()}
	if _, err := s.AddPhoto(t.Context(), s.by(), PhotoInput{Visit: v, Content: shot(t, 1)}); !errors.Is(err, journal.ErrFull) {
		t.Errorf("without room = %v, want ErrFull", err)
	}
	s.blobs = nil
	if _, err := s.AddPhoto(t.Context(), s.by(), PhotoInput{Visit: v, Content: shot(t, 1)}); kindOf(err) != Denied {
		t.Errorf("without a store = %v, want Denied", err)
	}
	if n := s.entries(); n != before {
		t.Errorf("%d entries were made of photos that are not kept", n-before)
	}
}

// full is a store without room.
type full struct{ blob.Store }

func (full) Put(context.Context, blob.Hash, []byte) error { return journal.ErrFull }

// TestPhotoNotHere: a photo whose bytes did not arrive is there without them, and
// bytes that are no picture are not given out as one.
func TestPhotoNotHere(t *testing.T) {
	s := newShop(t)
	s.blobs = s.log.Blobs()
	ctx := t.Context()
	v, _ := s.call()
	must(s.AddPhoto(ctx, s.by(), PhotoInput{Visit: v, Content: shot(t, 1)}))(t)
	must(s.AddPhoto(ctx, s.by(), PhotoInput{Visit: v, Content: shot(t, 2)}))(t)
	here := must(s.Visit(ctx, v))(t)
	photos := here.Visit.Photos
	if missing := must(s.NotHere(ctx, photos))(t); len(missing) != 0 {
		t.Errorf("not here: %v, want none", missing)
	}
	elsewhere := newShop(t)
	s.blobs = elsewhere.log.Blobs()
	kept, _, err := (&Service{blobs: s.log.Blobs()}).Picture(ctx, photos[1].Hash)
	s.ok(err)
	s.ok(s.blobs.Put(ctx, photos[1].Hash, kept))
	if missing := must(s.NotHere(ctx, photos))(t); len(missing) != 1 || !missing[photos[0].Hash] {
		t.Errorf("not here: %v, want the first", missing)
	}
	page := []byte("<script>")
	s.ok(s.blobs.Put(ctx, blob.HashOf(page), page))
	for _, h := range []blob.Hash{photos[0].Hash, blob.HashOf(page), "../x", ""} {
		if b, _, err := s.Picture(ctx, h); kindOf(err) != NotFound || b != nil {
			t.Errorf("Picture(%q) = %d bytes, %v, want NotFound", h, len(b), err)
		}
	}
	s.blobs = nil
	if missing := must(s.NotHere(ctx, photos))(t); len(missing) != 2 {
		t.Errorf("without a store not here: %v, want all", missing)
	}
}
