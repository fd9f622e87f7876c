package web

import (
	"bytes"
	"crypto/rand"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rung/internal/journal"
	"rung/internal/journal/sqlitelog"
	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/record"
	"rung/internal/scenario"
	"rung/internal/visit"
)

// shop is a server on a port of this machine over a journal in a file.
type shop struct {
	url     string
	handler http.Handler
	visits  *visit.Service
}

// newShop starts a shop with nothing in its journal.
func newShop(t testing.TB, o sqlitelog.Options) shop {
	t.Helper()
	return openShop(t, filepath.Join(t.TempDir(), "shop.db"), o)
}

func openShop(t testing.TB, file string, o sqlitelog.Options) shop {
	t.Helper()
	o.Summary = ledger.Summary()
	log, err := sqlitelog.Open(t.Context(), file, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { log.Close() })
	visits, err := visit.New(visit.Config{Log: log, Now: time.Now, IDs: journal.NewIDSource(time.Now, rand.Reader), Device: "phone"})
	if err != nil {
		t.Fatal(err)
	}
	pages, err := New(Options{Visits: visits, Author: func(*http.Request) string { return "Ada" }, Now: time.Now, Shop: "Sample Shop", Phone: "555 0100"})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(pages.Handler())
	t.Cleanup(server.Close)
	return shop{server.URL, server.Config.Handler, visits}
}

// machine is the hidden machine that answers the checks of a visit.
type machine struct {
	*scenario.Hidden
	shop shop
}

