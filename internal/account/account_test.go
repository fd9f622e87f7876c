package account

import (
	"context"
	crand "crypto/rand"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/journal/pglog"
	"rung/internal/journal/pgtest"
	"rung/internal/journal/sqlitelog"
)

// cheap is a cost for tests, which make many passwords.
var cheap = Cost{Time: 1, Memory: 64, Threads: 1}

const password = "three blind mice"

var seed atomic.Int32

// shop is a book with a clock that can be moved.
type shop struct {
	*Book
	t   testing.TB
	now *time.Time
}

func newShop(t testing.TB, log journal.Log) *shop {
	t.Helper()
	now := time.Date(2026, 7, 14, 9, 0, 0, 0, time.UTC)
	clock := func() time.Time { return now }
	random := rand.NewChaCha8([32]byte{byte(seed.Add(1))}) // servers must not make the same ids
	return &shop{New(Config{Log: log, Now: clock, IDs: journal.NewIDSource(clock, random), Random: random, Device: "server", Cost: cheap}), t, &now}
}

func newBook(t testing.TB) *shop { return newShop(t, memlog.New(Summary())) }

func (s *shop) add(name string, r Role) Account {
	s.t.Helper()
	a, err := s.Add(s.t.Context(), "test", name, Standing{Role: r}, password)
	if err != nil {
		s.t.Fatal(err)
	}
	return a
}

func (s *shop) session(name string) string {
	s.t.Helper()
	a, err := s.CheckPassword(s.t.Context(), name, password)
	if err != nil {
		s.t.Fatal(err)
	}
	token, err := s.OpenSession(s.t.Context(), a)
	if err != nil {
		s.t.Fatal(err)
	}
	return token
}

