package web

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/serviceworker"
	"github.com/chromedp/chromedp"

	"rung/internal/bundle"
	"rung/internal/exchange"
	"rung/internal/journal/memlog"
	"rung/internal/journal/sqlitelog"
	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/visit"
)

// forBrowser builds the part for the browser once for all tests, so that a test
// can end the program.
var forBrowser = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "rung-browser")
	if err != nil {
		return "", err
	}
	_, err = bundle.Build(context.Background(), bundle.Options{Source: ".", Into: dir, Tags: "crash"})
	return dir, err
})

// basement is a phone set up by a server that can be taken away.
type basement struct {
	*phone
	test    testing.TB
	profile string
	spoiled string // added to the worker's script
	handler atomic.Value
	server  *http.Server
	url     string
	office  *memlog.Log        // of the server
	leave   context.CancelFunc // ends the browser
}

// newBasement starts a server that offers work without signal, and a browser on
// it. What is in spoiled is added to the script of the worker.
func newBasement(t testing.TB, spoiled string) *basement {
	t.Helper()
	b := &basement{test: t, profile: t.TempDir(), spoiled: spoiled}
	b.serve("Sample Shop")
	return b.answer()
}

// answer lets the server answer at an address, and starts the browser on it.
func (b *basement) answer() *basement {
	b.test.Helper()
	t := b.test
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	b.url = "http://" + l.Addr().String()
	b.server = &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { b.handler.Load().(http.Handler).ServeHTTP(w, r) })}
	go b.server.Serve(l)
	t.Cleanup(b.noSignal)
	b.enter()
	return b
}

// serve makes the server that of a shop. Its name is told to the phone, so
// another name is another version.
func (b *basement) serve(shop string) {
	b.test.Helper()
	chromium(b.test) // before a build that would be for nothing
	dir, err := forBrowser()
	if err != nil {
		b.test.Fatal(err)
	}
	if b.office == nil {
		b.office = memlog.New(ledger.Summary())
	}
	s := newServerOf(b.test, "office", b.office, nil)
	s.Shop, s.Built = shop, os.DirFS(dir)
	s.HandOver = &HandOver{Log: b.office, Blobs: b.office.Blobs(), Device: "office"}
	s.Exchange = &exchange.Server{Log: b.office, Blobs: b.office.Blobs(), Now: time.Now}
	pages := s.Handler()
	b.handler.Store(http.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/sw.js" || b.spoiled == "" {
			pages.ServeHTTP(w, r)
			return
		}
		got := httptest.NewRecorder()
		pages.ServeHTTP(got, r)
		for name, values := range got.Header() {
			if name != "Content-Length" {
				w.Header()[name] = values
			}
		}
		fmt.Fprintf(w, "%s\n%s", got.Body, b.spoiled)
	})))
}

// enter starts the browser, with what the profile holds.
func (b *basement) enter() {
	b.test.Helper()
	browser, stop := browserIn(b.test, b.profile)
	b.leave = stop
	b.phone = phoneOf(b.test, browser, b.url)
	b.phone.quick = true // pages are searched for barriers by others
}

// noSignal takes the server away for good.
func (b *basement) noSignal() { b.server.Close() }

// setUp sets the phone up from the start page.
func (b *basement) setUp() *basement {
	b.t.Helper()
	b.open("/").follow("Work without signal").fill("worker", "Ada").press("Set this phone up")
	b.says("[role=status]", "Name saved").standing("✓ This phone works without signal")
	return b
}

// standing waits until the page of the phone says how it stands.
func (b *phone) standing(want string) *phone {
	b.t.Helper()
	got := ask[string](b, `new Promise(done => { const look = () => document.querySelector("#standing[data-shown]") ? done(document.getElementById("ready").textContent) : setTimeout(look, 50); look(); })`)
	if !strings.Contains(got, want) {
		b.t.Fatalf("the phone says %q, want %q: %s", got, want, b.text("#standing"))
	}
	return b
}

// stopWorker stops the worker, as a browser does with one that is idle.
func (b *basement) stopWorker() {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, serviceworker.Enable, cdp.Empty{})
	b.ok(err)
	_, err = chromedp.Call(b.ctx, serviceworker.StopAllWorkers, cdp.Empty{})
	b.ok(err)
}

