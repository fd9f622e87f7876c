package office

import (
	"bytes"
	"encoding/json"
	"errors"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"rung/internal/account"
	"rung/internal/diagnosis"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/visit"
	"rung/internal/web"
)

const password = "three blind mice"

// shopServer is the whole server over journals in memory, with a clock that a
// test can move.
type shopServer struct {
	t       testing.TB
	office  *Server
	pages   *web.Server
	handler http.Handler
	log     *safeBuffer
	now     *time.Time
	journal journal.Log // of the work
}

type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *safeBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func newShop(t testing.TB, o Options) *shopServer {
	t.Helper()
	at := time.Date(2026, 7, 14, 9, 0, 0, 0, time.UTC)
	now := func() time.Time { return at }
	random := rand.NewChaCha8([32]byte{3})
	ids := journal.NewIDSource(now, random)
	logged := &safeBuffer{}
	logger := slog.New(slog.NewTextHandler(logged, nil))
	o.Book = account.New(account.Config{Log: memlog.New(account.Summary()), Now: now, IDs: ids, Random: random, Device: "server",
		Cost: account.Cost{Time: 1, Memory: 64, Threads: 1}})
	o.Now, o.Log = now, logger
	log := memlog.New(ledger.Summary())
	o.Held = &exchange.Held{Log: log, Now: now}
	office := New(o)
	visits, err := visit.New(visit.Config{Log: log, Blobs: log.Blobs(), Now: now, IDs: ids, Device: "server", Random: random,
		Open: func(visit.Situation) (visit.Reasoner, error) { return mute{}, nil }})
	if err != nil {
		t.Fatal(err)
	}
	pages, err := web.New(web.Options{Visits: visits, Author: office.Author, Standing: office.Standing, People: office.People, Now: now,
		Guard: office.Guard, Mount: office.Mount(), Office: "/office", Log: logger, Gallery: true,
		HandOver: &web.HandOver{Log: log, Blobs: log.Blobs(), Device: "server", Registrar: office, Bringer: office.MayTakeIn},
		Exchange: &exchange.Server{Log: log, Blobs: log.Blobs(), Now: now, Authorise: office.MayExchange, Registrar: office, Logger: logger}})
	if err != nil {
		t.Fatal(err)
	}
	return &shopServer{t, office, pages, Forwarded(false, pages.Handler()), logged, &at, log}
}

// mute is a reasoner that always says to go on checking.
type mute struct{}

func (mute) Advise(diagnosis.Case) (diagnosis.Advice, error) {
	return diagnosis.Advice{Verdict: diagnosis.VerdictCheck}, nil
}

func (mute) Card(diagnosis.Case, diagnosis.Ref) ([]diagnosis.Expectation, error) {
	return []diagnosis.Expectation{{Cause: "healthy", NotReadableShare: 1}}, nil
}

// add makes an account.
func (s *shopServer) add(name string, r account.Role) {
	s.t.Helper()
	if _, err := s.office.Book.Add(s.t.Context(), "test", name, account.Standing{Role: r}, password); err != nil {
		s.t.Fatal(err)
	}
}

// shopOf returns a server with a person of each role, named after it.
func shopOf(t testing.TB) *shopServer {
	s := newShop(t, Options{})
	for _, r := range account.Roles() {
		s.add(string(r), r)
	}
	return s
}

// client is a browser with its cookies, on an address of its own.
type client struct {
	s       *shopServer
	base    string
	from    string
	cookies map[string]*http.Cookie
}

func (s *shopServer) client() *client {
	return &client{s, "https://shop.test", "192.0.2.7:999", map[string]*http.Cookie{}}
}

// do sends a request and keeps the cookies of the answer.
func (c *client) do(method, path string, form url.Values, with ...string) *httptest.ResponseRecorder {
	c.s.t.Helper()
	r := httptest.NewRequest(method, c.base+path, strings.NewReader(form.Encode()))
	r.RemoteAddr = c.from
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", c.base)
	}
	for i := 0; i+1 < len(with); i += 2 {
		r.Header.Set(with[i], with[i+1])
	}
	for _, k := range c.cookies {
		r.AddCookie(&http.Cookie{Name: k.Name, Value: k.Value})
	}
	w := httptest.NewRecorder()
	c.s.handler.ServeHTTP(w, r)
	for _, k := range w.Result().Cookies() {
		if c.cookies[k.Name] = k; k.MaxAge < 0 {
			delete(c.cookies, k.Name)
		}
	}
	return w
}

func (c *client) get(path string) *httptest.ResponseRecorder { return c.do(http.MethodGet, path, nil) }