func wants(t testing.TB, what string, got, want error) {
	t.Helper()
	if !errors.Is(got, want) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

func TestAccounts(t *testing.T) {
	s := newBook(t)
	ctx := t.Context()
	if any, err := s.Any(ctx); any || err != nil {
		t.Errorf("Any = %v, %v", any, err)
	}
	var first *InputError
	if _, err := s.Add(ctx, "test", "Olga", Standing{Role: Office}, password); !errors.As(err, &first) || first.Field != "role" {
		t.Errorf("a first account of the office: %v, want it to be an owner's", err)
	}
	ada := s.add(" Ada  Sample ", Owner)
	if ada.Name != "Ada Sample" || ada.Key != "ada sample" || ada.Role != Owner {
		t.Errorf("added %+v", ada)
	}
	_, err := s.Add(ctx, "test", "ADA sample", Standing{Role: Office}, password)
	wants(t, "the same name again", err, ErrTaken)
	for what, c := range map[string]struct {
		name, password string
		role           Role
	}{
		"no name": {"  ", password, Owner}, "a long name": {strings.Repeat("a", 61), password, Owner}, "a control": {"a\x01", password, Owner},
		"no role": {"Ben", password, "boss"}, "a short password": {"Ben", "short", Owner}, "the name": {"Benjamin Sample", "benjamin  sample", Owner},
	} {
		var typed *InputError
		if _, err := s.Add(ctx, "test", c.name, Standing{Role: c.role}, c.password); !errors.As(err, &typed) {
			t.Errorf("%s: %v, want an InputError", what, err)
		}
	}
	s.add("Ben", Apprentice)
	if list, err := s.List(ctx); err != nil || len(list) != 2 || list[0].Name != "Ada Sample" || list[1].Role != Apprentice {
		t.Errorf("List = %+v, %v", list, err)
	}
	if err := s.SetStanding(ctx, "Ada", "ben", Standing{Role: Mechanic, Refrigerant: true, Certificate: "II 123"}); err != nil {
		t.Error(err)
	}
	ben, err := s.Account(ctx, "Ben")
	if p := ben.Person(); err != nil || p.Role != "mechanic" || !p.Refrigerant || p.Certificate != "II 123" || p.Name != "Ben" {
		t.Errorf("Person = %+v, %v", p, err)
	}
	wants(t, "of nobody", s.SetStanding(ctx, "Ada", "Eve", Standing{Role: Office}), ErrUnknown)
	wants(t, "the last owner", s.SetStanding(ctx, "Ada", "Ada Sample", Standing{Role: Office}), ErrLast)
	wants(t, "the last owner", s.Disable(ctx, "Ada", "ada sample", false), ErrLast)
}

func TestPersonOfEveryRole(t *testing.T) {
	for r, want := range map[Role]string{Owner: "mechanic", Mechanic: "mechanic", Apprentice: "apprentice", Office: ""} {
		if got := (Account{Standing: Standing{Role: r}}).Person().Role; got != want {
			t.Errorf("%s is %q at the unit, want %q", r, got, want)
		}
	}
}

func TestPasswords(t *testing.T) {
	s := newBook(t)
	ctx := t.Context()
	s.add("Ada", Owner)
	for what, c := range map[string]struct{ name, password string }{
		"another password": {"Ada", password + "x"}, "another person": {"Eve", password}, "nothing": {"", ""},
		"a book": {"Ada", strings.Repeat("x", 10_000)},
	} {
		_, err := s.CheckPassword(ctx, c.name, c.password)
		wants(t, what, err, ErrDenied)
	}
	if _, err := s.CheckPassword(ctx, " ADA ", password); err != nil {
		t.Error(err)
	}
	if err := s.SetPassword(ctx, "Ada", "Ada", "another one entirely"); err != nil {
		t.Fatal(err)
	}
	_, err := s.CheckPassword(ctx, "Ada", password)
	wants(t, "the old password", err, ErrDenied)
	if err := s.Disable(ctx, "x", "Ada", true); err != nil { // opening what is open changes nothing
		t.Fatal(err)
	}
	if _, err := s.CheckPassword(ctx, "Ada", "another one entirely"); err != nil {
		t.Error(err)
	}
}

// TestHash: the text kept is of the form that other programs read, with the cost
// of the sheet, and never twice the same.
func TestHash(t *testing.T) {
	h := newHasher(DefaultCost, rand.NewChaCha8([32]byte{7}))
	a, err := h.hash(t.Context(), password)
	if err != nil || !strings.HasPrefix(a, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Fatalf("hash = %q, %v", a, err)
	}
	if b, _ := h.hash(t.Context(), password); a == b {
		t.Error("two hashes of one password are alike: there is no salt")
	}
	if ok, err := h.matches(t.Context(), password, a); !ok || err != nil {
		t.Errorf("matches = %v, %v", ok, err)
	}
	for _, bad := range []string{"plain", "$argon2i$v=19$m=64,t=1,p=1$AAAA$AAAA", "$argon2id$v=19$m=64,t=0,p=1$AAAA$AAAA", "$argon2id$$$$"} {
		if ok, err := h.matches(t.Context(), password, bad); ok || err == nil {
			t.Errorf("matches(%q) = %v, %v, want an error", bad, ok, err)
		}
	}
}

// published: computed by the reference program of Argon2 as Debian 12 ships it
// ("argon2", version 20171227), independent of the package used here.
func TestHashOfAnotherProgram(t *testing.T) {
	h := newHasher(cheap, nil)
	for password, kept := range map[string]string{
		"three blind mice": "$argon2id$v=19$m=19456,t=2,p=1$c2l4dGVlbiBsZXR0ZXJzLg$dsSiplG2s+wUjWf7knGNdaP3WoIbcJPcy1gORe4wZhc",
		"password":         "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
	} {
		if ok, err := h.matches(t.Context(), password, kept); !ok || err != nil {
			t.Errorf("matches(%q) = %v, %v", password, ok, err)
		}
		if ok, err := h.matches(t.Context(), password+" ", kept); ok || err != nil {
			t.Errorf("another password than %q matches: %v, %v", password, ok, err)
		}
	}
}

// TestFewHashesAtOnce: a flood waits for its turn, and who gives up leaves.
func TestFewHashesAtOnce(t *testing.T) {
	h := newHasher(cheap, rand.NewChaCha8([32]byte{8}))
	for range atOnce {
		h.slots <- struct{}{}
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Millisecond)
	defer cancel()
	_, err := h.hash(ctx, password)
	wants(t, "a hash too many", err, context.DeadlineExceeded)
}

// TestNobodyCostsAsMuch: the password of a name that is not there is hashed like
// any other, so that the time of the answer does not tell who has an account.
func TestNobodyCostsAsMuch(t *testing.T) {
	s := newBook(t)
	s.add("Ada", Owner)
	for range atOnce {
		s.hasher.slots <- struct{}{} // nobody gets to hash
	}
	for _, name := range []string{"Ada", "Eve", ""} {
		ctx, cancel := context.WithTimeout(t.Context(), time.Millisecond)
		_, err := s.CheckPassword(ctx, name, password)
		cancel()
		wants(t, "the password of "+name+", unhashed", err, context.DeadlineExceeded)
	}
}

func TestSessions(t *testing.T) {
	s := newBook(t)
	ctx := t.Context()
	s.add("Ada", Owner)
	s.add("Ben", Mechanic)
	one, two := s.session("Ada"), s.session("Ada")
	if one == two || len(one) < 43 {
		t.Errorf("tokens %q and %q", one, two)
	}
	if a, err := s.Session(ctx, one); err != nil || a.Name != "Ada" {
		t.Errorf("Session = %v, %v", a.Name, err)
	}
	for _, bad := range []string{"", "x", one + "x", one[1:], hashToken(one)} {
		_, err := s.Session(ctx, bad)
		wants(t, "token "+bad, err, ErrDenied)
	}
	if err := s.EndSession(ctx, one); err != nil {
		t.Fatal(err)
	}
	_, err := s.Session(ctx, one)
	wants(t, "after signing out", err, ErrDenied)
	if _, err := s.Session(ctx, two); err != nil {
		t.Errorf("the other session: %v", err)
	}
	if err := s.SetPassword(ctx, "Ada", "Ada", "another one entirely"); err != nil {
		t.Fatal(err)
	}
	_, err = s.Session(ctx, two)
	wants(t, "after another password", err, ErrDenied)

	ben := s.session("Ben")
	if err := s.Disable(ctx, "Ada", "Ben", false); err != nil {
		t.Fatal(err)
	}
	_, err = s.Session(ctx, ben)
	wants(t, "of a closed account", err, ErrDenied)
	_, err = s.CheckPassword(ctx, "Ben", password)
	wants(t, "a closed account", err, ErrDenied)
	if err := s.Disable(ctx, "Ada", "Ben", true); err != nil {
		t.Fatal(err)
	}
	ben = s.session("Ben")
	*s.now = s.now.Add(Lifetime + time.Hour)
	_, err = s.Session(ctx, ben)
	wants(t, "after half a year", err, ErrDenied)
	if err := s.EndSession(ctx, "nothing"); err != nil {
		t.Errorf("ending what is not there: %v", err)
	}
}

func TestPhones(t *testing.T) {
	s := newBook(t)
	ctx := t.Context()
	s.add("Ada", Owner)
	s.add("Ben", Mechanic)
	code, until, err := s.PhoneCode(ctx, "Ada", "Ben")
	if err != nil || until.Sub(*s.now) != 10*time.Minute {
		t.Fatalf("PhoneCode: until %v, %v", until, err)
	}
	token, p, err := s.Enrol(ctx, code, " Ben's  phone ")
	if err != nil || p.Label != "Ben's phone" {
		t.Fatalf("Enrol = %+v, %v", p, err)
	}
	_, _, err = s.Enrol(ctx, code, "")
	wants(t, "the same code again", err, ErrCode)
	want := Grant{Device: p.Device(), Author: "Ben", Send: true, Receive: true}
	if g, err := s.Grant(ctx, token); err != nil || g != want {
		t.Errorf("Grant = %+v, %v, want %+v", g, err, want)
	}
	_, err = s.Grant(ctx, token+"x")
	wants(t, "another token", err, ErrDenied)
	_, err = s.Session(ctx, token)
	wants(t, "a phone's token as a session", err, ErrDenied)

	old, _, _ := s.PhoneCode(ctx, "Ada", "Ben")
	*s.now = s.now.Add(11 * time.Minute)
	_, _, err = s.Enrol(ctx, old, "")
	wants(t, "after eleven minutes", err, ErrCode)
	owner, _ := s.OwnerCode(ctx)
	_, _, err = s.Enrol(ctx, owner, "")
	wants(t, "a code for something else", err, ErrCode)

	wants(t, "revoking nothing", s.Revoke(ctx, "Ada", "none"), ErrUnknown)
	if err := s.Revoke(ctx, "Ada", p.ID); err != nil {
		t.Fatal(err)
	}
	want.Receive = false
	if g, err := s.Grant(ctx, token); err != nil || g != want {
		t.Errorf("revoked: Grant = %+v, %v, want %+v", g, err, want)
	}
	if list, err := s.Phones(ctx); err != nil || len(list) != 1 || list[0].Revoked == nil {
		t.Errorf("Phones = %+v, %v", list, err)
	}

	code, _, _ = s.PhoneCode(ctx, "Ada", "Ben")
	token, _, err = s.Enrol(ctx, code, "")
	if err != nil {
		t.Fatal(err)
	}
	code, _, _ = s.PhoneCode(ctx, "Ada", "Ben")
	if err := s.Disable(ctx, "Ada", "Ben", false); err != nil {
		t.Fatal(err)
	}
	if g, err := s.Grant(ctx, token); err != nil || !g.Send || g.Receive {
		t.Errorf("of a closed account: Grant = %+v, %v, want to send only", g, err)
	}
	_, _, err = s.Enrol(ctx, code, "")
	wants(t, "a code of a closed account", err, ErrCode)
}

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

// twoLogs returns two openings of one journal of accounts, as two servers have.
type twoLogs func(t *testing.T) [2]journal.Log

func twoOnFile(t *testing.T) (logs [2]journal.Log) {
	path := filepath.Join(t.TempDir(), "office.db")
	for i := range logs {
		log, err := sqlitelog.Open(t.Context(), path, sqlitelog.Options{Summary: Summary()})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { log.Close() })
		logs[i] = log
	}
	return logs
}