// sameCall enters into a shop of its own what enterHouse and openVisit enter in
// the phone, and returns the machine of it.
func sameCall(t testing.TB, fault string) machine {
	t.Helper()
	s := newShop(t, sqlitelog.Options{})
	ctx, ok := t.Context(), func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	by := func() visit.By { return visit.By{Author: "Ada", Form: s.visits.NewForm()} }
	p, err := s.visits.AddProperty(ctx, by(), visit.PropertyInput{Name: "12 Sample Lane", Elevation: "820 ft"})
	ok(err)
	y, err := s.visits.AddSystem(ctx, by(), p, visit.SystemInput{Name: "upstairs"})
	ok(err)
	for _, kind := range []string{"air-handler", "thermostat"} {
		_, err := s.visits.AddUnit(ctx, by(), y, visit.UnitInput{Kind: kind})
		ok(err)
	}
	u, err := s.visits.AddUnit(ctx, by(), y, visit.UnitInput{Kind: "outdoor-unit"})
	ok(err)
	ok(s.visits.RecordPlate(ctx, by(), u, map[string]string{"refrigerant": "R-410A", "nominal-cooling": "3 ton", "metering": "txv", "herm-capacitance": "45 uF", "fan-capacitance": "5 uF"}))
	v, err := s.visits.OpenVisit(ctx, by(), y, visit.OpenInput{Words: "upstairs stays warm", Complaint: "not-cooling", Who: record.Person{Name: "Ada", Role: "mechanic"}})
	ok(err)
	ok(s.visits.RecordSurroundings(ctx, by(), v, visit.SurroundingsInput{Values: map[string]string{
		"outdoor-dry-bulb": "95 F", "return-dry-bulb": "80 F", "return-wet-bulb": "67 F", "line-voltage": "240 V"}}))
	return machineOf(t, s, v, fault)
}

// TestVisitWithoutSignal carries a call through in the phone alone: the server
// is gone before the first page of it, the worker is stopped in the middle, and
// the browser is started anew afterwards.
func TestVisitWithoutSignal(t *testing.T) {
	b := newBasement(t, "").setUp()
	b.noSignal()
	m := sameCall(t, "herm-cap-open")
	b.enterHouse().openVisit()
	base := "/visits/" + string(b.visitID())
	b.follow("All checks").follow("Look, listen").answer(m).says("#readings", "hums then stops")

	b.stopWorker()
	b.open(base).says("#readings", "hums then stops").says("main", "upstairs stays warm, the fan outside runs")
	b.followAdvice(m, 8).says(".verdict h2", "capacitor")
	b.stopWorker()
	b.follow("Record the repair").fill("in", "45+5 µF 440 V").fill("why", "heat").press("Record repair").says("h1", "Proof")
	if cured, err := m.Repair("replace-run-capacitor"); err != nil || !cured {
		t.Fatalf("the repair cures nothing: %v", err)
	}
	b.prove(m).says("p.state.holds", "recorded").follow("Go to closing").fill("outcome", "fixed").press("Close visit").says("h1", "Panel note")
	b.says(".sheet", "45+5 µF 440 V").says(".sheet", "12 Sample Lane").press("It hangs on the unit").says(".state", "was left")
	b.says("p.hint", "save it as PDF")
	b.open("/phone").standing("✓ This phone works without signal")
	entries := b.text("main .facts dd")

	b.leave()
	b.enter()
	b.open("/").says("main", "12 Sample Lane")
	b.open("/phone").standing("✓ This phone works without signal")
	for _, fact := range strings.Split(entries, " | ") {
		if strings.Contains(fact, "entries") {
			b.says("main .facts", fact)
		}
	}
	b.open(base+"/report").says(".sheet", "upstairs stays warm").says(".sheet", "hums then stops").says(".sheet", "45+5 µF 440 V")
	b.open(base+"/checks/cap-bench").says("main", "capacitor")
}

