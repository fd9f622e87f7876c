package office

import (
	"testing"

	"rung/internal/blob"
	"rung/internal/journal"
	"rung/internal/record"
)

// photographed records a photo on a phone, as its page does.
func (p *pocket) photographed(property record.PropertyID, v record.VisitID, content string) blob.Hash {
	p.shop.t.Helper()
	h := blob.HashOf([]byte(content))
	if err := p.log.Blobs().Put(p.shop.t.Context(), h, []byte(content)); err != nil {
		p.shop.t.Fatal(err)
	}
	e := journal.Envelope{ID: p.ids.Next(), Stream: property.Stream(), Device: p.name, Time: journal.TimeOf(*p.shop.now), Author: p.worker}
	if err := p.log.Append(p.shop.t.Context(), []journal.Envelope{record.Encode(e, record.PhotoTaken{Visit: v, Hash: h, Type: "image/jpeg", Bytes: len(content)})}); err != nil {
		p.shop.t.Fatal(err)
	}
	return h
}

// TestPhotosOfAPhone: the office takes the photos of a mechanic's phone, also
// after it was revoked, and nothing from who is no phone of the shop.
func TestPhotosOfAPhone(t *testing.T) {
	s := shopOf(t)
	p := s.enrolled("phone-1", "mechanic")
	p.client.CarryPhotos(p.log.Blobs(), nil)
	property, _, v := p.house("mechanic")
	send := func(what string, want int) {
		t.Helper()
		p.exchange()
		if done, err := p.client.RunPhotos(t.Context(), p); err != nil || done.Sent != want {
			t.Errorf("%s: %+v, %v, want %d sent", what, done, err, want)
		}
	}
	p.photographed(property, v, "one")
	send("a photo of a mechanic", 1)
	phones, err := s.office.Book.Phones(t.Context())
	if err != nil || len(phones) != 1 {
		t.Fatalf("%d phones, %v", len(phones), err)
	}
	if err := s.office.Book.Revoke(t.Context(), "owner", phones[0].ID); err != nil {
		t.Fatal(err)
	}
	h := p.photographed(property, v, "two")
	send("a photo on a revoked phone", 1)
	if code, _, _ := p.Do(t.Context(), "GET", "/api/exchange/photos/"+string(h), nil); code != 401 {
		t.Errorf("a revoked phone that fetches gets %d, want 401", code)
	}
	p.token = ""
	p.photographed(property, v, "three")
	if done, err := p.client.RunPhotos(t.Context(), p); err == nil {
		t.Errorf("a stranger: %+v, want a refusal", done)
	}
}