func twoOnPostgres(t *testing.T) (logs [2]journal.Log) {
	schema := "account_" + strings.ToLower(crand.Text())
	for i := range logs {
		log, err := pglog.Open(t.Context(), pgtest.URL(t), pglog.Options{Summary: Summary(), Schema: schema})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { log.Close() })
		logs[i] = log
	}
	return logs
}

// TestTwoServers: two servers over one journal, in a file and in PostgreSQL.
func TestTwoServers(t *testing.T) {
	for name, open := range map[string]twoLogs{"file": twoOnFile, "postgres": twoOnPostgres} {
		t.Run(name, func(t *testing.T) {
			logs := open(t)
			servers := []*shop{newShop(t, logs[0]), newShop(t, logs[1])}
			testSeenAtOnce(t, servers)
			testNameIsTakenOnce(t, servers)
			testCodeIsUsedOnce(t, servers)
		})
	}
}

// testSeenAtOnce: what one server changes counts at the other with the next
// request.
func testSeenAtOnce(t *testing.T, servers []*shop) {
	servers[0].add("Ada", Owner)
	servers[1].add("Ben", Mechanic)
	for i := range 10 {
		a, b := servers[i%2], servers[(i+1)%2]
		token := a.session("Ben")
		if _, err := b.Session(t.Context(), token); err != nil {
			t.Fatalf("a session of one server at the other: %v", err)
		}
		if err := b.Disable(t.Context(), "Ada", "Ben", false); err != nil {
			t.Fatal(err)
		}
		_, err := a.Session(t.Context(), token)
		wants(t, "a session of an account that the other server closed", err, ErrDenied)
		if err := a.Disable(t.Context(), "Ada", "Ben", true); err != nil {
			t.Fatal(err)
		}
	}
}

