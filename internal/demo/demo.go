// Package demo fills an empty journal with a made-up shop, so that a newcomer
// sees pages with something on them. Nothing in it is real, and nothing of it
// is used anywhere else.
package demo

import (
	"context"
	"fmt"

	"rung/internal/record"
	"rung/internal/visit"
)

// Load enters the made-up shop, unless the journal holds any property already.
func Load(ctx context.Context, api visit.API) error {
	there, err := api.Properties(ctx, "")
	if err != nil || len(there) > 0 {
		return err
	}
	l := &loader{ctx: ctx, api: api}
	for _, h := range shop {
		l.house(h)
	}
	return l.err
}

// loader enters things until the first error, which it keeps.
type loader struct {
	ctx context.Context
	api visit.API
	err error
}

func (l *loader) by() visit.By { return visit.By{Author: "Sample Mechanic", Form: l.api.NewForm()} }

// keep stores the first error and says whether all is still well.
func (l *loader) keep(what string, err error) bool {
	if l.err == nil && err != nil {
		l.err = fmt.Errorf("%s: %w", what, err)
	}
	return l.err == nil
}

func (l *loader) house(h house) {
	if l.err != nil {
		return
	}
	id, err := l.api.AddProperty(l.ctx, l.by(), h.property)
	if !l.keep(h.property.Name, err) {
		return
	}
	for _, s := range h.systems {
		l.system(id, s)
	}
}

func (l *loader) system(property record.PropertyID, s system) {
	if l.err != nil {
		return
	}
	id, err := l.api.AddSystem(l.ctx, l.by(), property, s.about)
	if !l.keep(s.about.Name, err) {
		return
	}
	for _, u := range s.units {
		unit, err := l.api.AddUnit(l.ctx, l.by(), id, u.about)
		if l.keep(u.about.Kind, err) && len(u.plate) > 0 {
			l.keep(u.about.Kind+" nameplate", l.api.RecordPlate(l.ctx, l.by(), unit, u.plate))
		}
	}
	for _, x := range s.links {
		_, err := l.api.RecordLink(l.ctx, l.by(), id, x)
		l.keep("link "+x.Link, err)
	}
	for _, c := range s.calls {
		l.call(id, c)
	}
}

func (l *loader) call(system record.SystemID, c call) {
	if l.err != nil {
		return
	}
	id, err := l.api.OpenVisit(l.ctx, l.by(), system, c.open)
	if !l.keep("visit", err) {
		return
	}
	l.keep("surroundings", l.api.RecordSurroundings(l.ctx, l.by(), id, visit.SurroundingsInput{Values: c.air}))
	for _, r := range c.readings {
		_, err := l.api.TakeReadings(l.ctx, l.by(), id, r)
		l.keep("reading "+r.Check, err)
	}
	if c.outcome != "" {
		l.keep("close", l.api.Close(l.ctx, l.by(), id, visit.CloseInput{Outcome: c.outcome, Note: c.note, Anyway: true}))
	}
}
