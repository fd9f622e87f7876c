package office

import (
	"fmt"
	"math/rand/v2"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"rung/internal/account"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/role"
	"rung/internal/visit"
)

// truth is what a test knows of a phone, kept apart from the program.
type truth struct {
	*pocket
	id, person string
	revoked    time.Time
	met        bool // it has exchanged
	told       []toldTruth
}

type toldTruth struct {
	at   time.Time
	role account.Role
}

// forms holds a form that writes a kind of entry: what nobody can send, nobody
// may bring.
var forms = map[string]string{
	"property-added": "/properties", "task-added": "/visits/v/tasks", "nameplate-recorded": "/units/u/nameplate", "reading-taken": "/visits/v/readings",
	"visit-closed": "/visits/v/close", "recommendation-made": "/visits/v/recommendations", "report-shared": "/visits/v/links",
	"closures-counted": "/learned/share", "learning-set-aside": "/learned/aside", "note-left": "/visits/v/note", "link-found": "/systems/s/chain/breaker",
	"repair-done": "/visits/v/repair", "hazard-noted": "/visits/v/hazards",
}

// world is a shop in which everything happens at random.
type world struct {
	t      *testing.T
	s      *shopServer
	r      *rand.Rand
	phones []*truth
	roles  map[string]account.Role
	closed map[string]time.Time
	made   []journal.Envelope
}