func (c *client) post(path string, form url.Values) *httptest.ResponseRecorder {
	return c.do(http.MethodPost, path, form)
}

// signIn signs a person in.
func (c *client) signIn(name string) *client {
	c.s.t.Helper()
	w := c.post("/sign-in", url.Values{"name": {name}, "password": {password}})
	if w.Code != http.StatusSeeOther {
		c.s.t.Fatalf("signing %s in answers %d: %s", name, w.Code, w.Body)
	}
	return c
}

func (c *client) wants(what string, w *httptest.ResponseRecorder, status int) {
	c.s.t.Helper()
	if w.Code != status {
		c.s.t.Errorf("%s answers %d, want %d: %.600s", what, w.Code, status, w.Body)
	}
}

// refused says whether an answer keeps somebody out.
func refused(w *httptest.ResponseRecorder) bool {
	return w.Code == http.StatusForbidden || w.Code == http.StatusUnauthorized || strings.HasPrefix(w.Header().Get("Location"), "/sign-in?")
}

func TestSignIn(t *testing.T) {
	s := newShop(t, Options{})
	c := s.client()
	c.wants("the page without an account", c.get("/sign-in"), 404)
	s.add("Ada", account.Owner)
	if w := c.get("/properties/new"); w.Code != 303 || w.Header().Get("Location") != "/sign-in?to=%2Fproperties%2Fnew" {
		t.Errorf("a page answers %d to %s, want the way to sign in", w.Code, w.Header().Get("Location"))
	}
	if w := c.post("/properties", url.Values{"name": {"12 Sample Lane"}, "password": {"x"}}); w.Code != 401 || !strings.Contains(w.Body.String(), "12 Sample Lane") {
		t.Errorf("a form answers %d, want 401 with what was typed: %s", w.Code, w.Body)
	}
	c.wants("a wrong password", c.post("/sign-in", url.Values{"name": {"Ada"}, "password": {"x"}}), 401)
	c.wants("nobody", c.post("/sign-in", url.Values{"name": {"Eve"}, "password": {password}}), 401)
	w := c.post("/sign-in", url.Values{"name": {" ada "}, "password": {password}, "to": {"/properties/new?x=1"}})
	if w.Code != 303 || w.Header().Get("Location") != "/properties/new?x=1" {
		t.Errorf("signing in answers %d to %s", w.Code, w.Header().Get("Location"))
	}
	k := w.Result().Cookies()[0]
	if k.Name != "__Host-rung-session" || !k.HttpOnly || !k.Secure || k.SameSite != http.SameSiteLaxMode || k.Path != "/" || k.Domain != "" || k.MaxAge != 180*24*3600 || len(k.Value) != 43 {
		t.Errorf("the cookie is %+v", k)
	}
	if w := c.get("/office"); w.Code != 200 || !strings.Contains(w.Body.String(), "Signed in as Ada, owner") {
		t.Errorf("the office answers %d: %s", w.Code, w.Body)
	}
	if w := c.post("/properties", url.Values{"name": {"12 Sample Lane"}, "form": {"01ARZ3NDEKTSV4RRFFQ69G5FAV"}}); w.Code != 303 {
		t.Errorf("a form answers %d: %s", w.Code, w.Body)
	}
	old := k.Value
	c.wants("signing out", c.post("/sign-out", nil), 303)
	if len(c.cookies) != 0 {
		t.Errorf("after signing out the browser keeps %v", c.cookies)
	}
	c.cookies[k.Name] = &http.Cookie{Name: k.Name, Value: old}
	if w := c.get("/"); !refused(w) {
		t.Error("the old cookie still works after signing out")
	}
}

// TestFixation: a session that somebody else put into the browser is not the one
// that signing in opens, and what was there before ends.
func TestFixation(t *testing.T) {
	s := shopOf(t)
	const planted = "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"
	c := s.client()
	c.cookies["__Host-rung-session"] = &http.Cookie{Name: "__Host-rung-session", Value: planted}
	c.signIn("mechanic")
	first := c.cookies["__Host-rung-session"].Value
	if first == planted {
		t.Error("the planted session was opened")
	}
	eve := s.client()
	eve.cookies["__Host-rung-session"] = &http.Cookie{Name: "__Host-rung-session", Value: planted}
	if w := eve.get("/"); !refused(w) {
		t.Error("who planted the session is in")
	}
	c.signIn("mechanic")
	if c.cookies["__Host-rung-session"].Value == first {
		t.Error("signing in again opens the same session")
	}
	eve.cookies["__Host-rung-session"].Value = first
	if w := eve.get("/"); !refused(w) {
		t.Error("the session before signing in again still works")
	}
	// The name without the prefix can be set over plain http: it must not count here.
	eve.cookies = map[string]*http.Cookie{"rung-session": {Name: "rung-session", Value: c.cookies["__Host-rung-session"].Value}}
	if w := eve.get("/"); !refused(w) {
		t.Error("a cookie without the prefix counts over https")
	}
}

