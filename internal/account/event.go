package account

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"rung/internal/journal"
	"rung/internal/record"
)

// The entries of the journal of accounts. Like those of the work they are
// frozen: a change of meaning is a new kind.
type (
	accountAdded struct {
		Name string `json:"name"`
		Standing
	}
	standingSet struct{ Standing }
	passwordSet struct {
		Hash string `json:"hash"` // argon2id, in the usual text form
	}
	accountDisabled struct {
		Enabled bool `json:"enabled,omitempty"` // again
	}
	sessionOpened struct {
		Account  string         `json:"account"`
		Password record.EntryID `json:"password"` // in force when it was opened
	}
	sessionEnded struct{}
	codeMade     struct {
		Purpose string    `json:"purpose"` // "phone", "first-owner"
		Account string    `json:"account,omitempty"`
		Expires time.Time `json:"expires"`
	}
	codeUsed struct {
		Use string `json:"use"` // differs between two tries
	}
	phoneEnrolled struct {
		Account string `json:"account"`
		Label   string `json:"label"`
	}
	phoneRevoked struct{}
	phoneNamed   struct {
		Name string `json:"name"` // under which it writes entries of the work
	}
	phoneTold struct {
		Standing
		Revoked bool `json:"revoked,omitempty"`
	}
)

// kinds names every entry, and makes an empty one to decode into.
var kinds = map[string]func() any{
	"account-added":    func() any { return new(accountAdded) },
	"standing-set":     func() any { return new(standingSet) },
	"password-set":     func() any { return new(passwordSet) },
	"account-disabled": func() any { return new(accountDisabled) },
	"session-opened":   func() any { return new(sessionOpened) },
	"session-ended":    func() any { return new(sessionEnded) },
	"code-made":        func() any { return new(codeMade) },
	"code-used":        func() any { return new(codeUsed) },
	"phone-enrolled":   func() any { return new(phoneEnrolled) },
	"phone-revoked":    func() any { return new(phoneRevoked) },
	"phone-named":      func() any { return new(phoneNamed) },
	"phone-told":       func() any { return new(phoneTold) },
	"guessed":          func() any { return new(guessed) },
	"forgiven":         func() any { return new(forgiven) },
}

// encode puts kind and payload of an entry into e.
func encode(e journal.Envelope, kind string, event any) journal.Envelope {
	payload, err := json.Marshal(event)
	if err != nil {
		panic("account: " + err.Error()) // the structs hold nothing that JSON lacks
	}
	e.Kind, e.Version, e.Payload = kind, 1, payload
	return e
}

// decode returns the entry of an envelope, or nil for one of a later program.
func decode(e journal.Envelope) (any, error) {
	empty, known := kinds[e.Kind]
	if !known || e.Version != 1 {
		return nil, nil
	}
	event := empty()
	if err := json.Unmarshal(e.Payload, event); err != nil {
		return nil, fmt.Errorf("account: %s %s: %w", e.Kind, e.ID, err)
	}
	return event, nil
}

// Prefixes of the streams.
const (
	accountStream = "account/" // + key
	sessionStream = "session/" // + hash of the token
	codeStream    = "code/"    // + hash of the code
	phoneStream   = "phone/"   // + hash of the token
)

// foldAccount makes an account from its stream; false if it was never added.
func foldAccount(key string, envelopes []journal.Envelope) (a Account, found bool, err error) {
	a.Key = key
	for _, env := range inOrder(envelopes) {
		event, err := decode(env)
		if err != nil {
			return a, false, err
		}
		switch event := event.(type) {
		case *accountAdded:
			a.Name, a.Standing, a.Added, found = event.Name, event.Standing, env.Time.Wall(), true
		case *standingSet:
			a.Standing = event.Standing
		case *passwordSet:
			a.password = credential{event.Hash, record.EntryID(env.ID.String())}
		case *accountDisabled:
			if a.Closed = nil; !event.Enabled {
				at := env.Time.Wall()
				a.Closed = &at
			}
			a.Disabled = !event.Enabled
		}
	}
	return a, found, nil
}

// foldPhone makes a phone from its stream; false if it was never enrolled.
func foldPhone(token string, envelopes []journal.Envelope) (p Phone, found bool, err error) {
	p.token = token
	for _, env := range inOrder(envelopes) {
		event, err := decode(env)
		if err != nil {
			return p, false, err
		}
		switch event := event.(type) {
		case *phoneEnrolled:
			p.ID, p.Label, p.Account, p.Enrolled, found = env.ID.String(), event.Label, event.Account, env.Time.Wall(), true
		case *phoneRevoked:
			at := env.Time.Wall()
			p.Revoked = &at
		case *phoneNamed:
			p.Names = append(p.Names, event.Name)
		case *phoneTold:
			p.Told = append(p.Told, Told{env.Time.Wall(), event.Standing, event.Revoked})
		}
	}
	return p, found, nil
}

func inOrder(envelopes []journal.Envelope) []journal.Envelope {
	sorted := slices.Clone(envelopes)
	slices.SortFunc(sorted, journal.Compare)
	return sorted
}