func newWorld(t *testing.T, seed uint64) *world {
	s := shopOf(t)
	w := &world{t: t, s: s, r: rand.New(rand.NewPCG(seed, 1)), roles: map[string]account.Role{}, closed: map[string]time.Time{}}
	for _, r := range account.Roles() {
		w.roles[string(r)] = r
	}
	s.add("boss", account.Owner) // so that any other owner may change
	for n := range 6 {
		person := string(account.Roles()[w.r.IntN(4)])
		p := &truth{pocket: s.newPocket(fmt.Sprintf("phone-%d", n), person), person: person}
		p.token = s.phone(person)
		phones, err := s.office.Book.Phones(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		p.id = phones[0].ID
		w.phones = append(w.phones, p)
	}
	return w
}

func (w *world) now() time.Time { return *w.s.now }

func pick[T any](r *rand.Rand, list ...T) T { return list[r.IntN(len(list))] }

// change changes something at the office.
func (w *world) change() {
	person := string(pick(w.r, account.Roles()...))
	ok := func(err error) {
		w.t.Helper()
		if err != nil {
			w.t.Fatal(err)
		}
	}
	switch w.r.IntN(6) {
	case 0, 1, 2:
		w.roles[person] = pick(w.r, account.Roles()...)
		ok(w.s.office.Book.SetStanding(w.t.Context(), "test", person, account.Standing{Role: w.roles[person]}))
	case 3:
		p := pick(w.r, w.phones...)
		if p.revoked.IsZero() {
			p.revoked = w.now()
			ok(w.s.office.Book.Revoke(w.t.Context(), "test", p.id))
		}
	case 4:
		if w.r.IntN(3) == 0 && w.closed[person].IsZero() {
			w.closed[person] = w.now()
			ok(w.s.office.Book.Disable(w.t.Context(), "test", person, false))
		}
	}
}

// entry makes an entry up, at half past some hour until now: at the full hour
// things change.
func (w *world) entry(n int) journal.Envelope {
	hours := int(w.now().Sub(w.phones[0].started()).Hours()) + 1
	at := w.phones[0].started().Add(time.Duration(w.r.IntN(hours))*time.Hour - 30*time.Minute)
	author := pick(w.r, "owner", "mechanic", "apprentice", "office", "Office", "stranger", "")
	phone := pick(w.r, w.phones...)
	device := phone.name
	if w.r.IntN(4) > 0 {
		author = phone.person // mostly as it should be, else hardly anything comes in
	} else {
		device = pick(w.r, device, device, "server", "phone-unknown", "")
	}
	stream, events := record.PropertyID("P").Stream(), []record.Event{
		record.PropertyAdded{Property: "P", Name: "x"}, record.TaskAdded{What: "x"}, record.NameplateRecorded{Unit: "u"},
		record.ReadingTaken{Visit: "v", Role: pick(w.r, "mechanic", "apprentice")}, record.VisitClosed{Visit: "v"}, record.RecommendationMade{},
		record.ReportShared{Visit: "v"}, record.NoteLeft{Text: "x"}, record.LinkFound{}, record.RepairDone{}, record.HazardNoted{},
	}
	if w.r.IntN(5) == 0 {
		stream, events = record.ShopStream, []record.Event{record.ClosuresCounted{}, record.LearningSetAside{Why: "x"}}
	}
	if w.r.IntN(12) == 0 {
		events = []record.Event{record.ClosuresCounted{}, record.NoteLeft{Text: "x"}} // one of them in the wrong place
	}
	if len(w.made) > 0 && w.r.IntN(6) == 0 {
		target := pick(w.r, w.made...)
		stream, events = target.Stream, []record.Event{record.EntryWithdrawn{Entry: idOf(target)}}
	}
	e := record.Encode(journal.Envelope{ID: phone.ids.Next(), Stream: stream, Device: device, Author: author, Time: journal.TimeOf(at) + journal.Time(n)}, pick(w.r, events...))
	if w.r.IntN(15) == 0 {
		e.Kind = "of-a-later-program"
	}
	return e
}

func (p *truth) started() time.Time { return time.Date(2026, 7, 14, 9, 0, 0, 0, time.UTC) }

// allowed says by what the test knows whether an entry may come in.
func (w *world) allowed(e journal.Envelope) bool {
	at := e.Time.Wall()
	for _, p := range w.phones {
		end := w.closed[p.person]
		if !p.met || p.name != e.Device || !strings.EqualFold(p.person, e.Author) ||
			!p.revoked.IsZero() && p.revoked.Before(at) || !end.IsZero() && end.Before(at) {
			continue
		}
		r := p.told[0].role
		for _, t := range p.told {
			if t.at.Before(at) {
				r = t.role
			}
		}
		return w.pageTakes(r, e)
	}
	return false
}

// pageTakes says whether a page in the phone of somebody of a role takes a form
// that writes such an entry.
func (w *world) pageTakes(r account.Role, e journal.Envelope) bool {
	path, ofShop := forms[e.Kind], e.Kind == "closures-counted" || e.Kind == "learning-set-aside"
	switch {
	case e.Kind == "of-a-later-program":
		return true
	case e.Kind == "entry-withdrawn":
		return w.takesBack(r, e)
	case ofShop != (e.Stream == record.ShopStream):
		return false
	}
	if event, _ := record.Decode(e); e.Kind == "reading-taken" {
		claims := event.(record.ReadingTaken).Role
		if r == account.Apprentice && claims != "apprentice" || r != account.Apprentice && claims != "mechanic" {
			return false
		}
	}
	rule, listed := role.InPhone().Of(httptest.NewRequest("POST", path, nil))
	return listed && rule.Allows(r, false)
}

func (w *world) takesBack(r account.Role, e journal.Envelope) bool {
	event, _ := record.Decode(e)
	id, direct := event.(record.EntryWithdrawn).Entry, true
	for {
		i := slices.IndexFunc(w.made, func(x journal.Envelope) bool { return idOf(x) == id && w.s.has(x) })
		if i < 0 {
			return false
		}
		target := w.made[i]
		if target.Kind == "entry-withdrawn" {
			x, _ := record.Decode(target)
			id, direct = x.(record.EntryWithdrawn).Entry, false
			continue
		}
		at := func(path string) bool {
			rule, _ := role.InPhone().Of(httptest.NewRequest("POST", path, nil))
			return rule.Allows(r, false)
		}
		switch {
		case e.Stream == record.ShopStream:
			return at("/learned/again") && direct && target.Kind == "learning-set-aside"
		case target.Kind == "property-added":
			return false
		case target.Kind == "visit-closed":
			return at("/visits/v/withdraw") && r != account.Apprentice
		case target.Kind == "report-shared":
			return direct && at("/visits/v/links/withdraw") || at("/visits/v/withdraw") && r != account.Apprentice
		}
		return at("/visits/v/withdraw")
	}
}

// exchange hands one phone's new entry in and compares.
func (w *world) exchange(n int) {
	p := pick(w.r, w.phones...)
	out := !p.revoked.IsZero() || !w.closed[p.person].IsZero()
	if w.r.IntN(8) == 0 {
		p.kept = nil // it has forgotten how far it was
	}
	e := w.entry(n)
	if err := p.log.Append(w.t.Context(), []journal.Envelope{e}); err != nil {
		w.t.Fatal(err)
	}
	w.made = append(w.made, e)
	p.met = true
	if k := len(p.told); k == 0 || p.told[k-1].role != w.roles[p.person] {
		p.told = append(p.told, toldTruth{w.now(), w.roles[p.person]})
	}
	done := p.exchange()
	want := w.allowed(e) // with what came in beside it
	in, aside := w.s.has(e), slices.ContainsFunc(w.s.heldNow(), func(d exchange.Doubted) bool { return journal.Equal(d.Entry, e) })
	if in != want || in == aside {
		w.t.Fatalf("%s of %q on %q at %s, brought by %s (%s, out %v): in %v, want %v, aside %v; flagged %+v; told %v", e.Kind, e.Author, e.Device, e.Time.Wall(), p.name, p.person, out, in, want, aside, done.Flagged, p.told)
	}
	if out && done.Received > 0 {
		w.t.Fatalf("%s is out and received %d", p.name, done.Received)
	}
}

// whole wants the journal and what is kept aside to hold every entry that a
// phone was told of, and nothing in the journal that was not allowed in.
func (w *world) whole() {
	aside := w.s.heldNow()
	for _, e := range w.made {
		if w.s.has(e) == slices.ContainsFunc(aside, func(d exchange.Doubted) bool { return journal.Equal(d.Entry, e) }) {
			w.t.Errorf("%s %s is both in the journal and aside, or neither", e.Kind, e.ID)
		}
	}
	var ids []journal.ID
	for _, d := range aside {
		ids = append(ids, d.ID)
	}
	stayed, err := w.s.office.Held.Take(w.t.Context(), "boss", ids)
	if err != nil || stayed != nil {
		w.t.Fatalf("taking all in: %+v, %v", stayed, err)
	}
	for _, e := range w.made {
		if !w.s.has(e) {
			w.t.Errorf("%s %s was told of and is lost", e.Kind, e.ID)
		}
	}
}

// FuzzExchange lets phones bring entries made up at random while roles change,
// phones are revoked and accounts closed. An entry comes in exactly if a page in
// the phone that it was written on would have written it for that person then;
// and none is lost.
func FuzzExchange(f *testing.F) {
	for seed := range uint64(12) {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, seed uint64) {
		w := newWorld(t, seed)
		for n := range 60 {
			*w.s.now = w.s.now.Add(time.Duration(1+w.r.IntN(20)) * time.Hour)
			if w.r.IntN(3) == 0 {
				w.change()
				*w.s.now = w.s.now.Add(time.Hour)
			}
			w.exchange(n)
		}
		w.whole()
	})
}

