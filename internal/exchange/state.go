package exchange

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"rung/internal/journal"
)

// Keeper keeps the state of a device's exchange, beside its journal. Load gives
// nothing if nothing was saved. Saving need not be one with appending: a state
// that is older than the journal costs a repetition.
type Keeper interface {
	Load(ctx context.Context) ([]byte, error)
	Save(ctx context.Context, state []byte) error
}

// state is where the exchange of a device stands. Its zero value is always
// right: everything is offered and asked for again.
type state struct {
	// Handed is how far into the device's own journal the office has all.
	Handed journal.Cursor `json:"handed,omitempty"`
	// Got holds the entries after Handed that came from the office.
	Got []journal.ID `json:"got,omitempty"`
	// Received is the office's cursor.
	Received string           `json:"received,omitempty"`
	Wants    []journal.Stream `json:"wants,omitempty"`
	Refused  []Flag           `json:"refused,omitempty"`
	Last     time.Time        `json:"last,omitzero"`
	Problem  string           `json:"problem,omitempty"`
	// Standing is what the office said last of this device; nil if it never did.
	// Was is what it said before that, and Since when that changed, by the clock
	// here.
	Standing *Standing `json:"standing,omitempty"`
	Was      *Standing `json:"was,omitempty"`
	Since    time.Time `json:"since,omitzero"`
	// AtOffice holds the marks of photos that the office has, since OfferedAnew.
	AtOffice     marks     `json:"at_office,omitempty"`
	OfferedAnew  time.Time `json:"offered_anew,omitzero"`
	PhotoProblem string    `json:"photo_problem,omitempty"`
}

// load reads the state; what cannot be read counts as none.
func load(ctx context.Context, k Keeper) (state, error) {
	text, err := k.Load(ctx)
	if err != nil {
		return state{}, fmt.Errorf("state of the exchange: %w", err)
	}
	var s state
	if len(text) > 0 && json.Unmarshal(text, &s) != nil {
		return state{}, nil
	}
	return s, nil
}

func save(ctx context.Context, k Keeper, s state) error {
	text, err := json.Marshal(s)
	if err != nil {
		panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
	}
	if err := k.Save(ctx, text); err != nil {
		return fmt.Errorf("state of the exchange: %w", err)
	}
	return nil
}

// refuse remembers what the other side did not take, each entry once.
func (s *state) refuse(flags []Flag) {
	for _, f := range flags {
		if !slices.Contains(s.Refused, f) {
			s.Refused = append(s.Refused, f)
		}
	}
}

// passed forgets what came from the office once Handed has passed it.
func (s *state) passed(page []journal.Envelope) {
	gone := map[journal.ID]bool{}
	for _, e := range page {
		gone[e.ID] = true
	}
	s.Got = slices.DeleteFunc(s.Got, func(id journal.ID) bool { return gone[id] })
}

// waits returns whether an entry that lies behind Handed is still to be offered.
func (s state) waits() func(journal.Envelope) bool {
	got := map[journal.ID]bool{}
	for _, id := range s.Got {
		got[id] = true
	}
	return func(e journal.Envelope) bool { return !got[e.ID] && Travels(e.Stream) }
}
