package exchange

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"rung/internal/journal"
	"rung/internal/ledger"
	"rung/internal/record"
)

// Transport carries a request to the office and brings the answer: the status
// and the body. An error means that nobody knows whether it got there.
type Transport interface {
	Post(ctx context.Context, body []byte) (status int, answer []byte, err error)
}

// Client is a device's side. It may be used by several goroutines, and by two
// programs over the same journal: one then repeats what the other did.
type Client struct {
	log    journal.Log
	keeper Keeper
	device string
	now    func() time.Time
	room   room // of a request
	album  album

	running sync.Mutex // one Run at a time
	mu      sync.Mutex // of what follows, and of the state
	count   counting
}

// NewClient returns the exchange of a device over its journal.
func NewClient(log journal.Log, keeper Keeper, device string, now func() time.Time) *Client {
	return &Client{log: log, keeper: keeper, device: device, now: now, room: full}
}

// Done says what a run did.
type Done struct {
	Sent     int // entries acknowledged
	Received int // entries that came; a phone far behind meets its own among them
	Flagged  []Flag

	restarts int
}

// mostRestarts is how often the office may begin anew within one run: once if
// it was restored, once more if that happens meanwhile.
const mostRestarts = 2

// Run exchanges until nothing is left on either side. It may stop at any moment
// and be run again; what was acknowledged until then stays so. After an error
// the state says in words what the problem is.
func (c *Client) Run(ctx context.Context, t Transport) (Done, error) {
	c.running.Lock()
	defer c.running.Unlock()
	var done Done
	for {
		more, err := c.round(ctx, t, &done)
		if err == nil && done.restarts > mostRestarts {
			err = fmt.Errorf("%w: it begins anew again and again", ErrAnswer)
		}
		if err != nil {
			c.trouble(ctx, err)
			return done, fmt.Errorf("exchange: %w", err)
		}
		if !more {
			return done, nil
		}
	}
}

// trouble notes why an exchange broke off.
func (c *Client) trouble(ctx context.Context, err error) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	c.change(ctx, func(s *state) { s.Problem = Problem(err) }) // the run has an error to tell already
}

// Problem says in one sentence what an error of Run or Find means to whoever
// holds the phone.
func Problem(err error) string {
	var e *Error
	switch {
	case errors.As(err, &e):
		return e.Message
	case errors.Is(err, journal.ErrFull):
		return "This device has no room for what the office sends. Free some space; what was recorded is safe."
	case errors.Is(err, ErrAnswer):
		return "Something else than the office answered, such as the sign-in page of a network. Entries stay on this phone."
	case errors.Is(err, context.DeadlineExceeded):
		return "The exchange takes long. What went through is safe; the rest goes with the next one."
	case errors.Is(err, errNoAnswer):
		return "The office did not answer. Entries stay on this phone; it is tried again."
	}
	return "The exchange was broken off. Entries stay on this phone; it is tried again."
}

// change applies a change to the kept state.
func (c *Client) change(ctx context.Context, do func(*state)) (state, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	s, err := load(ctx, c.keeper)
	if err != nil {
		return s, err
	}
	do(&s)
	return s, save(ctx, c.keeper, s)
}

// read returns the kept state.
func (c *Client) read(ctx context.Context) (state, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return load(ctx, c.keeper)
}

// Want asks for a property that this device does not carry, from the next run
// on; Unwant ends that. What came before stays.
func (c *Client) Want(ctx context.Context, p record.PropertyID) error {
	_, err := c.change(ctx, func(s *state) {
		if stream := p.Stream(); !slices.Contains(s.Wants, stream) {
			s.Wants = append(s.Wants, stream)
		}
		if n := len(s.Wants); n > maxWants {
			s.Wants = s.Wants[n-maxWants:]
		}
	})
	return err
}

// Unwant ends what Want began.
func (c *Client) Unwant(ctx context.Context, p record.PropertyID) error {
	_, err := c.change(ctx, func(s *state) {
		s.Wants = slices.DeleteFunc(s.Wants, func(x journal.Stream) bool { return x == p.Stream() })
	})
	return err
}

// Find asks the office for properties by a part of their name or address,
// whether or not this device carries them.
func (c *Client) Find(ctx context.Context, t Transport, text string) ([]ledger.PropertyLine, error) {
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	s, err := c.read(ctx)
	if err != nil {
		return nil, err
	}
	a, err := c.ask(ctx, t, Request{Version: Version, Device: c.device, Cursor: s.Received, Find: text})
	return a.Found, err
}

// Wants returns the properties asked for.
func (c *Client) Wants(ctx context.Context) ([]journal.Stream, error) {
	s, err := c.read(ctx)
	return s.Wants, err
}

// errNoAnswer says that a request got no answer.
var errNoAnswer = errors.New("no answer")

