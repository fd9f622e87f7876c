package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rung/internal/journal"
	"rung/internal/web/page"
)

// Labels that are said by a variable.
var saidByVariable = []string{"Check", "Ladder", "Steps", "Repair", "Proof", "What is wrong", "Why", "on", "off", "on or off",
	"✓ holds", "✗ does not hold", "• read, not judged", "○ to be read", "No tools", "Power on or off", "Power on", "Power off"}

var (
	saidOne  = regexp.MustCompile(`(?:Say\(ctx, |Label\(string\(n\.language\), )"([^"]*)"`)
	saidMany = regexp.MustCompile(`Count\(ctx, [^"]*"([^"]*)", "([^"]*)"`)
)

// Every label that a page says in the language of its device is known in
// Spanish, and no other.
func TestLabelsInSpanish(t *testing.T) {
	said := map[string]bool{}
	for _, label := range saidByVariable {
		said[label] = true
	}
	for _, f := range failures {
		said[f.Name] = true
	}
	for done, n := range notices {
		if !strings.HasPrefix(done, "learning") { // on a page that is in English
			said[n] = true
		}
	}
	for _, file := range slices.Concat(files(t, "page/*.templ"), files(t, "page/*.go"), files(t, "*.go")) {
		text := read(t, file)
		for _, m := range append(saidOne.FindAllStringSubmatch(text, -1), saidMany.FindAllStringSubmatch(text, -1)...) {
			for _, label := range m[1:] {
				said[label] = true
			}
		}
	}
	for label := range said {
		if page.Label("es", label) == label {
			t.Errorf("no Spanish for %q", label)
		}
	}
	for _, line := range strings.Split(read(t, "page/data/spanish.txt"), "\n") {
		if en, _, is := strings.Cut(line, " | "); is && !strings.HasPrefix(en, "#") && !said[en] {
			t.Errorf("%q is said nowhere", en)
		}
	}
}

func files(t *testing.T, pattern string) []string {
	t.Helper()
	list, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func read(t *testing.T, file string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// spoken are words that stand in no Spanish sentence.
var spoken = regexp.MustCompile(`\b(the|and|with|of|is|not|check|reading|charge|cause|below|was|until|which)\b`)

// inSpanish fails the test if the page is not in Spanish, or has English in it
// but for what the customer said and what was typed.
func (b *browser) inSpanish() *browser {
	b.t.Helper()
	one(b.t, b.doc, "html[lang=es]")
	text := strings.NewReplacer("upstairs stays warm", "", "2 upstairs", "", "English", "").Replace(b.text("body"))
	if found := spoken.FindAllString(strings.ToLower(text), -1); len(found) > 0 {
		at := spoken.FindStringIndex(strings.ToLower(text))
		b.t.Errorf("%s: English words %v, such as in %q", b.at, found, text[max(0, at[0]-60):min(len(text), at[1]+60)])
	}
	return b
}

// TestVisitInSpanish walks through a call on a phone whose mechanic reads
// Spanish.
func TestVisitInSpanish(t *testing.T) {
	d := &device{worker: "Ada"}
	s := newServer(t, nil)
	s.Device = d
	b := &browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}}
	b.visit()
	visit := b.at.Path
	one(t, b.doc, "html[lang=en]")
	b.submit("Español", nil).wants(200).inSpanish().says("h1", "No enfría nada").says(".lit h2", "Prueba que sigue").says("#causes", "de 100")
	if b.at.Path != visit || d.language != "es" {
		t.Errorf("the choice leads to %s and keeps %q", b.at, d.language)
	}
	b.follow("¿Qué probaría usted?").wants(200).inSpanish().follow("Revisar el filtro").wants(200).inSpanish().says(".set", "Usted eligió")
	b.open(visit).follow("Todas las pruebas").wants(200).inSpanish().says("h1", "Todas las pruebas")
	b.follow("Mirar, escuchar y tocar").wants(200).inSpanish().says(".caution", "arrancar solo")
	b.submit("Anotar", url.Values{"point-outdoor-fan": {"running"}, "point-compressor": {"hums-then-stops"}}).wants(200).inSpanish()
	b.says("[role=status]", "Anotado: Ventilador exterior anda, Compresor zumba y para").says("#readings", "zumba y para").says(".effect", "Descartado")

	b.open(visit+"/checks/cap-bench").submit("Anotar", url.Values{"point-herm": {"muchos"}}).wants(http.StatusUnprocessableEntity)
	b.says(".bad .error", "no es un número").inSpanish()
	b.submit("English", nil).wants(200).says("h1", "Capacitance out of circuit").submit("Español", nil).wants(200).inSpanish()
	b.submit("Anotar", url.Values{"point-herm": {"9000"}}).wants(http.StatusUnprocessableEntity).says(".bad .error", "no puede ser").inSpanish()
	b.submit("Anotar", url.Values{"point-herm": {"0"}, "point-fan": {"5"}}).wants(200).inSpanish().says(".verdict h2", "Listo para reparar: cambiar el capacitor de marcha")
	b.open(visit + "/checks/gauge-pressures?demand=cool").wants(200).inSpanish()
	b.submit("Falta el instrumento", nil).wants(200).inSpanish().says("[role=status]", "no se pudo hacer")
	b.follow("Cambiar el entorno").wants(200).inSpanish().submit("Guardar entorno", url.Values{"outdoor-dry-bulb": {"900"}}).wants(http.StatusUnprocessableEntity).inSpanish()
	b.says(".bad .error", "no puede ser").submit("Agua cerca", nil).wants(200).inSpanish().says(".caution", "Agua cerca de partes con tensión")
	b.follow("Cambiar el entorno").submit("ya terminó", nil).wants(200).inSpanish()
	b.follow("Anotar la reparación").wants(200).inSpanish()
	b.submit("Anotar reparación", url.Values{"out": {"45+5 µF 370 V"}, "in": {"45+5 µF 440 V"}, "why": {"heat"}}).wants(200).inSpanish().says("h1", "Verificar").says(".proofs", "Debe mostrar")
	b.open(visit + "/checks/look-listen?demand=cool&from=proof").wants(200).inSpanish()
	b.submit("Anotar", url.Values{"point-outdoor-fan": {"running"}, "point-compressor": {"running"}}).wants(200).inSpanish().says(".proofs .holds", "se cumple")
	b.open(visit).submit("English", nil).wants(200).says(".verdict h2", "Nothing points to a fault")
}

