package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"rung/internal/blob"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/paperwork"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// HandOver is what the pages of handing over work with.
type HandOver struct {
	Log    journal.Log // from which entries are given, and into which they are taken
	Blobs  blob.Store  // the photos beside it; nil gives and takes none
	Device string
	// Client is the exchange of this device, nil at the office itself.
	Client *exchange.Client
	// Office asks the office from here; nil where the browser does that.
	Office Office
	// Registrar judges what is in a file, and Bringer says who takes it in; nil, as
	// in a phone, takes everything in: what goes on to the office is judged there.
	Registrar exchange.Registrar
	Bringer   func(*http.Request) exchange.Grant
}

// Office carries requests for entries and for photos.
type Office interface {
	exchange.Transport
	exchange.PhotoTransport
}

// maxTakenIn is the size of the largest file taken in, in bytes.
// practice: a year of one phone is some megabytes.
const maxTakenIn = 64 << 20

// errNoHandOver says that nothing is handed over from here.
var errNoHandOver = &visit.Error{Kind: visit.NotFound, Message: "Nothing is handed over from here."}

// handOverRoutes lists the addresses of handing over.
func (s *Server) handOverRoutes() map[string]answer {
	return map[string]answer{
		"GET /hand-over":                     s.handOver,
		"GET /hand-over/entries":             s.entriesFile,
		"GET /properties/{property}/entries": s.entriesFile,
		"GET /hand-over/codes":               s.entriesCode,
		"GET /hand-over/find":                s.findAtOffice,
		"POST /hand-over/want":               s.want,
		"POST /hand-over/run":                s.exchangeNow,
		"POST /hand-over/seen":               s.flagsSeen,
		"POST /hand-over/photos":             s.exchangePhotos,
	}
}

// takeInRoutes are those whose bodies are larger than a form.
func (s *Server) takeInRoutes() map[string]answer {
	return map[string]answer{
		"POST /hand-over/file":  s.takeFile,
		"POST /hand-over/texts": s.takeTexts,
	}
}

// large handles a request that brings a file.
func (s *Server) large(a answer) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, maxTakenIn)
		if err := a(w, r); err != nil {
			s.problem(w, r, err)
		}
	})
}

func (s *Server) handOver(w http.ResponseWriter, r *http.Request) error {
	return s.showHandOver(w, r, page.HandOverPage{}, http.StatusOK)
}

// showHandOver shows how the exchange stands and what can be given, below what
// was just taken in.
func (s *Server) showHandOver(w http.ResponseWriter, r *http.Request, p page.HandOverPage, code int) error {
	h := s.HandOver
	if h == nil {
		return errNoHandOver
	}
	p.Shell = page.Shell{Title: "Hand over", Back: page.Link{Text: "Start", Href: "/"}, Notice: notices[r.URL.Query().Get("done")]}
	if p.Texts.Name == "" {
		p.Texts = codesField("")
	}
	if h.Client != nil {
		k, err := s.known(r.Context())
		if err != nil {
			return err
		}
		p.Enrolled = s.enrolled(k)
		if err := s.standing(r.Context(), &p); err != nil {
			return err
		}
	} else {
		p.Give = append(p.Give, page.Link{Text: "Choose a house first", Href: "/", Note: "its page gives it as a file"})
	}
	return s.render(w, r, code, page.HandOver(p))
}

// photosLimit says what a file holds of photos.
var photosLimit = fmt.Sprintf("A file holds the newest photos, up to %d MB; others stay until there is signal.", exchange.MaxBundlePhotos>>20)

func codesField(value string) page.Field {
	return page.Field{Kind: page.Story, Long: true, Name: "texts", Label: "Codes from another phone's screen", Value: value,
		Hint: "Read them with the camera app and paste the text of each here, one after the other. This page cannot use the camera itself."}
}