func TestGuessing(t *testing.T) {
	s := shopOf(t)
	c := s.client()
	var w *httptest.ResponseRecorder
	for range 11 {
		w = c.post("/sign-in", url.Values{"name": {"owner"}, "password": {"guess"}})
	}
	if w.Code != 429 || w.Header().Get("Retry-After") != "900" {
		t.Errorf("the eleventh guess answers %d, Retry-After %q", w.Code, w.Header().Get("Retry-After"))
	}
	c.wants("the right password after too many guesses", c.post("/sign-in", url.Values{"name": {"owner"}, "password": {password}}), 429)
	c.signIn("office")
	*s.now = s.now.Add(16 * time.Minute)
	s.client().signIn("owner")
}

func TestAddress(t *testing.T) {
	for remote, want := range map[string]string{
		"192.0.2.7:80": "192.0.2.7", "[2001:db8:1:2:3:4:5:6]:80": "2001:db8:1:2::/64", "[::ffff:192.0.2.7]:1": "192.0.2.7", "odd": "odd",
	} {
		if got := address(&http.Request{RemoteAddr: remote}); got != want {
			t.Errorf("address(%s) = %s, want %s", remote, got, want)
		}
	}
}

func TestLocalPath(t *testing.T) {
	for to, want := range map[string]string{
		"/visits/1?a=b": "/visits/1?a=b", "": "/", "https://evil.example/": "/", "//evil.example": "/", `/\evil.example`: "/", "/\t/evil.example": "/",
		"evil": "/", "javascript:alert(1)": "/", "/sign-in?to=%2F": "/",
	} {
		if got := localPath(to); got != want {
			t.Errorf("localPath(%q) = %q, want %q", to, got, want)
		}
	}
}

// TestForgedForms: forms of other sites change nothing, whoever is signed in,
// with and without the header that says where they come from.
func TestForgedForms(t *testing.T) {
	s := shopOf(t)
	c := s.client().signIn("owner")
	for path, form := range map[string]url.Values{
		"/sign-in":                     {"name": {"owner"}, "password": {password}},
		"/sign-out":                    {},
		"/office/people":               {"name": {"Eve"}, "role": {"owner"}, "password": {password}},
		"/office/people/office":        {"role": {"owner"}},
		"/office/people/office/access": {"access": {"closed"}},
		"/office/phones":               {"person": {"owner"}},
		"/enrol":                       {"code": {"x"}},
		"/api/exchange":                {},
	} {
		for _, with := range [][]string{{"Origin", "https://evil.example"}, {"Origin", "null"}, {"Origin", "https://evil.example", "Sec-Fetch-Site", "cross-site"}, {"Origin", "http://shop.test:8080"}} {
			if w := c.do(http.MethodPost, path, form, with...); w.Code != http.StatusForbidden {
				t.Errorf("%s from %v answers %d, want 403", path, with, w.Code)
			}
		}
	}
	if list, err := s.office.Book.List(t.Context()); err != nil || len(list) != 4 || list[1].Role != account.Mechanic {
		t.Errorf("afterwards the people are %+v, %v", list, err)
	}
	c.wants("the owner is still signed in", c.get("/office/people"), 200)
}

