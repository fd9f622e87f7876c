package visit

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"rung/internal/blob"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/journal"
	"rung/internal/ledger"
	"rung/internal/record"
)

// Config is what a Service works with.
type Config struct {
	// Log is the journal; it must keep the lists of ledger.Summary.
	Log journal.Log
	// Now is the wall clock, IDs the source of ids, Device the name of this
	// device in the journal.
	Now    func() time.Time
	IDs    *journal.IDSource
	Device string
	// Random makes the tokens of links to a report: crypto/rand.Reader in
	// earnest. Where it is nil no link can be made.
	Random io.Reader
	// Blobs keeps photos, beside the journal. Where it is nil none can be taken.
	Blobs blob.Store
	// Zone is that of the shop: days begin and end in it. Nil means UTC.
	Zone *time.Location
	// Open makes the reasoner for a system. Nil means that of the physical model.
	Open func(Situation) (Reasoner, error)
	// Pause is called now and then while the physical model computes; see
	// diagnosis.Situation. It may be nil.
	Pause func()
	// Ahead, if not nil, is given what can be worked out ahead while the mechanic
	// measures: to be called again and again, beside what is asked, until it returns
	// false, which it does once it is done or somebody asks about the same system again.
	// Ahead itself returns at once.
	Ahead func(step func() bool)
	// Later leaves the catalogues until Prepare is called or a page wants them:
	// in a phone that takes longer than the pages that do without.
	Later bool
}

// Service holds the use cases. It may be used by several goroutines.
type Service struct {
	log    journal.Log
	blobs  blob.Store
	now    func() time.Time
	ids    *journal.IDSource
	clock  *journal.Clock
	device string
	random io.Reader
	zone   *time.Location
	pause  func()
	ahead  func(step func() bool)

	engines *engines
	lessons lessons
}

// New returns a service. An error means that a catalogue of the program is
// wrong.
func New(c Config) (*Service, error) {
	if c.Zone == nil {
		c.Zone = time.UTC
	}
	s := &Service{
		log: c.Log, blobs: c.Blobs, now: c.Now, ids: c.IDs, clock: journal.NewClock(c.Now), device: c.Device, random: c.Random, zone: c.Zone,
		pause: c.Pause, ahead: c.Ahead,
	}
	if c.Open == nil {
		c.Open = s.open
	}
	s.engines = newEngines(c.Open)
	if c.Later {
		return s, nil
	}
	return s, s.Prepare()
}

// Prepare reads the catalogues and what is said about them, if that was not done
// yet.
func (s *Service) Prepare() error {
	sentences()
	misreadings()
	plateFields()
	_, err := fault.Load()
	if err == nil {
		_, err = fieldtest.Load()
	}
	if err != nil {
		return fmt.Errorf("visit: %w", err)
	}
	return nil
}

func (s *Service) faults() *fault.Catalogue     { return tested(fault.Load()) }
func (s *Service) checks() *fieldtest.Catalogue { return tested(fieldtest.Load()) }

// tested returns a catalogue of the program, which is wrong in no program that
// passed its tests.
func tested[T any](catalogue T, err error) T {
	if err != nil {
		panic("visit: " + err.Error())
	}
	return catalogue
}

// NewForm returns the id of a form, to be put into it as a hidden field.
func (s *Service) NewForm() string { return s.ids.Next().String() }

// loaded is a property with the entries that it was folded from.
type loaded struct {
	*ledger.Property
	envelopes []journal.Envelope
}

// load reads a property, which may have no entries yet.
func (s *Service) load(ctx context.Context, id record.PropertyID) (loaded, error) {
	envelopes, err := s.log.Stream(ctx, id.Stream())
	if err != nil {
		return loaded{}, fmt.Errorf("load property: %w", err)
	}
	return loaded{ledger.Fold(id, envelopes), envelopes}, nil
}

// whereIs loads the property that holds a system, unit, visit or task.
func (s *Service) whereIs(ctx context.Context, what, id string) (loaded, error) {
	rows, err := s.log.Rows(ctx, ledger.ListWhere, id)
	if err != nil {
		return loaded{}, fmt.Errorf("find %s: %w", what, err)
	}
	for _, r := range rows {
		if r.Key == id {
			return s.load(ctx, record.PropertyID(r.Value))
		}
	}
	return loaded{}, errorf(NotFound, "There is no such %s here.", what)
}

