package exchange

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"rung/internal/journal"
)

// Status is how the exchange of this device stands, for every page to show.
type Status struct {
	Waiting int       // entries that the office does not have yet
	Oldest  time.Time // the oldest of them by its own date; zero if none waits
	Last    time.Time // of the last exchange that was finished; zero if none was
	Problem string    // what keeps entries from being exchanged, one sentence
}

// Text says the status in one line: "3 entries not handed over, oldest 3 h,
// last exchange 10:42". The last exchange is given with its day if that is not
// today's.
func (s Status) Text(now time.Time, zone *time.Location) string {
	var parts []string
	switch s.Waiting {
	case 0:
		parts = append(parts, "Everything is handed over")
	case 1:
		parts = append(parts, "1 entry not handed over, "+ago(s.Oldest, now)+" old")
	default:
		parts = append(parts, fmt.Sprintf("%d entries not handed over, oldest %s", s.Waiting, ago(s.Oldest, now)))
	}
	switch last, today := s.Last.In(zone), now.In(zone); {
	case s.Last.IsZero():
		parts = append(parts, "no exchange yet")
	case last.Format(time.DateOnly) == today.Format(time.DateOnly):
		parts = append(parts, "last exchange "+last.Format("15:04"))
	default:
		parts = append(parts, "last exchange "+last.Format("2 January 15:04"))
	}
	return strings.Join(parts, ", ")
}

// ago prints how long before now a moment was, as people say it.
func ago(t, now time.Time) string {
	d := now.Sub(t)
	switch {
	case d < time.Minute:
		return "1 min"
	case d < time.Hour:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h", int(d.Hours()))
	}
	return fmt.Sprintf("%d days", int(d.Hours()/24))
}

// counting remembers how far the waiting entries were counted, so that a page
// counts only what came since.
type counting struct {
	from, to journal.Cursor // from is Handed as it was when the counting began
	got      int            // entries in Got then
	waiting  int
	oldest   journal.Time
}

// Status tells how the exchange stands. It does not ask the office.
func (c *Client) Status(ctx context.Context) (Status, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	s, err := load(ctx, c.keeper)
	if err != nil {
		return Status{}, err
	}
	if err := c.countOn(ctx, s); err != nil {
		return Status{}, fmt.Errorf("status of the exchange: %w", err)
	}
	status := Status{Waiting: c.count.waiting, Last: s.Last, Problem: s.problem()}
	if c.count.waiting > 0 {
		status.Oldest = c.count.oldest.Wall()
	}
	return status, nil
}

// problem returns what is the matter, the refusal of single entries last.
func (s state) problem() string {
	if n := len(s.Refused); s.Problem == "" && n == 1 {
		return "An entry was flagged in the exchange. " + s.Refused[0].Text
	} else if s.Problem == "" && n > 1 {
		return fmt.Sprintf("%d entries were flagged in the exchange. %s", n, s.Refused[0].Text)
	}
	return s.Problem
}

// countOn counts from where the last counting ended.
func (c *Client) countOn(ctx context.Context, s state) error {
	if c.count.from != s.Handed || c.count.got != len(s.Got) || c.count.to == journal.Start {
		c.count = counting{from: s.Handed, to: s.Handed, got: len(s.Got)}
	}
	waits := s.waits()
	for {
		page, next, err := c.log.Since(ctx, c.count.to, 1000)
		if errors.Is(err, journal.ErrCursor) && c.count.to != journal.Start {
			c.count.to, c.count.waiting = journal.Start, 0 // another journal: all of it waits
			continue
		}
		if err != nil {
			return err
		}
		if len(page) == 0 {
			return nil
		}
		for _, e := range page {
			if !waits(e) {
				continue
			}
			if c.count.waiting++; c.count.waiting == 1 || e.Time < c.count.oldest {
				c.count.oldest = e.Time
			}
		}
		c.count.to = next
	}
}

// Waiting returns the entries that the office does not have yet, in the order
// of their arrival here.
func (c *Client) Waiting(ctx context.Context) ([]journal.Envelope, error) {
	s, err := c.read(ctx)
	if err != nil {
		return nil, err
	}
	var list []journal.Envelope
	waits := s.waits()
	for at := s.Handed; ; {
		page, next, err := c.log.Since(ctx, at, 1000)
		if errors.Is(err, journal.ErrCursor) && at != journal.Start {
			at, list = journal.Start, nil
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("entries not handed over: %w", err)
		}
		if len(page) == 0 {
			return list, nil
		}
		for _, e := range page {
			if waits(e) {
				list = append(list, e)
			}
		}
		at = next
	}
}

// Flagged returns what the office flagged, oldest first. The entries themselves
// are in this device's journal.
func (c *Client) Flagged(ctx context.Context) ([]Flag, error) {
	s, err := c.read(ctx)
	return s.Refused, err
}

// Seen says that people have seen what was flagged: it is no problem any more.
func (c *Client) Seen(ctx context.Context) error {
	_, err := c.change(ctx, func(s *state) { s.Refused = nil })
	return err
}
