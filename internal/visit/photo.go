package visit

import (
	"context"
	"errors"
	"fmt"

	"rung/internal/blob"
	"rung/internal/ledger"
	"rung/internal/picture"
	"rung/internal/record"
)

// PhotoSubjects lists what a photo can show.
func (s *Service) PhotoSubjects() []Choice {
	return []Choice{
		{"nameplate", "Nameplate"}, {"wiring", "Wiring"}, {"panel", "Panel, inside"}, {"damage", "Damage"},
		{"before", "Before the work"}, {"after", "After the work"}, {"other", "Something else"},
	}
}

// AddPhoto keeps a photo of a visit or a unit and records it. What a camera
// writes beside the picture is taken out first. The picture is kept for good
// before the entry that names it is: an entry never promises what is not there.
func (s *Service) AddPhoto(ctx context.Context, by By, in PhotoInput) (record.EntryID, error) {
	if s.blobs == nil {
		return "", errorf(Denied, "No photos can be kept here.")
	}
	p, err := s.placeOfPhoto(ctx, in)
	if err != nil {
		return "", err
	}
	if _, err := by.form(); err != nil {
		return "", err
	}
	var wrong fieldErrors
	s.checkSubject(&wrong, in)
	x := wrong.picture(in.Content)
	if err := wrong.err(); err != nil {
		return "", err
	}
	h := blob.HashOf(x.Bytes)
	if err := s.blobs.Put(ctx, h, x.Bytes); err != nil {
		return "", fmt.Errorf("keep a photo: %w", err)
	}
	ids, err := s.write(ctx, by, p, []record.Event{record.PhotoTaken{
		Visit: in.Visit, Unit: in.Unit, Check: in.Check, Point: in.Point, Hash: h, Type: x.Type, Bytes: len(x.Bytes), Width: x.Width, Height: x.Height,
		Shows: in.Shows, Caption: clean(in.Caption), Customer: in.Customer,
	}})
	if err != nil {
		return "", err
	}
	return ids[0], nil
}

// placeOfPhoto loads the property of the visit and of the unit, which must be
// the same.
func (s *Service) placeOfPhoto(ctx context.Context, in PhotoInput) (loaded, error) {
	if in.Visit != "" {
		p, _, err := s.loadVisit(ctx, in.Visit)
		if err != nil {
			return p, err
		}
		if _, _, here := p.Unit(in.Unit); in.Unit != "" && !here {
			return p, errorf(NotFound, "There is no such unit here.")
		}
		return p, nil
	}
	p, err := s.whereIs(ctx, "unit", string(in.Unit))
	if err != nil {
		return p, err
	}
	if _, _, here := p.Unit(in.Unit); !here {
		return p, errorf(NotFound, "There is no such unit here.")
	}
	return p, nil
}

// checkSubject adds what is wrong with what the photo is said to show.
func (s *Service) checkSubject(wrong *fieldErrors, in PhotoInput) {
	if in.Shows != "" {
		wrong.oneOf("shows", in.Shows, s.PhotoSubjects(), "Choose what the photo shows.")
	}
	if in.Check == "" {
		return
	}
	c, err := s.check(in.Check)
	if err != nil || in.Visit == "" {
		wrong.add("check", NotFound, "There is no check %q on this visit.", in.Check)
		return
	}
	if in.Point != "" {
		if _, known := pointOf(c, in.Point); !known {
			wrong.add("point", NotFound, "The check %s has no such point.", c.Name.EN)
		}
	}
}

// picture takes out of a file what is no picture, and adds what is wrong with it.
func (f *fieldErrors) picture(content []byte) picture.Picture {
	if len(content) == 0 {
		f.add("photo", Invalid, "Take a photo first, or choose one.")
		return picture.Picture{}
	}
	if len(content) > blob.MaxSize {
		f.add("photo", OutOfRange, "%s", TooLargePhoto)
		return picture.Picture{}
	}
	x, err := picture.Clean(content)
	switch {
	case err == nil:
		return x
	case errors.Is(err, picture.ErrType):
		f.add("photo", Invalid, "That is no JPEG, PNG or WebP picture. Photos of other kinds cannot be kept: set the camera to JPEG (some phones call it “most compatible”).")
	case errors.Is(err, picture.ErrMoving):
		f.add("photo", Invalid, "That is a moving picture. Take a still one.")
	case errors.Is(err, picture.ErrPoints):
		f.add("photo", OutOfRange, "The photo has more points than a page can show. Take it at a smaller size.")
	default:
		f.add("photo", Invalid, "The photo is damaged or was cut short on the way. Take it once more.")
	}
	return picture.Picture{}
}

// TooLargePhoto says that a photo is larger than blob.MaxSize.
var TooLargePhoto = fmt.Sprintf("The photo is larger than %d MB. Set the camera to a smaller size.", blob.MaxSize>>20)

// photoOf loads a property and wants an entry of it to be a photo.
func (s *Service) photoOf(ctx context.Context, property record.PropertyID, photo record.EntryID) (loaded, error) {
	p, err := s.knownProperty(ctx, property)
	if err != nil {
		return p, err
	}
	if kind, _ := p.Holds(photo); kind != "photo-taken" {
		return p, errorf(NotFound, "There is no such photo here.")
	}
	return p, nil
}

// MarkPhoto records whether the customer gets a photo with the report.
func (s *Service) MarkPhoto(ctx context.Context, by By, property record.PropertyID, photo record.EntryID, customer bool) error {
	p, err := s.photoOf(ctx, property, photo)
	if err != nil {
		return err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.PhotoMarked{Photo: photo, Customer: customer}})
	return err
}

// WithdrawPhoto takes a photo back. Its bytes stay where they are; they are shown
// nowhere any more and given to nobody who lacks them.
func (s *Service) WithdrawPhoto(ctx context.Context, by By, property record.PropertyID, photo record.EntryID, why string) error {
	p, err := s.photoOf(ctx, property, photo)
	if err != nil {
		return err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.EntryWithdrawn{Entry: photo, Why: clean(why)}})
	return err
}

// Picture returns the bytes of a photo and their media type, as their content
// says: what an entry says of it is not relied on.
func (s *Service) Picture(ctx context.Context, h blob.Hash) (content []byte, kind string, err error) {
	if s.blobs == nil {
		return nil, "", errorf(NotFound, "No photos are kept here.")
	}
	content, err = s.blobs.Get(ctx, h)
	switch {
	case errors.Is(err, blob.ErrMissing), errors.Is(err, blob.ErrHash):
		return nil, "", errorf(NotFound, "This photo is not here yet.")
	case err != nil:
		return nil, "", fmt.Errorf("read a photo: %w", err)
	}
	if kind = picture.Type(content); kind == "" {
		return nil, "", errorf(NotFound, "That is no photo.")
	}
	return content, kind, nil
}

// NotHere returns those of the photos whose bytes are not here yet.
func (s *Service) NotHere(ctx context.Context, photos []*ledger.Photo) (map[blob.Hash]bool, error) {
	missing := map[blob.Hash]bool{}
	list := make([]blob.Hash, len(photos))
	for i, x := range photos {
		list[i] = x.Hash
	}
	if s.blobs != nil {
		var err error
		if list, err = s.blobs.Missing(ctx, list); err != nil {
			return nil, fmt.Errorf("ask for photos: %w", err)
		}
	}
	for _, h := range list {
		missing[h] = true
	}
	return missing, nil
}
