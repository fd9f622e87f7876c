package cycle

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"
)

// Discrepancy is by how much one reading of the model differs from those of
// real machines, in the unit of the table.
type Discrepancy struct {
	Reading string // "suction-saturation"
	Unit    string // "°F" or "of itself"
	Rows    int    // published figures compared
	Offset  float64
	Scatter float64 // standard deviation about the offset
	RMS     float64 // root of the mean square of the deviation
	Used    float64 // standard deviation to reckon with
	Class   string  // of Used: "measured" or "practice"
	Why     string
}

//go:embed data/discrepancy.txt
var discrepancyText string

// Discrepancies returns the table of data/discrepancy.txt.
func Discrepancies() ([]Discrepancy, error) {
	var all []Discrepancy
	for i, line := range strings.Split(discrepancyText, "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		d, err := parseDiscrepancy(line)
		if err != nil {
			return nil, fmt.Errorf("discrepancy.txt:%d: %w", i+1, err)
		}
		all = append(all, d)
	}
	return all, nil
}

func parseDiscrepancy(line string) (Discrepancy, error) {
	f := strings.Split(line, " | ")
	if len(f) != 9 {
		return Discrepancy{}, fmt.Errorf("%d columns, want 9", len(f))
	}
	d := Discrepancy{Reading: f[0], Unit: f[1], Class: f[7], Why: f[8]}
	var err error
	if d.Rows, err = strconv.Atoi(f[2]); err != nil {
		return d, err
	}
	for i, to := range [...]*float64{&d.Offset, &d.Scatter, &d.RMS, &d.Used} {
		if *to, err = strconv.ParseFloat(f[3+i], 64); err != nil {
			return d, err
		}
	}
	if d.Class != "measured" && d.Class != "practice" {
		return d, fmt.Errorf("class %q", d.Class)
	}
	return d, nil
}