// TestPhoneExchanges: what the office has comes to the phone with the first
// signal, and what was recorded in the phone goes to the office with the next.
func TestPhoneExchanges(t *testing.T) {
	b := newBasement(t, "")
	atOffice := &browser{t: t, handler: b.handler.Load().(http.Handler), at: &url.URL{Path: "/"}}
	atOffice.visit() // which a phone carries as long as it is open
	b.setUp()
	b.waitFor(`fetch("/").then(r => r.text()).then(t => { window.start = t; }) && (window.start || "").includes("12 Sample Lane")`)
	b.open("/").follow("upstairs").says("main", "stays warm")
	visit := "/visits/" + string(b.visitID())
	b.open(visit+"/checks/cap-bench").fill("point-herm", "38.5").press("Record").says("#readings", "38.5 µF")
	for range 200 {
		if strings.Contains(atOffice.open(visit).text("#readings"), "38.5 µF") {
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	atOffice.says("#readings", "38.5 µF")
	b.open("/phone").standing("✓")
	b.noSignal()
	b.open(visit+"/checks/cap-bench").fill("point-fan", "4.9").press("Record").says(".standing", "not yet handed")
}

// TestPagesOfThePhone looks at the page of the phone for barriers, before and
// after it is set up, and says so where it cannot be.
func TestPagesOfThePhone(t *testing.T) {
	b := newBasement(t, "")
	b.quick = false
	b.setUp()
	b.open("/").open("/phone").standing("✓")
	b.press("Save the name").says("[role=status]", "Name saved")
	b.do(chromedp.Evaluate[chromedp.Void](`document.getElementById("give-back").click()`))
	b.quick = true
	for range 50 {
		if !ask[bool](b.phone, `navigator.serviceWorker.controller !== null`) {
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	b.open("/phone").says("main", "Set this phone up")
	plain := strings.Replace(b.url, "127.0.0.1", address(t), 1)
	l, err := net.Listen("tcp", strings.TrimPrefix(plain, "http://"))
	if err != nil {
		t.Logf("SKIPPED: an address that is not secure: %v", err)
		return
	}
	other := &http.Server{Handler: b.server.Handler}
	go other.Serve(l)
	defer other.Close()
	b.phone.server = plain
	b.open("/phone").says("#cannot", "not secure")
	if b.visible("#set-up") {
		t.Error("the phone can be set up at an address that is not secure")
	}
}

// address is one of this machine that browsers do not hold for secure.
func address(t *testing.T) string {
	t.Helper()
	list, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range list {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLoopback() && n.IP.To4() != nil {
			return n.IP.String()
		}
	}
	return "127.0.0.1"
}

// TestNewVersionWaits: a new version takes over when the mechanic agrees, and
// not before.
func TestNewVersionWaits(t *testing.T) {
	b := newBasement(t, "").setUp()
	version := b.text("#standing")
	b.serve("Another Shop")
	b.open("/phone")
	b.waitFor(`document.getElementById("update") !== null`)
	b.standing("✓")
	if got := b.text("#standing"); !strings.Contains(version, "Version") || got[:30] != version[:30] {
		t.Errorf("before it was agreed to the phone runs %s, was %s", got, version)
	}
	b.open("/properties/new").fill("name", "half typed")
	b.waitFor(`document.getElementById("update") !== null`)
	b.open("/phone")
	b.waitFor(`document.getElementById("update") !== null`)
	s := b.spot("button", "Update now", "")
	b.goes("the button Update now", tap(s))
	b.standing("✓")
	caches := ask[[]string](b.phone, `caches.keys()`)
	if len(caches) != 2 {
		t.Errorf("kept are %v, want one version and the notes", caches)
	}
	b.noSignal()
	b.open("/").open("/properties/new").says("h1", "New property")
}

// waitFor waits until an expression is true in the page.
func (b *phone) waitFor(expression string) {
	b.t.Helper()
	if !ask[bool](b, `new Promise(done => { let n = 200; const look = () => { if (`+expression+`) done(true); else if (!n--) done(false); else setTimeout(look, 50); }; look(); })`) {
		b.t.Fatalf("%s: never comes true: %s", b.where(), expression)
	}
}

// TestForgedFormInThePhone: a form of another site reaches the worker, which
// refuses it.
func TestForgedFormInThePhone(t *testing.T) {
	b := newBasement(t, "").setUp()
	b.noSignal()
	mux := http.NewServeMux()
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		if r.URL.Query().Has("quiet") {
			w.Header().Set("Referrer-Policy", "no-referrer")
		}
		fmt.Fprintf(w, `<!DOCTYPE html><main><form method="post" action="%s/properties"><input name="name" value="forged"><input name="form" value="01ARZ3NDEKTSV4RRFFQ69G5FAV"><button>Send</button></form></main>`, b.url)
	})
	mux.HandleFunc("/favicon.ico", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	other := httptest.NewServer(mux)
	defer other.Close()
	for _, how := range []string{"/", "/?quiet"} {
		b.do(chromedp.Navigate(strings.Replace(other.URL, "127.0.0.1", "localhost", 1) + how))
		ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second)
		r, err := chromedp.RunResponse(ctx, chromedp.Click(chromedp.CSS("button")))
		cancel()
		b.ok(err)
		if r.Status != http.StatusForbidden {
			t.Errorf("%s: a forged form answers %d, want 403", how, r.Status)
		}
		b.mu.Lock()
		b.messages = nil
		b.mu.Unlock()
	}
	b.open("/").says("main", "No property yet")
}

// crash ends the program in the worker from a page.
const crash = `addEventListener("message", e => { if (e.data === "crash") rungCrash(); });`

// TestProgramEnds: the program in the worker ends, and the next page starts it
// anew with everything there.
func TestProgramEnds(t *testing.T) {
	b := newBasement(t, crash).setUp()
	b.noSignal()
	b.open("/properties/new").fill("name", "12 Sample Lane").press("Save property")
	b.do(chromedp.Evaluate[chromedp.Void](`navigator.serviceWorker.controller.postMessage("crash")`))
	b.open("/").says("main", "12 Sample Lane").open("/phone").standing("✓")
	if got := b.text("#standing"); !strings.Contains(got, "broken off 1") {
		t.Errorf("the phone does not tell that the program ended: %s", got)
	}
}

// unanswered replaces a method by one that gives answer, the first times it is
// called.
func unanswered(object, method, answer string, times int) string {
	return fmt.Sprintf(`{ let n = 0; const real = %[1]s.%[2]s; %[1]s.%[2]s = function (...a) { return n++ < %[4]d ? %[3]s : real.apply(this, a); }; }`, object, method, answer, times)
}

// TestSilence: a store or a program that never answers is given up, and a fresh
// start answers; where that does not help either, a page says what to do.
func TestSilence(t *testing.T) {
	for _, c := range []struct {
		name, spoiled string
		most          time.Duration
	}{
		{"the store once", unanswered("IDBFactory.prototype", "open", "{}", 1), 5 * time.Second},
		{"the program once", unanswered("Go.prototype", "run", "new Promise(() => {})", 1), 8 * time.Second},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBasement(t, c.spoiled).setUp()
			b.noSignal()
			b.stopWorker()
			from := time.Now()
			b.open("/").says("main", "No property yet")
			t.Logf("the page came after %s", time.Since(from).Round(time.Millisecond))
			b.open("/phone").standing("✓")
			if got := b.text("#standing"); !strings.Contains(got, "Last trouble") {
				t.Errorf("the phone tells of no trouble: %s", got)
			}
		})
	}
	t.Run("for good", func(t *testing.T) {
		b := newBasement(t, `let broken = false; addEventListener("message", e => { broken = e.data === "break"; life = null; });`+
			`{ const real = Go.prototype.run; Go.prototype.run = function (i) { return broken ? new Promise(() => {}) : real.call(this, i); }; }`).setUp()
		b.noSignal()
		b.do(chromedp.Evaluate[chromedp.Void](`navigator.serviceWorker.controller.postMessage("break")`))
		ctx, cancel := context.WithTimeout(b.ctx, 40*time.Second)
		defer cancel()
		from := time.Now()
		r, err := chromedp.RunResponse(ctx, chromedp.Navigate(b.url+"/properties/new"))
		b.ok(err)
		t.Logf("the page that says so came after %s", time.Since(from).Round(time.Millisecond))
		if r.Status != http.StatusServiceUnavailable {
			t.Errorf("status %d, want 503", r.Status)
		}
		b.says("h1", "did not come").says("main a.main", "Try again")
		b.messages = nil
		b.do(chromedp.Evaluate[chromedp.Void](`navigator.serviceWorker.controller.postMessage("mend")`))
		b.follow("Try again").says("h1", "New property")
	})
}

