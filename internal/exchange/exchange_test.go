package exchange

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
)

var noon = time.Date(2026, 7, 14, 12, 0, 0, 0, time.UTC)

func atNoon() time.Time { return noon }

// kept is a Keeper in memory.
type kept struct{ text []byte }

func (k *kept) Load(context.Context) ([]byte, error) { return slices.Clone(k.text), nil }
func (k *kept) Save(_ context.Context, text []byte) error {
	k.text = slices.Clone(text)
	return nil
}

// wire carries requests to a handler, without a network.
type wire struct{ http.Handler }

func (w wire) Post(ctx context.Context, body []byte) (int, []byte, error) {
	r := httptest.NewRequestWithContext(ctx, "POST", Path, bytes.NewReader(body))
	a := httptest.NewRecorder()
	w.ServeHTTP(a, r)
	return a.Code, a.Body.Bytes(), nil
}

// carryAll gives every device every property there is.
func carryAll(log journal.Log) Policy {
	return func(ctx context.Context, _ string, wants []journal.Stream) (map[journal.Stream]bool, error) {
		carried := map[journal.Stream]bool{}
		for at := journal.Start; ; {
			page, next, err := log.Since(ctx, at, 1000)
			if err != nil || len(page) == 0 {
				return carried, err
			}
			for _, e := range page {
				if _, property := record.PropertyOf(e.Stream); property {
					carried[e.Stream] = true
				}
			}
			at = next
		}
	}
}

// pair returns an office that gives everything, and a phone.
func pair() (*Server, *Client) {
	office := &Server{Log: memlog.New(journal.Summary{}), Now: atNoon}
	office.Policy = carryAll(office.Log)
	return office, NewClient(memlog.New(journal.Summary{}), &kept{}, "phone", atNoon)
}

// entry returns an entry of a house, the n-th.
func entry(stream string, n int) journal.Envelope {
	e := journal.Envelope{Stream: journal.Stream(stream), Device: "elsewhere", Author: "Ada", Kind: "k", Version: 1, Time: journal.TimeOf(noon) + journal.Time(n), Payload: []byte(fmt.Sprint(n))}
	e.ID[0], e.ID[14], e.ID[15] = stream[len(stream)-1], byte(n>>8), byte(n)
	return e
}

func entries(stream string, from, to int) []journal.Envelope {
	var list []journal.Envelope
	for n := from; n < to; n++ {
		list = append(list, entry(stream, n))
	}
	return list
}

func write(t testing.TB, log journal.Log, list ...journal.Envelope) {
	t.Helper()
	if err := log.Append(t.Context(), list); err != nil {
		t.Fatal(err)
	}
}

func run(t testing.TB, c *Client, to Transport) Done {
	t.Helper()
	done, err := c.Run(t.Context(), to)
	if err != nil {
		t.Fatal(err)
	}
	return done
}

// all returns what a log holds, by Compare.
func all(t testing.TB, log journal.Log) []journal.Envelope {
	t.Helper()
	var list []journal.Envelope
	for at := journal.Start; ; {
		page, next, err := log.Since(context.Background(), at, 1000)
		if err != nil {
			t.Fatal(err)
		}
		if len(page) == 0 {
			slices.SortFunc(list, journal.Compare)
			return list
		}
		list, at = append(list, page...), next
	}
}

// holds wants a log to hold exactly these entries.
func holds(t testing.TB, log journal.Log, want []journal.Envelope) {
	t.Helper()
	want = slices.Clone(want)
	slices.SortFunc(want, journal.Compare)
	if got := all(t, log); !slices.EqualFunc(got, want, journal.Equal) {
		t.Errorf("the journal holds %d entries, want %d, or they differ", len(got), len(want))
	}
}

