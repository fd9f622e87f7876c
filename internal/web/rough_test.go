package web

import (
	"bytes"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rung/internal/journal/sqlitelog"
	"rung/internal/visit"
)

// fromShop returns a browser on a server over a file.
func fromShop(t testing.TB, file string, o sqlitelog.Options) *browser {
	t.Helper()
	return &browser{t: t, handler: openShop(t, file, o).handler, at: &url.URL{Path: "/"}}
}

// TestEveryFormTwice carries a call through with a thumb that taps twice:
// every form is sent two times, and the second changes nothing.
func TestEveryFormTwice(t *testing.T) {
	b := fromShop(t, filepath.Join(t.TempDir(), "shop.db"), sqlitelog.Options{})
	b.twice = true
	b.visit()
	visit := b.at.Path
	b.open(visit+"/checks/look-listen?demand=cool").submit("Record", url.Values{"point-outdoor-fan": {"running"}, "point-compressor": {"hums-then-stops"}}).wants(200)
	b.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-fan": {"50"}}).wants(200)
	b.submit("Undo: Recorded", nil).wants(200).says("[role=status]", "Taken back")
	b.open(visit+"/checks/esp-total").submit("No instrument", nil).wants(200)
	b.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-herm": {"0"}, "point-fan": {"5"}}).wants(200).says(".verdict h2", "run capacitor")
	b.follow("Record the repair").submit("Record repair", url.Values{"in": {"45+5 µF 440 V"}, "why": {"heat"}}).wants(200).says("h1", "Proof")
	b.open(visit+"/checks/look-listen?demand=cool").submit("Record", url.Values{"point-compressor": {"running"}}).wants(200)
	b.open(visit+"/proof").submit("Record this proof", url.Values{"limited": {"no time"}}).wants(200)
	b.open(visit+"/later").submit("Note it", url.Values{"what": {"Judge the charge"}, "warmer": {"65"}}).wants(200)
	b.open(visit+"/later?kind=recommendation").submit("Record recommendation", url.Values{"what": {"Clear the bushes"}, "answer": {"declined"}}).wants(200)
	b.open(visit+"/close").submit("Close visit", url.Values{"outcome": {"fixed"}, "note": {"charge to be judged"}, "anyway": {"yes"}}).wants(200).says("h1", "Panel note")
	b.submit("It hangs on the unit", nil).wants(200)
	b.open(visit + "/report").wants(200)
	for _, line := range []string{"Clear the bushes", "Judge the charge", "45+5 µF 440 V"} {
		if n := strings.Count(b.text(".sheet"), line); n != 1 {
			t.Errorf("the report says %q %d times", line, n)
		}
	}
	b.open("/").wants(200)
	if n := strings.Count(b.text("main"), "12 Sample Lane"); n != 1+1 { // the property, the place of the task
		t.Errorf("12 Sample Lane stands %d times on the start page: %s", n, b.text("main"))
	}
}

// TestProofRefused: a proof with readings missing and no word why is refused on
// the page itself.
func TestProofRefused(t *testing.T) {
	b := newBrowser(t).visit()
	visit := b.at.Path
	b.open(visit+"/repair").submit("Record repair", url.Values{"repair": {"replace-run-capacitor"}}).wants(200)
	b.open(visit+"/checks/look-listen?demand=cool").submit("Record", url.Values{"point-compressor": {"running"}}).wants(200)
	b.open(visit+"/proof").submit("Record this proof", nil).wants(http.StatusUnprocessableEntity).says("h1", "Proof").says(".wrong", "say what keeps you from it")
	b.submit("Record this proof", url.Values{"limited": {"tenant asleep"}}).wants(200).says("[role=status]", "Proof recorded")
}