// busy returns how long the processors have worked for the browser of a profile,
// which says more than the clock where the machine does other work besides;
// zero where that cannot be told.
func busy(profile string) time.Duration {
	parent, ticks := map[string]string{}, map[string]int{}
	top := ""
	files, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, file := range files {
		pid := filepath.Base(filepath.Dir(file))
		stat, _ := os.ReadFile(file)
		_, rest, _ := strings.Cut(string(stat), ") ")
		f := strings.Fields(rest)
		if len(f) < 13 {
			continue // it has ended meanwhile
		}
		user, _ := strconv.Atoi(f[11])
		system, _ := strconv.Atoi(f[12])
		parent[pid], ticks[pid] = f[1], user+system
		line, _ := os.ReadFile(filepath.Join(filepath.Dir(file), "cmdline"))
		if strings.Contains(string(line), profile) && !strings.Contains(string(line), "--type=") {
			top = pid
		}
	}
	total := 0
	for pid, n := range ticks {
		for at := pid; at != "" && top != ""; at = parent[at] {
			if at == top {
				total += n
				break
			}
		}
	}
	return time.Duration(total) * 10 * time.Millisecond // ticks of 100 Hz
}

// measured runs a benchmark, whose op returns after how much it measures, and
// also reports the time that the processors worked for the browser.
func (b *basement) measured(t *testing.B, name string, prepare, op func()) {
	t.Run(name, func(t *testing.B) {
		var work time.Duration
		n := 0
		for t.Loop() {
			t.StopTimer()
			prepare()
			before := busy(b.profile)
			t.StartTimer()
			op()
			t.StopTimer()
			work += busy(b.profile) - before
			n++
			t.StartTimer()
		}
		t.ReportMetric(float64(work.Milliseconds())/float64(n), "cpu-ms/op")
	})
}

