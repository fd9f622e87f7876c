package office

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"github.com/a-h/templ"

	"rung/internal/account"
	"rung/internal/exchange"
	"rung/internal/record"
	"rung/internal/role"
)

// Options is what a Server is made from.
type Options struct {
	Book *account.Book
	Now  func() time.Time
	Zone *time.Location // of the shop; nil is UTC
	Log  *slog.Logger   // nil is slog.Default
	// Alone lets one person, of this name, work without signing in as long as
	// there is no account. The server must then listen on its own machine only.
	// Empty: everybody signs in.
	Alone string
	// Root is the certificate of the shop's own authority, DER; nil if the shop
	// has none. RootName is the name of the server it vouches for.
	Root     []byte
	RootName string
	// Held are the entries kept aside; nil where nothing is.
	Held *exchange.Held
}

// Server is the guard and the pages of the office. Everything that lasts is in the
// journals, so several servers may share them.
type Server struct {
	Options
	limiter *account.Limiter
	rules   role.Table
	peopled atomic.Bool // there is an account; accounts are never taken away
}

// New returns a server.
func New(o Options) *Server {
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	if o.Log == nil {
		o.Log = slog.Default()
	}
	return &Server{Options: o, limiter: account.NewLimiter(o.Book), rules: role.AtOffice()}
}

// answer handles a request; what it returns is shown by the error page.
type answer func(http.ResponseWriter, *http.Request) error

// Mount returns the addresses of the office.
func (s *Server) Mount() map[string]http.Handler {
	list := map[string]http.Handler{}
	for pattern, a := range map[string]answer{
		"GET /sign-in":   s.signIn,
		"POST /sign-in":  s.doSignIn,
		"POST /sign-out": s.signOut,
		"GET /setup":     s.setup,
		"POST /setup":    s.doSetup,

		"GET /office":                           s.office,
		"GET /office/password":                  s.ownPassword,
		"POST /office/password":                 s.changeOwnPassword,
		"GET /office/people":                    s.people,
		"GET /office/people/new":                s.newPerson,
		"POST /office/people":                   s.addPerson,
		"GET /office/people/{person}":           s.person,
		"POST /office/people/{person}":          s.changePerson,
		"POST /office/people/{person}/access":   s.changeAccess,
		"GET /office/people/{person}/password":  s.password,
		"POST /office/people/{person}/password": s.changePassword,
		"GET /office/phones":                    s.phones,
		"POST /office/phones":                   s.makeCode,
		"POST /office/phones/{phone}/revoke":    s.revoke,
		"GET /office/held":                      s.held,
		"POST /office/held":                     s.decideHeld,

		"GET /enrol":          s.enrol,
		"POST /enrol":         s.doEnrol,
		"GET /api/device":     s.device,
		"GET /trust":          s.trust,
		"GET /trust/root.crt": s.root,
	} {
		list[pattern] = s.handle(a)
	}
	return list
}

func (s *Server) handle(a answer) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, maxForm)
		if err := r.ParseForm(); err != nil && r.Method == http.MethodPost {
			s.refuse(w, r, http.StatusBadRequest, "That form could not be read.", "Nothing was changed. Open the page again and send it once more.")
			return
		}
		if err := a(w, r); err != nil {
			s.problem(w, r, err)
		}
	})
}

// maxForm is the size of the largest form of the office in bytes.
const maxForm = 1 << 16

// render writes a page with a status.
func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if err := c.Render(r.Context(), w); err != nil {
		s.Log.Error("render", "path", r.URL.Path, "err", err) // the status is sent, so no error page
	}
	return nil
}

func see(w http.ResponseWriter, r *http.Request, path string) error {
	http.Redirect(w, r, path, http.StatusSeeOther)
	return nil
}

// identity is who sends a request.
type identity struct {
	account account.Account
	session string // the secret of the session; empty for a phone or who works alone
	phone   bool   // it is a phone that asks, in the name of its person
	alone   bool   // nobody needs to sign in
}

// passes reports whether a rule lets somebody come.
func (id identity) passes(u role.Rule) bool {
	return id.alone || u.Allows(id.account.Role, id.session != "")
}

type identityKey struct{}

// who returns who sends a request that has passed the guard.
func who(r *http.Request) identity {
	id, _ := r.Context().Value(identityKey{}).(identity)
	return id
}

// Author is who writes the entries of a request that has passed the guard.
func (s *Server) Author(r *http.Request) string { return who(r).account.Name }

// Standing is what the author is at the unit; nobody where one works alone.
func (s *Server) Standing(r *http.Request) record.Person {
	if id := who(r); !id.alone {
		return id.account.Person()
	}
	return record.Person{}
}

// People lists who may work at a unit.
func (s *Server) People(ctx context.Context) ([]record.Person, error) {
	all, err := s.Book.List(ctx)
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(a account.Account) bool { return a.Disabled })
	people := make([]record.Person, len(all))
	for i, a := range all {
		people[i] = a.Person()
	}
	return people, nil
}

// Authorise says what the phone that sends a request may do: by its cookie, or
// by its token in the Authorization header. account.ErrDenied if it is no phone
// of the shop. A phone that was revoked is still known, see account.Grant.
func (s *Server) Authorise(r *http.Request) (account.Grant, error) {
	token, bearer := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if !bearer {
		token = cookie(r, phoneCookie)
	}
	if token == "" {
		return account.Grant{}, account.ErrDenied
	}
	return s.Book.Grant(r.Context(), token)
}

// MayExchange is Authorise for the exchange of entries: a phone that was revoked
// may still hand in what it holds. Where one person works alone, another device
// of his on the machine may come, under the name that it gives itself, and what
// it brings is not judged.
func (s *Server) MayExchange(r *http.Request) (exchange.Grant, error) {
	if alone, err := s.worksAlone(r.Context()); alone || err != nil {
		if err == nil && !isLoopback(r.Host) {
			err = account.ErrDenied
		}
		return exchange.Grant{Trusted: true}, err
	}
	g, err := s.Authorise(r)
	if err != nil || !g.Send {
		return exchange.Grant{}, errors.Join(err, account.ErrDenied)
	}
	return exchange.Grant{Device: g.Device, Author: g.Author, HandInOnly: !g.Receive}, nil
}

// MayTakeIn says how a file is taken in by whoever has passed the guard: the
// owner answers for what is in it, whoever wrote it.
func (s *Server) MayTakeIn(r *http.Request) exchange.Grant {
	id := who(r)
	return exchange.Grant{Author: id.account.Name, Trusted: id.alone || id.account.Role == account.Owner && id.session != ""}
}