// TestTwoTabs: what two tabs send about the same thing is all kept, and a form
// that a repair has overtaken is not taken for a reading after it.
func TestTwoTabs(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	other := *b
	b.open(visit + "/checks/cap-bench")
	other.open(visit + "/checks/cap-bench")
	b.submit("Record", url.Values{"point-herm": {"41"}}).wants(200)
	other.submit("Record", url.Values{"point-herm": {"42"}}).wants(200).says("#readings", "41 µF").says("#readings", "42 µF")

	b.open(visit + "/checks/cap-bench")
	other.open(visit+"/repair").submit("Record repair", url.Values{"repair": {"replace-run-capacitor"}}).wants(200)
	b.submit("Record", url.Values{"point-herm": {"44.5"}}).wants(http.StatusConflict).says(".wrong", "before or after")
	if got := attr(one(t, b.doc, "input#f-point-herm"), "value"); got != "44.5" {
		t.Errorf("HERM holds %q after the refusal, want it as typed", got)
	}
	b.submit("Record", nil).wants(200).says("#readings", "44.5 µF")

	b.open(visit + "/close")
	other.open(visit+"/close").submit("Close visit", url.Values{"outcome": {"returning"}, "note": {"part on order"}, "anyway": {"yes"}}).wants(200)
	b.submit("Close visit", url.Values{"outcome": {"fixed"}, "note": {"done"}, "anyway": {"yes"}}).wants(http.StatusConflict).says("main", "closed")
	if b.open(visit).says("[role=status]", "Closed"); strings.Contains(b.text("[role=status]"), "Fixed") {
		t.Error("the second closing replaced the first")
	}
}

// TestStoreIsFull: when the journal has no room left the page says so where it
// happened, what was typed stays in the form, and what was recorded stays.
func TestStoreIsFull(t *testing.T) {
	file := filepath.Join(t.TempDir(), "shop.db")
	b := fromShop(t, file, sqlitelog.Options{}).visit()
	visit := b.at.Path
	b.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-herm": {"41"}}).wants(200)
	full := fromShop(t, file, sqlitelog.Options{MaxPages: pages(t, file) + 8})
	story := strings.Repeat("the gate sticks and the dog bites; ", 114)
	kept := 0
	for full.status = http.StatusOK; full.status == http.StatusOK && kept < 50; kept++ {
		full.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-herm": {"38.5"}, "note": {story}})
	}
	full.wants(http.StatusInsufficientStorage).says(".wrong", "store is full").says(".wrong", "What you typed is still here")
	if got := attr(one(t, full.doc, "input#f-point-herm"), "value"); got != "38.5" {
		t.Errorf("HERM holds %q, want it as typed", got)
	}
	if got := attr(one(t, full.doc, "input#f-note"), "value"); got != story {
		t.Errorf("the note holds %d letters, want the %d typed", len(got), len(story))
	}
	everyForm(t, full, visit, story, http.StatusInsufficientStorage)
	full.open(visit).wants(200).says("#readings", "41 µF")
	if n := strings.Count(full.text("#readings strong"), "38.5"); n != kept-1 {
		t.Errorf("%d readings were recorded, %d are shown", kept-1, n)
	}
}

// pages is the size of a journal in pages, with what its log holds.
func pages(t *testing.T, file string) int {
	t.Helper()
	size := int64(0)
	for _, f := range []string{file, file + "-wal"} {
		if i, err := os.Stat(f); err == nil {
			size += i.Size()
		}
	}
	return int(size / 4096)
}

// everyForm sends the forms with something to type, and wants them back as
// typed.
func everyForm(t *testing.T, b *browser, visit, story string, status int) {
	t.Helper()
	for _, c := range []struct{ path, button, field string }{
		{"/properties/new", "Save property", "name"},
		{visit + "/repair", "Record repair", "note"},
		{visit + "/close", "Close visit", "note"},
		{visit + "/later", "Note it", "what"},
		{visit + "/later?kind=recommendation", "Record recommendation", "what"},
	} {
		fill := url.Values{c.field: {story}}
		switch c.field + c.path[len(c.path)-5:] {
		case "noteepair":
			fill.Set("repair", "other")
		case "noteclose":
			fill.Set("outcome", "fixed")
			fill.Set("anyway", "yes")
		}
		b.open(c.path).submit(c.button, fill).wants(status)
		field := one(t, b.doc, "#f-"+c.field)
		if got := attr(field, "value") + words(field); strings.TrimSpace(got) != strings.TrimSpace(story) {
			t.Errorf("%s: %s holds %.40q, want it as typed", c.path, c.field, got)
		}
	}
}

// TestStoreIsReadOnly: the file may be read and not written.
func TestStoreIsReadOnly(t *testing.T) {
	file := filepath.Join(t.TempDir(), "shop.db")
	visit := fromShop(t, file, sqlitelog.Options{}).visit().at.Path
	b := fromShop(t, file, sqlitelog.Options{ReadOnly: true})
	b.open(visit+"/checks/cap-bench").wants(200).submit("Record", url.Values{"point-herm": {"38.5"}, "note": {"rusty can"}})
	b.wants(http.StatusServiceUnavailable).says(".wrong", "only be read").says(".wrong", "What you typed is still here")
	for id, want := range map[string]string{"f-point-herm": "38.5", "f-note": "rusty can"} {
		if got := attr(one(t, b.doc, "input#"+id), "value"); got != want {
			t.Errorf("%s holds %q, want %q as typed", id, got, want)
		}
	}
	everyForm(t, b, visit, "the gate sticks", http.StatusServiceUnavailable)
	b.open(visit+"/surroundings").submit("Water near live parts", nil).wants(http.StatusServiceUnavailable).says(".wrong", "only be read")
	b.open(visit).wants(200).says(".said", "upstairs stays warm")
}

