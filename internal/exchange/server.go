package exchange

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"time"

	"rung/internal/blob"
	"rung/internal/journal"
	"rung/internal/ledger"
)

// Path is where the office answers.
const Path = "/api/exchange"

// Server is the office's side. It keeps nothing but the journal.
type Server struct {
	Log journal.Log
	// Blobs keeps the photos beside it; nil takes and gives none.
	Blobs blob.Store
	Now   func() time.Time
	// Policy says what a device carries; nil is Carry.
	Policy Policy
	// Authorise says which device asks and what it may do; an error that it may do
	// nothing. Nil lets everybody in.
	Authorise func(*http.Request) (Grant, error)
	// Registrar knows the devices and people of the shop, and judges what they
	// bring. Nil: everything is taken as it comes.
	Registrar Registrar
	Logger    *slog.Logger // nil is slog.Default

	room room // of an answer; zero is full
}

// Grant is what a device may do.
type Grant struct {
	// Device is its name; empty takes the request's own word for it.
	Device string
	// HandInOnly says that its entries are taken and nothing is given: a phone
	// that was lost or whose person has left still holds readings.
	HandInOnly bool
	// Author is whose device it is.
	Author string
	// Trusted says that what is brought is not judged: one person works alone, or
	// the owner takes a file in and answers for it.
	Trusted bool
}

// ServeHTTP answers a POST of a Request, and what concerns photos below
// PhotoPath.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if strings.HasPrefix(r.URL.Path, PhotoPath) {
		s.servePhotos(w, r)
		return
	}
	g, err := s.authorise(r)
	if err != nil {
		s.refuse(w, &Error{Denied, "The office does not know this phone. Enrol it there, with a code from the page Phones; nothing on the phone is lost."})
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxBody))
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		s.refuse(w, &Error{TooLarge, fmt.Sprintf("A request holds %d bytes at most.", maxBody)})
		return
	}
	var q Request
	if err != nil || json.Unmarshal(body, &q) != nil {
		s.refuse(w, &Error{BadForm, "The request could not be read whole. Send it again."})
		return
	}
	a, err := s.exchange(r.Context(), q, g)
	if err != nil {
		s.refuse(w, s.refusalOf(err))
		return
	}
	reply(w, r, a)
}

func (s *Server) authorise(r *http.Request) (Grant, error) {
	if s.Authorise == nil {
		return Grant{}, nil
	}
	return s.Authorise(r)
}

// statuses holds the status of each refusal.
var statuses = map[Kind]int{
	TooOld: http.StatusUpgradeRequired, Denied: http.StatusUnauthorized, BadForm: http.StatusBadRequest,
	NotNamed: http.StatusNotFound, NoRoom: http.StatusInsufficientStorage, NotNow: http.StatusServiceUnavailable, TooLarge: http.StatusRequestEntityTooLarge,
}

// refusalOf makes a refusal of what the store said.
func (s *Server) refusalOf(err error) *Error {
	var e *Error
	if errors.As(err, &e) {
		return e
	}
	logger := s.Logger
	if logger == nil {
		logger = slog.Default()
	}
	logger.Error("exchange failed", "err", err)
	if errors.Is(err, journal.ErrFull) {
		return &Error{NoRoom, "The office has no room left. Entries stay on the phone until there is; tell whoever looks after the program."}
	}
	return &Error{NotNow, "The office could not take it now. Entries stay on the phone; it is tried again."}
}

func (s *Server) refuse(w http.ResponseWriter, e *Error) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(statuses[e.Kind])
	json.NewEncoder(w).Encode(refusal{e}) // a phone that is gone asks again
}

// reply writes an answer, packed if the phone takes that: entries shrink to a
// fifth.
func reply(w http.ResponseWriter, r *http.Request, a Answer) {
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	h.Set("Vary", "Accept-Encoding")
	if !strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		json.NewEncoder(w).Encode(a)
		return
	}
	h.Set("Content-Encoding", "gzip")
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if err := errors.Join(json.NewEncoder(z).Encode(a), z.Close()); err != nil {
		panic("exchange: " + err.Error()) // an answer holds nothing that JSON lacks
	}
	w.Write(b.Bytes())
}

// Exchange takes what a device offers and gives it what it lacks. An *Error or
// an error of the store means that nothing was acknowledged.
func (s *Server) Exchange(ctx context.Context, q Request) (Answer, error) {
	return s.exchange(ctx, q, Grant{Trusted: true})
}

// exchange is Exchange for a device that may do what its grant says.
func (s *Server) exchange(ctx context.Context, q Request, by Grant) (Answer, error) {
	switch {
	case q.Version < Minimum:
		return Answer{}, &Error{TooOld, fmt.Sprintf(
			"This phone's program is too old to exchange entries (version %d, at least %d). Renew it while there is signal; its entries stay on it.", q.Version, Minimum)}
	case len(q.Envelopes) > MaxEnvelopes, len(q.Wants) > maxWants:
		return Answer{}, &Error{TooLarge, fmt.Sprintf("A request holds %d entries and %d wishes at most.", MaxEnvelopes, maxWants)}
	}
	a := Answer{Version: Version}
	var err error
	if q.Find != "" {
		a.Cursor = q.Cursor
		if !by.HandInOnly {
			a.Found, err = s.find(ctx, q.Find)
		}
		return a, err
	}
	if s.Registrar != nil && !by.Trusted {
		if a.Standing, err = s.Registrar.Meet(ctx, by, q.Device, q.Mark); err != nil {
			return Answer{}, err
		}
	}
	if by.Device != "" {
		q.Device = by.Device
	}
	if by.HandInOnly {
		a.Cursor = q.Cursor
		return a, s.take(ctx, by, unpack(q.Envelopes), &place{}, &a)
	}
	p, known, err := s.resume(ctx, q.Cursor)
	if err != nil {
		return Answer{}, err
	}
	a.Restarted = !known && q.Cursor != ""
	if err := s.take(ctx, by, unpack(q.Envelopes), &p, &a); err != nil {
		return Answer{}, err
	}
	g := giver{log: s.Log, p: p, room: s.room, own: map[journal.ID]bool{}}
	if g.room == (room{}) {
		g.room = full
	}
	for _, e := range q.Envelopes {
		g.own[e.ID] = true
	}
	if g.carried, err = s.policy()(ctx, q.Device, q.Wants); err != nil {
		return Answer{}, err
	}
	if err := g.give(ctx, !known); err != nil {
		return Answer{}, err
	}
	a.Envelopes, a.More, a.Cursor = pack(g.list), g.more, g.p.text()
	return a, nil
}