// testNameIsTakenOnce: of two who add the same name at once, one does.
func testNameIsTakenOnce(t *testing.T, servers []*shop) {
	var adding sync.WaitGroup
	errs := make([]error, 2)
	for i := range errs {
		adding.Go(func() {
			_, errs[i] = servers[i].Add(t.Context(), "Ada", "Zoë", Standing{Role: Office}, password+fmt.Sprint(i))
		})
	}
	adding.Wait()
	if (errs[0] == nil) == (errs[1] == nil) || !errors.Is(errors.Join(errs...), ErrTaken) {
		t.Errorf("adding one name twice at once: %v and %v, want one ErrTaken", errs[0], errs[1])
	}
}

// testCodeIsUsedOnce: many phones with one code at once; one gets in.
func testCodeIsUsedOnce(t *testing.T, servers []*shop) {
	code, _, err := servers[0].PhoneCode(t.Context(), "Ada", "Ada")
	if err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	in := 0
	var trying sync.WaitGroup
	for i := range 8 {
		trying.Go(func() {
			_, _, err := servers[i%2].Enrol(t.Context(), code, fmt.Sprint("phone ", i))
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				in++
			} else if !errors.Is(err, ErrCode) {
				t.Error(err)
			}
		})
	}
	trying.Wait()
	if phones, err := servers[1].Phones(t.Context()); in != 1 || err != nil || len(phones) != 1 {
		t.Errorf("%d got in, %d phones are listed, %v, want one", in, len(phones), err)
	}
}

