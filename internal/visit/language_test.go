package visit

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"rung/internal/fault"
	"rung/internal/fieldtest"
)

// wording is one text of the program in both languages, and what it is.
type wording struct {
	what string
	text fault.Text
}

// wordings lists every text of advice and explanation.
func wordings(faults *fault.Catalogue, checks *fieldtest.Catalogue) []wording {
	var list []wording
	add := func(what string, t fault.Text) { list = append(list, wording{what, t}) }
	for id, t := range sentences() {
		add("sentence "+id, t)
	}
	for _, m := range misreadings() {
		add("misreading "+m.id, m.text)
	}
	for _, a := range surroundings() {
		add("surrounding "+a.id, a.called)
		add("surrounding "+a.id+" where", a.where)
	}
	for kind, choices := range answers() {
		for _, a := range choices {
			add(kind+" "+a.id, a.name)
			if a.do.EN != "" {
				add(kind+" "+a.id+" do", a.do)
			}
		}
	}
	for _, l := range chainWords() {
		add("link "+l.id, l.name)
		add("link "+l.id+" hint", l.hint)
		for _, s := range l.steps {
			add("link "+l.id+" step", s.text)
		}
		for _, p := range l.proofs {
			add("link proof "+p.id, p.name)
		}
	}
	for id, t := range chainCautions() {
		add("chain caution "+id, t)
	}
	return append(append(list, faultWordings(faults)...), checkWordings(checks)...)
}

func faultWordings(faults *fault.Catalogue) []wording {
	var list []wording
	add := func(what string, t fault.Text) { list = append(list, wording{what, t}) }
	for _, f := range faults.Faults {
		add("fault "+f.ID, f.Name)
		add("fault "+f.ID+" text", f.Text)
		if f.SeverityText.EN != "" {
			add("fault "+f.ID+" severity", f.SeverityText)
		}
	}
	for _, r := range faults.Repairs {
		add("repair "+r.ID, r.Name)
		add("repair "+r.ID+" why", r.Why)
		if r.Note.EN != "" {
			add("repair "+r.ID+" note", r.Note)
		}
	}
	for _, p := range faults.Pairs {
		add("pair "+p.ID, p.Why)
	}
	for _, c := range faults.Complaints {
		add("complaint "+c.ID, c.Word)
	}
	return list
}

func checkWordings(checks *fieldtest.Catalogue) []wording {
	var list []wording
	add := func(what string, t fault.Text) { list = append(list, wording{what, t}) }
	for _, c := range checks.Checks {
		add("check "+c.ID, c.Name)
		add("check "+c.ID+" measures", c.Measures)
		add("check "+c.ID+" where", c.Where)
		if c.Instrument.EN != "none" { // a word for the program; the pages show nothing
			add("check "+c.ID+" instrument", c.Instrument)
		}
		for _, s := range c.Steps {
			add("check "+c.ID+" step", s.Text)
		}
		for _, p := range c.Points {
			what := "point " + c.ID + "/" + p.ID
			add(what, p.Name)
			if p.Words == nil {
				add(what+" beyond", p.Beyond)
			}
			for i := range p.Words {
				add(what+" word", fault.Text{EN: English.wordOf(&p, i), ES: Spanish.wordOf(&p, i)})
			}
			if p.Words != nil && len(p.WordsES) != len(p.Words) {
				add(what+" words", fault.Text{EN: strings.Join(p.Words, " ")})
			}
		}
	}
	for _, s := range checks.Setups {
		add("setup "+s.ID, s.Name)
		add("setup "+s.ID+" step", s.Step)
	}
	for _, c := range checks.Cautions {
		add("caution "+c.ID, c.Text)
	}
	for _, s := range checks.Safeties {
		add("class "+s.ID, s.Name)
	}
	return list
}

// alike are the texts that are the same in both languages.
var alike = []string{"no", "control", "capacitor", "contactor", "compresor", "normal", "rotor", "motor", "R a C",
	"{point}: {reading}", "{point}: {reading}.", "{cause} ({odds})", "{check}: {list}", "{hazard}: {do}", "{list}.", "{what}."}

var inBraces = regexp.MustCompile(`\{[a-z]+\}`)

