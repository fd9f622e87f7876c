package office

import (
	"bytes"
	"context"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"rung/internal/account"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/role"
	"rung/internal/visit"
	"rung/internal/web"
)

// pocket is a phone with the program in it, on the clock of the shop.
type pocket struct {
	shop    *shopServer
	name    string // in the journal
	token   string // empty: not enrolled
	worker  string
	log     *memlog.Log
	visits  *visit.Service
	client  *exchange.Client
	handler http.Handler
	kept    []byte // the state of the exchange
	ids     *journal.IDSource
}

func (p *pocket) Load(context.Context) ([]byte, error) { return slices.Clone(p.kept), nil }
func (p *pocket) Save(_ context.Context, text []byte) error {
	p.kept = slices.Clone(text)
	return nil
}

// Post implements exchange.Transport over the office's own handler.
func (p *pocket) Post(ctx context.Context, body []byte) (int, []byte, error) {
	return p.Do(ctx, http.MethodPost, exchange.Path, body)
}

func (p *pocket) Do(ctx context.Context, method, path string, body []byte) (int, []byte, error) {
	r := httptest.NewRequestWithContext(ctx, method, "https://shop.test"+path, bytes.NewReader(body))
	if p.token != "" {
		r.Header.Set("Authorization", "Bearer "+p.token)
	}
	w := httptest.NewRecorder()
	p.shop.handler.ServeHTTP(w, r)
	return w.Code, w.Body.Bytes(), nil
}

// Name and what follows implement web.Device.
func (p *pocket) Name() string     { return p.name }
func (p *pocket) Language() string { return "" }

func (p *pocket) SetLanguage(context.Context, string) error { return nil }

func (p *pocket) Worker() string { return p.worker }
func (p *pocket) SetWorker(_ context.Context, name string) error {
	p.worker = name
	return nil
}
func (p *pocket) Entries(context.Context) (int, error) { return 0, nil }

// newPocket returns a phone that is not enrolled yet; worker says that he works
// on it.
func (s *shopServer) newPocket(name, worker string) *pocket {
	s.t.Helper()
	now := func() time.Time { return *s.now }
	p := &pocket{shop: s, name: name, worker: worker, log: memlog.New(ledger.Summary())}
	p.ids = journal.NewIDSource(now, rand.NewChaCha8([32]byte([]byte(name+strings.Repeat(" ", 32-len(name))))))
	var err error
	p.visits, err = visit.New(visit.Config{Log: p.log, Now: now, IDs: p.ids, Device: name, Open: func(visit.Situation) (visit.Reasoner, error) { return mute{}, nil }})
	if err != nil {
		s.t.Fatal(err)
	}
	p.client = exchange.NewClient(p.log, p, name, now)
	pages, err := web.New(web.Options{Visits: p.visits, Now: now, Device: p, Enrolled: &web.Enrolment{Client: p.client, Worker: p.Worker},
		HandOver: &web.HandOver{Log: p.log, Device: name, Client: p.client, Office: p}, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		s.t.Fatal(err)
	}
	p.handler = pages.Handler()
	return p
}

// enrolled returns a phone of somebody that has exchanged once.
func (s *shopServer) enrolled(name, person string) *pocket {
	s.t.Helper()
	p := s.newPocket(name, person)
	p.token = s.phone(person)
	p.exchange()
	return p
}

func (p *pocket) exchange() exchange.Done {
	p.shop.t.Helper()
	done, err := p.client.Run(p.shop.t.Context(), p)
	if err != nil {
		p.shop.t.Fatalf("%s: %v", p.name, err)
	}
	return done
}

// post sends a form to the phone itself.
func (p *pocket) post(path string, form url.Values) *httptest.ResponseRecorder {
	if form == nil {
		form = url.Values{}
	}
	form.Set("form", p.visits.NewForm())
	r := httptest.NewRequest(http.MethodPost, "https://shop.test"+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "https://shop.test")
	w := httptest.NewRecorder()
	p.handler.ServeHTTP(w, r)
	return w
}

func (p *pocket) get(path string) string {
	w := httptest.NewRecorder()
	p.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "https://shop.test"+path, nil))
	return w.Body.String()
}

