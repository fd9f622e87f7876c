package exchange

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/role"
)

// doubting is a registrar that lets nothing of Eve's in.
type doubting struct{}

func (doubting) Meet(_ context.Context, by Grant, _, mark string) (*Standing, error) {
	s := Standing{Device: by.Device, Author: by.Author, Standing: role.Standing{Role: role.Mechanic}, Revoked: by.HandInOnly}.Marked()
	if s.Mark == mark {
		return nil, nil
	}
	return &s, nil
}

func (doubting) Judge(_ context.Context, _ Grant, offered []journal.Envelope, _ func(context.Context, journal.Stream) ([]journal.Envelope, error)) ([]Verdict, error) {
	list := make([]Verdict, len(offered))
	for i, e := range offered {
		if e.Author == "Eve" {
			list[i].Why = "It is Eve's."
		}
	}
	return list, nil
}

// TestHeld: what may not come in is kept aside and told of, once however often it
// is offered; what is too large for that is told of and stays on the phone.
func TestHeld(t *testing.T) {
	office, phone := pair()
	office.Registrar = doubting{}
	revoked := false
	office.Authorise = func(*http.Request) (Grant, error) {
		return Grant{Device: "enrolled", Author: "Ada", HandInOnly: revoked}, nil
	}
	held := Held{office.Log, atNoon}
	good, bad, large := entry("property/A", 1), entry("property/A", 2), entry("property/A", 3)
	bad.Author, large.Author = "Eve", "Eve"
	large.Payload = bytes.Repeat([]byte{1}, journal.MaxPayload)
	write(t, phone.log, good, bad, large)
	for range 2 {
		done := run(t, phone, wire{office})
		if got := fmt.Sprint(whys(done.Flagged)); done.Sent != 1 || got != "[aside not-taken]" {
			t.Errorf("%d sent, flagged %s", done.Sent, got)
		}
		if list, err := held.List(t.Context()); err != nil || len(list) != 1 || !journal.Equal(list[0].Entry, bad) || list[0].Person != "Ada" || list[0].Bringer != "enrolled" {
			t.Errorf("kept aside are %+v, %v", list, err)
		}
		if s := status(t, phone); s.Waiting != 0 {
			t.Errorf("%+v", s)
		}
		if _, err := phone.change(t.Context(), func(s *state) { s.Handed, s.Received = journal.Start, "" }); err != nil {
			t.Fatal(err)
		}
	}
	list, _ := held.List(t.Context())
	for range 2 {
		if flags, err := held.Take(t.Context(), "Ada", []journal.ID{list[0].ID}); flags != nil || err != nil {
			t.Fatalf("%+v, %v", flags, err)
		}
	}
	if list, _ := held.List(t.Context()); len(list) != 0 {
		t.Errorf("taken in, and still aside: %+v", list)
	}
	run(t, phone, wire{office}) // what was taken in is offered again, and known
	other := NewClient(phone.log, &kept{}, "other", atNoon)
	if done := run(t, other, wire{office}); done.Sent != 2 {
		t.Errorf("another time: %+v", done)
	}
}

// TestStanding: a device keeps what the office said last, and knows what changed.
func TestStanding(t *testing.T) {
	office, phone := pair()
	office.Registrar = doubting{}
	grant := Grant{Device: "enrolled", Author: "Ada"}
	office.Authorise = func(*http.Request) (Grant, error) { return grant, nil }
	if k, err := phone.Standing(t.Context()); k != nil || err != nil {
		t.Errorf("before it was enrolled: %+v, %v", k, err)
	}
	now := noon
	phone.now = func() time.Time { return now }
	known := func() Known {
		t.Helper()
		run(t, phone, wire{office})
		k, err := phone.Standing(t.Context())
		if err != nil || k == nil {
			t.Fatal(k, err)
		}
		return *k
	}
	if k := known(); k.Author != "Ada" || k.Role != role.Mechanic || k.Was != nil || k.Revoked {
		t.Errorf("enrolled: %+v", k)
	}
	now = now.Add(time.Hour)
	if k := known(); !k.Since.Equal(noon) {
		t.Errorf("unchanged: %+v", k)
	}
	grant.HandInOnly = true
	if k := known(); !k.Revoked || k.Was == nil || k.Was.Revoked || !k.Since.Equal(now) {
		t.Errorf("revoked: %+v", k)
	}
}