// machineOf makes the machine of a visit with a fault in it.
func machineOf(t testing.TB, s shop, id record.VisitID, fault string) machine {
	t.Helper()
	m, err := s.visits.Model(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	h, err := scenario.NewHidden(m, 3)
	if err != nil {
		t.Fatal(err)
	}
	if err := h.Hide(fault, 0.5); err != nil {
		t.Fatal(err)
	}
	return machine{h, s}
}

// visitID is the visit of the address.
func (p *phone) visitID() record.VisitID {
	p.t.Helper()
	m := regexp.MustCompile(`/visits/([0-9A-Z]+)`).FindStringSubmatch(p.where())
	if m == nil {
		p.t.Fatalf("%s is no page of a visit", p.where())
	}
	return record.VisitID(m[1])
}

// enterHouse enters a property, a system, its three units and the nameplate as
// far as it can be read, from the start page of an empty journal.
func (p *phone) enterHouse() *phone {
	p.t.Helper()
	p.open("/").says("main", "No property yet").follow("New property")
	p.fill("name", "12 Sample Lane").fill("access", "Side gate, dog in the yard").fill("elevation", "820").press("Save property").says("[role=status]", "Property saved")
	p.follow("Add a system").fill("number", "2").fill("name", "upstairs").fill("areas", "three bedrooms").press("Save system")
	p.follow("Add a unit").fill("kind", "air-handler").fill("place", "attic").press("Save unit").follow("‹").follow("‹")
	p.follow("Add a unit").fill("kind", "thermostat").fill("place", "hall").press("Save unit").follow("‹").follow("‹")
	p.follow("Add a unit").fill("kind", "outdoor-unit").fill("place", "north side").press("Save unit").says("h1", "Nameplate")
	p.fill("refrigerant", "R-410A").fill("nominal-cooling", "3").fill("metering", "txv").fill("herm-capacitance", "45").fill("fan-capacitance", "5")
	return p.press("Save nameplate").says("h1", "Outdoor unit").says(".facts", "45 µF").says(".facts", "assumed")
}

// openVisit opens a visit on a hot day from the page of the unit.
func (p *phone) openVisit() *phone {
	p.t.Helper()
	p.follow("Open a visit").fill("words", "upstairs stays warm, the fan outside runs").fill("complaint", "not-cooling").fill("refrigerant", "yes")
	p.press("Open visit").says("h1", "Surroundings")
	p.fill("outdoor-dry-bulb", "95").fill("return-dry-bulb", "80").fill("return-wet-bulb", "67").fill("line-voltage", "240")
	return p.press("Save surroundings").says("#causes", "in 100").says("main", "upstairs stays warm, the fan outside runs")
}

// onCheck says which check the page asks for, and what the thermostat calls for.
func (p *phone) onCheck() (check string, demand plant.Demand) {
	p.t.Helper()
	check = ask[string](p, `(e => e ? e.value : "")(document.querySelector("#enter [name=check]"))`)
	text := ask[string](p, `(e => e ? e.value : "")(document.querySelector("#enter [name=demand]:checked"))`)
	d, err := plant.ParseDemand(text)
	p.ok(err)
	return check, d
}

// answer fills the check of the page in with what the machine shows, and sends
// it.
func (p *phone) answer(m machine) *phone {
	p.t.Helper()
	check, demand := p.onCheck()
	tapped := false
	points := ask[[]string](p, `[...new Set([...document.querySelectorAll("#enter [name^=point-]")].map(e => e.name).filter(n => !n.endsWith("-unit")))]`)
	for _, name := range points {
		r, err := m.Read(check, strings.TrimPrefix(name, pointField), demand)
		p.ok(err)
		p.t.Logf("%s %s %s: %s %s", check, demand, name, r.Text, r.Unit)
		switch {
		case r.NotReadable:
			p.fill(blankField+strings.TrimPrefix(name, pointField), "yes")
		case ask[bool](p, `document.querySelector("#enter button[name="+CSS.escape(`+quote(name)+`)+"]") !== null`):
			s := p.spot("field", name, r.Text)
			tapped = true
			p.goes("the answer "+r.Text, tap(s))
		case r.Text == "OL":
			p.fill(openField+strings.TrimPrefix(name, pointField), "yes")
		default:
			p.fill(name, r.Text)
		}
	}
	if tapped {
		return p.recorded()
	}
	if ask[bool](p, `document.querySelector("#enter [name=settled]") !== null`) {
		p.fill("settled", "yes")
	}
	return p.press("Record").recorded()
}

// recorded fails the test unless the screen after a reading shows, without
// scrolling, what was recorded, an undo, and the next step.
func (p *phone) recorded() *phone {
	p.t.Helper()
	p.says("[role=status]", "Recorded:")
	for _, part := range []string{"[role=status]", "[role=status] button"} {
		if !p.visible(part) {
			p.t.Errorf("%s: %s is not on the screen after a reading", p.where(), part)
		}
	}
	if !p.visible(".verdict h2") && !p.visible("#next") {
		p.t.Errorf("%s: the next step is not on the screen after a reading", p.where())
	}
	return p
}

// followAdvice takes the checks proposed until there is a verdict.
func (p *phone) followAdvice(m machine, most int) *phone {
	p.t.Helper()
	for range most {
		if p.text(".verdict .main") != "" {
			return p
		}
		p.answer(m)
	}
	if p.text(".verdict .main") == "" {
		p.t.Fatalf("%s: no verdict after %d checks: %s", p.where(), most, p.text("#causes"))
	}
	return p
}

// prove reads again whatever the proof asks for, and records it.
func (p *phone) prove(m machine) *phone {
	p.t.Helper()
	base := "/visits/" + string(p.visitID())
	for range 20 {
		open := ask[[]string](p, `[...document.querySelectorAll(".proofs > li:not(.holds):not(.fails) > a")].map(a => a.textContent.trim().replace(/\s+/g, " "))`)
		if len(open) == 0 {
			break
		}
		p.follow(open[0]).answer(m).open(base + "/proof")
	}
	for strings.Contains(p.text("main button"), "Record this proof") {
		p.press("Record this proof")
	}
	return p
}

// TestVisitOnAPhone carries a call through in a real browser, by thumb: the
// outdoor fan runs, the compressor hums and trips, both gauges show the same.
// From an empty file to the next visit with the history of this one.
func TestVisitOnAPhone(t *testing.T) {
	browser := browsers(t)
	s := newShop(t, sqlitelog.Options{})
	p := newPhone(t, browser, s.url).enterHouse()
	unit := p.where()
	p.openVisit()
	id := p.visitID()
	base := "/visits/" + string(id)
	m := machineOf(t, s, id, "herm-cap-open")

	// What anybody would look at first, and the gauges that are on anyway.
	p.follow("All checks").follow("Look, listen").answer(m).says("#readings", "hums then stops")
	p.follow("All checks").follow("gauge").answer(m)
	equalGauges(t, s, id)
	p.press("Undo").says("[role=status]", "Taken back")
	p.follow("All checks").follow("gauge").answer(m)

	p.follow("Ladder").says("svg.ladder", "Contactor").follow("Steps").says(".steps", "pulls in")
	p.open(base).followAdvice(m, 6).says(".verdict h2", "capacitor")

	p.follow("Record the repair").fill("out", "45+5 µF 370 V").fill("in", "45+5 µF 440 V").fill("measured", "HERM 0.3 µF, FAN 4.9 µF").fill("why", "heat").fill("kept", "yes")
	p.press("Record repair").says("h1", "Proof").says(".proofs", "hums then stops")
	if cured, err := m.Repair("replace-run-capacitor"); err != nil || !cured {
		t.Fatalf("the repair cures nothing: %v", err)
	}
	p.prove(m).says(".proofs .holds", "running").says("p.state.holds", "recorded")
	if p.open(base); strings.Contains(p.text(".warning"), "qual pressures") {
		t.Errorf("what the gauges showed before the repair is still warned of: %s", p.text(".warning"))
	}
	p.follow("Go to the proof")
	p.follow("Go to closing").fill("outcome", "fixed").press("Close visit").says("h1", "Panel note")

	p.says(".sheet", "45+5 µF 440 V").says(".sheet", "12 Sample Lane")
	note, kind := p.fetch("PDF")
	checkPaper(t, note, kind, "12 Sample Lane", "45+5")
	code := ask[string](p, `document.querySelector("pre.code").textContent`)
	if !strings.HasPrefix(code, "RUNG 1\n") || !strings.Contains(code, "45+5 µF 440 V") {
		t.Errorf("the code says %q", code)
	}
	checkCode(t, "paper", picturesOf(t, note), code)
	screen, err := chromedp.Run(p.ctx, chromedp.ScreenshotScale(chromedp.CSS(".qr"), 2))
	p.ok(err)
	checkCode(t, "screen", screen, code)
	p.press("It hangs on the unit").says(".state", "was left")
	p.open(base+"/report").says(".sheet", "upstairs stays warm").says(".sheet", "HERM 0.3 µF").says(".sheet", "hums then stops")
	report, kind := p.fetch("PDF")
	checkPaper(t, report, kind, "upstairs stays warm", "HERM 0.3")

	// Next year.
	p.open(unit).says("main", "Past readings").says("main", "Notes on the panel").says("main", "upstairs stays warm, the fan outside runs").says("main", "Fixed")
	p.openVisit()
	if p.visitID() == id {
		t.Fatal("the second visit is the first")
	}
	p.follow("All checks").follow("gauge").says("main", "Read before")
}

// TestVisitWithoutScripts carries the same call through with all scripts of
// the pages turned off.
func TestVisitWithoutScripts(t *testing.T) {
	browser := browsers(t)
	s := newShop(t, sqlitelog.Options{})
	p := newPhone(t, browser, s.url).withoutScripts().enterHouse().openVisit()
	id := p.visitID()
	m := machineOf(t, s, id, "herm-cap-open")
	p.followAdvice(m, 8).says(".verdict h2", "capacitor").follow("Record the repair").fill("in", "45+5 µF 440 V").fill("why", "not known").press("Record repair")
	if cured, err := m.Repair("replace-run-capacitor"); err != nil || !cured {
		t.Fatalf("the repair cures nothing: %v", err)
	}
	p.prove(m).follow("Go to closing").fill("outcome", "fixed").press("Close visit").says("h1", "Panel note")
}

// equalGauges fails the test unless the two gauges of the visit show the same,
// to what a gauge resolves.
func equalGauges(t *testing.T, s shop, id record.VisitID) {
	t.Helper()
	here, err := s.visits.Visit(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	shown := map[string]string{}
	for _, r := range here.Visit.Counting() {
		if r.Check == "gauge-pressures" {
			shown[r.Point] = r.Text
		}
	}
	var psig [2]float64
	for i, point := range []string{"suction", "liquid"} {
		var err error
		if psig[i], err = strconv.ParseFloat(shown[point], 64); err != nil {
			t.Fatalf("gauges show %v", shown)
		}
	}
	// Each gauge errs by 1 % and 3 kPa at two standard deviations, as the
	// catalogue of checks says: at 240 psig two of them differ by 4 psi, and by
	// more than 8 in one visit of many thousands.
	if d := math.Abs(psig[0] - psig[1]); d > 8 {
		t.Errorf("the gauges show %v, want the same", shown)
	}
}

// checkPaper fails the test unless a file is a PDF with these words in it.
func checkPaper(t *testing.T, content []byte, kind string, words ...string) {
	t.Helper()
	if kind != "application/pdf" || !strings.HasPrefix(string(content), "%PDF") {
		t.Fatalf("the paper is %s, %d bytes", kind, len(content))
	}
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, content, 0o644); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(program(t, "pdftotext"), "-layout", file, "-")
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(out)
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Wait(); err != nil {
		t.Fatal(err)
	}
	if missing := slices.DeleteFunc(slices.Clone(words), func(w string) bool { return strings.Contains(string(text), w) }); len(missing) > 0 {
		t.Errorf("the paper does not say %q:\n%s", missing, text)
	}
}

// picturesOf renders the first page of a paper as a printer would, as PNG.
func picturesOf(t *testing.T, paper []byte) []byte {
	t.Helper()
	c := exec.Command(program(t, "pdftoppm"), "-png", "-r", "300", "-singlefile", "-")
	c.Stdin = bytes.NewReader(paper)
	picture, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	return picture
}

// checkCode reads the code in a picture with a decoder that is not ours, and
// compares what it says.
func checkCode(t *testing.T, where string, picture []byte, want string) {
	t.Helper()
	if _, err := exec.LookPath("zbarimg"); err != nil && os.Getenv("REQUIRE_ALL") != "1" {
		t.Logf("SKIPPED: the code on the %s is not read back: zbarimg is missing; .ci/run installs it", where)
		return
	}
	if got := readCode(t, where, picture); got != want {
		t.Errorf("the code on the %s reads\n%s\nwant\n%s", where, got, want)
	}
}

// readCode returns what the code in a picture says to a decoder that is not ours.
func readCode(t testing.TB, where string, picture []byte) string {
	t.Helper()
	decoder := program(t, "zbarimg")
	file := filepath.Join(t.TempDir(), "code.png")
	if err := os.WriteFile(file, picture, 0o644); err != nil {
		t.Fatal(err)
	}
	got, err := exec.Command(decoder, "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", file).Output()
	if err != nil {
		t.Fatalf("the code on the %s cannot be read: %v", where, err)
	}
	return strings.TrimSuffix(string(got), "\n")
}

// TestUnansweredForm: the server goes away while a reading is sent; what was
// typed is back in the form when it answers again, and is gone once recorded.
func TestUnansweredForm(t *testing.T) {
	s := newShop(t, sqlitelog.Options{})
	var away atomic.Bool
	door := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !away.Load() {
			s.handler.ServeHTTP(w, r)
		} else if c, _, err := w.(http.Hijacker).Hijack(); err == nil {
			c.Close() // no answer at all
		}
	}))
	defer door.Close()
	p := newPhone(t, browsers(t), door.URL)
	p.quick = true
	p.enterHouse().openVisit()
	check := "/visits/" + string(p.visitID()) + "/checks/cap-bench"
	p.open(check).fill("point-herm", "38.5").fill("note", "rusty can")
	away.Store(true)
	button := p.spot("button", "Record", "")
	if _, err := chromedp.RunResponse(p.ctx, tap(button)); err == nil {
		t.Fatal("a server that is away answers")
	}
	away.Store(false)
	p.messages = nil
	p.open(check)
	for field, want := range map[string]string{"point-herm": "38.5", "note": "rusty can"} {
		if got := ask[string](p, `document.querySelector("#enter [name=`+field+`]").value`); got != want {
			t.Errorf("%s holds %q after the server was away, want %q as typed", field, got, want)
		}
	}
	p.press("Record").recorded().says("#readings", "38.5 µF").open(check)
	if got := ask[string](p, `document.querySelector("#enter [name=point-herm]").value`); got != "" {
		t.Errorf("the form for the next reading holds %q", got)
	}
}
