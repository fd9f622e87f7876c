package web

import (
	"context"
	crand "crypto/rand"
	"fmt"
	"log/slog"
	"net/http"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rung/internal/account"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/office"
	"rung/internal/visit"
)

// shopInBasement is an office with accounts, and a browser that may become one
// of its phones.
type shopInBasement struct {
	*basement
	book *account.Book
	late time.Duration // of the clock of the accounts
	away atomic.Bool   // the phone has no signal
}

const ownersPassword = "three blind mice"

func newShopInBasement(t *testing.T) *shopInBasement {
	t.Helper()
	chromium(t)
	dir, err := forBrowser()
	if err != nil {
		t.Fatal(err)
	}
	s := &shopInBasement{basement: &basement{test: t, profile: t.TempDir(), office: memlog.New(ledger.Summary())}}
	logger, ids := slog.New(slog.NewTextHandler(testWriter{t}, nil)), journal.NewIDSource(time.Now, crand.Reader)
	s.book = account.New(account.Config{Log: memlog.New(account.Summary()), Now: func() time.Time { return time.Now().Add(s.late) }, IDs: ids, Random: crand.Reader,
		Device: "office", Cost: account.Cost{Time: 1, Memory: 64, Threads: 1}})
	for name, r := range map[string]account.Role{"Ada Sample": account.Owner, "Ben Sample": account.Apprentice} {
		if _, err := s.book.Add(t.Context(), "test", name, account.Standing{Role: account.Owner}, ownersPassword); err != nil {
			t.Fatal(err)
		}
		defer func() {
			if err := s.book.SetStanding(t.Context(), "test", name, account.Standing{Role: r, Refrigerant: true}); err != nil {
				t.Fatal(err)
			}
		}()
	}
	shop := office.New(office.Options{Book: s.book, Now: time.Now, Log: logger, Held: &exchange.Held{Log: s.office, Now: time.Now}})
	visits, err := visit.New(visit.Config{Log: s.office, Now: time.Now, IDs: ids, Device: "office", Random: crand.Reader, Open: func(visit.Situation) (visit.Reasoner, error) { return mute{}, nil }})
	if err != nil {
		t.Fatal(err)
	}
	pages, err := New(Options{Visits: visits, Author: shop.Author, Standing: shop.Standing, People: shop.People, Guard: shop.Guard, Mount: shop.Mount(), Office: "/office",
		Now: time.Now, Shop: "Sample Shop", Log: logger, Built: os.DirFS(dir), HandOver: &HandOver{Log: s.office, Device: "office", Registrar: shop, Bringer: shop.MayTakeIn},
		Exchange: &exchange.Server{Log: s.office, Now: time.Now, Authorise: shop.MayExchange, Registrar: shop, Logger: logger}})
	if err != nil {
		t.Fatal(err)
	}
	answers := office.Forwarded(false, pages.Handler())
	s.handler.Store(http.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if s.away.Load() && !strings.Contains(r.Header.Get("Cookie"), "rung-session") { // the owner sits beside the server
			if c, _, err := w.(http.Hijacker).Hijack(); err == nil {
				c.Close() // no answer at all
			}
			return
		}
		answers.ServeHTTP(w, r)
	})))
	s.answer()
	return s
}

// refuses wants something that is done to be answered by a refusal.
func (p *phone) refuses(what string, action chromedp.Action[chromedp.Void], status int64, says string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, 60*time.Second)
	defer cancel()
	r, err := chromedp.RunResponse(ctx, action)
	p.ok(err)
	if r.Status != status || !strings.Contains(p.text("main"), says) {
		p.t.Errorf("%s: %s answers %d: %s, want %d with %q", p.where(), what, r.Status, p.text("main"), status, says)
	}
	p.forget()
	p.picture(p.where())
}

// forget passes over what the console has said.
func (p *phone) forget() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.messages = nil
}

// handOver exchanges from the page for it.
func (p *phone) handOver() *phone {
	p.t.Helper()
	return p.open("/hand-over").press("Exchange now")
}