func status(t testing.TB, c *Client) Status {
	t.Helper()
	s, err := c.Status(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestRun(t *testing.T) {
	office, phone := pair()
	ours, theirs := entries("property/A", 0, 700), entries("property/B", 0, 1200)
	write(t, phone.log, ours...)
	write(t, office.Log, theirs...)
	if s := status(t, phone); s.Waiting != 700 || !s.Oldest.Equal(noon) || !s.Last.IsZero() {
		t.Errorf("before: %+v", s)
	}
	if done := run(t, phone, wire{office}); done.Sent != 700 || done.Received < 1200 || done.Flagged != nil {
		t.Errorf("first run: %+v", done)
	}
	union := append(slices.Clone(ours), theirs...)
	holds(t, phone.log, union)
	holds(t, office.Log, union)
	if s := status(t, phone); s != (Status{Last: noon}) {
		t.Errorf("after: %+v", s)
	}
	if done := run(t, phone, wire{office}); done.Sent != 0 || done.Received != 0 {
		t.Errorf("second run: %+v", done)
	}
	write(t, phone.log, entry("shop", 1))
	if done := run(t, phone, wire{office}); done.Sent != 1 || done.Received != 0 {
		t.Errorf("third run: %+v", done)
	}
}

// A later program's kinds, versions and fields pass through an older one.
func TestUnknown(t *testing.T) {
	office, phone := pair()
	strange := entry("property/A", 1)
	strange.Kind, strange.Version, strange.Payload = "of-a-later-program", 99, []byte{0, 0xff, '<', '&'}
	write(t, phone.log, strange)
	run(t, phone, wire{office})
	other := NewClient(memlog.New(journal.Summary{}), &kept{}, "other", atNoon)
	run(t, other, wire{office})
	holds(t, other.log, []journal.Envelope{strange})

	// A later phone sends fields that this office does not know, and the reverse.
	status, body, _ := wire{office}.Post(t.Context(), []byte(`{"version":7,"device":"p","novelty":{"x":1}}`))
	if a, err := readAnswer(status, body); err != nil || len(a.Envelopes) != 1 {
		t.Errorf("a later phone gets %+v, %v", a, err)
	}
	if a, err := readAnswer(200, []byte(`{"version":7,"cursor":"c","novelty":[]}`)); err != nil || a.Cursor != "c" {
		t.Errorf("from a later office: %+v, %v", a, err)
	}
}

func TestTooOld(t *testing.T) {
	office, phone := pair()
	status, body, _ := wire{office}.Post(t.Context(), []byte(`{"version":0,"device":"p"}`))
	_, err := readAnswer(status, body)
	var refused *Error
	if !errors.As(err, &refused) || refused.Kind != TooOld || status != http.StatusUpgradeRequired {
		t.Errorf("too old a phone gets %d, %v", status, err)
	}
	write(t, phone.log, entry("property/A", 1))
	_, err = phone.Run(t.Context(), answering{200, `{"version":0,"cursor":"x"}`})
	if !errors.Is(err, ErrAnswer) {
		t.Errorf("an answer without a version: %v", err)
	}
}

// answering is a transport with one answer.
type answering struct {
	status int
	body   string
}

func (a answering) Post(context.Context, []byte) (int, []byte, error) {
	return a.status, []byte(a.body), nil
}

// What is no answer of the office never moves the place.
func TestStrangeAnswers(t *testing.T) {
	for _, a := range []answering{
		{200, "<html>Sign in to the hotel's network</html>"}, {200, ""}, {200, "{}"}, {200, `{"version":1,"cursor":"c"}`},
		{302, ""}, {500, `{"version":1,"cursor":"c"}`}, {401, `{"error":{"kind":"denied","message":"Sign in again."}}`},
		{200, `{"version":1,"cursor":"c","accepted":["00000000000000000000000001"]}`},
		{200, `{"version":1,"cursor":"c","restarted":true,"accepted":["31000000000000000000000001"]}`},
	} {
		office, phone := pair()
		write(t, phone.log, entry("property/A", 1))
		if _, err := phone.Run(t.Context(), a); err == nil {
			t.Errorf("%+v: Run = nil", a)
		}
		if s := status(t, phone); s.Waiting != 1 || s.Problem == "" {
			t.Errorf("%+v: %+v", a, s)
		}
		if done := run(t, phone, wire{office}); done.Sent != 1 {
			t.Errorf("%+v: then %+v", a, done)
		}
	}
}

func TestFlagged(t *testing.T) {
	office, phone := pair()
	good, ahead, differs := entry("property/A", 1), entry("property/A", 2), entry("property/A", 3)
	ahead.Time = journal.TimeOf(noon.Add(journal.MaxAhead + time.Hour))
	secret := entry("office/users", 4)
	theirs := differs
	theirs.Payload = []byte("other")
	write(t, office.Log, theirs)
	write(t, phone.log, differs, good, ahead, secret)
	done := run(t, phone, wire{office})
	if got := fmt.Sprint(whys(done.Flagged)); done.Sent != 2 || got != "[differs ahead]" {
		t.Errorf("%d sent, flagged %+v", done.Sent, done.Flagged)
	}
	holds(t, office.Log, []journal.Envelope{theirs, good, ahead})
	holds(t, phone.log, []journal.Envelope{differs, good, ahead, secret})
	if s := status(t, phone); s.Waiting != 0 || !strings.HasPrefix(s.Problem, "2 entries were flagged") {
		t.Errorf("%+v", s)
	}
	if err := phone.Seen(t.Context()); err != nil {
		t.Fatal(err)
	}
	if s := status(t, phone); s.Problem != "" {
		t.Errorf("once seen: %+v", s)
	}

	// A device cannot write into what only the office writes, nor nonsense.
	bad := entry("property/A", 5)
	bad.Kind = ""
	a, err := office.Exchange(t.Context(), Request{Version: Version, Device: "p", Envelopes: pack([]journal.Envelope{secret, bad, entry("property/A", 6)})})
	if got := fmt.Sprint(whys(a.Flagged)); err != nil || len(a.Accepted) != 1 || got != "[not-taken invalid]" {
		t.Errorf("%+v, %v", a, err)
	}
	// What only the office has stays there.
	write(t, office.Log, entry("office/users", 7))
	for _, e := range a.Envelopes {
		if !Travels(e.Stream) {
			t.Errorf("%s was given away", e.Stream)
		}
	}
}

func whys(flags []Flag) []Why {
	var list []Why
	for _, f := range flags {
		list = append(list, f.Why)
	}
	return list
}

// An entry from far ahead raises nobody's clock.
func TestAheadRaisesNoClock(t *testing.T) {
	clock := journal.NewClock(atNoon)
	if clock.Observe(journal.TimeOf(noon.Add(journal.MaxAhead+time.Hour))) || clock.Next().Wall().After(noon.Add(time.Second)) {
		t.Error("the clock was raised")
	}
}

func TestLimits(t *testing.T) {
	office, phone := pair()
	if _, err := office.Exchange(t.Context(), Request{Version: Version, Envelopes: make([]Envelope, MaxEnvelopes+1)}); err == nil {
		t.Error("a request of too many entries was taken")
	}
	if status, _, _ := (wire{office}).Post(t.Context(), bytes.Repeat([]byte(" "), maxBody+1)); status != http.StatusRequestEntityTooLarge {
		t.Errorf("a request of too many bytes: %d", status)
	}
	if status, _, _ := (wire{office}).Post(t.Context(), []byte("{")); status != http.StatusBadRequest {
		t.Errorf("half a request: %d", status)
	}
	// Large entries go one by one, both ways, and the answers stay small.
	var ours, theirs []journal.Envelope
	for n := range 6 {
		e := entry("property/A", n)
		e.Payload = bytes.Repeat([]byte{byte(n)}, journal.MaxPayload-n*1000)
		o := e
		o.ID[0], o.Stream = 'B', "property/B"
		ours, theirs = append(ours, e), append(theirs, o)
	}
	write(t, phone.log, ours...)
	write(t, office.Log, theirs...)
	m := &measuring{Transport: wire{office}}
	run(t, phone, m)
	holds(t, office.Log, append(slices.Clone(ours), theirs...))
	holds(t, phone.log, append(slices.Clone(ours), theirs...))
	if m.largest > 2*MaxBytes {
		t.Errorf("%d bytes in one message", m.largest)
	}
}

// measuring notes the largest message.
type measuring struct {
	Transport
	largest int
}

func (m *measuring) Post(ctx context.Context, body []byte) (int, []byte, error) {
	status, answer, err := m.Transport.Post(ctx, body)
	m.largest = max(m.largest, len(body), len(answer))
	return status, answer, err
}

// TestRestored: an office that was restored from an older copy gets back what
// it lost, from whichever phone has it, also what a phone got from it.
func TestRestored(t *testing.T) {
	office, phone := pair()
	copied := memlog.New(journal.Summary{})
	write(t, phone.log, entries("property/A", 0, 10)...)
	run(t, phone, wire{office})
	write(t, copied, all(t, office.Log)...)
	write(t, phone.log, entries("property/A", 10, 20)...)
	write(t, office.Log, entries("property/B", 0, 10)...)
	run(t, phone, wire{office})
	before := all(t, office.Log)

	office.Log = copied
	office.Policy = carryAll(copied)
	if done := run(t, phone, wire{office}); done.Sent < 20 {
		t.Errorf("after the restoration: %+v", done)
	}
	holds(t, office.Log, before)
	if s := status(t, phone); s.Waiting != 0 || s.Problem != "" {
		t.Errorf("%+v", s)
	}
}

// TestRestoredBetween: the copy is older than what was taken and younger than
// the phone's cursor in the order of arrival, because the phone lags behind.
func TestRestoredBetween(t *testing.T) {
	office, phone := pair()
	office.room = room{1, MaxBytes}
	write(t, office.Log, entries("property/B", 0, 10)...)
	write(t, phone.log, entries("property/A", 0, 5)...)
	copied := memlog.New(journal.Summary{})
	write(t, copied, all(t, office.Log)...)
	phone.Run(t.Context(), &cutting{Transport: wire{office}, after: 2}) // the signal is gone after two answers
	if s := status(t, phone); s.Waiting != 0 {
		t.Fatalf("%+v", s)
	}
	before := all(t, office.Log)
	office.Log, office.Policy = copied, carryAll(copied)
	run(t, phone, wire{office})
	holds(t, office.Log, before)
}

// cutting loses everything after some answers.
type cutting struct {
	Transport
	after int
}

func (c *cutting) Post(ctx context.Context, body []byte) (int, []byte, error) {
	if c.after--; c.after < 0 {
		return 0, nil, errors.New("no signal")
	}
	return c.Transport.Post(ctx, body)
}

// TestErased: a phone whose journal was erased gets all of it again, its own
// entries too, whether or not the state was erased with it.
func TestErased(t *testing.T) {
	for _, stateToo := range []bool{true, false} {
		office, phone := pair()
		write(t, phone.log, entries("property/A", 0, 10)...)
		write(t, office.Log, entries("shop", 0, 10)...)
		run(t, phone, wire{office})
		keeper := phone.keeper
		if stateToo {
			keeper = &kept{}
		}
		again := NewClient(memlog.New(journal.Summary{}), keeper, "phone", atNoon)
		run(t, again, wire{office})
		holds(t, again.log, all(t, office.Log))
		if s := status(t, again); s.Waiting != 0 {
			t.Errorf("state erased %v: %+v", stateToo, s)
		}
	}
}

func TestStateUnreadable(t *testing.T) {
	office, phone := pair()
	phone.keeper = &kept{text: []byte("{torn")}
	write(t, phone.log, entries("property/A", 0, 3)...)
	if done := run(t, phone, wire{office}); done.Sent != 3 {
		t.Errorf("%+v", done)
	}
}

// shop returns a log with the ledgers' lists, and a house with a visit opened
// some days before noon.
func visited(t *testing.T, log journal.Log, house string, days int, closed bool) {
	t.Helper()
	at := noon.AddDate(0, 0, -days)
	add := func(n int, event record.Event) {
		e := entry("property/"+house, n)
		e.Time = journal.TimeOf(at) + journal.Time(n)
		write(t, log, record.Encode(e, event))
	}
	add(1, record.PropertyAdded{Property: record.PropertyID(house), Name: house})
	add(2, record.SystemAdded{System: record.SystemID("S" + house), Kind: "split-air-conditioner"})
	visit := record.VisitID("V" + house)
	add(3, record.VisitOpened{Visit: visit, System: record.SystemID("S" + house)})
	if closed {
		add(4, record.VisitClosed{Visit: visit, Outcome: "fixed"})
	}
}

// TestCarried: a phone carries open and recent visits and what it asks for, from
// the beginning, and what came into them while it did not.
func TestCarried(t *testing.T) {
	office := &Server{Log: memlog.New(ledger.Summary()), Now: atNoon}
	phone := NewClient(memlog.New(ledger.Summary()), &kept{}, "phone", atNoon)
	visited(t, office.Log, "A", 400, true)
	visited(t, office.Log, "B", 400, false)
	visited(t, office.Log, "C", 29, true)
	visited(t, office.Log, "D", 31, true)
	visited(t, office.Log, "E", 50, false) // opened long ago, closed a week ago
	closed := entry("property/E", 9)
	closed.Time = journal.TimeOf(noon.AddDate(0, 0, -7))
	write(t, office.Log, record.Encode(closed, record.VisitClosed{Visit: "VE", Outcome: "fixed"}))
	write(t, office.Log, entry("shop", 1), entry("truck/2", 1), entry("office/users", 1))
	here := func() string {
		var list []string
		for _, e := range all(t, phone.log) {
			if s := string(e.Stream); !slices.Contains(list, s) {
				list = append(list, s)
			}
		}
		slices.Sort(list)
		return strings.Join(list, " ")
	}
	run(t, phone, wire{office})
	if got := here(); got != "property/B property/C property/E shop truck/2" {
		t.Errorf("carried: %s", got)
	}
	if err := phone.Want(t.Context(), "A"); err != nil {
		t.Fatal(err)
	}
	run(t, phone, wire{office})
	if got := here(); got != "property/A property/B property/C property/E shop truck/2" {
		t.Errorf("with what was asked for: %s", got)
	}
	// What is not carried comes whole once it is.
	again := entry("property/D", 9)
	write(t, office.Log, record.Encode(again, record.VisitOpened{Visit: "VD2", System: "SD"}))
	run(t, phone, wire{office})
	want, _ := office.Log.Stream(t.Context(), "property/D")
	got, _ := phone.log.Stream(t.Context(), "property/D")
	if len(want) != 5 || !slices.EqualFunc(got, want, journal.Equal) {
		t.Errorf("%d entries of the house visited again, want %d", len(got), len(want))
	}
	// What is no longer wanted gets no news, and catches up when wanted again.
	if err := phone.Unwant(t.Context(), "A"); err != nil {
		t.Fatal(err)
	}
	write(t, office.Log, record.Encode(entry("property/A", 9), record.NoteLeft{Text: "news", Visit: "VA"}))
	run(t, phone, wire{office})
	if list, _ := phone.log.Stream(t.Context(), "property/A"); len(list) != 4 {
		t.Errorf("%d entries of a house not carried", len(list))
	}
	if err := phone.Want(t.Context(), "A"); err != nil {
		t.Fatal(err)
	}
	if done := run(t, phone, wire{office}); done.Received == 0 {
		t.Errorf("%+v", done)
	}
	if list, _ := phone.log.Stream(t.Context(), "property/A"); len(list) != 5 {
		t.Errorf("%d entries of a house carried again", len(list))
	}
}

// TestFind: what is not carried is found by name, asked for, and comes.
func TestFind(t *testing.T) {
	office := &Server{Log: memlog.New(ledger.Summary()), Now: atNoon}
	phone := NewClient(memlog.New(ledger.Summary()), &kept{}, "phone", atNoon)
	visited(t, office.Log, "Mill house", 400, true)
	visited(t, office.Log, "Old mill", 400, true)
	visited(t, office.Log, "Brook", 400, true)
	found, err := phone.Find(t.Context(), wire{office}, " MILL ")
	if err != nil || len(found) != 2 || found[0].Name != "Mill house" {
		t.Fatalf("%+v, %v", found, err)
	}
	if none, err := phone.Find(t.Context(), wire{office}, " "); none != nil || err != nil {
		t.Errorf("nothing asked: %v, %v", none, err)
	}
	if err := phone.Want(t.Context(), found[0].Property); err != nil {
		t.Fatal(err)
	}
	run(t, phone, wire{office})
	if p := fold(t, phone.log, found[0].Property); p.Name != "Mill house" || len(p.Visits) != 1 {
		t.Errorf("%+v", p)
	}
	if wants, err := phone.Wants(t.Context()); err != nil || len(wants) != 1 {
		t.Errorf("wants %v, %v", wants, err)
	}
	if _, err := phone.Find(t.Context(), &cutting{}, "mill"); Problem(err) != "The office did not answer. Entries stay on this phone; it is tried again." {
		t.Errorf("without signal: %v", err)
	}
}

// TestFillWhileNewsComes: while a large house is filled in by small batches,
// entries with old dates come into it.
func TestFillWhileNewsComes(t *testing.T) {
	office, phone := pair()
	wanted := map[journal.Stream]bool{}
	office.Policy = func(context.Context, string, []journal.Stream) (map[journal.Stream]bool, error) { return wanted, nil }
	office.room = room{7, MaxBytes}
	write(t, office.Log, entries("shop", 0, 3)...)
	write(t, office.Log, entries("property/A", 100, 150)...)
	run(t, phone, wire{office})
	wanted["property/A"] = true
	late := &lateNews{Transport: wire{office}, log: office.Log, news: entries("property/A", 0, 20)}
	done := run(t, phone, late)
	holds(t, phone.log, all(t, office.Log))
	if done.Received > 50+20 {
		t.Errorf("%d entries came of 70: some twice", done.Received)
	}
}

// lateNews appends an old entry to the office before every request.
type lateNews struct {
	Transport
	log  journal.Log
	news []journal.Envelope
}

func (l *lateNews) Post(ctx context.Context, body []byte) (int, []byte, error) {
	if len(l.news) > 0 {
		if err := l.log.Append(ctx, l.news[:1]); err != nil {
			return 0, nil, err
		}
		l.news = l.news[1:]
	}
	return l.Transport.Post(ctx, body)
}

func TestStatusText(t *testing.T) {
	for want, s := range map[string]Status{
		"Everything is handed over, no exchange yet":                          {},
		"Everything is handed over, last exchange 10:42":                      {Last: noon.Add(-78 * time.Minute)},
		"1 entry not handed over, 5 min old, last exchange 12 July 12:00":     {Waiting: 1, Oldest: noon.Add(-5 * time.Minute), Last: noon.AddDate(0, 0, -2)},
		"3 entries not handed over, oldest 3 h, last exchange 10:42":          {Waiting: 3, Oldest: noon.Add(-3*time.Hour - 59*time.Minute), Last: noon.Add(-78 * time.Minute)},
		"2 entries not handed over, oldest 4 days, last exchange 12:00":       {Waiting: 2, Oldest: noon.AddDate(0, 0, -4), Last: noon},
		"2 entries not handed over, oldest 1 min, last exchange 14 May 12:00": {Waiting: 2, Oldest: noon.Add(time.Hour), Last: noon.AddDate(0, -2, 0)},
	} {
		if got := s.Text(noon, time.UTC); got != want {
			t.Errorf("%+v: %q, want %q", s, got, want)
		}
	}
}
