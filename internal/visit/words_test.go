package visit

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"rung/internal/diagnosis"
	"rung/internal/plant"
)

// What a phone 390 px wide shows is some 45 letters in a line.
// practice: a sentence is read in four lines and a half, a text in six. Spanish
// takes a line more, as it does in print.
const (
	longestSentence = 200
	longestText     = 270
	spanishLonger   = 45
)

var sentenceEnd = regexp.MustCompile(`[.?!] +`)

// tooLong fails on a text that nobody reads on a phone.
func tooLong(t *testing.T, what, text string, l Language) {
	t.Helper()
	longer := 0
	if l == Spanish {
		longer = spanishLonger
	}
	if n := utf8.RuneCountInString(text); n > longestText+longer {
		t.Errorf("%s: %d letters: %q", what, n, text)
	}
	for _, s := range sentenceEnd.Split(text, -1) {
		if n := utf8.RuneCountInString(s); n > longestSentence+longer {
			t.Errorf("%s: a sentence of %d letters: %q", what, n, s)
		}
	}
}

// Every sentence is short, filled in with names as long as they come.
func TestSentencesAreShort(t *testing.T) {
	fill := strings.NewReplacer("{cause}", strings.Repeat("c", 40), "{a}", strings.Repeat("a", 40), "{b}", strings.Repeat("b", 40),
		"{leader}", strings.Repeat("l", 40), "{rival}", strings.Repeat("r", 40), "{point}", strings.Repeat("p", 36), "{other}", strings.Repeat("o", 36),
		"{repair}", strings.Repeat("r", 40), "{check}", strings.Repeat("k", 36), "{sound}", "117 to 140 psig", "{shows}", "117 to 140 psig",
		"{do}", strings.Repeat("d", 90), "{what}", strings.Repeat("w", 90), "{list}", strings.Repeat("l", 120), "{causes}", strings.Repeat("c", 120),
		"{names}", strings.Repeat("n", 100), "{checks}", strings.Repeat("k", 80), "{task}", strings.Repeat("t", 60), "{why}", strings.Repeat("y", 120),
		"{points}", strings.Repeat("p", 100), "{verdict}", strings.Repeat("v", 100))
	for id, s := range sentences() {
		if id != "proof-how-heat" && id != "proof-how-heat-known" && id != "proof-how-cool" && id != "proof-how-fan" { // what to do, step by step
			tooLong(t, id, fill.Replace(s.EN), English)
			tooLong(t, id, fill.Replace(s.ES), Spanish)
		}
	}
	s := newShop(t)
	for _, f := range s.faults().Faults {
		tooLong(t, f.ID, f.Text.EN, English)
		tooLong(t, f.ID, f.Text.ES, Spanish)
	}
	for _, m := range misreadings() {
		tooLong(t, m.id, m.text.EN, English)
		tooLong(t, m.id, m.text.ES, Spanish)
		for _, r := range m.at {
			_, p, known := s.checks().Point(r.Check, r.Point)
			d, err := plant.ParseDemand(string(r.Demand))
			if !known || err != nil || !p.At(d) {
				t.Errorf("misreading %s: nothing is read at %v", m.id, r)
			}
		}
	}
}

// Whatever names a cause has a short name, each another.
func TestCausesHaveNames(t *testing.T) {
	s := newShop(t)
	d := &desk{faults: s.faults()}
	ids := []string{Healthy}
	for _, f := range s.faults().Faults {
		ids = append(ids, f.ID)
		if sub := diagnosis.UnlistedID(f.Group); !slices.Contains(ids, sub) {
			ids = append(ids, sub)
		}
		if d.causeText(f.ID) == "" {
			t.Errorf("%s: no sentence", f.ID)
		}
	}
	for _, p := range s.faults().Pairs {
		ids = append(ids, p.ID)
	}
	for l, most := range map[Language]int{English: 70, Spanish: 90} {
		d.Language = l
		seen := map[string]string{}
		for _, id := range ids {
			name := d.causeName(id)
			if other, twice := seen[name]; twice || name == id || utf8.RuneCountInString(name) > most {
				t.Errorf("%s is called %q (%s)", id, name, other)
			}
			seen[name] = id
		}
	}
	if _, known := sentences()["gate-"+string(diagnosis.ChargeTooCool)]; !known {
		t.Error("no words for the weather at the charge gate")
	}
	for _, reason := range constants(t, "ChargeReason") {
		if _, known := sentences()["gate-"+reason]; !known {
			t.Errorf("no sentence gate-%s", reason)
		}
	}
}

var update = flag.Bool("update", false, "write the golden files anew")

// told prints an advice as a person reads it.
func told(a Advice) string {
	var b strings.Builder
	line := func(label string, texts ...string) {
		for _, x := range texts {
			if x != "" {
				fmt.Fprintf(&b, "%-9s %s\n", label, x)
			}
		}
	}
	line("heading", a.Heading)
	line("why", a.Why)
	line("cost", a.Cost)
	line("hint", a.Hint)
	line("effect", a.Effect...)
	line("mind", a.Warnings...)
	for i, c := range a.Standing {
		if i < 5 { // more would only lengthen the file
			line("cause", strings.TrimSpace(c.Name+": "+c.Odds+". "+c.Severity))
			line("  for", c.Reasons...)
		}
	}
	line("unlisted", a.Unlisted)
	for _, r := range a.RuledOut {
		line("out", r.Name+" ["+r.Why+"]")
	}
	if a.Repair != nil {
		line("repair", a.Repair.Name)
		line("  held", a.Repair.Held...)
	}
	for _, c := range a.Next {
		line("next", c.Name+": "+c.Why)
		line("  if", c.Outcomes...)
	}
	if a.NotJudged != nil {
		line("charge", append(slices.Clone(a.NotJudged.Reasons), a.NotJudged.Task)...)
	}
	return b.String()
}