// house enters a house with a system on the phone, opens a visit there, and
// returns all three.
func (p *pocket) house(person string) (record.PropertyID, record.SystemID, record.VisitID) {
	p.shop.t.Helper()
	where := func(w *httptest.ResponseRecorder) string {
		p.shop.t.Helper()
		if w.Code != 303 {
			p.shop.t.Fatalf("%s: %d %s", p.name, w.Code, w.Body)
		}
		path, _, _ := strings.Cut(w.Header().Get("Location"), "?")
		return strings.Split(path, "/")[2]
	}
	property := where(p.post("/properties", url.Values{"name": {"12 Sample Lane"}}))
	system := where(p.post("/properties/"+property+"/systems", url.Values{"name": {"upstairs"}}))
	v := where(p.post("/systems/"+system+"/visits", url.Values{"complaint": {"not-cooling"}, "who": {person}, "role": {"mechanic"}, "refrigerant": {"yes"}}))
	return record.PropertyID(property), record.SystemID(system), record.VisitID(v)
}

// whyOf returns the reasons of the flags of a run.
func whyOf(done exchange.Done) []exchange.Why {
	var list []exchange.Why
	for _, f := range done.Flagged {
		list = append(list, f.Why)
	}
	return list
}

func (s *shopServer) heldNow() []exchange.Doubted {
	s.t.Helper()
	list, err := s.office.Held.List(s.t.Context())
	if err != nil {
		s.t.Fatal(err)
	}
	return list
}

// has reports whether the journal of the office has an entry.
func (s *shopServer) has(e journal.Envelope) bool {
	s.t.Helper()
	list, err := s.journal.Stream(s.t.Context(), e.Stream)
	if err != nil {
		s.t.Fatal(err)
	}
	return slices.ContainsFunc(list, func(x journal.Envelope) bool { return journal.Equal(x, e) })
}

