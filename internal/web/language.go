package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"rung/internal/visit"
	"rung/internal/web/page"
)

// languageCookie keeps the language of a browser that the server makes pages
// for. The phone's own program keeps it as a setting: no cookie reaches it.
const languageCookie = "lang"

// languageFor is how long a browser keeps the choice.
const languageFor = 400 * 24 * time.Hour // published: RFC 6265bis, 5.5: 400 days is the most a browser keeps

// languageOf returns the language chosen on the device that sent a request.
func (s *Server) languageOf(r *http.Request) visit.Language {
	if s.Device != nil {
		l, _ := visit.ParseLanguage(s.Device.Language())
		return l
	}
	c, err := r.Cookie(languageCookie)
	if err != nil {
		return visit.English
	}
	l, _ := visit.ParseLanguage(c.Value)
	return l
}

// inLanguage is the request of a page that comes in the language of its device.
func (s *Server) inLanguage(r *http.Request) *http.Request {
	l := s.languageOf(r)
	return r.WithContext(page.WithLanguage(visit.WithLanguage(r.Context(), l), string(l)))
}

// languages is the choice of a language, which leads back to the page it is on.
func (s *Server) languages(r *http.Request, back string) *page.Languages {
	return &page.Languages{Chosen: string(s.languageOf(r)), Back: back}
}

// setLanguage keeps the language of this device and goes back to the page on
// which it was chosen.
func (s *Server) setLanguage(w http.ResponseWriter, r *http.Request) error {
	l, known := visit.ParseLanguage(r.PostForm.Get("lang"))
	if !known {
		return &visit.Error{Kind: visit.Invalid, Message: "Choose English or Spanish."}
	}
	if s.Device == nil {
		http.SetCookie(w, &http.Cookie{Name: languageCookie, Value: string(l), Path: "/", MaxAge: int(languageFor.Seconds()),
			HttpOnly: true, SameSite: http.SameSiteLaxMode})
	} else if err := s.Device.SetLanguage(r.Context(), string(l)); err != nil {
		return err
	}
	return see(w, r, ownPath(r.PostForm.Get("back")), nil)
}

// ownPath returns an address of this site; the start for anything else.
func ownPath(path string) string {
	u, err := url.Parse(path)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") || strings.Contains(path, "\\") {
		return "/"
	}
	return u.RequestURI()
}

// dayIn prints a day where the shop is, in the language of the page.
func (s *Server) dayIn(ctx context.Context, t time.Time) string {
	if visit.LanguageOf(ctx) != visit.Spanish {
		return s.day(t)
	}
	t = t.In(s.Zone)
	return fmt.Sprintf("%d de %s de %d", t.Day(), visit.Spanish.Month(t.Month()), t.Year())
}

// onDay is dayIn within a sentence.
func (s *Server) onDay(ctx context.Context, t time.Time) string {
	if visit.LanguageOf(ctx) != visit.Spanish {
		return "on " + s.day(t)
	}
	return "el " + s.dayIn(ctx, t)
}
