package fieldtest

import (
	"os"
	"strings"
	"testing"
)

// The checks that a lead mechanic would name for a fault do change with it.
func TestConfirmingChecks(t *testing.T) {
	text, err := os.ReadFile("testdata/confirming.txt")
	if err != nil {
		t.Fatal(err)
	}
	grids := allGrids(t, load(t), faults(t))
	for i, line := range strings.Split(string(text), "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		id, list, _ := strings.Cut(line, " | ")
		checks := map[string]bool{}
		for _, c := range strings.Fields(list) {
			checks[c] = true
		}
		if !confirmed(grids, id, checks) {
			t.Errorf("line %d: %s changes none of %s", i+1, id, list)
		}
	}
}

// confirmed reports whether a fault changes one of the checks on some plate.
func confirmed(grids []*grid, id string, checks map[string]bool) bool {
	for _, g := range grids {
		for _, row := range g.rows[id] {
			for _, col := range g.differences(row, g.rows[healthy][0]) {
				if checks[col.check.ID] {
					return true
				}
			}
		}
	}
	return false
}
