package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"time"

	"github.com/a-h/templ"

	"rung/internal/exchange"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// Options is what a Server is made from.
type Options struct {
	Visits visit.API
	// Author says who is working, from a sign-in or from the device; it must
	// need no cookie where the pages run in the phone.
	Author func(*http.Request) string
	// Standing says what the author is at the unit, role and licences. Nil, or a
	// person without a name: not known, and asked for when a visit is opened.
	Standing func(*http.Request) record.Person
	// People lists who may work at a unit, with role and licences. Nil, or nobody:
	// not known, and names are typed.
	People func(context.Context) ([]record.Person, error)
	// Guard stands before every page and form, after forms of other sites were
	// refused: it answers who may not go on. Nil lets everybody pass.
	Guard func(http.Handler) http.Handler
	// Mount adds addresses of the server that are no part of the work.
	Mount map[string]http.Handler
	Now   func() time.Time
	Zone  *time.Location // of the shop; nil is UTC
	Shop  string         // printed on papers
	Phone string
	Log   *slog.Logger // nil is slog.Default
	// HandOver brings entries from this journal to others and back; nil where
	// nothing is handed over.
	HandOver *HandOver
	// Exchange answers the phones' exchange; nil where that is not the office.
	Exchange http.Handler
	// Device is the phone that the pages run in; nil on a server.
	Device Device
	// Enrolled is what that phone knows of its shop. It then answers Author,
	// Standing, People and Guard.
	Enrolled *Enrolment
	// Unsent says what this device has not yet handed to the server; nil where
	// nothing has to be. What it cannot say is not shown.
	Unsent func(context.Context) (Unsent, error)
	// Built holds the part for the browser, as package bundle builds it; nil is
	// the one built into this program.
	Built fs.FS
	// Office is the address of what belongs to the shop and not to a call, shown on
	// the first page; empty where there is none.
	Office string
	// Gallery serves every page with made-up data below /gallery/.
	Gallery bool
}

// Server answers with the pages of the program. It holds no state of its own,
// so a phone may stop and start it at any time.
type Server struct {
	Options
	names
	build string // of the part for the browser; empty if there is none
}

// New returns a server. An error says what is missing of the options.
func New(o Options) (*Server, error) {
	if o.Visits == nil || o.Now == nil {
		return nil, errors.New("web: pages need visits and a clock")
	}
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	if o.Log == nil {
		o.Log = slog.Default()
	}
	if o.Author == nil {
		o.Author = func(*http.Request) string { return "" }
	}
	s := &Server{Options: o}
	if o.Enrolled != nil {
		s.enrol()
	}
	return s, nil
}

// answer handles a request; what it returns is shown by the error page.
type answer func(http.ResponseWriter, *http.Request) error