// round sends one request and takes the answer in. It reports whether there is
// more to do.
func (c *Client) round(ctx context.Context, t Transport, done *Done) (more bool, err error) {
	s, err := c.read(ctx)
	if err != nil {
		return false, err
	}
	o, err := c.offer(ctx, s)
	if errors.Is(err, journal.ErrCursor) {
		// Another journal than the one the state speaks of: begin anew.
		_, err := c.change(ctx, func(s *state) { s.Handed, s.Got, s.Received, s.AtOffice = journal.Start, nil, "", nil })
		return true, err
	}
	if err != nil {
		return false, err
	}
	a, err := c.ask(ctx, t, Request{Version: Version, Device: c.device, Cursor: s.Received, Envelopes: pack(o.list), Wants: s.Wants, Mark: s.Standing.mark()})
	if err != nil {
		return false, err
	}
	if err := o.acknowledged(a); err != nil {
		return false, err
	}
	got := unpack(a.Envelopes)
	foreign, err := c.foreign(ctx, got)
	if err != nil {
		return false, err
	}
	kept, refused, err := appendEach(ctx, c.log, got)
	if err != nil {
		return false, err
	}
	refused = append(refused, foreign...)
	finished := !a.More && !a.Restarted && o.last
	_, err = c.change(ctx, func(s *state) {
		s.told(a.Standing, c.now())
		s.take(o, a, kept, refused)
		if finished {
			s.Last, s.Problem = c.now(), ""
		}
	})
	if a.Restarted {
		done.restarts++
	}
	done.Sent += len(a.Accepted)
	done.Received += len(kept)
	done.Flagged = append(append(done.Flagged, a.Flagged...), refused...)
	return !finished, err
}

// foreign flags what comes from the office, says to be written on this device and
// was not: somebody put it into its mouth.
func (c *Client) foreign(ctx context.Context, got []journal.Envelope) ([]Flag, error) {
	has := has{log: c.log}
	var flags []Flag
	for _, e := range got {
		if e.Device != c.device {
			continue
		}
		there, err := has.entry(ctx, e)
		if err != nil {
			return nil, err
		}
		if !there {
			flags = append(flags, Flag{e.ID, NotOurs, fmt.Sprintf("The office has an entry that says it was written on this phone, and it was not: %s of %s by %s. Tell the owner of the shop.",
				e.Kind, e.Time.Wall().Format("2 January 2006 15:04"), orNobody(e.Author))})
		}
	}
	return flags, nil
}

// take moves the state on after an answer whose entries were kept.
func (s *state) take(o offer, a Answer, kept []journal.Envelope, refused []Flag) {
	s.Received = a.Cursor
	s.refuse(a.Flagged)
	s.refuse(refused)
	if a.Restarted { // the office may lack also what it once sent
		s.Handed, s.Got, s.AtOffice = journal.Start, nil, nil
		return
	}
	s.Handed = o.next
	s.passed(o.page)
	for _, e := range kept {
		s.Got = append(s.Got, e.ID)
	}
}

// offer is what one request offers.
type offer struct {
	list []journal.Envelope // that the office may lack
	page []journal.Envelope // all that were looked at
	next journal.Cursor     // after them
	last bool               // nothing lies behind them
}

// offer gathers what lies behind Handed, as far as a request holds.
func (c *Client) offer(ctx context.Context, s state) (offer, error) {
	o := offer{next: s.Handed}
	waits := s.waits()
	for limit := c.room.count; len(o.list) < c.room.count; {
		page, next, err := c.log.Since(ctx, o.next, min(limit, c.room.count-len(o.list)))
		if err != nil {
			return o, err
		}
		if len(page) == 0 {
			o.last = true
			return o, nil
		}
		list := slices.DeleteFunc(slices.Clone(page), func(e journal.Envelope) bool { return !waits(e) })
		switch fits := weigh(o.list)+weigh(list) <= c.room.bytes; {
		case !fits && len(page) > 1:
			limit = len(page) / 2
			continue
		case !fits && len(o.list) > 0:
			return o, nil
		}
		o.list, o.page, o.next = append(o.list, list...), append(o.page, page...), next
	}
	return o, nil
}

// acknowledged wants the answer to tell of every entry that was offered: one
// that is not told of would be lost if the place moved on.
func (o offer) acknowledged(a Answer) error {
	told := map[journal.ID]bool{}
	for _, id := range a.Accepted {
		told[id] = true
	}
	for _, f := range a.Flagged {
		told[f.ID] = true
	}
	for _, e := range o.list {
		if !told[e.ID] {
			return fmt.Errorf("%w: it does not tell of entry %s", ErrAnswer, e.ID)
		}
	}
	return nil
}

// ask sends a request.
func (c *Client) ask(ctx context.Context, t Transport, q Request) (Answer, error) {
	body, err := json.Marshal(q)
	if err != nil {
		panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
	}
	status, answer, err := t.Post(ctx, body)
	if err != nil {
		return Answer{}, fmt.Errorf("%w: %w", errNoAnswer, err)
	}
	return readAnswer(status, answer)
}