// TestNonsenseNameplate: what cannot stand on a plate is refused beside its
// field, and stays as typed; a plate that no machine fits does not keep anybody
// from working.
func TestNonsenseNameplate(t *testing.T) {
	b := quickBrowser(t).house()
	plate := b.at.Path + "/nameplate"
	for field, c := range map[string]struct{ text, says string }{
		"nominal-cooling":   {"900", "900"},
		"herm-capacitance":  {"lots", "not a number"},
		"fan-capacitance":   {"-5", "-5"},
		"rated-load-amps":   {"16,7,8", "16,7,8"},
		"factory-charge":    {"0", "0"},
		"target-subcooling": {"1e9", "1e9"},
		"seer":              {"thirteen", "not a number"},
	} {
		b.open(plate).submit("Save nameplate", url.Values{field: {c.text}}).wants(http.StatusUnprocessableEntity).says(".bad .error", c.says)
		if got := attr(one(t, b.doc, "#f-"+field), "value"); got != c.text {
			t.Errorf("%s holds %q, want %q as typed", field, got, c.text)
		}
	}
	for _, c := range []url.Values{{"refrigerant": {"R-999"}}, {"metering": {"a hole"}}, {"herm-capacitance": {"45"}, "herm-capacitance-unit": {"psig"}}} {
		if b.open(plate); b.submit("Save nameplate", c).status == http.StatusOK {
			t.Errorf("%v is taken for a nameplate", c)
		}
	}
}

// TestNoAdvice: where no system can be modelled the visit goes on without
// advice, and the page says why.
func TestNoAdvice(t *testing.T) {
	for name, c := range map[string]struct{ plate, air url.Values }{
		"a voltage of another country": {nil, url.Values{"line-voltage": {"120"}}},
		"a compressor of another size": {url.Values{"nominal-cooling": {"1.5"}, "rated-load-amps": {"40"}}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBrowser(t).house()
			if c.plate != nil {
				b.open(b.at.Path+"/nameplate").submit("Save nameplate", c.plate).wants(200)
			}
			b.follow("Open a visit").submit("Open visit", url.Values{"complaint": {"not-cooling"}, "who": {"Ada"}}).wants(200)
			if c.air == nil {
				c.air = url.Values{"outdoor-dry-bulb": {"95"}}
			}
			b.submit("Save surroundings", c.air).wants(200).says(".warning", "No advice")
			visit := b.at.Path
			b.open(visit+"/checks/cap-bench").wants(200).submit("Record", url.Values{"point-herm": {"41"}}).wants(200).says("#readings", "41 µF")
			b.open(visit+"/repair").wants(200).submit("Record repair", url.Values{"repair": {"replace-run-capacitor"}, "in": {"45+5"}, "why": {"age"}}).wants(200)
			for _, page := range []string{"/ladder", "/sequence", "/proof", "/checks", "/close", "/note", "/report"} {
				b.open(visit + page).wants(200)
			}
		})
	}
}

// TestImpossibleReadings: no meter shows this; it is refused beside its field.
func TestImpossibleReadings(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	for _, c := range []struct{ check, point, text, unit, says string }{
		{"delta-t-air", "return", "-300", "°F", "-300 °F"},
		{"cap-bench", "herm", "9,999", "µF", "9,999"},
		{"cap-bench", "herm", "9999", "µF", "9999 µF"},
		{"cap-bench", "herm", "45 psig", "", "psig"},
		{"gauge-pressures", "suction", "118 µF", "", "µF"},
		{"gauge-pressures", "suction", "NaN", "psig", "not a number"},
		{"gauge-pressures", "suction", "1e400", "psig", "1e400"},
		{"gauge-pressures", "liquid", "-40", "psig", "-40 psig"},
		{"v-contactor-line", "volts", "24000", "V", "24000 V"},
	} {
		b.open(visit + "/checks/" + c.check)
		fill := url.Values{"point-" + c.point: {c.text}}
		if c.unit != "" && len(all(b.doc, "[name=point-"+c.point+"-unit]")) > 0 {
			fill.Set("point-"+c.point+"-unit", c.unit)
		}
		b.submit("Record", fill).wants(http.StatusUnprocessableEntity).says(".bad .error", c.says)
		if got := attr(one(t, b.doc, "input#f-point-"+c.point), "value"); got != c.text {
			t.Errorf("%s %s holds %q, want %q as typed", c.check, c.point, got, c.text)
		}
	}
}

