package web

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// lacks ends a test that needs a program this machine does not have: it is
// skipped, and says so; where REQUIRE_ALL is 1 it fails.
func lacks(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("REQUIRE_ALL") == "1" {
		t.Fatalf("%s is missing, and REQUIRE_ALL=1 forbids to skip", what)
	}
	t.Skipf("SKIPPED: %s is missing; .ci/run installs it", what)
}

// program returns where a program is, or ends the test.
func program(t testing.TB, names ...string) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); name != "" && err == nil {
			return path
		}
	}
	lacks(t, names[len(names)-1])
	return ""
}

// chromium returns a browser, or ends the test.
func chromium(t testing.TB) string {
	t.Helper()
	return program(t, os.Getenv("CHROMIUM"), "google-chrome", "chromium-browser", "chromium")
}

//go:embed testdata/look.js
var lookScript string

//go:embed testdata/spot.js
var spotScript string

//go:embed testdata/axe/axe.min.js
var axeScript string

// phone is a real browser that pretends to be a phone of 390 × 844 with a
// touch screen. Whatever page it comes to is measured.
type phone struct {
	t      testing.TB
	ctx    context.Context
	server string // "http://127.0.0.1:41234"

	screen struct{ width, height int64 }
	plain  bool   // scripts are off
	quick  bool   // pages are measured but not searched for barriers
	shots  string // where pictures of the pages go; empty for none
	count  int

	mu       sync.Mutex
	messages []string // of the console
	searched map[string]bool
}

// browsers starts one browser for the tests of a function; each phone is a tab
// with a profile of its own.
func browsers(t testing.TB) context.Context {
	t.Helper()
	ctx, _ := browserIn(t, t.TempDir())
	return ctx
}

// browserIn starts a browser with the profile kept in a directory, and returns
// what ends it.
func browserIn(t testing.TB, profile string) (context.Context, context.CancelFunc) {
	t.Helper()
	path := chromium(t)
	options := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(path), chromedp.UserDataDir(profile), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.NoDefaultBrowserCheck,
	}
	for _, flag := range []string{"disable-dev-shm-usage", "disable-background-networking", "disable-component-update", "disable-sync", "disable-quic", "hide-scrollbars"} {
		options = append(options, chromedp.Flag(flag, true))
	}
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewContext(ctx, chromedp.WithErrorf(t.Logf))
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("start %s: %v", path, err)
	}
	return ctx, stop
}

// newPhone opens a tab on a server. With SCREENS set to a directory every page
// is kept there as a picture.
func newPhone(t testing.TB, browser context.Context, server string) *phone {
	t.Helper()
	ctx, close := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(close)
	return phoneOf(t, ctx, server)
}

// phoneOf makes a phone of a tab.
func phoneOf(t testing.TB, ctx context.Context, server string) *phone {
	t.Helper()
	p := &phone{t: t, ctx: ctx, server: server, searched: map[string]bool{}}
	p.screen.width, p.screen.height = 390, 844
	if dir := os.Getenv("SCREENS"); dir != "" {
		p.shots = filepath.Join(dir, strings.ReplaceAll(t.Name(), "/", "-"))
		if err := os.MkdirAll(p.shots, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	p.do(chromedp.EmulateViewport(p.screen.width, p.screen.height, chromedp.EmulateMobile, chromedp.EmulateTouch))
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			said := fmt.Sprint(m)
			if strings.Contains(said, "from the Manifest") {
				continue // the browser asks for these whenever it likes, also while the worker is stopped: TestIconsOfManifest asks for all
			}
			if m.Type == chromedp.ConsoleError || m.Type == chromedp.ConsoleWarning || m.IsException() {
				p.mu.Lock()
				p.messages = append(p.messages, fmt.Sprintf("%s %s %s", m.Source, said, m.URL))
				p.mu.Unlock()
			}
		}
	}()
	return p
}

// withoutScripts turns the scripts of all pages off.
func (p *phone) withoutScripts() *phone {
	p.t.Helper()
	p.plain, p.quick = true, true
	_, err := chromedp.Call(p.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	p.ok(err)
	return p
}

func (p *phone) ok(err error) {
	p.t.Helper()
	if err != nil {
		p.t.Fatalf("%s: %v", p.where(), err)
	}
}

// do carries actions out, for a minute at most.
func (p *phone) do(actions ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx); err != nil { // the first call starts the tab and must not have a time limit
		p.t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(p.ctx, 60*time.Second)
	defer cancel()
	p.ok(chromedp.Do(ctx, actions...))
}

// ask evaluates an expression in the page.
func ask[T any](p *phone, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, 60*time.Second)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatalf("%s: %v in %.60s", p.where(), err, expression)
	}
	return v
}