// routes lists every address, as the work goes.
func (s *Server) routes() map[string]answer {
	return map[string]answer{
		"GET /{$}":                               s.start,
		"GET /properties/new":                    s.newProperty,
		"POST /properties":                       s.addProperty,
		"GET /properties/{property}":             s.property,
		"GET /properties/{property}/edit":        s.newProperty,
		"POST /properties/{property}/edit":       s.addProperty,
		"GET /properties/{property}/systems/new": s.newSystem,
		"POST /properties/{property}/systems":    s.addSystem,
		"GET /properties/{property}/open":        s.chooseSystem,
		"POST /properties/{property}/tasks":      s.finishTask,
		"POST /properties/{property}/settle":     s.settle,
		"GET /systems/{system}":                  s.system,
		"GET /systems/{system}/units/new":        s.newUnit,
		"POST /systems/{system}/units":           s.addUnit,
		"GET /systems/{system}/open":             s.newVisit,
		"POST /systems/{system}/visits":          s.openVisit,
		"GET /units/{unit}":                      s.unit,
		"GET /units/{unit}/nameplate":            s.nameplate,
		"POST /units/{unit}/nameplate":           s.recordNameplate,

		"GET /properties/{property}/chain":           s.chain,
		"POST /properties/{property}/chain/withdraw": s.withdrawLink,
		"GET /properties/{property}/labels":          s.labels,
		"GET /systems/{system}/chain/{link}":         s.link,
		"POST /systems/{system}/chain/{link}":        s.recordLink,

		"GET /phone":         s.phone,
		"POST /phone/worker": s.setWorker,
		"POST /language":     s.setLanguage,

		"GET /replace":                  s.replaceList,
		"GET /replace/{part}":           s.replace,
		"GET /calculators":              s.calculators,
		"GET /calculators/{calculator}": s.calculator,

		"GET /learned":        s.learned,
		"POST /learned/aside": s.setLearningAside,
		"POST /learned/again": s.countAgain,
		"POST /learned/share": s.shareCounts,

		"GET /wiring":        s.wirings,
		"GET /wiring/{kind}": s.wiring,

		"GET /visits/{visit}":                  s.visit,
		"GET /visits/{visit}/surroundings":     s.surroundings,
		"POST /visits/{visit}/surroundings":    s.recordSurroundings,
		"POST /visits/{visit}/hazards":         s.noteHazard,
		"GET /visits/{visit}/checks":           s.checks,
		"GET /visits/{visit}/checks/{check}":   s.check,
		"GET /visits/{visit}/choose":           s.chooseCheck,
		"GET /visits/{visit}/choose/{check}":   s.compareCheck,
		"POST /visits/{visit}/readings":        s.takeReadings,
		"POST /visits/{visit}/refusals":        s.refuse,
		"POST /visits/{visit}/withdraw":        s.withdraw,
		"GET /visits/{visit}/ladder":           s.ladder,
		"GET /visits/{visit}/sequence":         s.sequence,
		"GET /visits/{visit}/repair":           s.repair,
		"POST /visits/{visit}/repair":          s.recordRepair,
		"GET /visits/{visit}/proof":            s.proof,
		"POST /visits/{visit}/proof":           s.recordProof,
		"GET /visits/{visit}/later":            s.later,
		"POST /visits/{visit}/tasks":           s.addTask,
		"POST /visits/{visit}/recommendations": s.recommend,
		"GET /visits/{visit}/close":            s.closing,
		"POST /visits/{visit}/close":           s.close,
		"GET /visits/{visit}/note":             s.note,
		"POST /visits/{visit}/note":            s.leaveNote,
		"POST /visits/{visit}/links":           s.shareReport,
		"POST /visits/{visit}/links/withdraw":  s.withdrawReport,
		"GET /visits/{visit}/report":           s.report,

		"GET /visits/{visit}/photos/new":                      s.newPhoto,
		"GET /units/{unit}/photos/new":                        s.newPhoto,
		"GET /properties/{property}/photos":                   s.album,
		"GET /properties/{property}/photos/{photo}":           s.photo,
		"POST /properties/{property}/photos/{photo}/customer": s.markPhoto,
		"POST /properties/{property}/photos/{photo}/withdraw": s.withdrawPhoto,
		"GET /photos/{hash}":                                  s.pictureFile,

		"GET /report/{token}":               s.sharedReport,
		"GET /report/{token}/photos/{hash}": s.sharedPicture,
	}
}

// Handler returns the whole of it: pages, static files, and the rules for
// browsers around them.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	for pattern, a := range s.routes() {
		mux.Handle(pattern, s.handle(a))
	}
	for pattern, a := range s.handOverRoutes() {
		mux.Handle(pattern, s.handle(a))
	}
	for pattern, a := range s.pdfRoutes() {
		mux.Handle(pattern, s.handle(a))
	}
	for pattern, a := range s.takeInRoutes() {
		mux.Handle(pattern, s.large(a))
	}
	for pattern, a := range s.photoRoutes() {
		mux.Handle(pattern, s.withPhoto(a))
	}
	for _, pattern := range s.exchangePatterns() {
		mux.Handle(pattern, s.Exchange)
	}
	for pattern, h := range s.apiRoutes() {
		mux.Handle(pattern, h)
	}
	mux.Handle("/", s.handle(func(http.ResponseWriter, *http.Request) error {
		return &visit.Error{Kind: visit.NotFound, Message: "There is no such page."}
	}))
	s.addStatic(mux)
	if s.Gallery {
		addGallery(mux)
	}
	for pattern, h := range s.Mount {
		mux.Handle(pattern, h)
	}
	if s.Guard == nil {
		return secure(mux)
	}
	return secure(s.Guard(mux))
}

