package web

import (
	"context"
	"errors"
	"net/http"
	"sort"
	"strings"

	"rung/internal/journal"
	"rung/internal/quantity"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// statuses maps the kinds of mistake to the status of the answer.
var statuses = map[visit.Kind]int{
	visit.NotFound:   http.StatusNotFound,
	visit.Invalid:    http.StatusUnprocessableEntity,
	visit.OutOfRange: http.StatusUnprocessableEntity,
	visit.Conflict:   http.StatusConflict,
	visit.Denied:     http.StatusForbidden,
	noRoom:           http.StatusInsufficientStorage,
	notKept:          http.StatusServiceUnavailable,
}

// trouble is an error that is nobody's mistake: its status, and what the person
// at the screen can do.
type trouble struct {
	is     error
	status int
	what   string
	do     string
}

var troubles = []trouble{
	{journal.ErrFull, http.StatusInsufficientStorage, "The store is full, so nothing more can be recorded.", "Free some space on this device. What was recorded before is safe."},
	{journal.ErrReadOnly, http.StatusServiceUnavailable, "The store can only be read at the moment.", "Wait a minute and send it again. What was recorded before is safe."},
	{journal.ErrBusy, http.StatusServiceUnavailable, "The store is in use by another copy of the program.", "Close the other copy, then send it again."},
	{journal.ErrStorage, http.StatusServiceUnavailable, "The store did not answer.", "Send it again. If it happens twice, restart the device; what was recorded before is safe."},
	{journal.ErrCorrupt, http.StatusInternalServerError, "Part of the store is damaged.", "Stop here and tell whoever looks after the program: it can be restored from another device."},
	{context.DeadlineExceeded, http.StatusServiceUnavailable, "That took too long.", "Try it once more."},
	{context.Canceled, http.StatusServiceUnavailable, "That was broken off.", "Try it once more."},
}

// errForm says that what was sent is no form.
var errForm = errors.New("web: not a form")

// status returns the status of the answer to a request that ended with err.
func status(err error) int {
	var e *visit.Error
	var tooLarge *http.MaxBytesError
	var outside *quantity.RangeError
	switch {
	case errors.As(err, &e):
		if code, ok := statuses[e.Kind]; ok {
			return code
		}
	case errors.As(err, &tooLarge):
		return http.StatusRequestEntityTooLarge
	case errors.Is(err, errForm):
		return http.StatusBadRequest
	case errors.As(err, &outside):
		return http.StatusUnprocessableEntity
	}
	if t, known := troubleOf(err); known {
		return t.status
	}
	return http.StatusInternalServerError
}

func troubleOf(err error) (trouble, bool) {
	for _, t := range troubles {
		if errors.Is(err, t.is) {
			return t, true
		}
	}
	return trouble{}, false
}

// The kinds of mistake shown in a form that the store did not take: it is sent
// again from where it was typed.
const (
	noRoom  visit.Kind = "no-room"
	notKept visit.Kind = "not-kept"
)

// mendable returns what to show in the form for an error that a second try may
// mend: a mistake, or a store that is full or may not be written.
func mendable(err error) (*visit.Error, bool) {
	var e *visit.Error
	if errors.As(err, &e) {
		return e, e.Kind != visit.NotFound
	}
	t, known := troubleOf(err)
	for _, kind := range []visit.Kind{noRoom, notKept} {
		if known && t.status == statuses[kind] {
			return &visit.Error{Kind: kind, Message: t.what + " " + t.do}, true
		}
	}
	return nil, false
}

// problem shows what went wrong, what to do, and what was typed.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	code := status(err)
	if code == http.StatusInternalServerError {
		s.Log.Error("request failed", "method", r.Method, "path", pathToLog(r), "err", err)
	}
	p := page.Problem{
		Shell: page.Shell{Title: "That did not work", Back: page.Link{Text: "Start", Href: "/"}},
		Typed: typed(r),
		Retry: retry(r),
	}
	p.What, p.Do = explain(err, code)
	s.render(w, r, code, page.ProblemPage(p))
}

// pathToLog is the address of a request without the secret of a link: who reads
// the log must not read reports.
func pathToLog(r *http.Request) string {
	if token := r.PathValue("token"); token != "" {
		return strings.ReplaceAll(r.URL.Path, token, "…")
	}
	return r.URL.Path
}

// explain says in words what went wrong and what to do.
func explain(err error, code int) (what, do string) {
	var e *visit.Error
	if errors.As(err, &e) {
		switch e.Kind {
		case visit.NotFound:
			return e.Error(), "Go back to the start and look for it there. If it was entered on another phone, that phone may not have exchanged its entries yet."
		case visit.Conflict:
			return e.Error(), "Nothing of this form was added twice."
		}
		return e.Error(), "Nothing was recorded."
	}
	var outside *quantity.RangeError
	if errors.As(err, &outside) {
		return "The conditions are outside of what the calculation vouches for: " + outside.Error() + ".", "Look at the surroundings and the nameplate for a slip. Readings are recorded as before."
	}
	if t, known := troubleOf(err); known {
		return t.what, t.do
	}
	if code == http.StatusBadRequest {
		return "That form could not be read.", "Nothing was recorded. Open the page again and send it once more."
	}
	if code == http.StatusRequestEntityTooLarge {
		return "That form is too large.", "Shorten the text and send it again."
	}
	return "Something is wrong inside the program.", "What was recorded before is safe. Try once more; if it happens again, note the time and tell whoever looks after the program."
}

// typed lists what a form held, so that nothing typed is lost.
func typed(r *http.Request) []page.Fact {
	if r.Method != http.MethodPost {
		return nil
	}
	var list []page.Fact
	for name, values := range r.PostForm {
		text := strings.TrimSpace(strings.Join(values, ", "))
		if text == "" || name == "form" || name == "epoch" || name == "settled-asked" || strings.Contains(name, "password") || strings.HasPrefix(name, causeField) || strings.HasSuffix(name, "-unit") {
			continue
		}
		if unit := r.PostForm.Get(name + "-unit"); unit != "" {
			text += " " + unit
		}
		list = append(list, page.Fact{Name: strings.TrimPrefix(name, "point-"), Value: text})
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Name < list[j].Name })
	return list
}

// retry leads back to the page that the form came from, if it was one of ours.
func retry(r *http.Request) page.Link {
	if v := r.PathValue("visit"); v != "" && r.Method == http.MethodPost {
		return page.Link{Text: "Back to the visit", Href: "/visits/" + v}
	}
	return page.Link{Text: "To the start", Href: "/"}
}
