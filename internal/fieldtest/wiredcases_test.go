package fieldtest

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"rung/internal/plant"
)

// What checks show on described systems under their faults.
//
//	system ID
//	fault ID, or "sound"
//	CHECK POINT DEMAND WORD, or a number in SI and its tolerance
func TestWiredCases(t *testing.T) {
	f, err := os.Open("testdata/wired.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c := load(t)
	var w *Wired
	var shows []Outcome
	id, fault := "", ""
	sc := bufio.NewScanner(f)
	for n := 1; sc.Scan(); n++ {
		words := strings.Fields(sc.Text())
		switch {
		case len(words) == 0 || words[0][0] == '#':
		case words[0] == "system":
			id = words[1]
			d, _ := describe(t, id, "")
			w = on(t, c, d)
		case words[0] == "fault":
			if fault = words[1]; fault == "sound" {
				fault = ""
			}
			_, x := describe(t, id, fault)
			shows = readAll(t, w, x.Edits...)
		default:
			if err := w.wiredCase(shows, words); err != nil {
				t.Errorf("testdata/wired.txt:%d: %s, %q: %v", n, id, fault, err)
			}
		}
	}
}

// wiredCase holds one line against what the points show.
func (w *Wired) wiredCase(shows []Outcome, words []string) error {
	if len(words) < 4 {
		return fmt.Errorf("want check, point, demand and reading")
	}
	demand, err := plant.ParseDemand(words[2])
	if err != nil {
		return err
	}
	i := w.Find(words[0], words[1], demand)
	if i < 0 {
		return fmt.Errorf("no point %v", words[:3])
	}
	o, p := shows[i], w.Points[i].Point
	if len(words) == 4 {
		if o.Kind != IsWord || p.Words[o.Word] != words[3] {
			return fmt.Errorf("%s %s at %s says %v, want %s", words[0], words[1], words[2], o, words[3])
		}
		return nil
	}
	want, err1 := strconv.ParseFloat(words[3], 64)
	tolerance, err2 := strconv.ParseFloat(words[4], 64)
	if err1 != nil || err2 != nil || o.Kind != IsValue || !(math.Abs(o.Value-want) <= tolerance) {
		return fmt.Errorf("%s %s at %s reads %v, want %s within %s", words[0], words[1], words[2], o.Value, words[3], words[4])
	}
	return nil
}
