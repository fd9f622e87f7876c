package web

import (
	"bytes"
	"context"
	"errors"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
)

// pocket keeps the state of an exchange in memory.
type pocket struct{ text []byte }

func (k *pocket) Load(context.Context) ([]byte, error) { return k.text, nil }
func (k *pocket) Save(_ context.Context, text []byte) error {
	k.text = text
	return nil
}

// signal is a way to the office that can be cut.
type signal struct {
	office http.Handler
	cut    bool
}

func (s *signal) Post(ctx context.Context, body []byte) (int, []byte, error) {
	return s.Do(ctx, "POST", exchange.Path, body)
}

func (s *signal) Do(ctx context.Context, method, path string, body []byte) (int, []byte, error) {
	if s.cut {
		return 0, nil, errors.New("no signal")
	}
	r := httptest.NewRequestWithContext(ctx, method, path, bytes.NewReader(body))
	w := httptest.NewRecorder()
	s.office.ServeHTTP(w, r)
	return w.Code, w.Body.Bytes(), nil
}

// firm is an office and the phones of two people.
type firm struct {
	office, ada, ben *browser
	signal           *signal
}

// newFirm returns a firm in which nothing was recorded.
func newFirm(t testing.TB) firm {
	t.Helper()
	log := memlog.New(ledger.Summary())
	s := newServerOf(t, "Office", log, silent)
	s.HandOver, s.Exchange = &HandOver{Log: log, Blobs: log.Blobs(), Device: "office"}, &exchange.Server{Log: log, Blobs: log.Blobs(), Now: s.Now}
	f := firm{office: browserOn(t, s), signal: &signal{office: s.Handler()}}
	f.ada, f.ben = browserOn(t, f.phone(t, "Ada")), browserOn(t, f.phone(t, "Ben"))
	return f
}

func browserOn(t testing.TB, s *Server) *browser {
	return &browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}}
}

// phone returns the server on the phone of somebody.
func (f firm) phone(t testing.TB, who string) *Server {
	t.Helper()
	log := memlog.New(ledger.Summary())
	s := newServerOf(t, who, log, silent)
	client := exchange.NewClient(log, &pocket{}, "phone of "+who, s.Now)
	client.CarryPhotos(log.Blobs(), nil)
	s.HandOver = &HandOver{Log: log, Blobs: log.Blobs(), Device: "phone of " + who, Office: f.signal, Client: client}
	return s
}