// where is the address of the page without the server.
func (p *phone) where() string {
	at, err := chromedp.Run(p.ctx, chromedp.Location())
	if err != nil {
		return "?"
	}
	return strings.TrimPrefix(at, p.server)
}

// goes does something that leads to another page, and looks at that.
func (p *phone) goes(what string, action chromedp.Action[chromedp.Void]) *phone {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, 90*time.Second)
	defer cancel()
	r, err := chromedp.RunResponse(ctx, action)
	if err != nil {
		p.t.Fatalf("%s: %s leads nowhere: %v", p.where(), what, err)
	}
	if r.Status != http.StatusOK {
		p.t.Fatalf("%s: %s answers %d: %s", p.where(), what, r.Status, p.text("main"))
	}
	p.look()
	return p
}

// open types an address.
func (p *phone) open(path string) *phone {
	p.t.Helper()
	return p.goes("the address "+path, chromedp.Navigate(p.server+path))
}

// spot is a place on the screen.
type spot struct {
	X, Y    float64
	Missing bool
	Fold    bool
	Kind    string
	Covered string
}

// spot finds what to tap, opening what it is folded into.
func (p *phone) spot(kind, text, value string) spot {
	p.t.Helper()
	arguments, err := json.Marshal([]string{kind, text, value})
	p.ok(err)
	for range 5 {
		s := ask[spot](p, "("+strings.TrimRight(stripComment(spotScript), "; \n")+")(..."+string(arguments)+")")
		switch {
		case s.Missing:
			p.t.Fatalf("%s has no %s %q %s: %s", p.where(), kind, text, value, p.text("main"))
		case s.Covered != "":
			p.t.Fatalf("%s: %s %q is covered by %s", p.where(), kind, text, s.Covered)
		case !s.Fold:
			return s
		}
		p.do(tap(s))
	}
	p.t.Fatalf("%s: %s %q cannot be unfolded", p.where(), kind, text)
	return spot{}
}

// stripComment leaves out the lines of comment at the head of a script.
func stripComment(script string) string {
	for strings.HasPrefix(script, "//") {
		_, script, _ = strings.Cut(script, "\n")
	}
	return script
}

// follow taps a link that leads to another page.
func (p *phone) follow(text string) *phone {
	p.t.Helper()
	s := p.spot("link", text, "")
	return p.goes("the link "+text, tap(s))
}

// press taps a button that sends a form.
func (p *phone) press(text string) *phone {
	p.t.Helper()
	s := p.spot("button", text, "")
	return p.goes("the button "+text, tap(s))
}

// fill answers one question of a form: taps a choice, picks from a list, types
// on the keys.
func (p *phone) fill(name, value string) *phone {
	p.t.Helper()
	kind := ask[string](p, `(e => e ? e.type || e.localName : "")([...document.querySelectorAll("main [name]")].find(f => f.type !== "hidden" && f.name === `+quote(name)+`))`)
	switch kind {
	case "radio", "checkbox":
		s := p.spot("field", name, value)
		p.do(tap(s))
		if !ask[bool](p, `[...document.querySelectorAll("main [name]")].some(f => f.name === `+quote(name)+` && f.value === `+quote(value)+` && f.checked)`) {
			p.t.Fatalf("%s: a tap on %s %s chooses nothing", p.where(), name, value)
		}
	case "select-one": // the list opens outside of the page
		p.spot("field", name, "")
		if !ask[bool](p, `(e => { e.value = `+quote(value)+`; return e.value === `+quote(value)+`; })(document.querySelector("main select[name=" + CSS.escape(`+quote(name)+`) + "]"))`) {
			p.t.Fatalf("%s: %s has no %q to pick", p.where(), name, value)
		}
	default:
		s := p.spot("field", name, "")
		p.do(tap(s))
		ask[bool](p, `(document.activeElement.select && document.activeElement.select(), true)`)
		_, err := chromedp.Call(p.ctx, input.InsertText, input.InsertTextParams{Text: value})
		p.ok(err)
	}
	return p
}