// TestHonestWorkComesIn: what the use cases write on the phones of all roles,
// with everything the program adds of itself, comes in by exchange: in the
// person's own name nothing is kept aside.
func TestHonestWorkComesIn(t *testing.T) {
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 2))
		s := shopOf(t)
		var phones []*pocket
		for _, who := range []string{"owner", "mechanic", "apprentice", "office", "apprentice"} {
			phones = append(phones, s.enrolled(fmt.Sprintf("phone-%d", len(phones)), who))
		}
		property, system, v := phones[1].house("mechanic")
		unit := addUnit(t, phones[1], system)
		phones[1].exchange()
		for range 80 {
			*s.now = s.now.Add(time.Duration(1+r.IntN(90)) * time.Minute)
			p := pick(r, phones...)
			if r.IntN(3) == 0 {
				p = pick(r, phones[2], phones[4]) // two phones of one apprentice record against each other
			}
			work(t, r, p, property, v, unit)
			if r.IntN(3) == 0 {
				if done := pick(r, phones...).exchange(); done.Flagged != nil {
					t.Fatalf("seed %d: flagged %+v; aside %+v", seed, done.Flagged, s.heldNow())
				}
			}
		}
		for _, p := range append(phones, phones...) {
			if done := p.exchange(); done.Flagged != nil {
				t.Fatalf("seed %d: flagged %+v", seed, done.Flagged)
			}
		}
		if list := s.heldNow(); len(list) > 0 {
			t.Errorf("seed %d: kept aside %+v", seed, list)
		}
		whole := entriesOf(t, s.journal)
		for _, p := range phones {
			if got := entriesOf(t, p.log); got != whole {
				t.Errorf("seed %d: %s holds %d entries, the office %d", seed, p.name, got, whole)
			}
		}
	}
}

func entriesOf(t *testing.T, log journal.Log) int {
	t.Helper()
	list, err := exchange.Gather(t.Context(), log, "")
	if err != nil {
		t.Fatal(err)
	}
	return len(list)
}