func TestFirstOwner(t *testing.T) {
	s := newBook(t)
	ctx := t.Context()
	code, err := s.OwnerCode(ctx)
	if err != nil {
		t.Fatal(err)
	}
	other, _ := s.OwnerCode(ctx)
	_, err = s.FirstOwner(ctx, "guess", "Eve", password)
	wants(t, "a guess", err, ErrCode)
	var typed *InputError
	if _, err := s.FirstOwner(ctx, code, "Ada", "short"); !errors.As(err, &typed) {
		t.Errorf("a short password: %v", err)
	}
	a, err := s.FirstOwner(ctx, code, "Ada", password)
	if err != nil || a.Role != Owner {
		t.Fatalf("FirstOwner = %+v, %v", a, err)
	}
	_, err = s.FirstOwner(ctx, code, "Eve", password)
	wants(t, "the code again", err, ErrCode)
	_, err = s.FirstOwner(ctx, other, "Eve", password)
	wants(t, "another code once there is an owner", err, ErrCode)
}

// TestNoSecretIsKept: whoever reads the whole journal of the accounts finds no
// password, token or code in it.
func TestNoSecretIsKept(t *testing.T) {
	s := newBook(t)
	ctx := t.Context()
	s.add("Ada", Owner)
	secrets := []string{password, s.session("Ada")}
	code, _, _ := s.PhoneCode(ctx, "Ada", "Ada")
	token, _, err := s.Enrol(ctx, code, "")
	if err != nil {
		t.Fatal(err)
	}
	owner, _ := s.OwnerCode(ctx)
	secrets = append(secrets, code, token, owner)
	all, _, err := s.Log.Since(ctx, journal.Start, 1000)
	if err != nil || len(all) < 6 {
		t.Fatalf("%d entries, %v", len(all), err)
	}
	text := ""
	for _, e := range all {
		text += string(e.Stream) + " " + string(e.Payload) + "\n"
	}
	for _, list := range []string{listAccounts, listPhones} {
		rows, _ := s.Log.Rows(ctx, list, "")
		for _, r := range rows {
			text += string(r.Value)
			if strings.Contains(string(r.Value), "argon2") {
				t.Errorf("list %s holds a password", list)
			}
		}
	}
	for _, secret := range secrets {
		if secret == "" || strings.Contains(text, secret) {
			t.Errorf("the journal holds the secret %q", secret)
		}
	}
}

