package published

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// Missed is a known miss: how far at most the answer is off, beyond the
// tolerance, in the deviation's own measure.
//
// The file testdata/missed.txt of a package lists them, parted by bars: file |
// row, as Label names it | quantity | deviation at most. A miss that is not in
// the list fails the test, and so does one that has grown or is cured.
type Missed map[string]float64

// ReadMissed reads the list at path; where there is no file, nothing is missed.
func ReadMissed(path string) (Missed, error) {
	text, err := os.ReadFile(path)
	if os.IsNotExist(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	m := Missed{}
	for i, line := range strings.Split(string(text), "\n") {
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		cells := strings.Split(line, "|")
		for j := range cells {
			cells[j] = strings.TrimSpace(cells[j])
		}
		if len(cells) != 4 {
			return nil, fmt.Errorf("%s:%d: %d cells, want 4", path, i+1, len(cells))
		}
		size, err := strconv.ParseFloat(cells[3], 64)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", path, i+1, err)
		}
		m[strings.Join(cells[:3], " | ")] = size
	}
	return m, nil
}

// key names a comparison with a row of file.
func (c Comparison) key(file string) string { return file + " | " + c.Label + " | " + c.What }

// ownMissed is the list of the package under test.
var ownMissed = sync.OnceValues(func() (Missed, error) { return ReadMissed("testdata/missed.txt") })

// admitted returns the listed size of c, 0 if it is not listed.
func (r Row) admitted(t testing.TB, c Comparison) float64 {
	t.Helper()
	m, err := ownMissed()
	if err != nil {
		t.Fatal(err)
	}
	return m[c.key(r.table.File)]
}