// find lists properties whose name or address contains a text.
func (s *Server) find(ctx context.Context, text string) ([]ledger.PropertyLine, error) {
	rows, err := s.Log.Rows(ctx, ledger.ListProperties, "")
	if err != nil {
		return nil, fmt.Errorf("find properties: %w", err)
	}
	text = strings.ToLower(strings.TrimSpace(text))
	var found []ledger.PropertyLine
	for _, r := range rows {
		var line ledger.PropertyLine
		if err := json.Unmarshal(r.Value, &line); err != nil {
			return nil, fmt.Errorf("find properties: %s: %w", r.Key, err)
		}
		if strings.Contains(strings.ToLower(line.Name+" "+line.Address), text) && len(found) < MaxFound {
			found = append(found, line)
		}
	}
	return found, nil
}

func (s *Server) policy() Policy {
	if s.Policy != nil {
		return s.Policy
	}
	return Carry(s.Log, s.Now)
}

// resume reads a cursor. It is not known if it is none of ours, or if the entry
// last taken from the phone is in the journal no more.
func (s *Server) resume(ctx context.Context, cursor string) (p place, known bool, err error) {
	p, ours := parsePlace(cursor)
	if cursor == "" || !ours {
		return place{}, false, nil
	}
	if _, _, err := s.Log.Since(ctx, p.At, 1); errors.Is(err, journal.ErrCursor) {
		return place{}, false, nil
	} else if err != nil {
		return place{}, false, err
	}
	if p.Last == nil {
		return p, true, nil
	}
	kept, err := s.Log.Stream(ctx, p.Last.Stream)
	if err != nil {
		return place{}, false, err
	}
	if !slices.ContainsFunc(kept, func(e journal.Envelope) bool { return e.ID == p.Last.ID }) {
		return place{}, false, nil
	}
	return p, true, nil
}

// take appends what is offered, and notes in a what became of each entry.
func (s *Server) take(ctx context.Context, by Grant, offered []journal.Envelope, p *place, a *Answer) error {
	var sound []journal.Envelope
	flag := func(e journal.Envelope, why Why, text string) { a.Flagged = append(a.Flagged, Flag{e.ID, why, text}) }
	for _, e := range offered {
		if err := e.Check(); err != nil {
			flag(e, Invalid, err.Error())
		} else if !Travels(e.Stream) {
			flag(e, NotTaken, "No phone writes into "+string(e.Stream)+".")
		} else {
			sound = append(sound, e)
		}
	}
	sound, aside, err := Gate{s.Log, s.Registrar, s.Now}.pass(ctx, by, sound)
	if err != nil {
		return err
	}
	kept, refused, err := appendEach(ctx, s.Log, sound)
	if err != nil {
		return err
	}
	a.Flagged = append(append(a.Flagged, aside...), refused...)
	a.Flagged = append(a.Flagged, ahead(kept, s.Now())...)
	for _, e := range kept {
		a.Accepted = append(a.Accepted, e.ID)
		p.Last = &taken{e.Stream, e.ID}
	}
	return nil
}

// ahead flags the entries that are dated more than journal.MaxAhead after now.
func ahead(kept []journal.Envelope, now time.Time) []Flag {
	var flags []Flag
	limit := journal.TimeOf(now.Add(journal.MaxAhead))
	for _, e := range kept {
		if e.Time > limit {
			flags = append(flags, Flag{e.ID, Ahead, fmt.Sprintf(
				"The entry of %s is dated more than a day ahead of the clock here. Set the date of the device it was made on.", e.Time.Wall().Format("2 January 2006 15:04"))})
		}
	}
	return flags
}

// appendEach appends a batch, and entry by entry where one of them cannot be:
// it returns those that are in the log now, and flags for the others. An error
// is one of the store; what was appended before it stays.
func appendEach(ctx context.Context, log journal.Log, batch []journal.Envelope) (kept []journal.Envelope, refused []Flag, err error) {
	if len(batch) == 0 {
		return nil, nil, nil
	}
	err = log.Append(ctx, batch)
	switch {
	case err == nil:
		return batch, nil, nil
	case !errors.Is(err, journal.ErrConflict) && !errors.Is(err, journal.ErrInvalid):
		return nil, nil, err
	}
	for _, e := range batch {
		switch err := log.Append(ctx, []journal.Envelope{e}); {
		case err == nil:
			kept = append(kept, e)
		case errors.Is(err, journal.ErrConflict):
			refused = append(refused, Flag{e.ID, Differs, fmt.Sprintf("Another entry with this number is kept; this one is %s of %s, by %s.", e.Kind, e.Time.Wall().Format("2 January 2006 15:04"), e.Author)})
		case errors.Is(err, journal.ErrInvalid):
			refused = append(refused, Flag{e.ID, Invalid, err.Error()})
		default:
			return kept, refused, err
		}
	}
	return kept, refused, nil
}