// standing fills in what waits on this device.
func (s *Server) standing(ctx context.Context, p *page.HandOverPage) error {
	c := s.HandOver.Client
	status, err := c.Status(ctx)
	if err != nil {
		return err
	}
	p.Status, p.Problem = status.Text(s.Now(), s.Zone), status.Problem
	photos, err := c.Photos(ctx)
	if err != nil {
		return err
	}
	p.Photos, p.PhotoProblem = photosStanding(photos), photos.Problem
	flags, err := c.Flagged(ctx)
	if err != nil {
		return err
	}
	for _, f := range flags {
		p.Flags = append(p.Flags, f.Text)
	}
	p.Seen = page.Undo{Action: "/hand-over/seen"}
	if s.HandOver.Office != nil {
		p.Run = &page.Undo{Action: "/hand-over/run"}
	}
	if status.Waiting == 0 && len(photos.Waiting) == 0 {
		return nil
	}
	save := count(status.Waiting, "entry", "entries")
	if n := len(photos.Waiting); n > 0 {
		save += " and " + count(n, "photo", "photos")
	}
	p.Give = append(p.Give, page.Link{Text: "Save " + save + " as a file", Href: "/hand-over/entries", Note: "to send or to carry, all that is not handed over"})
	if len(photos.Waiting) > 0 {
		p.GiveNote = photosLimit + " Codes carry no photos."
	}
	if status.Waiting == 0 {
		return nil
	}
	switch texts, _, err := s.codes(ctx, ""); {
	case errors.Is(err, exchange.ErrTooMany):
		p.NoCodes = "Too much for codes on the screen. Use the file."
	case err != nil:
		return err
	default:
		p.Codes = page.Link{Text: "Show as " + count(len(texts), "code", "codes"), Href: "/hand-over/codes", Note: "for the camera of another phone"}
	}
	return nil
}

// gather returns the entries of a property; for none, those not handed over.
func (s *Server) gather(ctx context.Context, id record.PropertyID) (exchange.Bundle, error) {
	h := s.HandOver
	if h == nil || id == "" && h.Client == nil {
		return exchange.Bundle{}, errNoHandOver
	}
	var list []journal.Envelope
	var err error
	if id == "" {
		list, err = h.Client.Waiting(ctx)
	} else {
		list, err = exchange.Gather(ctx, h.Log, id.Stream())
	}
	if err == nil && len(list) == 0 {
		err = &visit.Error{Kind: visit.NotFound, Message: "There is nothing to hand over."}
	}
	return exchange.Bundle{Device: h.Device, Entries: list}, err
}

// photosWait reports whether there are photos to be handed over although all
// entries were.
func (s *Server) photosWait(ctx context.Context, id record.PropertyID) bool {
	if id != "" || s.HandOver == nil || s.HandOver.Client == nil {
		return false
	}
	status, err := s.HandOver.Client.Photos(ctx)
	return err == nil && len(status.Waiting) > 0
}

// gatherPhotos adds to a bundle the photos of a property; for none, those not
// handed over with the entries that name them. What does not fit stays here.
func (s *Server) gatherPhotos(ctx context.Context, id record.PropertyID, b *exchange.Bundle) error {
	h := s.HandOver
	if h.Blobs == nil {
		return nil
	}
	list, err := exchange.PhotosOf(ctx, h.Log, id)
	if id == "" && err == nil {
		var status exchange.PhotoStatus
		status, err = h.Client.Photos(ctx)
		list = status.Waiting
	}
	if err != nil {
		return err
	}
	var left int
	if b.Photos, left, err = exchange.GatherPhotos(ctx, h.Blobs, list); left > 0 {
		s.Log.Warn("photos that do not fit into a file", "count", left)
	}
	return err
}