// matrix says for every form, and every page of the office, who may come: o
// owner, m mechanic, a apprentice, f office, p an owner's phone, n nobody known.
// Every other page may be read by the shop, "omafp".
var matrix = map[string]string{
	"GET /static/": "omafpn", "GET /favicon.ico": "omafpn", "GET /sign-in": "omafpn", "POST /sign-in": "omafpn", "POST /sign-out": "omafpn", "GET /setup": "omafpn", "POST /setup": "omafpn",
	"GET /enrol": "omafpn", "POST /enrol": "omafpn", "GET /trust": "omafpn", "GET /trust/root.crt": "omafpn",
	"GET /report/{token}": "omafpn", "GET /report/{token}/report.pdf": "omafpn",
	"GET /api/device": "p", // answers phones only

	"GET /office": "omafp", "GET /office/password": "omaf", "POST /office/password": "omaf",
	"GET /office/people": "o", "GET /office/people/new": "o", "POST /office/people": "o", "GET /office/people/{person}": "o", "POST /office/people/{person}": "o",
	"POST /office/people/{person}/access": "o", "GET /office/people/{person}/password": "o", "POST /office/people/{person}/password": "o",
	"GET /office/phones": "omaf", "POST /office/phones": "omaf", "POST /office/phones/{phone}/revoke": "omaf",
	"GET /office/held": "o", "POST /office/held": "o",

	"POST /learned/aside": "o", "POST /learned/again": "o", "POST /learned/share": "o",
	"POST /language": "omafp", "POST /phone/worker": "omafp", "POST /properties": "omafp", "POST /properties/{property}/edit": "omafp", "POST /properties/{property}/systems": "omafp", "POST /properties/{property}/tasks": "omafp",
	"POST /systems/{system}/units": "omafp", "POST /systems/{system}/visits": "omafp", "POST /visits/{visit}/tasks": "omafp", "POST /api/calc/{calculator}": "omafp",
	"POST /units/{unit}/nameplate": "omap", "POST /properties/{property}/chain/withdraw": "omap", "POST /systems/{system}/chain/{link}": "omap",
	"POST /visits/{visit}/surroundings": "omap", "POST /visits/{visit}/hazards": "omap", "POST /visits/{visit}/readings": "omap", "POST /visits/{visit}/refusals": "omap",
	"POST /visits/{visit}/withdraw": "omap", "POST /visits/{visit}/repair": "omap", "POST /visits/{visit}/proof": "omap", "POST /visits/{visit}/note": "omap",
	"POST /visits/{visit}/close": "omp", "POST /properties/{property}/settle": "omp",
	"GET /hand-over": "omfp", "GET /hand-over/entries": "omfp", "GET /properties/{property}/entries": "omfp", "GET /hand-over/codes": "omfp", "GET /hand-over/find": "omfp",
	"POST /hand-over/want": "omfp", "POST /hand-over/run": "omfp", "POST /hand-over/seen": "omfp", "POST /hand-over/file": "omfp", "POST /hand-over/texts": "omfp",
	"POST /api/exchange":          "p", // answers phones only
	"POST /visits/{visit}/photos": "omap", "POST /units/{unit}/photos": "omap",
	"POST /properties/{property}/photos/{photo}/customer": "omap", "POST /properties/{property}/photos/{photo}/withdraw": "omap",
	"GET /report/{token}/photos/{hash}": "omafpn", "POST /hand-over/photos": "omfp",
	"POST /api/exchange/photos": "p", "POST /api/exchange/photos/{hash}": "p", "GET /api/exchange/photos/{hash}": "p", // answer phones only
	"POST /visits/{visit}/recommendations": "omfp", "POST /visits/{visit}/links": "omfp", "POST /visits/{visit}/links/withdraw": "omfp",
}

// TestRoles tries every address there is as everybody there is.
func TestRoles(t *testing.T) {
	s := shopOf(t)
	for _, pattern := range s.pages.Patterns() {
		method, path, found := strings.Cut(pattern, " ")
		if !found {
			method, path = http.MethodGet, pattern
		}
		allowed, listed := matrix[pattern]
		if !listed && method != http.MethodGet {
			t.Errorf("%s is not in the table of this test: say who may send it", pattern)
			continue
		}
		if !listed {
			allowed = "omafp"
		}
		path = strings.TrimSuffix(path, "{$}")
		path = regexp.MustCompile(`\{person\}`).ReplaceAllString(path, "nobody")
		path = regexp.MustCompile(`\{\w+\}`).ReplaceAllString(path, "01ARZ3NDEKTSV4RRFFQ69G5FAV")
		for who, name := range map[string]string{"o": "owner", "m": "mechanic", "a": "apprentice", "f": "office", "p": "phone", "n": ""} {
			c := s.as(name)
			w := c.do(method, path, url.Values{"form": {s.visitForm()}, "name": {"x"}, "password": {"short"}})
			switch in := !refused(w); {
			case pattern == "POST /sign-in":
				if w.Code != 401 && w.Code != 429 { // by its own judgement of the password
					t.Errorf("%s as %q answers %d", pattern, name, w.Code)
				}
			case in != strings.Contains(allowed, who):
				t.Errorf("%s as %q answers %d, want in = %v", pattern, name, w.Code, !in)
			}
		}
	}
	if w := s.as("owner").post("/of-tomorrow", nil); w.Code != 403 {
		t.Errorf("a form that is in no table answers %d, want 403", w.Code)
	}
}

func (s *shopServer) visitForm() string { return s.pages.Visits.NewForm() }