// TestSuctionAboveLiquid: hoses on the wrong ports happen; it is kept as read,
// and the page asks to look again.
func TestSuctionAboveLiquid(t *testing.T) {
	b := newBrowser(t).visit()
	b.open(b.at.Path+"/checks/gauge-pressures?demand=cool").submit("Record", url.Values{"point-suction": {"410"}, "point-liquid": {"118"}, "settled": {"yes"}}).wants(200)
	b.says("#readings", "410 psig").says(".warning", "pressure")
}

// TestUnknownIDs asks every address for things that are not there.
func TestUnknownIDs(t *testing.T) {
	s := newServer(t, nil)
	h := s.Handler()
	for pattern := range s.routes() {
		method, path, _ := strings.Cut(pattern, " ")
		if !strings.Contains(path, "{property}") && !strings.Contains(path, "{system}") && !strings.Contains(path, "{unit}") && !strings.Contains(path, "{visit}") && !strings.Contains(path, "{token}") {
			continue
		}
		for _, id := range []string{"01ARZ3NDEKTSV4RRFFQ69G5FAV", "x", "%00", "..%2f..%2fetc", strings.Repeat("9", 4000), "%ff%fe", "'%20or%201=1--"} {
			at := strings.NewReplacer("{property}", id, "{system}", id, "{unit}", id, "{visit}", id, "{token}", id, "{check}", id, "{link}", id, "{photo}", id, "{hash}", id).Replace(path)
			w := httptest.NewRecorder()
			if method == http.MethodGet {
				h.ServeHTTP(w, httptest.NewRequest(method, at, nil))
			} else {
				w = post(h, at, url.Values{"form": {s.Visits.NewForm()}, "name": {"x"}, "task": {id}, "check": {id}, "entry": {id}, "kind": {"furnace"}, "what": {"x"}, "words": {"x"}, "who": {"x"}, "complaint": {"noise"}})
			}
			if w.Code != http.StatusNotFound && w.Code != http.StatusUnprocessableEntity {
				t.Errorf("%s %.60s answers %d, want 404 or 422: %.300s", method, at, w.Code, words(document(t, w.Body)))
			}
		}
	}
}

// TestUnknownThings asks a visit for checks, repairs and causes that are not in
// the catalogues.
func TestUnknownThings(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	for path, want := range map[string]int{
		"/checks/nonsense": 404, "/checks/cap-bench?demand=loud": 422, "/ladder?as=nonsense": 404, "/sequence?as=nonsense": 404,
		"/ladder?red=nowhere&black=T2": 200, "/repair?repair=nonsense": 200, "/later?kind=nonsense": 200, "?done=nonsense&entry=nonsense": 200,
		"?done=reading&entry=nonsense": 200, "/ladder?%zz": 200,
	} {
		if b.open(visit + path); b.status != want {
			t.Errorf("%s answers %d, want %d: %.200s", path, b.status, want, b.text("main"))
		}
	}
	for path, form := range map[string]url.Values{
		"/readings": {"check": {"nonsense"}, "point-herm": {"4"}}, "/refusals": {"check": {"nonsense"}, "why": {"no-access"}}, "/withdraw": {"entry": {"nonsense"}},
		"/hazards": {"hazard": {"nonsense"}}, "/repair": {"repair": {"nonsense"}}, "/proof": {"mode": {"nonsense"}}, "/close": {"outcome": {"nonsense"}, "anyway": {"yes"}, "note": {"x"}},
	} {
		form.Set("form", newForm(t, b, visit+"/checks/cap-bench"))
		if w := post(b.handler, visit+path, form); w.Code != http.StatusNotFound && w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s %v answers %d, want 404 or 422", path, form, w.Code)
		}
	}
}