// entriesFile gives entries as a file, with their photos as far as they fit.
func (s *Server) entriesFile(w http.ResponseWriter, r *http.Request) error {
	id := record.PropertyID(r.PathValue("property"))
	b, err := s.gather(r.Context(), id)
	var nothing *visit.Error // to hand over, but perhaps photos of what was
	if err != nil && !(errors.As(err, &nothing) && s.photosWait(r.Context(), id)) {
		return err
	}
	if err := s.gatherPhotos(r.Context(), id, &b); err != nil {
		return err
	}
	b.Made = s.Now()
	var file bytes.Buffer
	if err := exchange.WriteBundle(&file, b); err != nil {
		return err
	}
	name := "entries-" + b.Made.In(s.Zone).Format("2006-01-02-1504") + exchange.BundleName
	w.Header().Set("Content-Type", exchange.BundleType)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Header().Set("Cache-Control", "no-store")
	_, err = w.Write(file.Bytes())
	return err
}

// codes returns the entries as texts of codes. The bundle carries no time, so
// that the same entries make the same codes on every page.
func (s *Server) codes(ctx context.Context, id record.PropertyID) (texts []string, mark string, err error) {
	b, err := s.gather(ctx, id)
	if err != nil {
		return nil, "", err
	}
	return exchange.Codes(b)
}

// entriesCode shows one of the codes.
func (s *Server) entriesCode(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	property := record.PropertyID(q.Get("property"))
	texts, mark, err := s.codes(r.Context(), property)
	if errors.Is(err, exchange.ErrTooMany) {
		return &visit.Error{Kind: visit.OutOfRange, Message: "That is too much for codes on the screen. Save it as a file instead."}
	}
	if err != nil {
		return err
	}
	number, err := strconv.Atoi(q.Get("code"))
	if err != nil || number < 1 || number > len(texts) {
		number = 1
	}
	p := page.CodePage{Shell: page.Shell{Title: "Codes", Back: page.Link{Text: "Hand over", Href: "/hand-over"}}, Number: number, Of: len(texts), Text: texts[number-1]}
	if was := q.Get("mark"); was != "" && was != mark {
		p.Wrong = "The entries changed meanwhile, and the codes with them. Begin again with code 1; what was read before is of no use."
	}
	symbol, err := paperwork.CapitalsSymbol(p.Text)
	if err != nil {
		return err
	}
	p.SVG = symbol.SVG(p.Count())
	to := func(n int) string {
		return "/hand-over/codes?" + url.Values{"property": {string(property)}, "code": {strconv.Itoa(n)}, "mark": {mark}}.Encode()
	}
	p.Next = page.Link{Text: "Done", Href: "/hand-over"}
	if number < len(texts) {
		p.Next = page.Link{Text: "Next code", Href: to(number + 1)}
	}
	if number > 1 {
		p.Prev = page.Link{Text: "Previous", Href: to(number - 1)}
	}
	return s.render(w, r, http.StatusOK, page.Code(p))
}

// takeFile takes a file in.
func (s *Server) takeFile(w http.ResponseWriter, r *http.Request) error {
	if s.HandOver == nil {
		return errNoHandOver
	}
	parts, err := r.MultipartReader()
	if err != nil {
		return fmt.Errorf("%w: %w", errForm, err)
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return s.notTaken(w, r, "No file was chosen.", "")
		}
		if err != nil {
			return fmt.Errorf("%w: %w", errForm, err)
		}
		if part.FormName() != "file" || part.FileName() == "" {
			continue
		}
		b, err := exchange.ReadBundle(part)
		if errors.Is(err, exchange.ErrBundle) {
			return s.notTaken(w, r, "That is "+err.Error()+". Get it once more; nothing of it was taken in.", "")
		}
		return s.takeIn(w, r, b, err)
	}
}