// loadVisit loads the property of a visit, and the visit with its system.
func (s *Service) loadVisit(ctx context.Context, id record.VisitID) (loaded, Here, error) {
	p, err := s.whereIs(ctx, "visit", string(id))
	if err != nil {
		return p, Here{}, err
	}
	v, found := p.Visit(id)
	if !found {
		return p, Here{}, errorf(NotFound, "There is no such visit here.")
	}
	system, _ := p.System(v.System) // a visit is only placed on a system that is there
	return p, Here{Property: p.Property, System: system, Visit: v}, nil
}

// form reads the id of the form.
func (by By) form() (journal.ID, error) {
	if strings.TrimSpace(by.Author) == "" {
		return journal.ID{}, &Error{Kind: Denied, Message: "Say who you are first: every entry carries a name."}
	}
	id, err := journal.ParseID(by.Form)
	if err != nil || id == (journal.ID{}) {
		return journal.ID{}, errorf(Invalid, "This form has lost its number. Open it again.")
	}
	return id, nil
}

// companion is where the numbers of companions begin among the ids derived
// from a form; no form holds as many entries of its own.
const companion = 1000

// write appends the events of a form to the stream of p. Companions are what
// the service adds of itself, such as the advice of the moment. A form sent
// again changes nothing; with other values it is a Conflict.
func (s *Service) write(ctx context.Context, by By, p loaded, events []record.Event, companions ...record.Event) ([]record.EntryID, error) {
	form, err := by.form()
	if err != nil {
		return nil, err
	}
	own := s.envelopes(by, p, form, 0, events)
	if again, err := sentBefore(p.envelopes, form, own); again || err != nil {
		return entryIDs(own), err
	}
	batch := append(own, s.envelopes(by, p, form, companion, companions)...)
	err = s.log.Append(ctx, batch)
	if errors.Is(err, journal.ErrConflict) { // the same form came in twice at once
		var now loaded
		if now, err = s.load(ctx, p.Property.Property); err != nil {
			return nil, err
		}
		if again, err := sentBefore(now.envelopes, form, own); again || err != nil {
			return entryIDs(own), err
		}
		return nil, errForm
	}
	if err != nil {
		return nil, fmt.Errorf("record: %w", err)
	}
	return entryIDs(own), nil
}

// envelopes puts events into envelopes numbered from first within the form.
func (s *Service) envelopes(by By, p loaded, form journal.ID, first int, events []record.Event) []journal.Envelope {
	for _, e := range p.envelopes { // not p.Last alone: a clock far ahead is passed over, and hides no other
		s.clock.Observe(e.Time)
	}
	list := make([]journal.Envelope, len(events))
	for i, event := range events {
		list[i] = record.Encode(journal.Envelope{
			ID: form.Derive(first + i), Stream: p.Property.Property.Stream(), Device: s.device,
			Time: s.clock.Next(), Author: by.Author,
		}, event)
	}
	return list
}

var errForm = errorf(Conflict, "This form was recorded already, with other values. Look at what is recorded, and open the form again to add to it.")

// sentBefore reports whether the entries of a form are in the journal already.
// It is an error if they are there with other content.
func sentBefore(kept []journal.Envelope, form journal.ID, own []journal.Envelope) (bool, error) {
	at := map[journal.ID]journal.Envelope{}
	for _, e := range kept {
		at[e.ID] = e
	}
	if _, sent := at[form]; !sent {
		return false, nil
	}
	if _, more := at[form.Derive(len(own))]; more {
		return false, errForm
	}
	for _, e := range own {
		k, sent := at[e.ID]
		if !sent || k.Kind != e.Kind || !bytes.Equal(k.Payload, e.Payload) {
			return false, errForm
		}
	}
	return true, nil
}

func entryIDs(envelopes []journal.Envelope) []record.EntryID {
	ids := make([]record.EntryID, len(envelopes))
	for i, e := range envelopes {
		ids[i] = record.EntryID(e.ID.String())
	}
	return ids
}
