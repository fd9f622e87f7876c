package replace

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"rung/internal/fieldtest"
)

// sources is the text of the package without its tests.
func sources(t *testing.T) string {
	t.Helper()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(text)
	}
	return b.String()
}

func TestEverySentenceIsSaid(t *testing.T) {
	text := sources(t)
	for id := range texts().sentences {
		if !strings.Contains(text, `"`+id+`"`) {
			t.Errorf("sentence %s is said nowhere", id)
		}
	}
	for _, m := range regexp.MustCompile(`say\("([a-z0-9-]+)"`).FindAllStringSubmatch(text, -1) {
		if _, known := texts().sentences[m[1]]; !known {
			t.Errorf("sentence %s has no wording", m[1])
		}
	}
}

// Each name in the wording is filled in where the sentence is said on one line.
func TestSentencesAreFilled(t *testing.T) {
	hole := regexp.MustCompile(`\{([a-z]+)\}`)
	for _, line := range strings.Split(sources(t), "\n") {
		for _, m := range regexp.MustCompile(`say\("([a-z0-9-]+)"`).FindAllStringSubmatch(line, -1) {
			if strings.Contains(line, "values...") {
				continue
			}
			for _, h := range hole.FindAllStringSubmatch(texts().sentences[m[1]].EN, -1) {
				if !strings.Contains(line, `("`+h[1]+`",`) && !(h[1] == "call" && strings.Contains(line, "callWord")) {
					t.Errorf("%s: {%s} is not filled in: %s", m[1], h[1], strings.TrimSpace(line))
				}
			}
		}
	}
}

func TestEveryCautionIsInTheCatalogue(t *testing.T) {
	catalogue, err := fieldtest.Load()
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for _, c := range catalogue.Cautions {
		known[c.ID] = true
	}
	text := sources(t)
	found := 0
	for id := range known {
		found += strings.Count(text, `"`+id+`"`)
	}
	if found == 0 {
		t.Error("no step has a caution")
	}
	for _, line := range strings.Split(text, "\n") {
		for _, m := range regexp.MustCompile(`(?:\[\]string\{|\), )((?:"[a-z-]+"(?:, )?)+)[)}]`).FindAllStringSubmatch(line, -1) {
			if !strings.Contains(line, "say(") {
				continue
			}
			for _, id := range strings.Split(m[1], ", ") {
				if id = strings.Trim(id, `"`); !known[id] {
					t.Errorf("caution %s is in no catalogue: %s", id, strings.TrimSpace(line))
				}
			}
		}
	}
}

func TestWordsOfLoadsAndCalls(t *testing.T) {
	for _, id := range []LoadID{Compressor, Compressor2, Blower, Heat, HeatSecond, Auxiliary, EmergencyRelay, ReversingValve, Humidifier} {
		if _, known := texts().words[string(id)]; !known {
			t.Errorf("no word for %s", id)
		}
	}
	for _, c := range Calls() {
		if _, known := texts().words[c.Word()]; !known {
			t.Errorf("no word for %s", c.Word())
		}
	}
	for _, r := range remedies {
		if _, known := texts().words[r.id]; !known {
			t.Errorf("no word for %s", r.id)
		}
	}
}