// as returns a browser that is signed in as somebody, by a session of its own.
func (s *shopServer) as(name string) *client {
	s.t.Helper()
	c := s.client()
	switch name {
	case "":
	case "phone":
		c.cookies["p"] = &http.Cookie{Name: "__Host-rung-phone", Value: s.phone("owner")}
	default:
		a, err := s.office.Book.Account(s.t.Context(), name)
		if err != nil {
			s.t.Fatal(err)
		}
		token, err := s.office.Book.OpenSession(s.t.Context(), a)
		if err != nil {
			s.t.Fatal(err)
		}
		c.cookies["s"] = &http.Cookie{Name: "__Host-rung-session", Value: token}
	}
	return c
}

// phone enrols a phone for somebody and returns its secret.
func (s *shopServer) phone(name string) string {
	s.t.Helper()
	code, _, err := s.office.Book.PhoneCode(s.t.Context(), "test", name)
	if err != nil {
		s.t.Fatal(err)
	}
	token, _, err := s.office.Book.Enrol(s.t.Context(), code, "")
	if err != nil {
		s.t.Fatal(err)
	}
	return token
}

func TestOnePersonAlone(t *testing.T) {
	s := newShop(t, Options{Alone: "Mechanic"})
	c := s.client()
	c.base = "http://127.0.0.1:8080"
	c.wants("the first page", c.get("/"), 200)
	if len(c.cookies) > 0 {
		t.Errorf("who works alone gets cookies: %v", c.cookies)
	}
	c.wants("a form", c.post("/properties", url.Values{"name": {"12 Sample Lane"}, "form": {s.visitForm()}}), 303)
	for _, host := range []string{"evil.example", "192.168.1.5:8080", "127.0.0.1.evil.example", "localhost.evil.example:80"} {
		c.base = "http://" + host
		c.wants("as "+host, c.get("/"), http.StatusMisdirectedRequest)
		c.wants("as "+host, c.post("/properties", url.Values{"name": {"x"}}), http.StatusMisdirectedRequest)
	}
	for _, host := range []string{"localhost:8080", "[::1]:8080", "127.0.0.2"} {
		c.base = "http://" + host
		c.wants("as "+host, c.get("/"), 200)
	}
	c.wants("a first account that is no owner's", c.post("/office/people", url.Values{"name": {"Ben"}, "role": {"mechanic"}, "password": {password}}), 422)
	c.wants("the first account", c.post("/office/people", url.Values{"name": {"Ada"}, "role": {"owner"}, "password": {password}}), 303)
	if k := c.cookies["rung-session"]; k == nil || k.Secure || !k.HttpOnly {
		t.Errorf("the cookie on the machine itself is %+v", k)
	}
	c.wants("who made it is in", c.get("/office/people"), 200)
	if w := (&client{s, "http://127.0.0.1", c.from, nil}).get("/"); !refused(w) {
		t.Errorf("once there is an account, a page without signing in answers %d", w.Code)
	}
}

func TestNoPasswordsOverPlainHTTP(t *testing.T) {
	s := shopOf(t)
	c := s.client()
	c.base = "http://shop.test"
	if w := c.post("/sign-in", url.Values{"name": {"owner"}, "password": {password}}); w.Code != 403 || len(c.cookies) > 0 || !strings.Contains(w.Body.String(), "https") {
		t.Errorf("signing in over plain http answers %d, cookies %v", w.Code, c.cookies)
	}
	code, _, err := s.office.Book.PhoneCode(t.Context(), "test", "mechanic")
	if err != nil {
		t.Fatal(err)
	}
	if w := c.post("/enrol", url.Values{"code": {code}}); w.Code != 403 || len(c.cookies) > 0 {
		t.Errorf("enrolling over plain http answers %d, cookies %v", w.Code, c.cookies)
	}
}

func TestSetup(t *testing.T) {
	s := newShop(t, Options{})
	code, err := s.office.Book.OwnerCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c := s.client()
	c.wants("the page", c.get("/setup?code="+code), 200)
	c.wants("a guess", c.post("/setup", url.Values{"code": {"x"}, "name": {"Eve"}, "password": {password}}), 410)
	c.wants("a short password", c.post("/setup", url.Values{"code": {code}, "name": {"Ada"}, "password": {"short"}}), 422)
	c.wants("the owner", c.post("/setup", url.Values{"code": {code}, "name": {"Ada"}, "password": {password}}), 303)
	c.wants("the owner is in", c.get("/office/people"), 200)
	c.wants("the code again", s.client().post("/setup", url.Values{"code": {code}, "name": {"Eve"}, "password": {password}}), 410)
}