// Patterns lists the addresses of all pages and forms, for a guard to judge.
func (s *Server) Patterns() []string {
	list := slices.Collect(maps.Keys(s.routes()))
	list = slices.AppendSeq(list, maps.Keys(s.apiRoutes()))
	list = slices.AppendSeq(list, maps.Keys(s.Mount))
	list = slices.AppendSeq(list, maps.Keys(s.handOverRoutes()))
	list = slices.AppendSeq(list, maps.Keys(s.pdfRoutes()))
	list = slices.AppendSeq(list, maps.Keys(s.takeInRoutes()))
	list = slices.AppendSeq(list, maps.Keys(s.photoRoutes()))
	list = append(list, s.exchangePatterns()...)
	list = append(list, "/", "GET /static/", "GET /favicon.ico")
	if s.Gallery {
		list = append(list, "GET /gallery/")
	}
	slices.Sort(list)
	return list
}

// exchangePatterns lists the addresses at which phones exchange.
func (s *Server) exchangePatterns() []string {
	if s.Exchange == nil {
		return nil
	}
	return []string{"POST " + exchange.Path, "POST " + exchange.PhotoPath, "POST " + exchange.PhotoPath + "/{hash}", "GET " + exchange.PhotoPath + "/{hash}"}
}

// handle turns what an answer returns into the error page.
func (s *Server) handle(a answer) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, maxForm)
		err := readForm(r)
		if err == nil {
			err = a(w, r)
		}
		if err != nil {
			s.problem(w, r, err)
		}
	})
}

// readForm reads the form of a request before anything is done with it: half a
// form must not be recorded.
func readForm(r *http.Request) error {
	err := r.ParseForm()
	var tooLarge *http.MaxBytesError
	if r.Method != http.MethodPost {
		return nil // a query that is no query asks for nothing
	}
	if err == nil {
		err = checkLengths(r.PostForm)
	}
	if err == nil || errors.As(err, &tooLarge) {
		return err
	}
	return fmt.Errorf("%w: %w", errForm, err)
}

// checkLengths refuses texts longer than the fields of our pages take.
func checkLengths(typed url.Values) error {
	for _, values := range typed {
		for _, v := range values {
			if len([]rune(v)) > page.MostLetters {
				return &http.MaxBytesError{Limit: page.MostLetters}
			}
		}
	}
	return nil
}

// render writes a page with a status.
func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if err := c.Render(s.around(r.Context()), w); err != nil {
		s.Log.Error("render", "path", pathToLog(r), "err", err) // the status is sent, so no error page
	}
	return nil
}

// see sends the browser on to another page after a form was taken.
func see(w http.ResponseWriter, r *http.Request, path string, query url.Values) error {
	if len(query) > 0 {
		path += "?" + query.Encode()
	}
	http.Redirect(w, r, path, http.StatusSeeOther)
	return nil
}

// by says who sends the form, and which form it is.
func (s *Server) by(r *http.Request) visit.By {
	by := visit.By{Author: s.Author(r), Form: r.PostFormValue("form")}
	if s.Standing != nil {
		by.Person = s.Standing(r)
	}
	return by
}

// day and clock print a time where the shop is.
func (s *Server) day(t time.Time) string   { return t.In(s.Zone).Format("2 January 2006") }
func (s *Server) clock(t time.Time) string { return t.In(s.Zone).Format("15:04") }