// takeTexts takes codes in as texts.
func (s *Server) takeTexts(w http.ResponseWriter, r *http.Request) error {
	if s.HandOver == nil {
		return errNoHandOver
	}
	if err := r.ParseForm(); err != nil {
		return fmt.Errorf("%w: %w", errForm, err)
	}
	b, c, err := exchange.Collect(r.PostForm.Get("texts"))
	if errors.Is(err, exchange.ErrBundle) {
		return s.notTaken(w, r, "The codes do not belong together. Read all of them once more.", "")
	}
	if err == nil && (c.Of == 0 || c.Missing != nil) {
		return s.notTaken(w, r, missingCodes(c), strings.Join(c.Texts, "\n"))
	}
	return s.takeIn(w, r, b, err)
}

// missingCodes says which codes are still to be read.
func missingCodes(c exchange.Collected) string {
	var parts []string
	if c.Of == 0 {
		parts = append(parts, "There is no whole code in it.")
	} else {
		var list []string
		for _, n := range c.Missing {
			list = append(list, strconv.Itoa(n))
		}
		parts = append(parts, fmt.Sprintf("%d of %d codes are here, below. Still to be read: %s.", len(c.Texts), c.Of, strings.Join(list, ", ")))
	}
	if c.Damaged > 0 {
		parts = append(parts, count(c.Damaged, "text was cut short or is", "texts were cut short or are")+" none of ours.")
	}
	if c.Foreign > 0 {
		parts = append(parts, count(c.Foreign, "code belongs", "codes belong")+" to other entries.")
	}
	return strings.Join(parts, " ")
}

// notTaken shows the page again with what is wrong.
func (s *Server) notTaken(w http.ResponseWriter, r *http.Request, wrong, texts string) error {
	return s.showHandOver(w, r, page.HandOverPage{Wrong: wrong, Texts: codesField(texts)}, http.StatusUnprocessableEntity)
}

// takeIn puts entries into the journal and says where they belong.
func (s *Server) takeIn(w http.ResponseWriter, r *http.Request, b exchange.Bundle, err error) error {
	if err != nil {
		return err
	}
	gate, by := exchange.Gate{Log: s.HandOver.Log, Registrar: s.HandOver.Registrar, Now: s.Now}, exchange.Grant{Trusted: true}
	if s.HandOver.Bringer != nil {
		by = s.HandOver.Bringer(r)
	}
	in, err := gate.TakeIn(r.Context(), by, b.Entries)
	if err != nil {
		return err
	}
	p := page.HandOverPage{Taken: []string{count(in.Kept, "entry is", "entries are") + " in the journal here. Those that were here before are not doubled."}}
	if len(b.Photos) > 0 && s.HandOver.Blobs != nil {
		n, err := exchange.TakeInPhotos(r.Context(), s.HandOver.Log, s.HandOver.Blobs, b.Photos)
		if err != nil {
			return err
		}
		p.Taken = append(p.Taken, count(n, "photo is", "photos are")+" here.")
	}
	for _, f := range in.Flagged {
		p.Taken = append(p.Taken, f.Text)
	}
	seen := map[journal.Stream]bool{}
	for _, e := range b.Entries {
		id, house := record.PropertyOf(e.Stream)
		if !house || seen[e.Stream] {
			continue
		}
		seen[e.Stream] = true
		if x, err := s.Visits.Property(r.Context(), id); err == nil {
			p.Houses = append(p.Houses, page.Link{Text: x.Name, Href: propertyPath(id), Note: x.Address})
		}
	}
	return s.showHandOver(w, r, p, http.StatusOK)
}

// office returns the exchange with the office, or why there is none.
func (s *Server) office() (*exchange.Client, Office, error) {
	if s.HandOver == nil || s.HandOver.Client == nil || s.HandOver.Office == nil {
		return nil, nil, errNoHandOver
	}
	return s.HandOver.Client, s.HandOver.Office, nil
}

// patience is how long a page waits for the office. practice: the worker of the
// browser gives a page five seconds; what is left is exchanged the next time.
const patience = 4 * time.Second

// runBriefly exchanges as far as patience lasts.
func (s *Server) runBriefly(ctx context.Context, c *exchange.Client, office Office) error {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	_, err := c.Run(ctx, office)
	if err != nil {
		s.Log.Warn("exchange", "err", err)
	}
	return err
}