// TestMalformedForms sends every form as no page of ours would: nothing is
// recorded, nothing breaks, and the page says so.
func TestMalformedForms(t *testing.T) {
	var logged bytes.Buffer
	s := newServer(t, func(visit.Situation) (visit.Reasoner, error) { return mute{}, nil })
	s.Log = slog.New(slog.NewTextHandler(&logged, nil))
	b := (&browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}}).visit()
	at := b.at.Path
	before := b.open("/").text("main")
	var parts bytes.Buffer
	m := multipart.NewWriter(&parts)
	if err := m.WriteField("name", "x"); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	const urlencoded = "application/x-www-form-urlencoded"
	for pattern := range s.routes() {
		method, path, _ := strings.Cut(pattern, " ")
		if method != http.MethodPost {
			continue
		}
		path = strings.NewReplacer("{visit}", strings.TrimPrefix(at, "/visits/"), "{property}", "x", "{system}", "x", "{unit}", "x").Replace(path)
		for name, c := range map[string]struct{ kind, body string }{
			"nothing":          {urlencoded, ""},
			"no form":          {urlencoded, "%zz=1&name=x&check=cap-bench&point-herm=41"},
			"another number":   {urlencoded, "form=17&name=x&check=cap-bench&demand=off&point-herm=41"},
			"json":             {"application/json", `{"name":"x"}`},
			"in parts":         {m.FormDataContentType(), parts.String()},
			"too large":        {urlencoded, "name=" + strings.Repeat("x", 2<<20)},
			"ten thousand":     {urlencoded, strings.Repeat("entry=x&form=x&", 10_000)},
			"no letters":       {urlencoded, "form=%ff%fe&name=%00%01%ff&words=%ff&note=%ed%a0%80"},
			"a very long name": {urlencoded, "form=" + s.Visits.NewForm() + "&outcome=fixed&name=" + strings.Repeat("x", 900_000)},
		} {
			r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(c.body))
			r.Header.Set("Content-Type", c.kind)
			r.Header.Set("Origin", "http://"+r.Host)
			w := httptest.NewRecorder()
			b.handler.ServeHTTP(w, r)
			if w.Code < 400 || w.Code >= 500 {
				t.Errorf("%s: %s answers %d: %.200s", path, name, w.Code, words(document(t, w.Body)))
			}
		}
		forged := httptest.NewRequest(http.MethodPost, path, strings.NewReader("form="+s.Visits.NewForm()+"&name=forged"))
		forged.Header.Set("Content-Type", urlencoded)
		forged.Header.Set("Origin", "https://evil.example")
		forged.Header.Set("Sec-Fetch-Site", "cross-site")
		w := httptest.NewRecorder()
		b.handler.ServeHTTP(w, forged)
		if w.Code != http.StatusForbidden {
			t.Errorf("%s: a forged form answers %d", path, w.Code)
		}
	}
	if after := b.open("/").text("main"); after != before {
		t.Errorf("something was recorded:\n%s\n%s", before, after)
	}
	if logged.Len() > 0 {
		t.Errorf("logged as an error of the program: %s", logged.String())
	}
}

// TestHostileText: what is typed is text, on every page and paper.
func TestHostileText(t *testing.T) {
	b := quickBrowser(t)
	hostile := `<script>alert(1)</script>"'&` + "\u202e\x00\x07 \ufffd漢字 🥶"
	b.open("/properties/new").submit("Save property", url.Values{"name": {hostile}, "access": {hostile}, "elevation": {"820"}}).wants(200)
	b.follow("Add a system").submit("Save system", url.Values{"number": {"2"}, "name": {hostile}}).wants(200)
	b.follow("Add a unit").submit("Save unit", url.Values{"kind": {"outdoor-unit"}, "place": {hostile}}).wants(200).submit("Save nameplate", url.Values{"refrigerant": {"R-410A"}}).wants(200)
	b.follow("Open a visit").submit("Open visit", url.Values{"words": {strings.Repeat(hostile, 40)}, "complaint": {"not-cooling"}, "who": {hostile}}).wants(200)
	visit := strings.TrimSuffix(b.at.Path, "/surroundings")
	b.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-herm": {"41"}, "note": {hostile}}).wants(200)
	b.open(visit+"/later").submit("Note it", url.Values{"what": {strings.Repeat("very long words of what is still to be done ", 30)}}).wants(200)
	for _, page := range []string{"/", visit, visit + "/note", visit + "/report", visit + "/note.pdf", visit + "/report.pdf"} {
		r := b.raw(page)
		if text := body(t, r); r.StatusCode != http.StatusOK || strings.Contains(text, "<script>alert") {
			t.Errorf("%s answers %d, %d bytes", page, r.StatusCode, len(text))
		}
	}
}