func TestPeople(t *testing.T) {
	s := shopOf(t)
	c := s.client().signIn("owner")
	add := url.Values{"name": {"Zoë Sample"}, "role": {"apprentice"}, "password": {password}}
	c.wants("adding", c.post("/office/people", add), 303)
	c.wants("adding again", c.post("/office/people", add), 409)
	zoe := "/office/people/" + url.PathEscape("zoë sample")
	c.wants("her page", c.get(zoe), 200)
	zoes := s.client().signIn("Zoë Sample")
	if w := zoes.post("/visits/x/close", nil); w.Code != 403 {
		t.Errorf("an apprentice closes a visit: %d", w.Code)
	}
	c.wants("her role", c.post(zoe, url.Values{"role": {"mechanic"}, "refrigerant": {"yes"}, "certificate": {"II 1"}}), 303)
	if w := zoes.post("/visits/x/close", nil); w.Code == 403 {
		t.Error("a new role does not count at once")
	}
	c.wants("no role", c.post(zoe, url.Values{"role": {"boss"}}), 422)
	c.wants("a new password", c.post(zoe+"/password", url.Values{"password": {"another one entirely"}}), 303)
	if w := zoes.get("/"); !refused(w) {
		t.Error("the session survives a new password")
	}
	c.wants("closing", c.post(zoe+"/access", url.Values{"access": {"closed"}}), 303)
	c.wants("of a closed account", s.client().post("/sign-in", url.Values{"name": {"Zoë Sample"}, "password": {"another one entirely"}}), 401)
	c.wants("opening", c.post(zoe+"/access", url.Values{"access": {"open"}}), 303)
	c.wants("nonsense", c.post(zoe+"/access", url.Values{"access": {"ajar"}}), 422)
	c.wants("the last owner", c.post("/office/people/owner/access", url.Values{"access": {"closed"}}), 409)
	c.wants("nobody's page", c.get("/office/people/nobody"), 404)

	own := s.client().signIn("mechanic")
	elsewhere := s.client().signIn("mechanic")
	c.wants("a wrong present password", own.post("/office/password", url.Values{"old-password": {"x"}, "password": {"another one entirely"}}), 422)
	c.wants("a short one", own.post("/office/password", url.Values{"old-password": {password}, "password": {"x"}}), 422)
	c.wants("the own password", own.post("/office/password", url.Values{"old-password": {password}, "password": {"another one entirely"}}), 303)
	c.wants("who changed it stays in", own.get("/"), 200)
	if w := elsewhere.get("/"); !refused(w) {
		t.Error("other sessions survive a change of password")
	}
}

