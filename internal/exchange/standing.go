package exchange

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"time"

	"rung/internal/record"
	"rung/internal/role"
)

// Standing is what the office says to a device about itself: for whom it is
// enrolled, and what that person is.
type Standing struct {
	// Mark tells this from what was said before; the device gives it back.
	Mark   string `json:"mark"`
	Device string `json:"device"`
	Author string `json:"author"`
	role.Standing
	// Revoked says that the device hands in what it holds and gets nothing more:
	// it was revoked, or its person may no longer sign in.
	Revoked bool `json:"revoked,omitempty"`
	// People lists who works at a unit in this shop.
	People []record.Person `json:"people,omitempty"`
}

// Marked returns s with its mark.
func (s Standing) Marked() Standing {
	s.Mark = ""
	text, err := json.Marshal(s)
	if err != nil {
		panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
	}
	sum := sha256.Sum256(text)
	s.Mark = hex.EncodeToString(sum[:8])
	return s
}

func (s *Standing) mark() string {
	if s == nil {
		return ""
	}
	return s.Mark
}

// sameWork says whether two standings let a person do the same.
func (s *Standing) sameWork(t *Standing) bool {
	return s != nil && t != nil && s.Author == t.Author && s.Standing == t.Standing && s.Revoked == t.Revoked
}

// told notes what the office said of this device; nil if it said nothing new.
func (s *state) told(now *Standing, at time.Time) {
	if now == nil {
		return
	}
	if !s.Standing.sameWork(now) {
		s.Was, s.Since = s.Standing, at
	}
	s.Standing = now
}

// Known is how a device stands with the office, as far as it was told.
type Known struct {
	Standing
	Was   *Standing // before the last change; nil if there was none
	Since time.Time // of the last change
}

// Standing returns what the office said last; nil if this device was never
// enrolled.
func (c *Client) Standing(ctx context.Context) (*Known, error) {
	s, err := c.read(ctx)
	if err != nil || s.Standing == nil {
		return nil, err
	}
	return &Known{*s.Standing, s.Was, s.Since}, nil
}
