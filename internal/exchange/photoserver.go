package exchange

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"rung/internal/blob"
)

// NotNamed refuses a photo that no entry at the office names, or that is not
// there: ask again after entries were exchanged.
const NotNamed Kind = "not-named"

// servePhotos answers questions about photos, takes and gives them.
func (s *Server) servePhotos(w http.ResponseWriter, r *http.Request) {
	g, err := s.authorise(r)
	if err != nil {
		s.refuse(w, &Error{Denied, "The office does not know this phone. Enrol it there, with a code from the page Phones; nothing on the phone is lost."})
		return
	}
	var answer any
	name := strings.TrimPrefix(strings.TrimPrefix(r.URL.Path, PhotoPath), "/")
	switch {
	case s.Blobs == nil:
		err = &Error{NotNamed, "The office keeps no photos."}
	case name == "":
		answer, err = s.askedPhotos(r, g)
	case r.Method == http.MethodPost:
		answer, err = s.takePhoto(r, name)
	case g.HandInOnly:
		err = &Error{Denied, "This phone may hand in and gets nothing any more."}
	default:
		err = s.givePhoto(w, r, name)
	}
	if err != nil {
		s.refuse(w, s.refusalOf(err))
		return
	}
	if answer != nil {
		w.Header().Set("Content-Type", "application/json")
		w.Header().Set("Cache-Control", "no-store")
		json.NewEncoder(w).Encode(answer) // a phone that is gone asks again
	}
}

func (s *Server) askedPhotos(r *http.Request, g Grant) (PhotoAnswer, error) {
	var q PhotoRequest
	body, err := readBody(r, maxBody)
	if err != nil {
		return PhotoAnswer{}, err
	}
	if json.Unmarshal(body, &q) != nil {
		return PhotoAnswer{}, &Error{BadForm, "The request could not be read whole. Send it again."}
	}
	if g.Device != "" {
		q.Device = g.Device
	}
	return s.photos(r.Context(), q, g.HandInOnly)
}

// readBody reads a request of at most so many bytes.
func readBody(r *http.Request, most int64) ([]byte, error) {
	body, err := io.ReadAll(http.MaxBytesReader(nil, r.Body, most))
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		return nil, &Error{TooLarge, fmt.Sprintf("A request holds %d bytes at most.", most)}
	case err != nil:
		return nil, &Error{BadForm, "The request could not be read whole. Send it again."}
	}
	return body, nil
}

// photos says which of the photos offered are lacking here, and which of those
// sought can be fetched: of properties that the device carries.
func (s *Server) photos(ctx context.Context, q PhotoRequest, handInOnly bool) (PhotoAnswer, error) {
	a := PhotoAnswer{Version: Version}
	if len(q.Offer) > maxHashes || len(q.Seek) > maxHashes || len(q.Wants) > maxWants {
		return a, &Error{TooLarge, fmt.Sprintf("A request names %d photos and %d wishes at most.", maxHashes, maxWants)}
	}
	for _, h := range append(q.Offer[:len(q.Offer):len(q.Offer)], q.Seek...) {
		if _, err := blob.ParseHash(string(h)); err != nil {
			return a, &Error{BadForm, "That is no name of a photo."}
		}
	}
	lacking, err := s.Blobs.Missing(ctx, q.Offer)
	if err != nil {
		return a, err
	}
	a.Have = blob.Lacking(q.Offer, setOf(lacking))
	for _, h := range lacking { // few: what is not here is what was just taken
		places, err := placesOf(ctx, s.Log, h)
		if err != nil {
			return a, err
		}
		if len(places) > 0 {
			a.Lack = append(a.Lack, h)
		}
	}
	if handInOnly || len(q.Seek) == 0 {
		return a, nil
	}
	a.Hold, err = s.toGive(ctx, q)
	return a, err
}

// toGive returns those of the photos sought that are here and belong to a
// property that the device carries.
func (s *Server) toGive(ctx context.Context, q PhotoRequest) ([]blob.Hash, error) {
	missing, err := s.Blobs.Missing(ctx, q.Seek)
	if err != nil {
		return nil, err
	}
	carried, err := s.policy()(ctx, q.Device, q.Wants)
	if err != nil {
		return nil, err
	}
	var give []blob.Hash
	for _, h := range blob.Lacking(q.Seek, setOf(missing)) {
		places, err := placesOf(ctx, s.Log, h)
		if err != nil {
			return nil, err
		}
		for _, p := range places {
			if carried[p.Stream()] {
				give = append(give, h)
				break
			}
		}
	}
	return give, nil
}

func setOf(list []blob.Hash) map[blob.Hash]bool {
	set := map[blob.Hash]bool{}
	for _, h := range list {
		set[h] = true
	}
	return set
}

// named reads the hash in an address and wants an entry to name it, so that
// nobody stores here what belongs to no house.
func (s *Server) named(ctx context.Context, name string) (blob.Hash, error) {
	h, err := blob.ParseHash(name)
	if err != nil {
		return "", &Error{BadForm, "That is no name of a photo."}
	}
	places, err := placesOf(ctx, s.Log, h)
	if err == nil && len(places) == 0 {
		err = &Error{NotNamed, "No entry at the office names this photo."}
	}
	return h, err
}

func (s *Server) takePhoto(r *http.Request, name string) (PhotoAnswer, error) {
	h, err := s.named(r.Context(), name)
	if err != nil {
		return PhotoAnswer{}, err
	}
	b, err := readBody(r, blob.MaxSize)
	if err != nil {
		return PhotoAnswer{}, err
	}
	err = s.Blobs.Put(r.Context(), h, b)
	var size *blob.SizeError
	if errors.Is(err, blob.ErrHash) || errors.As(err, &size) {
		return PhotoAnswer{}, &Error{BadForm, "The photo did not arrive whole. Send it again."}
	}
	return PhotoAnswer{Version: Version, Have: []blob.Hash{h}}, err
}

func (s *Server) givePhoto(w http.ResponseWriter, r *http.Request, name string) error {
	h, err := s.named(r.Context(), name)
	if err != nil {
		return err
	}
	b, err := s.Blobs.Get(r.Context(), h)
	if errors.Is(err, blob.ErrMissing) {
		return &Error{NotNamed, "This photo is not at the office."}
	}
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Cache-Control", "no-store")
	w.Write(b) // compared with its hash where it arrives
	return nil
}
