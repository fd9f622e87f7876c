package exchange

import (
	"context"
	"slices"
	"time"

	"rung/internal/journal"
)

// Registrar knows the devices and people of the shop. Its errors are those of
// the stores.
type Registrar interface {
	// Meet notes under which name a device writes its entries, and returns how it
	// stands with the office; nil if mark is that of it.
	Meet(ctx context.Context, by Grant, name, mark string) (*Standing, error)
	// Judge says of each entry whether it may come in. stream reads what the office
	// has.
	Judge(ctx context.Context, by Grant, offered []journal.Envelope, stream func(context.Context, journal.Stream) ([]journal.Envelope, error)) ([]Verdict, error)
}

// Verdict is what a Registrar says of an entry.
type Verdict struct {
	Why string // it may not come in, in a sentence; empty if it may
	// Passed says that the device it was written on is not the one that brings it.
	Passed bool
}

// Gate is where entries come into the journal of the office.
type Gate struct {
	Log       journal.Log
	Registrar Registrar // nil lets everything in
	Now       func() time.Time
}

// pass returns the entries that may come in. The others are kept aside, and
// flagged. What the office has already comes in again, whoever brings it: it
// changes nothing.
func (g Gate) pass(ctx context.Context, by Grant, offered []journal.Envelope) (in []journal.Envelope, aside []Flag, err error) {
	if g.Registrar == nil || by.Trusted || len(offered) == 0 {
		return offered, nil, nil
	}
	verdicts, err := g.Registrar.Judge(ctx, by, offered, g.Log.Stream)
	if err != nil {
		return nil, nil, err
	}
	held := Held{g.Log, g.Now}
	unconfirmed, err := held.unconfirmed(ctx)
	if err != nil {
		return nil, nil, err
	}
	var doubted []Doubted
	var passed, confirmed []journal.Envelope
	has := has{log: g.Log}
	for i, e := range offered {
		there, v := false, verdicts[i]
		_, waits := unconfirmed[e.ID]
		if v.Why != "" || v.Passed || waits {
			if there, err = has.entry(ctx, e); err != nil {
				return nil, nil, err
			}
		}
		if v.Why != "" && !there {
			doubted = append(doubted, Doubted{Entry: e, Why: v.Why, Bringer: by.Device, Person: by.Author, At: g.Now()})
			continue
		}
		in = append(in, e)
		switch {
		case v.Why == "" && v.Passed && !there:
			passed = append(passed, e)
		case v.Why == "" && !v.Passed && there && waits:
			confirmed = append(confirmed, e)
		}
	}
	if err := held.notePassed(ctx, by, passed, confirmed); err != nil {
		return nil, nil, err
	}
	aside, err = held.put(ctx, doubted)
	return in, aside, err
}

// has answers whether a log has an entry just so, reading every stream once.
type has struct {
	log  journal.Log
	read map[journal.Stream][]journal.Envelope
}

func (h *has) entry(ctx context.Context, e journal.Envelope) (bool, error) {
	list, read := h.read[e.Stream]
	if !read {
		var err error
		if list, err = h.log.Stream(ctx, e.Stream); err != nil {
			return false, err
		}
		if h.read == nil {
			h.read = map[journal.Stream][]journal.Envelope{}
		}
		h.read[e.Stream] = list
	}
	return slices.ContainsFunc(list, func(x journal.Envelope) bool { return journal.Equal(x, e) }), nil
}
