package office

import (
	"context"
	"errors"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"sort"
	"strings"

	"rung/internal/account"
	"rung/internal/journal"
	"rung/internal/web/page"
)

// Guard lets a request on to the pages if whoever sends it may come there. It
// stands behind the check that refuses forms of other sites.
func (s *Server) Guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		u, listed := s.rules.Of(r)
		if u.Anyone && listed {
			if r.URL.Path == exchangePath {
				s.keepPhone(w, r)
			}
			next.ServeHTTP(w, r)
			return
		}
		id, err := s.identify(r)
		switch {
		case errors.Is(err, account.ErrDenied):
			s.askToSignIn(w, r)
		case errors.Is(err, errHost):
			s.refuse(w, r, http.StatusMisdirectedRequest, "This server answers to its own machine only.", "Open it as 127.0.0.1 or localhost, or give people accounts and sign in.")
		case err != nil:
			s.problem(w, r, err)
		case !(listed && id.passes(u)) && !id.alone:
			s.refuse(w, r, http.StatusForbidden, "Your role does not allow that.", "Nothing was recorded. Ask the owner of the shop if you should be able to.")
		default:
			if id.phone {
				setCookie(w, r, phoneCookie, cookie(r, phoneCookie))
			}
			next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), identityKey{}, id)))
		}
	})
}

// exchangePath is where phones hand in and receive entries.
const exchangePath = "/api/exchange"

// keepPhone gives a phone its cookie again, for another half year: one that is
// in use must not be locked out by the calendar.
func (s *Server) keepPhone(w http.ResponseWriter, r *http.Request) {
	token := cookie(r, phoneCookie)
	if token == "" {
		return
	}
	if g, err := s.Book.Grant(r.Context(), token); err == nil && g.Receive {
		setCookie(w, r, phoneCookie, token)
	}
}

// errHost says that a server for one person was asked for under a foreign name:
// a page elsewhere has pointed its own name at this machine.
var errHost = errors.New("office: a foreign host")

// identify finds out who sends a request. account.ErrDenied means nobody known.
func (s *Server) identify(r *http.Request) (identity, error) {
	alone, err := s.worksAlone(r.Context())
	if err != nil {
		return identity{}, err
	}
	if alone {
		if !isLoopback(r.Host) {
			return identity{}, errHost
		}
		return identity{alone: true, account: account.Account{Name: s.Alone}}, nil
	}
	if token := cookie(r, sessionCookie); token != "" {
		a, err := s.Book.Session(r.Context(), token)
		if !errors.Is(err, account.ErrDenied) {
			return identity{account: a, session: token}, err
		}
	}
	if token := cookie(r, phoneCookie); token != "" {
		return s.asPhone(r.Context(), token)
	}
	return identity{}, account.ErrDenied
}

// asPhone lets a phone read what it may receive, in the name of its person.
func (s *Server) asPhone(ctx context.Context, token string) (identity, error) {
	p, a, err := s.Book.Phone(ctx, token)
	if err != nil {
		return identity{}, err
	}
	if p.Revoked != nil || a.Disabled {
		return identity{}, account.ErrDenied
	}
	return identity{account: a, phone: true}, nil
}

// worksAlone reports whether one person works here without an account.
func (s *Server) worksAlone(ctx context.Context) (bool, error) {
	if s.Alone == "" || s.peopled.Load() {
		return false, nil
	}
	any, err := s.Book.Any(ctx)
	if any {
		s.peopled.Store(true)
	}
	return !any, err
}

// isLoopback says whether a host, with or without a port, is this machine.
func isLoopback(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	if strings.EqualFold(host, "localhost") {
		return true
	}
	a, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return err == nil && a.IsLoopback()
}

// askToSignIn sends who reads to the page for it, and keeps what somebody has
// typed on the screen.
func (s *Server) askToSignIn(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		see(w, r, "/sign-in?"+url.Values{"to": {r.URL.RequestURI()}}.Encode())
		return
	}
	s.refuse(w, r, http.StatusUnauthorized, "You are not signed in any more.", "Nothing was recorded yet. Sign in, then enter it again.")
}

// refuse answers with a page that says what is wrong and what to do.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, what, do string) {
	p := page.Problem{Shell: page.Shell{Title: "That did not work", Back: page.Link{Text: "Start", Href: "/"}}, What: what, Do: do, Typed: typed(r)}
	if status == http.StatusUnauthorized {
		p.Retry = page.Link{Text: "Sign in", Href: "/sign-in"}
	}
	s.render(w, r, status, page.ProblemPage(p))
}

// typed lists what a form held, so that nothing typed is lost; no password.
func typed(r *http.Request) []page.Fact {
	if r.Method != http.MethodPost || r.ParseForm() != nil {
		return nil
	}
	var list []page.Fact
	for name, values := range r.PostForm {
		text := strings.TrimSpace(strings.Join(values, ", "))
		if text == "" || name == "form" || name == "code" || strings.Contains(name, "password") || strings.HasSuffix(name, "-unit") {
			continue
		}
		list = append(list, page.Fact{Name: strings.TrimPrefix(name, "point-"), Value: strings.TrimSpace(text + " " + r.PostForm.Get(name+"-unit"))})
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Name < list[j].Name })
	return list
}

// problem shows an error that no form takes up.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	var input *account.InputError
	switch {
	case errors.As(err, &input):
		s.refuse(w, r, http.StatusUnprocessableEntity, input.Message, "Nothing was changed.")
	case errors.Is(err, account.ErrUnknown):
		s.refuse(w, r, http.StatusNotFound, sentence(err), "Go back and choose again.")
	case errors.Is(err, account.ErrLast), errors.Is(err, account.ErrTaken):
		s.refuse(w, r, http.StatusConflict, sentence(err), "Nothing was changed.")
	case errors.Is(err, account.ErrCode):
		s.refuse(w, r, http.StatusGone, sentence(err), "Ask for a new one: it is made in a moment.")
	case errors.Is(err, account.ErrDenied):
		s.refuse(w, r, http.StatusForbidden, "That is not yours to do.", "Nothing was changed.")
	case errors.Is(err, journal.ErrBusy), errors.Is(err, journal.ErrStorage), errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		s.Log.Error("accounts", "path", r.URL.Path, "err", err)
		s.refuse(w, r, http.StatusServiceUnavailable, "The accounts did not answer.", "Try it once more in a moment.")
	default:
		s.Log.Error("request failed", "method", r.Method, "path", r.URL.Path, "err", err)
		s.refuse(w, r, http.StatusInternalServerError, "Something is wrong inside the program.", "Try once more; if it happens again, note the time and tell whoever looks after the program.")
	}
}

// sentence makes the text of one of our errors a sentence.
func sentence(err error) string {
	for _, known := range []error{account.ErrUnknown, account.ErrLast, account.ErrTaken, account.ErrCode} {
		if errors.Is(err, known) {
			text := known.Error()
			return strings.ToUpper(text[:1]) + text[1:] + "."
		}
	}
	return err.Error()
}