// TestRolesInThePhone: a phone is its own master until it is enrolled; then the
// rules of the office hold in it, with what the office said last.
func TestRolesInThePhone(t *testing.T) {
	s := shopOf(t)
	p := s.newPocket("phone-a", "apprentice")
	_, _, v := p.house("apprentice")
	closing := "/visits/" + string(v) + "/close"
	form := func() url.Values { return url.Values{"outcome": {"declined"}, "note": {"not today"}} }
	if !strings.Contains(p.get("/phone"), "its own master") {
		t.Errorf("the phone does not say that it is not enrolled: %s", p.get("/phone"))
	}
	if _, err := p.client.Run(t.Context(), p); err == nil || !strings.Contains(p.get("/hand-over"), "does not know this phone") {
		t.Errorf("a phone that is not enrolled exchanges: %v, %s", err, p.get("/hand-over"))
	}

	p.token = s.phone("apprentice")
	done := p.exchange()
	// Before it was enrolled everybody could be a mechanic on it.
	if got := whyOf(done); !slices.Equal(got, []exchange.Why{exchange.Aside}) || s.heldNow()[0].Entry.Kind != "visit-opened" || !strings.Contains(s.heldNow()[0].Why, "role or licence") {
		t.Fatalf("at the first exchange: %+v, kept aside %+v", done, s.heldNow())
	}
	if page := p.get("/phone"); !strings.Contains(page, "Enrolled for") || strings.Contains(page, "Save the name") {
		t.Errorf("the phone does not say for whom it is enrolled: %s", page)
	}
	w := p.post(closing, form())
	if w.Code != 403 || !strings.Contains(w.Body.String(), "It is apprentice") || !strings.Contains(w.Body.String(), "not today") {
		t.Errorf("an apprentice closes a visit in his phone: %d %s", w.Code, w.Body)
	}
	if w := p.post("/hand-over/run", nil); w.Code != 303 {
		t.Errorf("an apprentice cannot hand over: %d", w.Code)
	}
	if w := p.post("/visits/"+string(v)+"/readings", url.Values{"check": {"cap-bench"}, "demand": {"off"}, "point-herm": {"38.5"}}); w.Code != 303 {
		t.Fatalf("a reading: %d %s", w.Code, w.Body)
	}
	list, err := p.log.Stream(t.Context(), mustStream(t, p, v))
	if err != nil {
		t.Fatal(err)
	}
	last := list[len(list)-1]
	event, _ := record.Decode(last)
	if r, ok := event.(record.ReadingTaken); !ok || r.Role != "apprentice" || last.Author != "apprentice" {
		t.Errorf("the reading is %+v by %s", event, last.Author)
	}

	// What the office changes holds from the next exchange on, and the pages say so.
	owner := s.as("owner")
	*s.now = s.now.Add(24 * time.Hour)
	owner.wants("the role", owner.post("/office/people/apprentice", url.Values{"role": {"mechanic"}, "gas": {"yes"}}), 303)
	if w := owner.get("/office/phones"); !strings.Contains(w.Body.String(), "knows the role apprentice; mechanic from the next exchange on") {
		t.Errorf("the office does not see what the phone knows: %s", w.Body)
	}
	if w := p.post(closing, form()); w.Code != 403 {
		t.Errorf("the role changes before the exchange: %d", w.Code)
	}
	if done := p.exchange(); done.Flagged != nil {
		t.Errorf("the reading was flagged: %+v", done.Flagged)
	}
	for _, path := range []string{"/phone", "/hand-over", "/"} {
		if page := p.get(path); !strings.Contains(page, "your role is mechanic, before apprentice") {
			t.Errorf("%s does not tell of the new role: %s", path, page)
		}
	}
	if w := p.post(closing, form()); w.Code != 303 {
		t.Fatalf("the new mechanic cannot close: %d %s", w.Code, w.Body)
	}
	if done := p.exchange(); done.Flagged != nil || done.Sent == 0 {
		t.Errorf("the closing was flagged: %+v", done)
	}

	// Revoked, it is read only, and hands in what it holds.
	*s.now = s.now.Add(time.Hour)
	if w := p.post("/visits/"+string(v)+"/readings", url.Values{"check": {"cap-bench"}, "demand": {"off"}, "point-herm": {"39"}}); w.Code != 303 {
		t.Fatalf("a reading: %d %s", w.Code, w.Body)
	}
	*s.now = s.now.Add(time.Hour)
	told := deviceAnswer{}
	grant, err := s.office.Book.Grant(t.Context(), p.token)
	if err != nil {
		t.Fatal(err)
	}
	told.Device = grant.Device
	owner.wants("revoking", owner.post("/office/phones/"+strings.ToUpper(strings.TrimPrefix(told.Device, "phone-"))+"/revoke", nil), 303)
	*s.now = s.now.Add(time.Hour)
	if w := p.post("/visits/"+string(v)+"/readings", url.Values{"check": {"cap-bench"}, "demand": {"off"}, "point-herm": {"40"}}); w.Code != 303 {
		t.Fatalf("it cannot know yet: %d", w.Code)
	}
	done = p.exchange()
	if got := whyOf(done); !slices.Equal(got, []exchange.Why{exchange.Aside}) || done.Sent != 1 || done.Received != 0 {
		t.Errorf("a revoked phone hands in %+v", done)
	}
	if w := p.post("/visits/"+string(v)+"/readings", url.Values{"check": {"cap-bench"}, "demand": {"off"}, "point-herm": {"41"}}); w.Code != 403 || !strings.Contains(w.Body.String(), "out of the shop") {
		t.Errorf("a revoked phone records on: %d %s", w.Code, w.Body)
	}
	if page := p.get("/visits/" + string(v)); !strings.Contains(page, "This phone was revoked") || !strings.Contains(page, "38.5") {
		t.Errorf("a revoked phone shows: %s", page)
	}
}

func mustStream(t *testing.T, p *pocket, v record.VisitID) journal.Stream {
	t.Helper()
	here, err := p.visits.Visit(t.Context(), v)
	if err != nil {
		t.Fatal(err)
	}
	return here.Property.Property.Stream()
}