// TestLimiter: guesses count in all servers over one journal, and a server that
// is started anew forgets none.
func TestLimiter(t *testing.T) {
	log := memlog.New(Summary())
	first, second := newShop(t, log), newShop(t, log)
	servers := []*Limiter{NewLimiter(first.Book), NewLimiter(second.Book)}
	turn := 0
	wait := func(name, from string) time.Duration {
		t.Helper()
		turn++
		d, err := servers[turn%2].Wait(t.Context(), name, from)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for i := range guessesByName {
		if w := wait("Ada", fmt.Sprint("10.0.0.", i)); w != 0 {
			t.Fatalf("guess %d waits %v", i, w)
		}
	}
	for range 2 {
		if w := wait(" ADA ", "10.0.0.99"); w != guessWindow {
			t.Errorf("one guess too many at a name waits %v, want %v", w, guessWindow)
		}
	}
	if w, err := NewLimiter(newShop(t, log).Book).Wait(t.Context(), "Ada", "10.0.0.98"); w == 0 || err != nil {
		t.Errorf("at a server started anew it waits %v, %v", w, err)
	}
	if w := wait("Ben", "10.0.0.99"); w != 0 {
		t.Errorf("another name waits %v", w)
	}
	for i := range guessesByOrigin {
		wait(fmt.Sprint("name ", i), "10.1.1.1")
	}
	for range 2 {
		if w := wait("Zoë", "10.1.1.1"); w == 0 {
			t.Error("one address may guess at any number of names")
		}
	}
	*first.now = first.now.Add(guessWindow)
	*second.now = *first.now
	for range 2 {
		if w := wait("Ada", "10.1.1.1"); w != 0 {
			t.Errorf("in the next window a guess waits %v", w)
		}
	}
	for range guessesByName * 3 {
		if w := wait("Cy", "10.2.2.2"); w != 0 {
			t.Fatal("a person who signs in is kept waiting")
		}
		if err := servers[turn%2].Succeeded(t.Context(), "Cy", "10.2.2.2"); err != nil {
			t.Fatal(err)
		}
	}
	// A flood is counted on, and fills no store.
	before := entryCount(t, log)
	flooded := servers[0]
	flooded.noted = mostNoted
	for i := range guessesByName {
		if w, err := flooded.Wait(t.Context(), "Dee", fmt.Sprint("10.3.0.", i)); w != 0 || err != nil {
			t.Fatalf("guess %d waits %v, %v", i, w, err)
		}
	}
	if w, _ := flooded.Wait(t.Context(), "Dee", "10.3.0.99"); w == 0 {
		t.Error("in a flood one may guess on")
	}
	if got := entryCount(t, log); got != before {
		t.Errorf("a flood adds %d entries", got-before)
	}
}

// TestGuessesTellNoPassword: a password typed into the field for the name cannot
// be found out from what is kept.
func TestGuessesTellNoPassword(t *testing.T) {
	byName, byOrigin := streams(7, "correct horse battery", "192.0.2.7")
	if got := len(byName) - len("guess/7/name/"); got != 4 {
		t.Errorf("%d characters of the hash of a name are kept, want those of two bytes", got)
	}
	if strings.Contains(string(byOrigin), "192") {
		t.Errorf("the address stands in %s", byOrigin)
	}
}

func entryCount(t *testing.T, log journal.Log) int {
	t.Helper()
	list, _, err := log.Since(t.Context(), journal.Start, 100_000)
	if err != nil {
		t.Fatal(err)
	}
	return len(list)
}

// Budget: 100 ms; a person waits for it once in half a year, and so does
// every guess. practice: long enough to make guessing dear on a small server.
func BenchmarkPassword(b *testing.B) {
	h := newHasher(DefaultCost, rand.NewChaCha8([32]byte{9}))
	for b.Loop() {
		if _, err := h.hash(b.Context(), password); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 1 ms on a store of the disk; it stands before every page.
func BenchmarkSession(b *testing.B) {
	log, err := sqlitelog.Open(b.Context(), filepath.Join(b.TempDir(), "office.db"), sqlitelog.Options{Summary: Summary()})
	if err != nil {
		b.Fatal(err)
	}
	defer log.Close()
	s := newShop(b, log)
	s.add("Ada", Owner)
	token := s.session("Ada")
	for b.Loop() {
		if _, err := s.Session(b.Context(), token); err != nil {
			b.Fatal(err)
		}
	}
}
