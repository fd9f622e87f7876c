package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const sample = `# Boiling of a made-up fluid
# published: nobody 1900
# computed: by nobody
# tolerance: half of the last digit
# columns: case T[K] pressure[Pa]
a 300 1e5
b 310 2e5
`

// sampled writes the sample table and comparisons for a package without tests.
func sampled(t *testing.T, lines, missed string) (pkg, string) {
	t.Helper()
	dir, records := t.TempDir(), t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "testdata", "published"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		filepath.Join(dir, "testdata", "published", "boil.txt"): sample,
		filepath.Join(dir, "testdata", "missed.txt"):            missed,
		filepath.Join(records, "internal.air.fan"):              lines,
	} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return pkg{dir: dir, name: "air/fan"}, records
}

func TestPage(t *testing.T) {
	p, records := sampled(t, `{"File":"boil.txt","Line":6,"Label":"a","What":"pressure","Unit":"Pa","Got":100123.4,"Want":100000,"Tolerance":10}
{"File":"boil.txt","Line":7,"Label":"b","What":"pressure","Unit":"Pa","Got":200001.26,"Want":200000,"Tolerance":10}
{"File":"boil.txt","Line":7,"Label":"b","What":"density","Got":1.0000000000003,"Want":1,"Tolerance":1e-6,"Scale":1,"Of":"of the value"}
`, "boil.txt | a | pressure | 124\n")
	checks, err := p.read(records)
	if err != nil {
		t.Fatal(err)
	}
	got := page(checks)
	for _, want := range []string{
		"| air/fan | 3 | 3 | 0 | 0 | 3 | 1 |",
		"### Boiling of a made-up fluid",
		"- published: nobody 1900\n- computed: by nobody\n- tolerance: half of the last digit\n",
		"| density | 1 | < 1e-12 | 1e-6 of the value |  |",
		"| pressure | 2 | 120 Pa | 10 Pa | 1 |",
		"| a | pressure | 100000 Pa | 100123 Pa | +120 Pa | 10 Pa |",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("page has no %q:\n%s", want, got)
		}
	}
}

func TestUnreadRowIsAnError(t *testing.T) {
	p, records := sampled(t, `{"File":"boil.txt","Line":6,"What":"pressure","Got":1,"Want":1}`, "")
	if _, err := p.read(records); err == nil || !strings.Contains(err.Error(), "boil.txt:7 (b)") {
		t.Errorf("error %v, want one about the second row", err)
	}
}

func TestListedMissMustBeMet(t *testing.T) {
	p, records := sampled(t, `{"File":"boil.txt","Line":6,"What":"pressure","Got":1,"Want":1}
{"File":"boil.txt","Line":7,"What":"pressure","Got":1,"Want":1}`, "boil.txt | c | pressure | 124\n")
	if _, err := p.read(records); err == nil || !strings.Contains(err.Error(), "lists 1 misses, the tests met 0") {
		t.Errorf("error %v, want one about the list", err)
	}
}

func TestNumber(t *testing.T) {
	for x, want := range map[float64]string{0: "0", 0.00012345: "0.00012", 1.25e-7: "1.2e-7", 12345: "12000", 3e9: "3e9", 0.05: "0.05", 1: "1"} {
		if got := number(x, 2); got != want {
			t.Errorf("number(%g, 2) = %q, want %q", x, got, want)
		}
	}
}
