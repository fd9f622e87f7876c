package published

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// RecordTo names the environment variable that holds the directory in which
// each test program leaves its comparisons.
const RecordTo = "PUBLISHED_RECORD"

// Comparison is one number of ours next to one from outside.
type Comparison struct {
	File  string // within testdata/published
	Line  int
	Label string // names the row
	What  string // the quantity
	Unit  string
	Word  bool // words were compared; no number below counts

	Got, Want, Tolerance float64
	Scale                float64 `json:",omitempty"` // deviation and tolerance are fractions of it, unless 0
	Of                   string  `json:",omitempty"` // what the scale is
	AtLeast              bool    `json:",omitempty"`
}

// Deviation returns how far the answer is off, as a fraction of the scale or
// in the unit.
func (c Comparison) Deviation() float64 {
	d := math.Abs(c.Got - c.Want)
	if c.AtLeast {
		d = max(0, c.Want-c.Got)
	}
	if c.Scale != 0 {
		d /= math.Abs(c.Scale)
	}
	return d
}

// Miss reports whether the deviation is beyond the tolerance.
func (c Comparison) Miss() bool { return !(c.Deviation() <= c.Tolerance) }

var recorder struct {
	sync.Mutex
	file *os.File
}

// record leaves c where the environment asks, if it does.
func (r Row) record(t testing.TB, c Comparison) {
	t.Helper()
	dir := os.Getenv(RecordTo)
	if dir == "" {
		return
	}
	if !strings.HasPrefix(t.Name(), "TestPublished") {
		t.Fatalf("%s compares with %s: only tests named TestPublished… are recorded", t.Name(), r.table.File)
	}
	c.File, c.Line = r.table.File, r.Line
	line, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	recorder.Lock()
	defer recorder.Unlock()
	if recorder.file == nil {
		if recorder.file, err = os.Create(filepath.Join(dir, recordName(t))); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := recorder.file.Write(append(line, '\n')); err != nil {
		t.Fatal(err)
	}
}

// recordName is the directory of the package under test with dots for
// slashes: tests run in it.
func recordName(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Base(dir)
	for root := filepath.Dir(dir); root != filepath.Dir(root); root = filepath.Dir(root) {
		if _, err := os.Stat(filepath.Join(root, "go.mod")); err == nil {
			return name
		}
		name = filepath.Base(root) + "." + name
	}
	t.Fatalf("%s is in no module", dir)
	return ""
}
