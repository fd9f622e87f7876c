package exchange

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"rung/internal/journal"
	"rung/internal/record"
)

// giver collects what a device lacks.
//
// Why nothing is left out: an entry of a carried property arrived either before
// or after the place At at which the property began to be carried. What arrived
// after is met by following At, which passes every entry once and gives those of
// properties in Have or Fill. What arrived before was in the journal when the
// filling began, which then sends the property from its beginning; entries that
// come in between its batches lie after At, wherever their clocks put them.
type giver struct {
	log     journal.Log
	p       place
	carried map[journal.Stream]bool
	own     map[journal.ID]bool // of the request: the device has them

	list []journal.Envelope
	room room // left
	more bool
}

// give collects from the place on, or from the beginning if it is a fresh one:
// then all that is carried is met on the way, and nothing must be filled in.
func (g *giver) give(ctx context.Context, fresh bool) error {
	byMark := map[mark]journal.Stream{}
	for s := range g.carried {
		byMark[markOf(s)] = s
	}
	have := marks{}
	for m := range byMark {
		have[m] = fresh || g.p.Have[m]
	}
	maps.DeleteFunc(have, func(_ mark, yes bool) bool { return !yes })
	g.p.Have = have
	if g.p.Fill != nil && !g.carried[g.p.Fill.Stream] {
		g.p.Fill = nil
	}
	if err := g.follow(ctx); err != nil {
		return err
	}
	missing := slices.Sorted(maps.Keys(g.carried))
	if g.p.Fill != nil { // first what was begun
		missing = append([]journal.Stream{g.p.Fill.Stream}, missing...)
	}
	for _, s := range missing {
		if g.more {
			return nil
		}
		if have[markOf(s)] {
			continue
		}
		if err := g.fill(ctx, s); err != nil {
			return err
		}
	}
	return nil
}

// wanted reports whether an entry that was met on the way goes to the device.
func (g *giver) wanted(e journal.Envelope) bool {
	if g.own[e.ID] || !Travels(e.Stream) {
		return false
	}
	if _, property := record.PropertyOf(e.Stream); !property {
		return true
	}
	return g.p.Have[markOf(e.Stream)] || g.p.Fill != nil && g.p.Fill.Stream == e.Stream
}

// follow goes on from At as far as there is room.
func (g *giver) follow(ctx context.Context) error {
	for limit := g.room.count; ; {
		if g.room.count == 0 {
			g.more = true
			return nil
		}
		page, next, err := g.log.Since(ctx, g.p.At, min(limit, g.room.count))
		if err != nil {
			return fmt.Errorf("exchange: %w", err)
		}
		if len(page) == 0 {
			return nil
		}
		got := slices.DeleteFunc(slices.Clone(page), func(e journal.Envelope) bool { return !g.wanted(e) })
		switch fits := weigh(got) <= g.room.bytes; {
		case !fits && len(page) > 1:
			limit = len(page) / 2 // the cursor stands after whole pages only
			continue
		case !fits && len(g.list) > 0:
			g.more = true
			return nil
		}
		g.add(got)
		g.p.At = next
		if l := g.p.Last; l != nil && slices.ContainsFunc(page, func(e journal.Envelope) bool { return e.ID == l.ID }) {
			g.p.Last = nil // At lies behind it now, and tells as well
		}
	}
}

func (g *giver) add(got []journal.Envelope) {
	g.list = append(g.list, got...)
	g.room.count -= len(got)
	g.room.bytes -= weigh(got)
}

// fill sends a property from its beginning, or from where it was left.
func (g *giver) fill(ctx context.Context, s journal.Stream) error {
	all, err := g.log.Stream(ctx, s)
	if err != nil {
		return fmt.Errorf("exchange: %w", err)
	}
	if g.p.Fill == nil || g.p.Fill.Stream != s {
		g.p.Fill = &filling{Stream: s}
	}
	left := journal.Envelope{Time: g.p.Fill.Time, ID: g.p.Fill.ID}
	for _, e := range all {
		if journal.Compare(e, left) <= 0 {
			continue
		}
		if g.room.count == 0 || weight(e) > g.room.bytes && len(g.list) > 0 {
			g.more = true
			return nil
		}
		g.add([]journal.Envelope{e})
		g.p.Fill.Time, g.p.Fill.ID = e.Time, e.ID
	}
	g.p.Fill = nil
	g.p.Have[markOf(s)] = true
	return nil
}