// The other pages stay in English, and so does what is recorded: the report is
// the customer's.
func TestSpanishStaysOnItsPages(t *testing.T) {
	d := &device{worker: "Ada"}
	s := newServer(t, nil)
	s.Device = d
	b := &browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}}
	b.visit()
	d.language = "es"
	visit := b.at.Path
	b.open(visit+"/checks/look-listen?demand=cool").submit("Anotar", url.Values{"point-outdoor-fan": {"running"}, "point-compressor": {"hums-then-stops"}}).wants(200)
	b.open(visit+"/checks/cap-bench").submit("Anotar", url.Values{"point-herm": {"0"}, "point-fan": {"5"}}).wants(200)
	b.follow("Anotar la reparación").submit("Anotar reparación", url.Values{"out": {"45+5 µF 370 V"}, "in": {"45+5 µF 440 V"}, "why": {"heat"}}).wants(200)
	b.open(visit + "/report").wants(200)
	one(t, b.doc, "html[lang=en]")
	b.says("main", "Replace the run capacitor")
}

// A browser that the server makes the pages for keeps the choice in a cookie; one
// that asks for nothing, or for nonsense, gets English.
func TestLanguageOfABrowser(t *testing.T) {
	open := newServer(t, nil)
	h := open.Handler()
	send := func(form url.Values) *http.Response {
		return post(h, "/language", form).Result()
	}
	r := send(url.Values{"lang": {"es"}, "back": {"/phone"}})
	if r.StatusCode != http.StatusSeeOther || r.Header.Get("Location") != "/phone" {
		t.Errorf("status %d to %q", r.StatusCode, r.Header.Get("Location"))
	}
	if c := r.Cookies(); len(c) != 1 || c[0].Name != languageCookie || c[0].Value != "es" || c[0].Path != "/" || c[0].MaxAge <= 0 || !c[0].HttpOnly {
		t.Errorf("cookies %+v", c)
	}
	if r := send(url.Values{"lang": {"en"}, "back": {"/visits/V1/checks/esp-total?demand=fan&from=proof"}}); r.Header.Get("Location") != "/visits/V1/checks/esp-total?demand=fan&from=proof" {
		t.Errorf("back to a check leads to %q", r.Header.Get("Location"))
	}
	for _, back := range []string{"", "//example.com/x", "https://example.com/", "x", `/\example.com`, "/%"} {
		if r := send(url.Values{"lang": {"en"}, "back": {back}}); r.Header.Get("Location") != "/" {
			t.Errorf("back to %q leads to %q", back, r.Header.Get("Location"))
		}
	}
	if r := send(url.Values{"lang": {"fr"}}); r.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("French: status %d", r.StatusCode)
	}
	for cookie, want := range map[string]string{"es": "es", "en": "en", "": "en", "fr": "en"} {
		ask := httptest.NewRequest(http.MethodGet, "/phone", nil)
		ask.AddCookie(&http.Cookie{Name: languageCookie, Value: cookie})
		if got := open.languageOf(ask); string(got) != want {
			t.Errorf("cookie %q: %q", cookie, got)
		}
	}
}

// A phone that cannot keep the choice says so.
func TestLanguageNotKept(t *testing.T) {
	d := &device{}
	b := inPhone(t, d, nil)
	b.open("/phone").says("main", "Language of the advice")
	d.err = journal.ErrFull
	b.submit("Español", nil).wants(http.StatusInsufficientStorage)
}