// exchangeNow asks the office. That it does not answer is shown on the page.
func (s *Server) exchangeNow(w http.ResponseWriter, r *http.Request) error {
	c, office, err := s.office()
	if err != nil {
		return err
	}
	if err := s.runBriefly(r.Context(), c, office); err != nil {
		return see(w, r, "/hand-over", nil) // which says what the problem is
	}
	return see(w, r, "/hand-over", url.Values{"done": {"exchanged"}})
}

// photoPatience is how long one run with photos may take. practice: the worker of
// the browser gives this address a minute; what is left goes with the next run.
const photoPatience = 50 * time.Second

// exchangePhotos sends and fetches photos. The script of the page asks for it,
// after entries were exchanged, and shows nothing of it: how photos stand is on
// the page of handing over.
func (s *Server) exchangePhotos(w http.ResponseWriter, r *http.Request) error {
	c, office, err := s.office()
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(r.Context(), photoPatience)
	defer cancel()
	done, err := c.RunPhotos(ctx, office)
	if err != nil {
		s.Log.Warn("exchange photos", "err", err)
	}
	if done != (exchange.DonePhotos{}) {
		s.Log.Info("photos", "sent", done.Sent, "received", done.Received)
	}
	return see(w, r, "/hand-over", nil)
}

// photosStanding says how the photos of this device stand, "" if all are where
// they belong.
func photosStanding(p exchange.PhotoStatus) string {
	var parts []string
	if n := len(p.Waiting); n > 0 {
		parts = append(parts, count(n, "photo", "photos")+" not handed over")
	}
	if p.Absent > 0 {
		parts = append(parts, count(p.Absent, "photo", "photos")+" not here yet")
	}
	return strings.Join(parts, ", ")
}

// flagsSeen notes that what was flagged was seen.
func (s *Server) flagsSeen(w http.ResponseWriter, r *http.Request) error {
	if s.HandOver == nil || s.HandOver.Client == nil {
		return errNoHandOver
	}
	if err := s.HandOver.Client.Seen(r.Context()); err != nil {
		return err
	}
	return see(w, r, "/hand-over", nil)
}

// findAtOffice looks for a property that is not on this phone.
func (s *Server) findAtOffice(w http.ResponseWriter, r *http.Request) error {
	c, office, err := s.office()
	if err != nil {
		return err
	}
	find := strings.TrimSpace(r.URL.Query().Get("find"))
	p := page.FindPage{Shell: page.Shell{Title: "At the office", Back: page.Link{Text: "Start", Href: "/"}}, Find: find, Asked: find != ""}
	found, err := c.Find(r.Context(), office, find)
	if err != nil {
		p.Wrong = exchange.Problem(err)
	}
	for _, x := range found {
		line := page.Found{Name: x.Name, Note: x.Address, Form: page.Undo{Action: "/hand-over/want", Hidden: []page.Hidden{{Name: "property", Value: string(x.Property)}}}}
		if _, err := s.Visits.Property(r.Context(), x.Property); err == nil {
			line.Href = propertyPath(x.Property)
		}
		p.Found = append(p.Found, line)
	}
	return s.render(w, r, http.StatusOK, page.Find(p))
}

// want brings a property to this phone.
func (s *Server) want(w http.ResponseWriter, r *http.Request) error {
	c, office, err := s.office()
	if err != nil {
		return err
	}
	id := record.PropertyID(r.PostForm.Get("property"))
	if err := c.Want(r.Context(), id); err != nil {
		return err
	}
	if err := s.runBriefly(r.Context(), c, office); err != nil {
		return see(w, r, "/hand-over", nil) // it says what the problem is; the house comes with the next exchange
	}
	return see(w, r, propertyPath(id), url.Values{"done": {"brought"}})
}