// Every text of advice and explanation stands in Spanish beside the English,
// with the same {names} to fill in.
func TestEveryTextInSpanish(t *testing.T) {
	s := newShop(t)
	all := wordings(s.faults(), s.checks())
	if len(all) < 2500 {
		t.Errorf("only %d texts found", len(all))
	}
	for _, w := range all {
		en, es := inBraces.FindAllString(w.text.EN, -1), inBraces.FindAllString(w.text.ES, -1)
		slices.Sort(en)
		slices.Sort(es)
		switch {
		case w.text.ES == "":
			t.Errorf("%s: no Spanish: %q", w.what, w.text.EN)
		case w.text.ES == w.text.EN && !slices.Contains(alike, w.text.EN):
			t.Errorf("%s: the same in Spanish: %q", w.what, w.text.EN)
		case !slices.Equal(en, es):
			t.Errorf("%s: %q fills in %v, %q %v", w.what, w.text.EN, en, w.text.ES, es)
		case strings.Contains(w.text.ES, "  ") || strings.TrimSpace(w.text.ES) != w.text.ES:
			t.Errorf("%s: blanks in %q", w.what, w.text.ES)
		case strings.Contains(w.text.EN, "?") != strings.Contains(w.text.ES, "¿"):
			t.Errorf("%s: %q asks, and %q does not, or the other way round", w.what, w.text.EN, w.text.ES)
		case strings.HasSuffix(w.text.EN, ".") != strings.HasSuffix(w.text.ES, "."):
			t.Errorf("%s: %q and %q end differently", w.what, w.text.EN, w.text.ES)
		}
	}
}

// A number in a text is the same in both languages: a caution that names 240 V
// must not name another in Spanish.
func TestNumbersAlikeInSpanish(t *testing.T) {
	s := newShop(t)
	number := regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)
	for _, w := range wordings(s.faults(), s.checks()) {
		en, es := number.FindAllString(w.text.EN, -1), number.FindAllString(w.text.ES, -1)
		slices.Sort(en)
		slices.Sort(es)
		if !slices.Equal(en, es) {
			t.Errorf("%s: numbers %v in %q, %v in %q", w.what, en, w.text.EN, es, w.text.ES)
		}
	}
}

func TestLanguage(t *testing.T) {
	for _, c := range []struct {
		list    []string
		and, or string
	}{
		{[]string{"agua"}, "agua", "agua"},
		{[]string{"agua", "aire"}, "agua y aire", "agua o aire"},
		{[]string{"fuga", "aire", "interruptor"}, "fuga, aire e interruptor", "fuga o aire o interruptor"},
		{[]string{"compresor", "hielo"}, "compresor y hielo", "compresor o hielo"},
		{[]string{"uno", "otro"}, "uno y otro", "uno u otro"},
	} {
		if and, or := Spanish.andList(c.list), Spanish.orList(c.list); and != c.and || or != c.or {
			t.Errorf("%v: %q and %q, want %q and %q", c.list, and, or, c.and, c.or)
		}
	}
	for _, c := range []struct{ got, want string }{
		{Spanish.inHundred(0.003), "menos de 1 de 100"}, {Spanish.inHundred(0.72), "72 de 100"}, {Spanish.inHundred(1), "más de 99 de 100"},
		{English.inHundred(0.003), "under 1 in 100"}, {Language("").inHundred(0.72), "72 in 100"},
		{Spanish.inMinutes(1), "1 minuto"}, {Spanish.inMinutes(12.4), "12 minutos"},
		{Spanish.timesOf(30), "más de 20 veces"}, {English.timesOf(2.1), "twice"},
		{Spanish.Answer("hazard", "gas-smell"), "Olor a gas"}, {Spanish.Answer("hazard", "no-such"), "no-such"},
		{Spanish.Surrounding("outdoor-dry-bulb"), "Aire exterior"},
		{Spanish.lower("Última lectura"), "última lectura"}, {Spanish.lower("TXV cerrada"), "TXV cerrada"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
	if l, known := ParseLanguage("fr"); known || l != English {
		t.Errorf("fr is %q", l)
	}
	if l := LanguageOf(WithLanguage(t.Context(), Spanish)); l != Spanish || LanguageOf(t.Context()) != English {
		t.Errorf("asked for Spanish: %q", l)
	}
}