// TestAdviceAsRead fixes the wording of whole advice in five situations, in two of
// them in Spanish too. It says what is shown, not what is true: a change is read
// line by line.
func TestAdviceAsRead(t *testing.T) {
	if testing.Short() {
		t.Skip("five calls take some seconds")
	}
	warm := map[string]string{"outdoor-dry-bulb": "95", "return-dry-bulb": "78", "return-wet-bulb": "65", "line-voltage": "240"}
	cool := map[string]string{"outdoor-dry-bulb": "58", "return-dry-bulb": "72", "return-wet-bulb": "60", "line-voltage": "240"}
	for _, c := range []struct {
		name, complaint, fault string
		severity               float64
		air                    map[string]string
		checks                 []string // check/demand, all points
		repair                 string
		spanish                bool
	}{
		{"hums-and-trips", "not-cooling", "herm-cap-open", 0.5, warm, []string{"look-listen/cool"}, "", false},
		{"ready-to-repair", "not-cooling", "herm-cap-open", 0.5, warm, []string{"look-listen/cool", "cap-bench/off"}, "", true},
		{"cured", "not-cooling", "herm-cap-open", 0.5, warm, []string{"look-listen/cool", "cap-bench/off", "repair", "look-listen/cool", "cap-bench/off", "delta-t-air/cool"}, "replace-run-capacitor", false},
		{"low-charge-on-a-cool-day", "weak-cooling", "low-charge-leak", 0.8, cool, []string{"look-listen/cool", "gauge-pressures/cool", "sh-sc/cool"}, "", true},
		{"equal-pressures", "not-cooling", "comp-open-run", 0.5, warm, []string{"gauge-pressures/off", "gauge-pressures/cool"}, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newShop(t)
			v := s.ready(c.complaint)
			s.ok(s.RecordSurroundings(t.Context(), s.by(), v, SurroundingsInput{Values: c.air}))
			h := s.hide(v, c.fault, c.severity)
			for _, step := range c.checks {
				check, demand, isCheck := strings.Cut(step, "/")
				if !isCheck {
					must(s.RecordRepair(t.Context(), s.by(), v, RepairInput{Repair: c.repair, Cause: c.fault}))(t)
					h.mend()
					continue
				}
				h.do(v, must(s.Card(t.Context(), v, check, demand))(t))
			}
			asRead(t, must(s.Advise(t.Context(), v))(t), English, filepath.Join("testdata", "advice", c.name+".txt"))
			if c.spanish {
				asRead(t, must(s.Advise(WithLanguage(t.Context(), Spanish), v))(t), Spanish, filepath.Join("testdata", "advice", "es", c.name+".txt"))
			}
		})
	}
}

// asRead compares an advice in a language with what a file says of it.
func asRead(t *testing.T, a Advice, l Language, file string) {
	t.Helper()
	got := told(a)
	for _, line := range strings.Split(got, "\n") {
		if !strings.HasPrefix(line, "out ") { // a list, not a sentence
			tooLong(t, file, line, l)
		}
	}
	if len(a.Effect) > 3 {
		t.Errorf("%d sentences of what the last form told", len(a.Effect))
	}
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s:\n%s\nwant\n%s", file, got, want)
	}
}

// Each wrong belief is met where the model says that it is wrong, and not where
// it would be right.
func TestMisreadings(t *testing.T) {
	for _, c := range []struct {
		fault, check, demand string
		severity             float64
		says                 string
	}{
		{"comp-open-run", "gauge-pressures", "cool", 0.5, "Equal pressures are standing"},
		{"low-charge-leak", "gauge-pressures", "off", 0.5, "Standing pressure follows the temperature"},
		{"txv-stuck-closed", "gauge-pressures", "cool", 0.7, "Low suction alone"},
		{"float-switch-tripped", "v-across-switch", "cool", 0.5, "Volts across a switch"},
		{"transformer-open-secondary", "v-across-switch", "cool", 0.5, "No volts across a switch"},
		{"contactor-open-pole", "v-contactor-load", "cool", 0.5, "Go by leg to leg"},
		{"herm-cap-weak", "cap-look", "off", 0.5, "only its microfarads tell"},
		{"cond-coil-dirty", "v-contactor-load", "cool", 0.5, ""},
	} {
		s := newShop(t)
		v := s.ready("not-cooling")
		s.hide(v, c.fault, c.severity).do(v, must(s.Card(t.Context(), v, c.check, c.demand))(t))
		a := must(s.Advise(t.Context(), v))(t)
		said := ""
		for _, p := range a.EffectDetail.Points {
			said += p.Truth
		}
		if c.says == "" && said != "" || !strings.Contains(said, c.says) {
			t.Errorf("%s at %s: %q, want %q", c.fault, c.check, said, c.says)
		}
	}
}
