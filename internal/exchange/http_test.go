//go:build !js

package exchange

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"rung/internal/journal"
)

// TestOverNetwork runs over a real connection, with packed answers.
func TestOverNetwork(t *testing.T) {
	office, phone := pair()
	write(t, office.Log, entries("property/B", 0, 600)...)
	write(t, phone.log, entries("property/A", 0, 600)...)
	server := httptest.NewServer(office)
	defer server.Close()
	if done := run(t, phone, HTTP{URL: server.URL}); done.Sent != 600 || done.Received < 600 {
		t.Errorf("%+v", done)
	}
	server.Close()
	write(t, phone.log, entry("property/A", 900))
	if _, err := phone.Run(t.Context(), HTTP{URL: server.URL}); !errors.Is(err, errNoAnswer) {
		t.Errorf("Run without an office = %v", err)
	}
	if s := status(t, phone); s.Waiting != 1 || !strings.HasPrefix(s.Problem, "The office did not answer") {
		t.Errorf("%+v", s)
	}
}

func TestAuthorise(t *testing.T) {
	office, phone := pair()
	revoked := false
	office.Authorise = func(r *http.Request) (Grant, error) {
		if r.Header.Get("Authorization") != "yes" {
			return Grant{}, errors.New("who is that")
		}
		return Grant{Device: "enrolled", HandInOnly: revoked}, nil
	}
	seen := ""
	office.Policy = func(_ context.Context, device string, _ []journal.Stream) (map[journal.Stream]bool, error) {
		seen = device
		return nil, nil
	}
	server := httptest.NewServer(office)
	defer server.Close()
	write(t, phone.log, entry("property/A", 1))
	if _, err := phone.Run(t.Context(), HTTP{URL: server.URL}); err == nil || len(all(t, office.Log)) != 0 {
		t.Errorf("without sign-in: %v", err)
	}
	if s := status(t, phone); !strings.Contains(s.Problem, "Enrol it there") {
		t.Errorf("%+v", s)
	}
	if done := run(t, phone, HTTP{URL: server.URL, Header: http.Header{"Authorization": {"yes"}}}); done.Sent != 1 || seen != "enrolled" {
		t.Errorf("%+v by %q", done, seen)
	}
	// A revoked phone hands in what it holds and is given nothing.
	revoked, seen = true, ""
	write(t, office.Log, entry("property/A", 5))
	write(t, phone.log, entry("property/A", 6))
	done := run(t, phone, HTTP{URL: server.URL, Header: http.Header{"Authorization": {"yes"}}})
	if done.Sent != 1 || done.Received != 0 || seen != "" || len(all(t, office.Log)) != 3 {
		t.Errorf("revoked: %+v, asked what %q carries, %d entries at the office", done, seen, len(all(t, office.Log)))
	}
}
