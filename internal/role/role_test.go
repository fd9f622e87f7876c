package role

import (
	"net/http/httptest"
	"testing"

	"rung/internal/record"
)

// TestEveryKindHasARule: a new kind of entry is placed before it is written.
func TestEveryKindHasARule(t *testing.T) {
	for _, kind := range record.Kinds() {
		if !Judged(kind) {
			t.Errorf("%s is in no table of kinds.go: say who may write it", kind)
		}
	}
	if Judged("of-a-later-program") {
		t.Error("a kind that is not known is judged")
	}
}

func TestTables(t *testing.T) {
	for _, c := range []struct {
		method, path             string
		atOffice, inPhone, after bool // for an apprentice; after: of a revoked phone
	}{
		{"GET", "/visits/x", true, true, true},
		{"POST", "/visits/x/readings", true, true, false},
		{"POST", "/visits/x/close", false, false, false},
		{"POST", "/properties/x/settle", false, false, false},
		{"POST", "/hand-over/run", false, true, true},
		{"POST", "/hand-over/seen", false, true, true},
		{"POST", "/hand-over/want", false, true, false},
		{"POST", "/hand-over/file", false, false, false},
		{"GET", "/hand-over", false, true, true},
		{"GET", "/properties/x/entries", false, false, true},
		{"POST", "/learned/share", false, false, false},
		{"POST", "/of-tomorrow", false, false, false},
	} {
		r := httptest.NewRequest(c.method, c.path, nil)
		for name, table := range map[string]struct {
			Table
			want bool
		}{"at the office": {AtOffice(), c.atOffice}, "in a phone": {InPhone(), c.inPhone}} {
			rule, listed := table.Of(r)
			if got := listed && rule.Allows(Apprentice, false); got != table.want {
				t.Errorf("%s %s %s: %v, want %v", c.method, c.path, name, got, table.want)
			}
		}
		if got := InPhone().OpenToRevoked(r); got != c.after {
			t.Errorf("%s %s of a revoked phone: %v, want %v", c.method, c.path, got, c.after)
		}
	}
	share := httptest.NewRequest("POST", "/learned/share", nil)
	if rule, _ := InPhone().Of(share); !rule.Allows(Owner, false) {
		t.Error("an owner cannot share counts from his phone")
	}
	if rule, _ := AtOffice().Of(share); rule.Allows(Owner, false) {
		t.Error("an owner's phone shares counts at the office without a password")
	}
}