func addUnit(t *testing.T, p *pocket, system record.SystemID) record.UnitID {
	t.Helper()
	id, err := p.visits.AddUnit(t.Context(), p.by(t), system, visit.UnitInput{Kind: "outdoor-unit"})
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// by is who works on a phone, with what the office said of him.
func (p *pocket) by(t *testing.T) visit.By {
	t.Helper()
	k, err := p.client.Standing(t.Context())
	if err != nil || k == nil {
		t.Fatalf("%s: %v", p.name, err)
	}
	return visit.By{Author: k.Author, Person: k.Person(k.Author), Form: p.visits.NewForm()}
}

// work does something on a phone, if the form of it is open to its person. A
// mistake of the use case, such as a visit that is closed, is none of ours.
func work(t *testing.T, r *rand.Rand, p *pocket, property record.PropertyID, v record.VisitID, unit record.UnitID) {
	t.Helper()
	ctx, by := t.Context(), p.by(t)
	k, _ := p.client.Standing(ctx)
	amps := pick(r, "14.1 A", "13.2 A", "12 A")
	do := pick(r, []struct {
		path string
		do   func() error
	}{
		{"/units/u/nameplate", func() error {
			return p.visits.RecordPlate(ctx, by, unit, map[string]string{"rated-load-amps": amps})
		}},
		{"/visits/v/readings", func() error {
			_, err := p.visits.TakeReadings(ctx, by, v, visit.ReadingsInput{Check: "cap-bench", Demand: "off", Points: []visit.PointInput{{Point: "herm", Text: "38.5"}}})
			return err
		}},
		{"/visits/v/repair", func() error {
			_, err := p.visits.RecordRepair(ctx, by, v, visit.RepairInput{Repair: "replace-run-capacitor", Part: &visit.PartInput{Part: "run-capacitor", Why: "heat"}})
			return err
		}},
		{"/visits/v/tasks", func() error {
			_, err := p.visits.AddTask(ctx, by, v, visit.TaskInput{What: "come back"})
			return err
		}},
		{"/visits/v/recommendations", func() error { return p.visits.Recommend(ctx, by, v, "", "a new pad", "", "") }},
		{"/visits/v/close", func() error {
			return p.visits.Close(ctx, by, v, visit.CloseInput{Outcome: "declined", Note: "x", Anyway: true})
		}},
		{"/visits/v/note", func() error { return p.visits.LeaveNote(ctx, by, v, visit.NoteInput{Text: "x"}) }},
		{"/visits/v/proof", func() error {
			return p.visits.RecordProof(ctx, by, v, visit.ProofInput{Mode: "cool", Limited: "too cold outdoors"})
		}},
		{"/learned/share", func() error { return p.visits.ShareCounts(ctx, by) }},
		{"/properties/p/settle", func() error { return settleAny(t, p, by, property, v, unit) }},
		{"/visits/v/withdraw", func() error {
			list, err := p.log.Stream(ctx, property.Stream())
			if err == nil && len(list) > 0 {
				err = p.visits.Withdraw(ctx, by, v, idOf(pick(r, list...)), "x")
			}
			return err
		}},
	}...)
	rule, _ := role.InPhone().Of(httptest.NewRequest("POST", do.path, nil))
	if !rule.Allows(k.Role, false) {
		return
	}
	if err := do.do(); err != nil && !isMistake(err) {
		t.Fatalf("%s on %s: %v", do.path, p.name, err)
	}
}

func isMistake(err error) bool {
	_, ok := err.(*visit.Error)
	return ok
}

// settleAny settles the first dispute that the phone sees.
func settleAny(t *testing.T, p *pocket, by visit.By, property record.PropertyID, v record.VisitID, unit record.UnitID) error {
	t.Helper()
	x, err := p.visits.Property(t.Context(), property)
	if err != nil {
		return err
	}
	var list []ledger.Dispute
	if u, _, known := x.Unit(unit); known {
		list = append(list, u.Disputes...)
	}
	if y, known := x.Visit(v); known {
		list = append(list, y.Disputes...)
	}
	if len(list) == 0 {
		return nil
	}
	d := list[0]
	in := visit.SettleInput{About: d.About, Visit: d.Visit, Unit: d.Unit, Field: d.Field, Stands: d.Statements[0].Stamp.Entry}
	for _, st := range d.Statements {
		in.Seen = append(in.Seen, st.Entry)
	}
	return p.visits.Settle(t.Context(), by, property, in)
}