// TestWhoMayWriteWhat hands in entries of all sorts and looks which come in.
func TestWhoMayWriteWhat(t *testing.T) {
	s := shopOf(t)
	if err := s.office.Book.SetStanding(t.Context(), "test", "mechanic", account.Standing{Role: account.Mechanic, Refrigerant: true}); err != nil {
		t.Fatal(err)
	}
	phones := map[string]*pocket{}
	for _, r := range account.Roles() {
		phones[string(r)] = s.enrolled("phone-"+string(r), string(r))
	}
	*s.now = s.now.Add(time.Hour)
	property := record.PropertyID(phones["owner"].ids.Next().String())
	n := 0
	entry := func(stream journal.Stream, author, device string, event record.Event) journal.Envelope {
		n++
		return record.Encode(journal.Envelope{ID: phones["owner"].ids.Next(), Stream: stream, Device: device, Author: author, Time: journal.TimeOf(*s.now) + journal.Time(n)}, event)
	}
	house := property.Stream()
	reading := record.ReadingTaken{Visit: "v", Check: "cap-bench", Point: "herm", Demand: "off", AsRead: record.AsRead{Text: "38.5", Unit: "uF"}, Role: "mechanic"}
	asApprentice := reading
	asApprentice.Role = "apprentice"
	noRole := reading
	noRole.Role = ""
	closed := entry(house, "owner", "phone-owner", record.VisitClosed{Visit: "v", Outcome: "fixed"})
	shared := entry(house, "owner", "phone-owner", record.ReportShared{Visit: "v", Token: "t"})
	aside := entry(record.ShopStream, "owner", "phone-owner", record.LearningSetAside{Why: "moved"})
	opened := entry(house, "owner", "phone-owner", record.VisitOpened{Visit: "v", System: "s", Who: record.Person{Name: "mechanic", Role: "mechanic"}})
	undone := entry(house, "owner", "phone-owner", record.EntryWithdrawn{Visit: "v", Entry: idOf(closed)})
	if err := s.journal.Append(t.Context(), []journal.Envelope{closed, shared, aside, opened, undone}); err != nil {
		t.Fatal(err)
	}
	later := entry(house, "apprentice", "phone-apprentice", record.NoteLeft{Text: "x"})
	later.Kind, later.Version = "of-a-later-program", 3
	newer := entry(house, "apprentice", "phone-apprentice", record.VisitClosed{Visit: "v"})
	newer.Version = 9
	torn := entry(house, "owner", "phone-owner", record.NoteLeft{Text: "x"})
	torn.Payload = []byte("{")
	settled := record.StatementSettled{About: record.AboutRepair, Visit: "v", Over: []record.EntryID{"x"}}
	for _, c := range []struct {
		what, brings string
		entry        journal.Envelope
		in           bool
	}{
		{"his own reading", "mechanic", entry(house, "mechanic", "phone-mechanic", reading), true},
		{"his own reading, the name in capitals", "mechanic", entry(house, "MECHANIC", "phone-mechanic", reading), true},
		{"a reading in another's name", "apprentice", entry(house, "mechanic", "phone-apprentice", reading), false},
		{"a reading passed on", "apprentice", entry(house, "mechanic", "phone-mechanic", reading), true},
		{"a reading passed on, by nobody of that phone", "apprentice", entry(house, "apprentice", "phone-mechanic", asApprentice), false},
		{"a reading of no phone", "mechanic", entry(house, "mechanic", "phone-x", reading), false},
		{"one that says it is of the office", "owner", entry(house, "owner", "server", reading), false},
		{"an apprentice's reading", "apprentice", entry(house, "apprentice", "phone-apprentice", asApprentice), true},
		{"an apprentice's reading as a mechanic's", "apprentice", entry(house, "apprentice", "phone-apprentice", reading), false},
		{"an apprentice's reading without a role", "apprentice", entry(house, "apprentice", "phone-apprentice", noRole), false},
		{"a reading of the office", "office", entry(house, "office", "phone-office", noRole), false},
		{"a closing", "mechanic", entry(house, "mechanic", "phone-mechanic", record.VisitClosed{Visit: "v", Outcome: "fixed"}), true},
		{"an apprentice's closing", "apprentice", entry(house, "apprentice", "phone-apprentice", record.VisitClosed{Visit: "v", Outcome: "fixed"}), false},
		{"an apprentice's closing passed on by a mechanic", "mechanic", entry(house, "apprentice", "phone-apprentice", record.VisitClosed{Visit: "v", Outcome: "fixed"}), false},
		{"an apprentice's closing of a later version", "apprentice", newer, false},
		{"a kind of a later program", "apprentice", later, true},
		{"what cannot be read", "owner", torn, false},
		{"an apprentice settles", "apprentice", entry(house, "apprentice", "phone-apprentice", settled), false},
		{"a mechanic settles", "mechanic", entry(house, "mechanic", "phone-mechanic", settled), true},
		{"the office recommends", "office", entry(house, "office", "phone-office", record.RecommendationMade{Recommendation: "r", What: "x"}), true},
		{"an apprentice recommends", "apprentice", entry(house, "apprentice", "phone-apprentice", record.RecommendationMade{Recommendation: "r", What: "x"}), false},
		{"counts of an owner", "owner", entry(record.ShopStream, "owner", "phone-owner", record.ClosuresCounted{}), true},
		{"counts of a mechanic", "mechanic", entry(record.ShopStream, "mechanic", "phone-mechanic", record.ClosuresCounted{}), false},
		{"counts in a house", "owner", entry(house, "owner", "phone-owner", record.ClosuresCounted{}), false},
		{"a reading in the shop's stream", "owner", entry(record.ShopStream, "owner", "phone-owner", reading), false},
		{"a reading in a stream of nobody", "owner", entry("truck/1", "owner", "phone-owner", reading), false},
		{"an owner learns again", "owner", entry(record.ShopStream, "owner", "phone-owner", record.EntryWithdrawn{Entry: idOf(aside)}), true},
		{"a mechanic learns again", "mechanic", entry(record.ShopStream, "mechanic", "phone-mechanic", record.EntryWithdrawn{Entry: idOf(aside)}), false},
		{"an apprentice takes a closing back", "apprentice", entry(house, "apprentice", "phone-apprentice", record.EntryWithdrawn{Visit: "v", Entry: idOf(closed)}), false},
		{"an apprentice brings a closing back", "apprentice", entry(house, "apprentice", "phone-apprentice", record.EntryWithdrawn{Visit: "v", Entry: idOf(undone)}), false},
		{"a mechanic takes a closing back", "mechanic", entry(house, "mechanic", "phone-mechanic", record.EntryWithdrawn{Visit: "v", Entry: idOf(closed)}), true},
		{"the office takes a link back", "office", entry(house, "office", "phone-office", record.EntryWithdrawn{Visit: "v", Entry: idOf(shared)}), true},
		{"the office takes a closing back", "office", entry(house, "office", "phone-office", record.EntryWithdrawn{Visit: "v", Entry: idOf(closed)}), false},
		{"an owner takes a visit back", "owner", entry(house, "owner", "phone-owner", record.EntryWithdrawn{Visit: "v", Entry: idOf(opened)}), false},
		{"what is not there taken back", "owner", entry(house, "owner", "phone-owner", record.EntryWithdrawn{Entry: "01ARZ3NDEKTSV4RRFFQ69G5FAV"}), false},
		{"the office opens a visit for a mechanic", "office", entry(house, "office", "phone-office", record.VisitOpened{Visit: "w", System: "s", Who: record.Person{Name: "mechanic", Role: "mechanic", Refrigerant: true}}), true},
		{"a visit for a mechanic with a licence too many", "office", entry(house, "office", "phone-office", record.VisitOpened{Visit: "w", System: "s", Who: record.Person{Name: "mechanic", Role: "mechanic", Gas: true}}), false},
		{"a visit for nobody", "owner", entry(house, "owner", "phone-owner", record.VisitOpened{Visit: "w", System: "s", Who: record.Person{Name: "Eve", Role: "mechanic"}}), false},
		{"an apprentice opens his visit", "apprentice", entry(house, "apprentice", "phone-apprentice", record.VisitOpened{Visit: "w", System: "s", Who: record.Person{Name: "Apprentice", Role: "apprentice"}}), true},
		{"an apprentice opens as a mechanic", "apprentice", entry(house, "apprentice", "phone-apprentice", record.VisitOpened{Visit: "w", System: "s", Who: record.Person{Name: "apprentice", Role: "mechanic"}}), false},
		{"an apprentice opens a mechanic's", "apprentice", entry(house, "apprentice", "phone-apprentice", record.VisitOpened{Visit: "w", System: "s", Who: record.Person{Name: "mechanic", Role: "mechanic"}}), false},
	} {
		before := len(s.heldNow())
		p := phones[c.brings]
		if err := p.log.Append(t.Context(), []journal.Envelope{c.entry}); err != nil {
			t.Fatal(err)
		}
		done := p.exchange()
		if got := s.has(c.entry); got != c.in || (len(s.heldNow()) == before) != c.in || (done.Flagged == nil) != c.in {
			t.Errorf("%s: in %v, want %v; flagged %+v", c.what, got, c.in, done.Flagged)
		}
		if c.in == strings.Contains(p.get("/hand-over"), "flagged in the exchange") {
			t.Errorf("%s: the phone shows %s", c.what, p.get("/hand-over"))
		}
		if err := p.client.Seen(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	// What is kept aside goes to nobody.
	for _, p := range phones {
		list, err := p.log.Stream(t.Context(), "office/held")
		if err != nil || len(list) > 0 {
			t.Errorf("%s got what is kept aside: %d, %v", p.name, len(list), err)
		}
	}
}

func idOf(e journal.Envelope) record.EntryID { return record.EntryID(e.ID.String()) }

// TestKeptAside: the owner decides about what is kept aside, and nothing of it is
// lost.
func TestKeptAside(t *testing.T) {
	s := shopOf(t)
	stranger := s.newPocket("phone-s", "Ada")
	stranger.house("Ada")
	ada, err := exchange.Gather(t.Context(), stranger.log, "")
	if err != nil {
		t.Fatal(err)
	}
	p := s.enrolled("phone-m", "mechanic")
	if _, err := exchange.TakeIn(t.Context(), p.log, ada, *s.now); err != nil {
		t.Fatal(err)
	}
	if done := p.exchange(); done.Sent != 0 || len(done.Flagged) != len(ada) {
		t.Fatalf("entries of a phone that is not enrolled: %+v", done)
	}
	owner := s.as("owner")
	w := owner.get("/office/held")
	for _, want := range []string{"3 entries brought by mechanic", "which is no phone of the shop", "visit opened", "by Ada on phone-s"} {
		if !strings.Contains(w.Body.String(), want) {
			t.Errorf("the page lacks %q: %s", want, w.Body)
		}
	}
	if w := owner.get("/office"); !strings.Contains(w.Body.String(), "to be decided: 3") {
		t.Errorf("the office does not say so: %s", w.Body)
	}
	list := s.heldNow()
	form := url.Values{"group": {heldGroup(list[0])}, "count": {"3"}, "last": {list[2].ID.String()}, "do": {"leave"}}
	owner.wants("a count that is not right", owner.post("/office/held", url.Values{"group": form["group"], "count": {"2"}, "last": form["last"], "do": {"take"}}), 422)
	owner.wants("neither", owner.post("/office/held", url.Values{"group": form["group"]}), 422)
	owner.wants("leaving out", owner.post("/office/held", form), 303)
	if list = s.heldNow(); len(list) != 3 || !list[0].Left || s.has(ada[0]) {
		t.Fatalf("left out: %+v", list)
	}
	form.Set("group", heldGroup(list[0]))
	form.Set("do", "take")
	owner.wants("taking in", owner.post("/office/held", form), 303)
	if list = s.heldNow(); len(list) != 0 {
		t.Errorf("taken in, and still aside: %+v", list)
	}
	for _, e := range ada {
		if !s.has(e) {
			t.Errorf("%s is not in the journal", e.Kind)
		}
	}
	if w := owner.get("/"); !strings.Contains(w.Body.String(), "12 Sample Lane") {
		t.Error("the house is not on the first page")
	}

	// A file is judged by who takes it in: the owner answers for it.
	other := s.newPocket("phone-o", "Eve")
	other.house("Eve")
	eve, _ := exchange.Gather(t.Context(), other.log, "")
	var file bytes.Buffer
	if err := exchange.WriteBundle(&file, exchange.Bundle{Entries: eve}); err != nil {
		t.Fatal(err)
	}
	for _, who := range []string{"mechanic", "owner"} {
		w := s.as(who).upload("/hand-over/file", file.Bytes())
		if s.has(eve[0]) != (who == "owner") || w.Code != 200 {
			t.Errorf("%s takes in a file: %d, in %v: %s", who, w.Code, s.has(eve[0]), w.Body)
		}
	}
	if list := s.heldNow(); len(list) != 0 {
		t.Errorf("what came by another way is still aside: %+v", list)
	}
}

// upload sends a file as a browser does.
func (c *client) upload(path string, content []byte) *httptest.ResponseRecorder {
	c.s.t.Helper()
	var b bytes.Buffer
	b.WriteString("--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.rung\"\r\n\r\n")
	b.Write(content)
	b.WriteString("\r\n--x--\r\n")
	r := httptest.NewRequest(http.MethodPost, c.base+path, &b)
	r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
	r.Header.Set("Origin", c.base)
	for _, k := range c.cookies {
		r.AddCookie(&http.Cookie{Name: k.Name, Value: k.Value})
	}
	w := httptest.NewRecorder()
	c.s.handler.ServeHTTP(w, r)
	return w
}

// TestRestored: the office's journal was restored from an older copy. What its
// phones wrote comes back by itself; what was written at the office waits for
// the owner.
func TestRestored(t *testing.T) {
	s := shopOf(t)
	p := s.enrolled("phone-m", "mechanic")
	_, _, v := p.house("mechanic")
	p.exchange()
	if w := s.as("owner").post("/visits/"+string(v)+"/tasks", url.Values{"what": {"come back"}, "form": {s.visitForm()}}); w.Code != 303 {
		t.Fatalf("a task at the office: %d %s", w.Code, w.Body)
	}
	p.exchange()
	held, kept := s.office.Held, s.journal
	fresh := memlog.New(ledger.Summary())
	*held = exchange.Held{Log: fresh, Now: held.Now}
	s.journal = fresh
	s.restore(fresh)
	if done := p.exchange(); done.Sent == 0 {
		t.Fatalf("nothing comes back: %+v", done)
	}
	all, _ := exchange.Gather(t.Context(), kept, "")
	for _, e := range all {
		if in := s.has(e); in != (e.Device != "server") {
			t.Errorf("%s of %s is back: %v", e.Kind, e.Device, in)
		}
	}
	if list := s.heldNow(); len(list) != 1 || !strings.Contains(list[0].Why, "restored from an older copy") {
		t.Errorf("kept aside are %+v", list)
	}
}

// restore puts another journal under the pages.
func (s *shopServer) restore(log journal.Log) {
	now := func() time.Time { return *s.now }
	s.pages.Options.Exchange = &exchange.Server{Log: log, Now: now, Authorise: s.office.MayExchange, Registrar: s.office, Logger: slog.New(slog.DiscardHandler)}
	s.handler = Forwarded(false, s.pages.Handler())
}

// TestNames: a phone cannot go by the name of another's, nor of the server; one
// that was revoked leaves its name to who is enrolled on it next.
func TestNames(t *testing.T) {
	s := shopOf(t)
	first := s.enrolled("phone-x", "mechanic")
	thief := s.enrolled("phone-x", "apprentice")
	phones, err := s.office.Book.Phones(t.Context())
	if err != nil || phones[1].Names == nil || phones[0].Names != nil {
		t.Fatalf("%+v, %v", phones, err)
	}
	server := s.enrolled("server", "apprentice")
	if phones, _ = s.office.Book.Phones(t.Context()); phones[0].Names != nil {
		t.Error("a phone goes by the name of the server")
	}
	if err := s.office.Book.Revoke(t.Context(), "test", phones[2].ID); err != nil {
		t.Fatal(err)
	}
	thief.exchange()
	if phones, _ = s.office.Book.Phones(t.Context()); !slices.Equal(phones[1].Names, []string{"phone-x"}) {
		t.Errorf("the phone of who has left is nobody's: %+v", phones[1])
	}
	_, _ = first, server
	if (role.Standing{Role: role.Owner}).Person("Ada").Role != "mechanic" {
		t.Error("an owner is no mechanic at the unit")
	}
}

// TestPassedOn: what one phone brings of another counts at once, and stands on a
// list until the other brings it itself; what it never wrote stays there.
func TestPassedOn(t *testing.T) {
	s := shopOf(t)
	mechanic, apprentice := s.enrolled("phone-m", "mechanic"), s.enrolled("phone-a", "apprentice")
	_, _, v := mechanic.house("mechanic")
	true1, err := exchange.Gather(t.Context(), mechanic.log, "")
	if err != nil {
		t.Fatal(err)
	}
	forged := record.Encode(journal.Envelope{ID: apprentice.ids.Next(), Stream: true1[0].Stream, Device: "phone-m", Author: "mechanic", Time: journal.TimeOf(*s.now) + 99},
		record.VisitClosed{Visit: v, Outcome: "fixed"})
	if _, err := exchange.TakeIn(t.Context(), apprentice.log, append(slices.Clone(true1), forged), *s.now); err != nil {
		t.Fatal(err)
	}
	if done := apprentice.exchange(); done.Flagged != nil || !s.has(forged) {
		t.Fatalf("passed on: %+v", done)
	}
	passed := func() int {
		t.Helper()
		list, err := s.office.Held.Passed(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, p := range list {
			if p.Device != "phone-m" || p.Person != "apprentice" {
				t.Errorf("on the list is %+v", p)
			}
			n += len(p.Entries)
		}
		return n
	}
	if n := passed(); n != len(true1)+1 {
		t.Errorf("%d entries are on the list, want %d", n, len(true1)+1)
	}
	if w := s.as("owner").get("/office/held"); !strings.Contains(w.Body.String(), "mechanic on phone-m") {
		t.Errorf("the page does not list them: %s", w.Body)
	}
	apprentice.kept = nil // and offers all once more
	apprentice.exchange()
	if n := passed(); n != len(true1)+1 {
		t.Errorf("offered again, %d are on the list", n)
	}
	done := mechanic.exchange()
	if got := whyOf(done); !slices.Equal(got, []exchange.Why{exchange.NotOurs}) || !strings.Contains(mechanic.get("/hand-over"), "written on this phone, and it was not") {
		t.Errorf("the phone that did not write it says %+v: %s", done.Flagged, mechanic.get("/hand-over"))
	}
	list, err := s.office.Held.Passed(t.Context())
	if err != nil || len(list) != 1 || len(list[0].Entries) != 1 || !journal.Equal(list[0].Entries[0], forged) {
		t.Errorf("when the phone came itself, on the list is %+v, %v, want what it never wrote", list, err)
	}
}

// Budget: 10 ms for a full request of an exchange, over journals in memory.
func BenchmarkJudge(b *testing.B) {
	s := shopOf(b)
	p := s.enrolled("phone-m", "mechanic")
	for range 30 {
		s.enrolled("phone-"+s.visitForm()[20:], "apprentice")
	}
	var list []journal.Envelope
	for n := range exchange.MaxEnvelopes {
		list = append(list, record.Encode(journal.Envelope{ID: p.ids.Next(), Stream: "property/P", Device: "phone-m", Author: "mechanic", Time: journal.TimeOf(*s.now) + journal.Time(n)},
			record.ReadingTaken{Visit: "v", Check: "cap-bench", Point: "herm", Demand: "off", AsRead: record.AsRead{Text: "38.5", Unit: "uF"}, Role: "mechanic"}))
	}
	phones, err := s.office.Book.Phones(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	by := exchange.Grant{Device: phones[len(phones)-1].Device(), Author: "mechanic"}
	for b.Loop() {
		verdicts, err := s.office.Judge(b.Context(), by, list, s.journal.Stream)
		if err != nil || slices.ContainsFunc(verdicts, func(v exchange.Verdict) bool { return v != exchange.Verdict{} }) {
			b.Fatal(err, verdicts[0])
		}
	}
}
