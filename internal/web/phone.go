package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"rung/internal/visit"
	"rung/internal/web/page"
)

// Device is the phone that the pages run in.
type Device interface {
	// Name is that of the device in the journal, Worker who works on it; empty
	// if nobody has said so yet.
	Name() string
	Worker() string
	// SetWorker keeps who works on it. Its errors are those of package journal.
	SetWorker(ctx context.Context, name string) error
	// Language is that in which advice is read on it, "en" or "es"; empty is
	// English. SetLanguage keeps it; its errors are those of package journal.
	Language() string
	SetLanguage(ctx context.Context, language string) error
	// Entries returns the number of entries kept on it.
	Entries(ctx context.Context) (int, error)
}

// Unsent is what a device has not yet handed to the server.
type Unsent struct {
	Count     int
	Oldest    time.Time // when the oldest was entered; zero if there is none
	Exchanged time.Time // when entries were exchanged last; zero if never
}

// around adds what every page shows about the device. A count that cannot be
// had is left out: a page must not fail for it.
func (s *Server) around(ctx context.Context) context.Context {
	a := page.Around{Offered: s.build != "", OnPhone: s.Device != nil}
	if k, err := s.known(ctx); err == nil {
		a.Said = s.said(k)
	} else {
		s.Log.Warn("how this phone stands with the office", "err", err)
	}
	if s.Unsent != nil {
		if u, err := s.Unsent(ctx); err == nil {
			a.Unsent = s.unsent(u)
		} else {
			s.Log.Warn("count what is not handed on", "err", err)
		}
	}
	return page.WithAround(ctx, a)
}

func (s *Server) unsent(u Unsent) *page.Unsent {
	return &page.Unsent{Count: u.Count, Oldest: s.moment(u.Oldest), Exchanged: s.moment(u.Exchanged)}
}

// moment prints a time; nothing for the zero time.
func (s *Server) moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return s.day(t) + " " + s.clock(t)
}

// phone shows how this phone stands, or offers to set it up.
func (s *Server) phone(w http.ResponseWriter, r *http.Request) error {
	notice := ""
	switch q := r.URL.Query(); {
	case q.Has("saved"):
		notice = "Name saved."
	case q.Has("enrolled"):
		notice = "This phone is enrolled."
	}
	return s.showPhone(w, r, notice, nil)
}

func (s *Server) showPhone(w http.ResponseWriter, r *http.Request, notice string, wrong *visit.Error) error {
	p := page.PhonePage{
		Shell:  page.Shell{Title: "This phone", Back: page.Link{Text: "Start", Href: "/"}, Notice: notice},
		Around: page.Around{Offered: s.build != "", OnPhone: s.Device != nil},
		Worker: s.Author(r), Languages: s.languages(r, "/phone"),
	}
	if s.Unsent != nil {
		u, err := s.Unsent(r.Context())
		if err != nil {
			return err
		}
		p.Unsent = s.unsent(u)
	}
	if wrong != nil {
		p.Worker, p.Wrong = r.PostForm.Get("worker"), wrong.Message
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	p.Enrolled = s.enrolled(k)
	if s.Device != nil {
		n, err := s.Device.Entries(r.Context())
		if err != nil {
			return err
		}
		p.Facts = []page.Fact{{Name: "Entries", Value: count(n, "entry", "entries")}, {Name: "This phone is called", Value: s.Device.Name()}}
	}
	if p.Unsent != nil {
		p.Facts = append(p.Facts, page.Fact{Name: "Oldest not handed on", Value: either(p.Unsent.Oldest, "none")},
			page.Fact{Name: "Last exchange", Value: either(p.Unsent.Exchanged, "never")})
	}
	return s.render(w, r, formStatus(wrong), page.Phone(p))
}

// either returns s, or other if it is empty.
func either(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// setWorker keeps who works on this phone.
func (s *Server) setWorker(w http.ResponseWriter, r *http.Request) error {
	name := strings.TrimSpace(r.PostForm.Get("worker"))
	var wrong *visit.Error
	k, err := s.known(r.Context())
	switch {
	case err != nil:
		return err
	case k != nil: // set up anew: the office has said who it is
		return see(w, r, "/phone", nil)
	case s.Device == nil:
		return &visit.Error{Kind: visit.Invalid, Message: "This page came from the server, and the name belongs into the phone. Open the page of the phone again."}
	case name == "":
		wrong = &visit.Error{Kind: visit.Invalid, Message: "Say who you are: every entry carries a name."}
	case len(name) > 100:
		wrong = &visit.Error{Kind: visit.Invalid, Message: "Use a shorter name, of 100 letters at most."}
	default:
		err := s.Device.SetWorker(r.Context(), name)
		if err == nil {
			return see(w, r, "/phone", map[string][]string{"saved": {""}})
		}
		if !errors.As(err, &wrong) {
			return err
		}
	}
	return s.showPhone(w, r, "", wrong)
}