// TestEnrol: a code makes a phone of the shop, once; revoked, it may still hand
// in and receives nothing.
func TestEnrol(t *testing.T) {
	s := shopOf(t)
	office := s.client().signIn("office")
	w := office.post("/office/phones", url.Values{"person": {"mechanic"}})
	found := regexp.MustCompile(`https://shop\.test/enrol\?code=([\w-]{43})`).FindStringSubmatch(w.Body.String())
	if w.Code != 200 || found == nil || !strings.Contains(w.Body.String(), `class="qr"`) || w.Header().Get("Cache-Control") != "no-store" {
		t.Fatalf("making a code answers %d: %s", w.Code, w.Body)
	}
	code := found[1]
	if again := office.get("/office/phones"); strings.Contains(again.Body.String(), code) {
		t.Error("the code is shown a second time")
	}
	phone := s.client()
	phone.wants("looking", phone.get("/enrol?code="+code), 200)
	phone.wants("looking twice", phone.get("/enrol?code="+code), 200)
	w = phone.post("/enrol", url.Values{"code": {code}, "label": {"blue case"}})
	phone.wants("enrolling", w, 303)
	k := phone.cookies["__Host-rung-phone"]
	if k == nil || !k.HttpOnly || !k.Secure || k.SameSite != http.SameSiteLaxMode || k.MaxAge != 180*24*3600 {
		t.Fatalf("the cookie is %+v", k)
	}
	thief := s.client()
	thief.wants("the code again", thief.post("/enrol", url.Values{"code": {code}}), 410)
	thief.wants("no code", thief.get("/enrol"), 410)

	phone.wants("a page", phone.get("/"), 200)
	phone.wants("no phone of an office", phone.get("/office/phones"), 403)
	var told deviceAnswer
	w = phone.get("/api/device")
	if err := json.Unmarshal(w.Body.Bytes(), &told); err != nil || told.Author != "mechanic" || told.Role != "mechanic" || !told.Receive || !strings.HasPrefix(told.Device, "phone-01") {
		t.Errorf("the phone is told %+v, %v", told, err)
	}
	for method, path := range map[string]string{"GET": "/", "POST": "/api/exchange"} {
		w := phone.do(method, path, nil)
		again := w.Result().Cookies()
		if len(again) != 1 || again[0].Name != k.Name || again[0].Value != k.Value || again[0].MaxAge != k.MaxAge || !again[0].HttpOnly || !again[0].Secure {
			t.Errorf("%s gives the phone the cookies %v, want its own for another half year", path, again)
		}
	}
	phone.cookies = map[string]*http.Cookie{k.Name: k}
	thief.wants("a stranger's question", thief.get("/api/device"), 401)

	grant := func(header, value string) (account.Grant, error) {
		r := httptest.NewRequest(http.MethodPost, "https://shop.test/api/exchange", nil)
		r.Header.Set(header, value)
		return s.office.Authorise(r)
	}
	want := account.Grant{Device: told.Device, Author: "mechanic", Send: true, Receive: true}
	for header, value := range map[string]string{"Cookie": "__Host-rung-phone=" + k.Value, "Authorization": "Bearer " + k.Value} {
		if g, err := grant(header, value); err != nil || g != want {
			t.Errorf("by %s: %+v, %v, want %+v", header, g, err, want)
		}
	}
	for header, value := range map[string]string{"Cookie": "rung-phone=" + k.Value, "Authorization": "Bearer x", "X": "y"} {
		if g, err := grant(header, value); !errors.Is(err, account.ErrDenied) || g != (account.Grant{}) {
			t.Errorf("by %s %s: %+v, %v, want ErrDenied", header, value, g, err)
		}
	}
	request := httptest.NewRequest(http.MethodPost, "https://shop.test/api/exchange", nil)
	request.Header.Set("Authorization", "Bearer "+k.Value)
	if g, err := s.office.MayExchange(request); err != nil || g != (exchange.Grant{Device: told.Device, Author: "mechanic"}) {
		t.Errorf("MayExchange = %+v, %v", g, err)
	}
	id := strings.ToUpper(strings.TrimPrefix(told.Device, "phone-"))
	s.client().signIn("apprentice").wants("revoking another's", s.as("apprentice").post("/office/phones/"+id+"/revoke", nil), 403)
	office.wants("revoking", office.post("/office/phones/"+id+"/revoke", nil), 303)
	office.wants("revoking twice", office.post("/office/phones/"+id+"/revoke", nil), 303)
	want.Receive = false
	if g, err := grant("Cookie", "__Host-rung-phone="+k.Value); err != nil || g != want {
		t.Errorf("revoked: %+v, %v, want %+v", g, err, want)
	}
	if g, err := s.office.MayExchange(request); err != nil || g != (exchange.Grant{Device: told.Device, Author: "mechanic", HandInOnly: true}) {
		t.Errorf("revoked: MayExchange = %+v, %v, want to hand in only", g, err)
	}
	if w := phone.do(http.MethodPost, "/api/exchange", nil); len(w.Result().Cookies()) > 0 {
		t.Error("a revoked phone gets its cookie for another half year")
	}
	if w := phone.get("/"); !refused(w) {
		t.Errorf("a revoked phone reads a page: %d", w.Code)
	}
}

// TestWhosePhone: nobody makes himself more than he is by a phone in another's
// name.
func TestWhosePhone(t *testing.T) {
	s := shopOf(t)
	for _, c := range []struct {
		who, whose string
		ok         bool
	}{
		{"owner", "owner", true}, {"owner", "apprentice", true},
		{"office", "mechanic", true}, {"office", "office", true}, {"office", "owner", false},
		{"mechanic", "mechanic", true}, {"mechanic", "owner", false}, {"mechanic", "apprentice", false},
		{"apprentice", "apprentice", true}, {"apprentice", "mechanic", false},
	} {
		w := s.as(c.who).post("/office/phones", url.Values{"person": {c.whose}})
		if (w.Code == 200) != c.ok || !c.ok && w.Code != 403 {
			t.Errorf("%s makes a code for %s: %d", c.who, c.whose, w.Code)
		}
	}
}