// BenchmarkPhone measures what a mechanic waits for in the phone. Budgets on a
// desk machine, of which a poor phone has a fifth: 100 ms for a page of a
// running worker, 300 ms after the worker was stopped, 3 s for the first advice
// of a visit, 500 ms for the advice after a further reading.
func BenchmarkPhone(b *testing.B) {
	x := newBasement(b, "").setUp()
	x.noSignal()
	x.enterHouse()
	unit := x.where()
	start, nothing := func() { x.goes("the start", chromedp.Navigate(x.url+"/")) }, func() {}
	x.measured(b, "page", nothing, start)
	x.measured(b, "20 pages in the worker", nothing, func() {
		ask[int](x.phone, `(async () => { for (let i = 0; i < 20; i++) await (await fetch("/")).text(); return 0; })()`)
	})
	x.measured(b, "page after a stop", x.stopWorker, start)
	x.open("/phone").standing("✓")
	b.Logf("after the last stop: %s", x.text("#standing"))
	var s spot
	x.measured(b, "first advice", func() {
		x.stopWorker() // which forgets every model
		x.open(unit).follow("Open a visit").fill("words", "stays warm").fill("complaint", "not-cooling").press("Open visit").fill("outdoor-dry-bulb", "95")
		s = x.spot("button", "Save surroundings", "")
	}, func() { x.goes("the first advice", tap(s)) })
	visit, n := "/visits/"+string(x.visitID()), 0
	x.measured(b, "advice after a reading", func() {
		n++
		x.open(visit+"/checks/cap-bench").fill("point-herm", fmt.Sprintf("%.1f", 30+float64(n)/10))
		s = x.spot("button", "Record", "")
	}, func() { x.goes("the advice", tap(s)) })
	x.open("/phone").standing("✓")
	b.Logf("at the end: %s", x.text("#standing"))
}
