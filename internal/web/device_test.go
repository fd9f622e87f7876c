package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"rung/internal/journal"
)

// device is a phone that keeps nothing.
type device struct {
	language string
	worker   string
	err      error
}

func (d *device) Name() string     { return "phone-7" }
func (d *device) Worker() string   { return d.worker }
func (d *device) Language() string { return d.language }

func (d *device) SetLanguage(_ context.Context, language string) error {
	if d.err == nil {
		d.language = language
	}
	return d.err
}
func (d *device) Entries(context.Context) (int, error) { return 12, d.err }

func (d *device) SetWorker(_ context.Context, name string) error {
	if d.err == nil {
		d.worker = name
	}
	return d.err
}

// inPhone returns a browser on pages that run in a phone.
func inPhone(t *testing.T, d *device, unsent func(context.Context) (Unsent, error)) *browser {
	t.Helper()
	s := newServer(t, nil)
	s.Device, s.Unsent = d, unsent
	s.Author = func(*http.Request) string { return d.worker }
	return &browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}}
}

func TestPhonePage(t *testing.T) {
	d := &device{}
	b := inPhone(t, d, nil)
	b.open("/").follow("Work without signal").wants(200).says("main", "do not clear the data").says(".facts", "12 entries").says(".facts", "phone-7")
	b.submit("Save the name", url.Values{"worker": {"  "}}).wants(http.StatusUnprocessableEntity).says(".bad .error", "Say who you are")
	b.submit("Save the name", url.Values{"worker": {strings.Repeat("a", 101)}}).wants(http.StatusUnprocessableEntity).says(".bad .error", "shorter")
	b.submit("Save the name", url.Values{"worker": {" Zoë "}}).wants(200).says("[role=status]", "Name saved")
	if d.worker != "Zoë" {
		t.Errorf("the phone keeps the name %q", d.worker)
	}
	d.err = journal.ErrFull
	b.submit("Save the name", url.Values{"worker": {"Ada"}})
	b.wants(http.StatusInsufficientStorage)
	b.open("/phone").wants(http.StatusInsufficientStorage)
}

// TestNobodyWorks: without a name nothing is recorded, and the page says so.
func TestNobodyWorks(t *testing.T) {
	b := inPhone(t, &device{}, nil)
	b.open("/properties/new").submit("Save property", url.Values{"name": {"12 Sample Lane"}}).says(".wrong", "Say who you are first")
}

func TestUnsentInTheBar(t *testing.T) {
	u, err := Unsent{}, error(nil)
	b := inPhone(t, &device{worker: "Ada"}, func(context.Context) (Unsent, error) { return u, err })
	b.open("/").says(".standing", "Everything is handed to the server").open("/phone").says("main", "never")
	u = Unsent{Count: 3, Oldest: time.Date(2026, 7, 14, 9, 5, 0, 0, time.UTC), Exchanged: time.Date(2026, 7, 13, 17, 30, 0, 0, time.UTC)}
	b.open("/properties/new").says(".standing", "↥3").says(".standing", "3 entries are not yet handed").open("/phone").says(".facts", "14 July 2026 09:05").says(".facts", "13 July 2026 17:30")
	err = errors.New("unknown")
	b.open("/").wants(200)
	if got := b.text(".standing"); strings.Contains(got, "↥") {
		t.Errorf("a count that cannot be had is shown as %q", got)
	}
}

// TestPhonePageOfAServer: a server says whether it offers work without signal,
// and keeps no name for a phone.
func TestPhonePageOfAServer(t *testing.T) {
	for built, want := range map[string]string{"no": "not built into this server", "yes": "Set this phone up"} {
		s := newServer(t, nil)
		if s.Built = madeUp(t); built == "no" {
			s.Built = fstest.MapFS{}
		}
		b := &browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}}
		b.open("/phone").wants(200).says("main", want)
		if got := b.text(".standing"); got != "" {
			t.Errorf("a server says in the bar %q", got)
		}
		if r := post(b.handler, "/phone/worker", url.Values{"worker": {"Ada"}}); r.Code != http.StatusUnprocessableEntity {
			t.Errorf("a server takes the name of a phone: %d", r.Code)
		}
	}
}