func quote(s string) string {
	b, _ := json.Marshal(s) // a string is always JSON
	return string(b)
}

// text returns the words of what matches a CSS selector.
func (p *phone) text(selector string) string {
	p.t.Helper()
	return ask[string](p, `[...document.querySelectorAll(`+quote(selector)+`)].map(e => e.textContent.trim().replace(/\s+/g, " ")).join(" | ")`)
}

// says fails the test unless the words of what matches contain want.
func (p *phone) says(selector, want string) *phone {
	p.t.Helper()
	if got := p.text(selector); !strings.Contains(got, want) {
		p.t.Errorf("%s: %s says %q, want %q in it", p.where(), selector, got, want)
	}
	return p
}

// visible says whether what matches first lies on the screen as it stands,
// clear of the bars at the bottom.
func (p *phone) visible(selector string) bool {
	p.t.Helper()
	return ask[bool](p, `(e => {
		if (!e) return false;
		const box = e.getBoundingClientRect(), hit = document.elementFromPoint(box.left + box.width / 2, Math.min(box.bottom, innerHeight) - 2);
		return box.top >= 0 && box.bottom <= innerHeight && hit !== null && (e.contains(hit) || hit.contains(e));
	})(document.querySelector(`+quote(selector)+`))`)
}

// look fails the test for whatever is wrong with the page.
func (p *phone) look() {
	p.t.Helper()
	at := p.where()
	for _, problem := range p.problems() {
		p.t.Errorf("%s: %s", at, problem)
	}
	p.picture(at)
}

// problems measures the page: nothing sticks out, all can be tapped and read,
// the console is silent, and no barrier is found.
func (p *phone) problems() []string {
	p.t.Helper()
	at := p.where()
	list := ask[[]string](p, stripComment(lookScript))
	if !p.quick && !p.searched[at] {
		p.searched[at] = true
		list = append(list, p.barriers()...)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, m := range p.messages {
		list = append(list, "the console says: "+m)
	}
	p.messages = nil
	return list
}

// barriers searches the page, with all its folds open, for what keeps people
// out who do not see or do not point.
func (p *phone) barriers() []string {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](axeScript))
	return ask[[]string](p, `(async () => {
		const folds = [...document.querySelectorAll("details:not([open])")];
		for (const d of folds) d.open = true;
		const r = await axe.run(document, { resultTypes: ["violations"] });
		for (const d of folds) d.open = false;
		scrollTo(0, 0);
		return r.violations.flatMap(v => v.nodes.map(n => v.id + " (" + v.impact + "): " + v.help + ": " + n.html.slice(0, 160) + " " + (n.any.concat(n.all, n.none)[0] || {}).message));
	})()`)
}

// picture keeps the page as a picture, as on the screen and in full.
func (p *phone) picture(at string) {
	if p.shots == "" {
		return
	}
	p.count++
	name := strings.Trim(strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r == '-' {
			return r
		}
		return '-'
	}, at), "-")
	name = fmt.Sprintf("%02d-%.60s", p.count, strings.Join(strings.FieldsFunc(name, func(r rune) bool { return r == '-' }), "-"))
	screen, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
	p.ok(err)
	p.ok(os.WriteFile(filepath.Join(p.shots, name+".png"), screen, 0o644))
	full, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	p.ok(err)
	p.ok(os.WriteFile(filepath.Join(p.shots, name+"-full.png"), full, 0o644))
	p.do(chromedp.EmulateViewport(p.screen.width, p.screen.height, chromedp.EmulateMobile, chromedp.EmulateTouch))
}

// fetch downloads where a link leads, such as a paper.
func (p *phone) fetch(text string) (content []byte, kind string) {
	p.t.Helper()
	p.spot("link", text, "")
	href := ask[string](p, `[...document.querySelectorAll("a[href]")].find(a => a.textContent.includes(`+quote(text)+`)).href`)
	u, err := url.Parse(href)
	p.ok(err)
	r, err := http.Get(u.String())
	p.ok(err)
	defer r.Body.Close()
	var b bytes.Buffer
	_, err = b.ReadFrom(r.Body)
	p.ok(err)
	if r.StatusCode != http.StatusOK {
		p.t.Fatalf("%s answers %d", href, r.StatusCode)
	}
	return b.Bytes(), r.Header.Get("Content-Type")
}

func tap(s spot) chromedp.Action[chromedp.Void] { return chromedp.TapXY(s.X, s.Y) }
