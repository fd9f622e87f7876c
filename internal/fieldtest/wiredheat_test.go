package fieldtest

import (
	"bufio"
	"os"
	"strconv"
	"strings"
	"testing"

	"rung/internal/plant"
	"rung/internal/system"
)

// unitOf are the units of testdata/heat.txt: factor to SI and what is
// then taken off.
// published: NIST SP 811; degF is a temperature, F a difference
var unitOf = map[string][2]float64{
	"V": {1, 0}, "A": {1, 0}, "ohm": {1, 0}, "uF": {1e-6, 0}, "uA": {1e-6, 0}, "ppm": {1e-6, 0}, "1": {1, 0},
	"in.w.c.": {249.089, 0}, "F": {1 / 1.8, 0}, "degF": {1 / 1.8, 459.67}, "CFM": {4.719474e-4, 0},
}

// heatRows reads testdata/heat.txt onto one system after the other.
type heatRows struct {
	t     *testing.T
	c     *Catalogue
	line  int
	d     *system.Description
	w     *Wired
	fault string
	shown []Outcome
}

// What a mechanic finds on the heat side of each system under each fault
// follows from the wiring, the gas and the air.
func TestHeatSideShows(t *testing.T) {
	f, err := os.Open("testdata/heat.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := heatRows{t: t, c: load(t)}
	sc := bufio.NewScanner(f)
	for r.line = 1; sc.Scan(); r.line++ {
		words := strings.Fields(sc.Text())
		switch {
		case len(words) == 0 || words[0] == "#":
		case words[0] == "system":
			r.d, _ = describe(t, words[1], "")
			r.w = on(t, r.c, r.d)
		case words[0] == "sound":
			r.fault, r.shown = "sound", readAll(t, r.w)
		case words[0] == "fault":
			_, fault := describe(t, r.d.ID, words[1])
			r.fault, r.shown = words[1], readAll(t, r.w, fault.Edits...)
		default:
			r.row(words)
		}
	}
}

func (r *heatRows) row(words []string) {
	demand, err := plant.ParseDemand(words[2])
	if err != nil {
		r.t.Fatalf("heat.txt:%d: %v", r.line, err)
	}
	i := r.w.Find(words[0], words[1], demand)
	if i < 0 {
		r.t.Errorf("heat.txt:%d: %s has no %v", r.line, r.d.ID, words[:3])
		return
	}
	p, o := r.w.Points[i].Point, r.shown[i]
	if len(words) == 4 {
		if o.Kind != IsWord || p.Words[o.Word] != words[3] {
			r.t.Errorf("heat.txt:%d: %s, %s: %v shows %v of %v, want %s", r.line, r.d.ID, r.fault, words[:3], o, p.Words, words[3])
		}
		return
	}
	u, known := unitOf[words[5]]
	low, err1 := strconv.ParseFloat(words[3], 64)
	high, err2 := strconv.ParseFloat(words[4], 64)
	if !known || err1 != nil || err2 != nil {
		r.t.Fatalf("heat.txt:%d: cannot read %v", r.line, words)
	}
	if got := o.Value/u[0] - u[1]; o.Kind != IsValue || !(low <= got && got <= high) {
		r.t.Errorf("heat.txt:%d: %s, %s: %v shows %.4g %s, want %g to %g", r.line, r.d.ID, r.fault, words[:3], got, words[5], low, high)
	}
}
