package fieldtest

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// The plant shows by itself what the trade says a fault looks like.
//
// practice: see the head of the file; tolerances are the ranges there, and for
// directions three standard deviations of the meter.
func TestSignatures(t *testing.T) {
	text, err := os.ReadFile("testdata/signatures.txt")
	if err != nil {
		t.Fatal(err)
	}
	s := signatures{t: t, grids: allGrids(t, load(t), faults(t))}
	for i, line := range strings.Split(string(text), "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(line, " | ")
		if len(f) != 5 {
			t.Fatalf("line %d: %d columns", i+1, len(f))
		}
		s.line = fmt.Sprintf("line %d: %s at %s: %s", i+1, f[1], f[2], f[3])
		s.row(f[0], f[1], f[2], f[3], f[4])
	}
}

type signatures struct {
	t     *testing.T
	grids []*grid
	line  string
}

// row tries one line on every plate it is for.
func (s *signatures) row(plates, id, severity, what, want string) {
	s.t.Helper()
	fc := faults(s.t)
	f, ok := fc.Fault(id)
	if !ok {
		s.t.Fatalf("%s: no such fault", s.line)
	}
	u, err := strconv.ParseFloat(severity, 64)
	if err != nil {
		s.t.Fatalf("%s: %v", s.line, err)
	}
	tried := 0
	for _, g := range s.grids {
		if !meant(g.plate, plates) || !f.Fits(g.plant.Has) {
			continue
		}
		solver, err := g.plant.NewSolver()
		if err != nil {
			s.t.Fatal(err)
		}
		ps := g.plant.Healthy()
		if err := f.Apply(&ps, u); err != nil {
			s.t.Fatalf("%s: %v", s.line, err)
		}
		tried++
		s.compare(g, g.look(s.t, solver, &ps, id), what, want)
	}
	if tried == 0 {
		s.t.Errorf("%s: no plate %q can have it", s.line, plates)
	}
}

func meant(plate, plates string) bool {
	if word, without := strings.CutPrefix(plates, "not "); without {
		return !strings.Contains(plate, word)
	}
	return plates == "all" || strings.Contains(plate, plates)
}

// compare holds one row of a grid against what is wanted.
func (s *signatures) compare(g *grid, row sample, what, want string) {
	s.t.Helper()
	switch {
	case directions[want] != 0 || want == "same":
		s.direction(g, row, what, want)
	case strings.HasPrefix(want, "same as "):
		a, b := g.derived(s.t, row, what), g.derived(s.t, row, strings.TrimPrefix(want, "same as "))
		if !(math.Abs(a-b) <= 7e3) { // Pa, one psi: the smallest step of a gauge
			s.t.Errorf("%s: %s = %.6g, want as the other: %.6g", g.plate, s.line, a, b)
		}
	case strings.Contains(want, " to "):
		s.between(g, row, what, want)
	default:
		i := g.index(s.t, what)
		p := g.columns[i].point
		if o := row[i]; o.Kind != IsWord || p.Words[o.Word] != want {
			s.t.Errorf("%s: %s = %+v of %v, want %s", g.plate, s.line, o, p.Words, want)
		}
	}
}

var directions = map[string]float64{"up": 1, "rises": 1, "down": -1, "falls": -1}

// direction holds a change against a sound system.
func (s *signatures) direction(g *grid, row sample, what, want string) {
	s.t.Helper()
	sound := g.rows[healthy][0]
	was := g.derived(s.t, sound, what)
	diff, sigma := g.derived(s.t, row, what)-was, g.doubt(s.t, sound, what)
	if want == "same" {
		limit := math.Max(3*sigma, 2*5.0/9) // K, 2 °F
		if !(math.Abs(diff) <= limit) {
			s.t.Errorf("%s: %s: changes by %.4g SI, want no more than %.3g", g.plate, s.line, diff, limit)
		}
		return
	}
	least := 3 * sigma
	if want == "rises" || want == "falls" {
		least = 1e-3 * math.Abs(was) // well above what the solvers leave over
	}
	if diff *= directions[want]; !(diff > least) {
		s.t.Errorf("%s: %s: %s by %.4g SI, want more than %.3g", g.plate, s.line, want, diff, least)
	}
}

// between reads "0 to 5 V".
func (s *signatures) between(g *grid, row sample, what, want string) {
	s.t.Helper()
	low, rest, _ := strings.Cut(want, " to ")
	high, unit, _ := strings.Cut(rest, " ")
	i := g.index(s.t, what)
	p := g.columns[i].point
	var ends [2]float64
	for k, text := range []string{low, high} {
		a, err := tradeunit.Parse(text+" "+unit, p.Dim, "")
		if err != nil {
			s.t.Fatalf("%s: %v", s.line, err)
		}
		ends[k] = a.SI(101325)
	}
	if o := row[i]; o.Kind != IsValue || !(ends[0] <= o.Value && o.Value <= ends[1]) {
		s.t.Errorf("%s: %s = %+v, want %s", g.plate, s.line, o, want)
	}
}

// index finds a column by "check point demand".
func (g *grid) index(t testing.TB, what string) int {
	t.Helper()
	for i, col := range g.columns {
		if col.String() == what {
			return i
		}
	}
	t.Fatalf("no column %q", what)
	return 0
}

// differences of two columns that the trade has a name for.
const (
	suctionCool = "gauge-pressures suction cool"
	liquidCool  = "gauge-pressures liquid cool"
)

// derived returns the value of a column, or of superheat, subcooling, split.
func (g *grid) derived(t testing.TB, row sample, what string) float64 {
	t.Helper()
	at := func(what string) float64 { return row[g.index(t, what)].Value }
	switch what {
	case "superheat":
		sat, err := g.plant.Fluid().SaturationAtPressure(quantity.Pressure(at(suctionCool)))
		if err != nil {
			t.Fatal(err)
		}
		return at("sh-sc suction-line cool") - float64(sat.DewTemp)
	case "subcooling":
		sat, err := g.plant.Fluid().SaturationAtPressure(quantity.Pressure(at(liquidCool)))
		if err != nil {
			t.Fatal(err)
		}
		return float64(sat.BubbleTemp) - at("sh-sc liquid-line cool")
	case "split":
		return at("delta-t-air return cool") - at("delta-t-air supply cool")
	}
	return at(what)
}

// doubt returns the standard deviation of the difference of two looks at a
// column by the meter alone.
func (g *grid) doubt(t testing.TB, row sample, what string) float64 {
	t.Helper()
	one := func(what string) float64 {
		i := g.index(t, what)
		return g.columns[i].point.Meter.Instrument(row[i].Value)
	}
	switch what {
	case "superheat":
		return math.Sqrt2 * one("sh-sc suction-line cool")
	case "subcooling":
		return math.Sqrt2 * one("sh-sc liquid-line cool")
	case "split":
		return math.Sqrt2 * math.Hypot(one("delta-t-air return cool"), one("delta-t-air supply cool"))
	}
	return math.Sqrt2 * one(what)
}
