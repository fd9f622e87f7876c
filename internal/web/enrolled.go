package web

import (
	"context"
	"net/http"
	"strings"
	"time"

	"rung/internal/exchange"
	"rung/internal/record"
	"rung/internal/role"
	"rung/internal/web/page"
)

// Enrolment is what the program in a phone knows of the shop that the phone was
// enrolled in: what the office said with the last exchange. It holds the phone
// to the same rules as the office does. A phone that was never enrolled is its
// own master: who works on it is who says so, and no form is refused for a role.
type Enrolment struct {
	Client *exchange.Client
	// Worker is who said that he works on this phone, before the office did.
	Worker func() string

	rules role.Table
}

type knownKey struct{}

// known returns how the phone of a request stands; nil if it was never enrolled,
// or on a server.
func (s *Server) known(ctx context.Context) (*exchange.Known, error) {
	if k, ok := ctx.Value(knownKey{}).(*exchange.Known); ok {
		return k, nil
	}
	if s.Enrolled == nil {
		return nil, nil
	}
	return s.Enrolled.Client.Standing(ctx)
}

// enrol puts in, for a phone, who works on it and what he may do.
func (s *Server) enrol() {
	e := s.Enrolled
	e.rules = role.InPhone()
	s.Author = func(r *http.Request) string {
		if k, err := s.known(r.Context()); k != nil && err == nil {
			return k.Author
		}
		return e.Worker()
	}
	s.Options.Standing = func(r *http.Request) record.Person {
		if k, err := s.known(r.Context()); k != nil && err == nil {
			return k.Person(k.Author)
		}
		return record.Person{}
	}
	s.People = func(ctx context.Context) ([]record.Person, error) {
		k, err := s.known(ctx)
		if k == nil || err != nil {
			return nil, err
		}
		return k.People, nil
	}
	s.Guard = s.guardPhone
}

// guardPhone refuses in the phone what the office would refuse.
func (s *Server) guardPhone(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		k, err := s.Enrolled.Client.Standing(r.Context())
		if err != nil {
			s.problem(w, r, err)
			return
		}
		if k == nil {
			next.ServeHTTP(w, r)
			return
		}
		rule, listed := s.Enrolled.rules.Of(r)
		switch {
		case k.Revoked && !s.Enrolled.rules.OpenToRevoked(r):
			s.refusePhone(w, r, "This phone is out of the shop: "+revokedSince(k, s.day)+".", "Nothing was recorded. What it holds still goes to the office; write this down elsewhere.")
		case !listed || !rule.Allows(k.Role, false):
			s.refusePhone(w, r, "Your role does not allow that. It is "+string(k.Role)+".", "Nothing was recorded. Ask the owner of the shop if you should be able to; the phone learns of it with the next exchange.")
		default:
			next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), knownKey{}, k)))
		}
	})
}

// refusePhone says what is not allowed, and keeps what was typed on the screen.
func (s *Server) refusePhone(w http.ResponseWriter, r *http.Request, what, do string) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if readForm(r) != nil {
		r.PostForm = nil // too much to be shown again
	}
	p := page.Problem{Shell: page.Shell{Title: "That did not work", Back: page.Link{Text: "Start", Href: "/"}}, What: what, Do: do, Typed: typed(r)}
	s.render(w, r, http.StatusForbidden, page.ProblemPage(p))
}

func revokedSince(k *exchange.Known, day func(time.Time) string) string {
	return "it was revoked, or the account of " + k.Author + " closed; it learnt so on " + day(k.Since)
}

// freshly is for how long a change of role is said on every page.
// practice: who works every day has then seen it.
const freshly = 24 * time.Hour

// said is what every page of a phone says about how it stands with the office;
// empty if there is nothing out of the ordinary.
func (s *Server) said(k *exchange.Known) string {
	switch {
	case k == nil:
		return ""
	case k.Revoked:
		return "This phone was revoked. It hands in what it holds; nothing more can be recorded on it, and nothing comes to it."
	case k.Was != nil && s.Now().Sub(k.Since) < freshly:
		return s.changed(k)
	}
	return ""
}

// changed says what the office changed last.
func (s *Server) changed(k *exchange.Known) string {
	switch {
	case k.Was == nil:
		return ""
	case k.Was.Author != k.Author:
		return "Since " + s.moment(k.Since) + " this phone is " + k.Author + "’s, before " + k.Was.Author + "’s."
	case k.Was.Revoked && !k.Revoked:
		return "Since " + s.moment(k.Since) + " this phone belongs to the shop again."
	case k.Was.Role != k.Role:
		return "Since " + s.moment(k.Since) + " your role is " + string(k.Role) + ", before " + string(k.Was.Role) + "."
	}
	return "Since " + s.moment(k.Since) + " your licences are: " + licences(k.Standing.Standing) + "."
}

// licences lists what somebody may do by law.
func licences(x role.Standing) string {
	var list []string
	if x.Refrigerant {
		list = append(list, strings.TrimSpace("refrigerant "+x.Certificate))
	}
	if x.Gas {
		list = append(list, "gas")
	}
	if x.Electrician {
		list = append(list, "electrician")
	}
	return either(strings.Join(list, ", "), "none")
}

// enrolled says on the page of the phone for whom it is enrolled.
func (s *Server) enrolled(k *exchange.Known) *page.Enrolled {
	if k == nil {
		return nil
	}
	e := &page.Enrolled{Who: k.Author, Role: string(k.Role), Revoked: k.Revoked, Facts: []page.Fact{
		{Name: "Enrolled for", Value: k.Author}, {Name: "Role", Value: string(k.Role)}, {Name: "Licences", Value: licences(k.Standing.Standing)},
	}}
	if k.Revoked {
		e.Changed = s.said(k) + " It learnt so on " + s.moment(k.Since) + "."
	} else {
		e.Changed = s.changed(k)
	}
	return e
}