// upload sends a file as a browser does.
func (b *browser) upload(file []byte) *browser {
	b.t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	part, err := m.CreateFormFile("file", "entries.rung")
	if err != nil {
		b.t.Fatal(err)
	}
	part.Write(file)
	m.Close()
	r := httptest.NewRequest(http.MethodPost, "/hand-over/file", &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Header.Set("Origin", "http://"+r.Host)
	return b.send(r, &url.URL{Path: "/hand-over/file"})
}

func (f firm) exchange(b *browser) *browser {
	b.t.Helper()
	return b.open("/hand-over").submit("Exchange now", nil).wants(200)
}

// TestExchangeFromThePage: what a phone recorded comes to the office and the
// other phone, as soon as there is signal.
func TestExchangeFromThePage(t *testing.T) {
	f := newFirm(t)
	visit := f.ada.visit().at.Path
	f.signal.cut = true
	f.exchange(f.ada).says("#status", "6 entries not handed over, oldest 1 min, no exchange yet").says(".warning", "did not answer")
	f.office.open(visit).wants(404)
	f.signal.cut = false
	f.exchange(f.ada).says("[role=status]", "Exchanged").says("#status", "Everything is handed over, last exchange 15:0")
	f.office.open(visit).wants(200).says(".said", "upstairs stays warm")
	f.exchange(f.ben)
	f.ben.open(visit).wants(200).says(".said", "upstairs stays warm")
}

// TestHandedOverAsFile: from a phone without signal to another one as a file,
// and from there to the office.
func TestHandedOverAsFile(t *testing.T) {
	f := newFirm(t)
	visit := f.ada.visit().at.Path
	f.ada.open("/hand-over").says("main", "Save 6 entries as a file")
	r := f.ada.raw("/hand-over/entries")
	file := []byte(body(t, r))
	if r.StatusCode != 200 || r.Header.Get("Content-Type") != exchange.BundleType || !strings.Contains(r.Header.Get("Content-Disposition"), "entries-2026-07-14-") {
		t.Fatalf("the file: %d, %v", r.StatusCode, r.Header)
	}
	for range 2 { // taking it in twice changes nothing
		f.ben.upload(file).wants(200).says("#taken", "6 entries are in the journal here").says("#taken", "12 Sample Lane")
	}
	f.ben.follow("12 Sample Lane").wants(200)
	f.ben.open(visit).wants(200).says(".said", "upstairs stays warm")
	f.ben.upload(file[:len(file)/2]).wants(422).says("[role=alert]", "not a whole file")
	f.ben.upload(nil).wants(422)
	f.exchange(f.ben)
	f.office.open(visit).wants(200)

	// The office gives one house as a file, and takes one in itself.
	f.office.open("/hand-over").wants(200).says("main", "Choose a house first")
	f.office.open(visit).follow("2 upstairs").follow("12 Sample Lane").follow("Save this house as a file")
	if f.office.status != 200 {
		t.Errorf("the file of a house: %d", f.office.status)
	}
	f.office.upload(file).wants(200)
	for _, path := range []string{"/hand-over/entries", "/hand-over/find", "/properties/none/entries"} {
		if r := f.office.raw(path); r.StatusCode != 404 {
			t.Errorf("%s at the office: %d", path, r.StatusCode)
		}
	}
	if r := quickBrowser(t).raw("/hand-over"); r.StatusCode != 404 {
		t.Errorf("where nothing is handed over: %d", r.StatusCode)
	}
}

// TestHandedOverAsCodes: a visit goes from screen to camera.
func TestHandedOverAsCodes(t *testing.T) {
	f := newFirm(t)
	visit := f.ada.visit().at.Path
	f.ada.open("/hand-over").follow("codes")
	var texts []string
	for {
		one(t, f.ada.doc, ".bigcode svg.qr")
		texts = append(texts, words(one(t, f.ada.doc, "pre.code")))
		if f.ada.text(".bar .main") == "Done" {
			break
		}
		f.ada.follow("Next code").wants(200)
	}
	if len(texts) < 2 {
		t.Fatalf("%d codes, want several", len(texts))
	}
	f.ben.open("/hand-over").submit("Take in the codes", url.Values{"texts": {texts[1] + " and something else"}}).wants(422)
	f.ben.says("[role=alert]", "Still to be read: 1").says("[role=alert]", "3 texts were cut short").says("textarea", texts[1])
	f.ben.submit("Take in the codes", url.Values{"texts": {strings.Join(texts, "\n")}}).wants(200).says("#taken", "12 Sample Lane")
	f.ben.open(visit).wants(200)
	f.ben.open("/hand-over").submit("Take in the codes", url.Values{"texts": {""}}).wants(422).says("[role=alert]", "no whole code")

	// What was recorded meanwhile makes other codes, and the page says so.
	second := f.ada.at
	f.ada.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-herm": {"40"}}).wants(200)
	f.ada.open(second.RequestURI()).wants(200).says(".warning", "Begin again with code 1")
}

// TestBroughtFromTheOffice: a house that a phone does not carry is found and
// brought.
func TestBroughtFromTheOffice(t *testing.T) {
	f := newFirm(t)
	f.office.house()
	f.exchange(f.ada)
	f.ada.open("/?find=sample").says("main", "Nothing matches").follow("Find a property at the office").wants(200)
	f.ada.says(".readings", "12 Sample Lane").submit("Bring here", nil).wants(200).says("[role=status]", "Brought from the office").says("h1", "12 Sample Lane")
	f.ada.open("/hand-over/find?find=sample").follow("12 Sample Lane").wants(200)
	f.signal.cut = true
	f.ada.open("/hand-over/find?find=mill").wants(200).says(".warning", "did not answer")
}

// TestFlaggedOnThePage: an entry with a date far ahead is told of until it was
// seen.
func TestFlaggedOnThePage(t *testing.T) {
	f := newFirm(t)
	f.ada.house()
	s := f.phone(t, "Carl")
	e := journal.Envelope{ID: journal.ID{1}, Stream: "property/X", Device: "d", Time: journal.TimeOf(time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)), Kind: "k", Version: 1}
	if err := s.HandOver.Log.Append(t.Context(), []journal.Envelope{e}); err != nil {
		t.Fatal(err)
	}
	carl := browserOn(t, s)
	f.exchange(carl).says(".warning", "1 January 2027").says("details", "Set the date")
	carl.submit("I have seen it", nil).wants(200)
	if got := carl.text(".warning"); got != "" {
		t.Errorf("still warned of %s", got)
	}
}

// TestHandOverFitsAPhone shows the pages to a thumb, without a script, and
// measures them.
func TestHandOverFitsAPhone(t *testing.T) {
	f := newFirm(t)
	s := f.phone(t, "Dora")
	browserOn(t, s).visit()
	server := httptest.NewServer(s.Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL).withoutScripts()
	p.open("/").follow("Hand over").says("#status", "6 entries not handed over").follow("codes").says(".codeof", "Code 1 of")
	screen, err := chromedp.Run(p.ctx, chromedp.ScreenshotScale(chromedp.CSS(".qr"), 2))
	p.ok(err)
	checkCode(t, "screen", screen, p.text("pre.code"))
	p.follow("Next code").follow("Hand over")
	p.fill("texts", "RUNG1:AAAAAAAA:1/2:AAAAAAA:AA").press("Exchange now").says("#status", "Everything is handed over")
}