func TestForwarded(t *testing.T) {
	s := shopOf(t)
	headers := []string{"X-Forwarded-Proto", "https", "X-Forwarded-Host", "shop.example", "X-Forwarded-For", "203.0.113.9, 192.0.2.1", "Origin", "https://shop.example"}
	c := s.client()
	c.base = "http://10.0.0.1"
	signIn := func() *httptest.ResponseRecorder {
		return c.do(http.MethodPost, "/sign-in", url.Values{"name": {"owner"}, "password": {password}}, headers...)
	}
	if w := signIn(); w.Code != 403 || len(c.cookies) > 0 {
		t.Errorf("without a proxy its headers count: %d, %v", w.Code, c.cookies)
	}
	s.handler = Forwarded(true, s.pages.Handler())
	if w := signIn(); w.Code != 303 || c.cookies["__Host-rung-session"] == nil {
		t.Errorf("behind a proxy signing in answers %d, %v: %s", w.Code, c.cookies, w.Body)
	}
	if w := c.do(http.MethodPost, "/office/phones", url.Values{"person": {"owner"}}, headers...); !strings.Contains(w.Body.String(), "https://shop.example/enrol?code=") {
		t.Errorf("the code leads elsewhere: %s", w.Body)
	}
	// A request line may name a scheme of its own.
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	r.URL.Scheme = "https"
	Forwarded(false, http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		if secured(r) {
			t.Error("a request says of itself that it is secured")
		}
	})).ServeHTTP(httptest.NewRecorder(), r)
	var from string
	r = httptest.NewRequest(http.MethodGet, "/", nil)
	r.Header.Set("X-Forwarded-For", "203.0.113.9, 192.0.2.1")
	Forwarded(true, http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { from = address(r) })).ServeHTTP(httptest.NewRecorder(), r)
	if from != "192.0.2.1" {
		t.Errorf("the address is %s, want the one that the proxy added", from)
	}
}

func TestStrictTransportOnlyWhenAsked(t *testing.T) {
	s := shopOf(t)
	if got := s.client().get("/sign-in").Header().Get("Strict-Transport-Security"); got != "" {
		t.Errorf("unasked: %q", got)
	}
	s.handler = Forwarded(false, StrictTransport(s.pages.Handler()))
	if got := s.client().get("/sign-in").Header().Get("Strict-Transport-Security"); got != "max-age=15552000" {
		t.Errorf("asked: %q", got)
	}
	c := s.client()
	c.base = "http://shop.test"
	if got := c.get("/sign-in").Header().Get("Strict-Transport-Security"); got != "" {
		t.Errorf("over plain http: %q", got)
	}
}

func TestTrust(t *testing.T) {
	s := newShop(t, Options{Root: []byte("a certificate"), RootName: "shop.lan"})
	w := s.client().get("/trust")
	for _, want := range []string{"shop.lan", "iPhone", "From memory", `class="qr"`, Fingerprint([]byte("a certificate"))} {
		if !strings.Contains(w.Body.String(), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	w = s.client().get("/trust/root.crt")
	if w.Code != 200 || w.Body.String() != "a certificate" || w.Header().Get("Content-Type") != "application/x-x509-ca-cert" {
		t.Errorf("the root: %d %s %q", w.Code, w.Header().Get("Content-Type"), w.Body)
	}
	none := newShop(t, Options{})
	none.client().wants("without an authority", none.client().get("/trust/root.crt"), 404)
}

// TestLogHoldsNoSecrets runs through everything that has a secret, and looks for
// it in the log and in the pages that come after.
func TestLogHoldsNoSecrets(t *testing.T) {
	s := newShop(t, Options{})
	setup, err := s.office.Book.OwnerCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c := s.client()
	c.post("/setup", url.Values{"code": {setup}, "name": {"Ada"}, "password": {password}})
	secrets := []string{setup, password, c.cookies["__Host-rung-session"].Value}
	c.post("/sign-in", url.Values{"name": {password}, "password": {"a wrong password"}})
	w := c.post("/office/phones", url.Values{"person": {"ada"}})
	code := regexp.MustCompile(`code=([\w-]{43})`).FindStringSubmatch(w.Body.String())[1]
	phone := s.client()
	phone.post("/enrol", url.Values{"code": {code}})
	phone.post("/enrol", url.Values{"code": {code}})
	secrets = append(secrets, "a wrong password", code, phone.cookies["__Host-rung-phone"].Value)
	pages := c.get("/office/phones").Body.String() + c.get("/office/people").Body.String() + c.get("/office/people/ada").Body.String() + phone.get("/").Body.String()
	for range 12 {
		s.client().post("/sign-in", url.Values{"name": {"Ada"}, "password": {"a wrong password"}})
	}
	log := s.log.b.String()
	if !strings.Contains(log, "refused") || !strings.Contains(log, "enrolled") || !strings.Contains(log, "too many") {
		t.Errorf("the log does not say what happened: %s", log)
	}
	for _, secret := range secrets {
		if secret == "" || strings.Contains(log, secret) {
			t.Errorf("the log holds the secret %q:\n%s", secret, log)
		}
		if strings.Contains(pages, secret) {
			t.Errorf("a page shows the secret %q again", secret)
		}
	}
}