// TestEnrolled carries a phone through its life in a shop: the owner makes a
// code, the phone reads it off the screen, works in the basement under the rules
// of the office, hands in what it wrote, is revoked, hands in what it still holds
// and gets nothing more. A code works once, and not when it is old.
func TestEnrolled(t *testing.T) {
	s := newShopInBasement(t)
	owner := newPhone(t, browsers(t), s.url)
	owner.quick = true
	owner.open("/sign-in").fill("name", "Ada Sample").fill("password", ownersPassword).press("Sign in")
	codeFor := func() string {
		t.Helper()
		owner.open("/office/phones").press("Ben Sample").says("main", "Enrol Ben Sample’s phone")
		picture, err := chromedp.Run(owner.ctx, chromedp.FullScreenshot(100))
		owner.ok(err)
		owner.do(chromedp.EmulateViewport(owner.screen.width, owner.screen.height, chromedp.EmulateMobile, chromedp.EmulateTouch))
		at := readCode(t, "page of the phones", picture)
		if !strings.HasPrefix(at, s.url+"/enrol?code=") {
			t.Fatalf("the code leads to %s", at)
		}
		return strings.TrimPrefix(at, s.url)
	}

	s.late = -11 * time.Minute
	old := codeFor()
	s.late = 0
	s.refuses("a code that is too old", chromedp.Navigate(s.url+old), http.StatusGone, "too old")

	code := codeFor()
	s.open(code).says("h1", "Ben Sample").fill("label", "blue case").press("Enrol this phone").says(".notice", "enrolled").says("main", "Set this phone up")
	stranger := newPhone(t, browsers(t), s.url)
	stranger.refuses("a code used before", chromedp.Navigate(s.url+code), http.StatusGone, "used already")
	s.press("Set this phone up").says("[role=status]", "Name saved")
	s.waitFor(`fetch("/phone").then(r => r.text()).then(t => { window.page = t; }) && (window.page || "").includes("Enrolled for")`)
	s.open("/phone").standing("✓ This phone works without signal").says("#worker", "Ben Sample").says("#worker", "apprentice").says("#worker", "refrigerant")

	// In the basement: the work goes on in his name, and so do the rules.
	s.away.Store(true)
	s.enterHouse()
	s.follow("Open a visit").fill("words", "stays warm").fill("complaint", "not-cooling").fill("who", "Ben Sample").press("Open visit").says("h1", "Surroundings")
	s.fill("outdoor-dry-bulb", "95").press("Save surroundings")
	v := "/visits/" + string(s.visitID())
	s.open(v+"/checks/cap-bench").fill("point-herm", "38.5").press("Record").says("#readings", "38.5 µF")
	s.open(v+"/close").fill("outcome", "declined").fill("note", "not today")
	s.refuses("an apprentice's closing", tap(s.spot("button", "Close visit", "")), http.StatusForbidden, "Your role does not allow that")
	s.handOver().says("#status", "not handed over").says("main", "did not answer")

	s.away.Store(false)
	s.forget()
	s.handOver().says("#status", "Everything is handed over").says("#enrolled", "Ben Sample, apprentice")
	owner.open(v).says("#readings", "38.5 µF").says("main", "Ben Sample")

	// A new role holds from the next exchange on.
	owner.open("/office/people/ben%20sample").fill("role", "mechanic").press("Save").says(".notice", "Changed")
	s.handOver().says("#said-by-office", "your role is mechanic, before apprentice")
	s.open(v+"/close").fill("outcome", "declined").fill("note", "not today").press("Close visit")

	// Revoked while it holds a reading.
	s.away.Store(true)
	s.open(v+"/checks/cap-bench").fill("point-fan", "4.9").press("Record").says("#readings", "4.9 µF")
	owner.open("/office/phones").press("Revoke").says("main", "revoked")
	s.away.Store(false)
	s.forget()
	s.handOver().says("#status", "Everything is handed over").says("#said-by-office", "revoked")
	owner.open(v).says("#readings", "4.9 µF")
	owner.open("/properties/new").fill("name", "34 Other Lane").press("Save property")
	s.open(v+"/checks/cap-bench").fill("point-fan", "5")
	s.refuses("a reading on a revoked phone", tap(s.spot("button", "Record", "")), http.StatusForbidden, "out of the shop")
	s.handOver().open("/").says("main", "12 Sample Lane")
	if got := s.text("main"); strings.Contains(got, "34 Other Lane") {
		t.Errorf("a revoked phone gets what came later: %s", got)
	}
	s.open(v).says("#readings", "38.5 µF").says("#said-by-office", "This phone was revoked")
	owner.open("/office/held").says("main", "Nothing is kept aside")
	if list, err := s.book.Phones(t.Context()); err != nil || len(list) != 1 || len(list[0].Names) != 1 {
		t.Errorf("the phones are %s, %v", fmt.Sprint(list), err)
	}
}

// TestEnrolledAfterSetUp: a phone that was its own master is enrolled. It says so
// at once, and what was written on it in another name waits for the owner.
func TestEnrolledAfterSetUp(t *testing.T) {
	s := newShopInBasement(t)
	s.open("/sign-in").fill("name", "Ben Sample").fill("password", ownersPassword).press("Sign in")
	s.open("/phone").fill("worker", "Benny").press("Set this phone up").says("[role=status]", "Name saved").standing("✓")
	s.says("#worker", "its own master")
	s.open("/properties/new").fill("name", "12 Sample Lane").press("Save property")
	code, _, err := s.book.PhoneCode(t.Context(), "test", "Ben Sample")
	if err != nil {
		t.Fatal(err)
	}
	s.open("/enrol?code=" + code).press("Enrol this phone")
	for n := 0; n < 200 && s.where() != "/phone"; n++ { // the page opens itself anew when the office has said for whom
		time.Sleep(50 * time.Millisecond)
	}
	s.waitFor(`document.getElementById("worker").textContent.includes("Enrolled for")`)
	s.says("#worker", "Ben Sample").open("/hand-over").says("main", "An entry was flagged").says("main", "Benny")
	held, err := (exchange.Held{Log: s.office, Now: time.Now}).List(t.Context())
	if err != nil || len(held) != 1 || held[0].Entry.Author != "Benny" || held[0].Person != "Ben Sample" {
		t.Errorf("kept aside are %+v, %v", held, err)
	}
}
