package paperwork

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
)

func sampleNote() Note {
	return Note{
		Unit: "12 Sample Lane / 2 upstairs / Outdoor unit", UnitID: "01J2ZK6V0Q", Day: "2026-07-14", By: "J. Sample, 555 0142",
		Said: "upstairs stays warm", Found: "run capacitor, HERM section open", Did: "run capacitor replaced, 40+5 µF 440 V",
		Charge: "R-410A, 5 lb 6 oz", Added: "0 oz",
		Readings: []Reading{{"Suction pressure", "118 psig", ""}, {"Liquid pressure", "335 psig", "not settled"}},
		Unjudged: []string{"outdoor air 52 °F is below 65 °F"}, Todo: "judge charge at 65 °F or more", Filter: "20x25x1", Due: "2027-04",
	}
}

func TestCodeComesBack(t *testing.T) {
	odd := sampleNote()
	odd.Said = "line\nbreak, back\\slash, \\n, \r"
	odd.Readings = []Reading{{"a: b; c", "1: 2; 3", "x; y"}, {"", "", "only doubt"}, {"\\", "\\;", ""}}
	odd.Other = []Line{{"LATER", "a word of a later version"}}
	odd.More = 2
	for _, n := range []Note{{}, sampleNote(), odd} {
		got, err := ParseCode(n.Text())
		if err != nil || !reflect.DeepEqual(got, n) {
			t.Errorf("ParseCode(Text) = %+v, %v\nwant %+v", got, err, n)
		}
	}
}

// TestCodeIsReadable fixes the text that any phone shows.
func TestCodeIsReadable(t *testing.T) {
	want := `RUNG 1
UNIT 12 Sample Lane / 2 upstairs / Outdoor unit
ID 01J2ZK6V0Q
DAY 2026-07-14
BY J. Sample, 555 0142
SAID upstairs stays warm
FOUND run capacitor, HERM section open
DID run capacitor replaced, 40+5 µF 440 V
REFR R-410A, 5 lb 6 oz
ADDED 0 oz
TASK judge charge at 65 °F or more
FILTER 20x25x1
DUE 2027-04
READ Suction pressure: 118 psig
READ Liquid pressure: 335 psig; not settled
UNJUDGED outdoor air 52 °F is below 65 °F`
	if got := sampleNote().Text(); got != want {
		t.Errorf("Text = \n%s\nwant\n%s", got, want)
	}
}

func TestParseCodeErrors(t *testing.T) {
	for _, bad := range []string{"", "RUNG 2\nDAY x", "hello", "RUNG 1\nday x", "RUNG 1\nDAY", "RUNG 1\n\n", "RUNG 1\nREAD no colon", "RUNG 1\nMORE -1", "RUNG 1\nMORE 1\nMORE 2"} {
		if n, err := ParseCode(bad); !errors.Is(err, ErrCode) {
			t.Errorf("ParseCode(%q) = %+v, %v, want ErrCode", bad, n, err)
		}
	}
}

func FuzzParseCode(f *testing.F) {
	f.Add(sampleNote().Text())
	f.Add("RUNG 1\nREAD a\\: b: 1\\;; d\nLATER x\nDAY 1\nDAY 2\nMORE 3")
	f.Fuzz(func(t *testing.T, text string) {
		n, err := ParseCode(text)
		if err != nil {
			return
		}
		again, err := ParseCode(n.Text())
		if err != nil || !reflect.DeepEqual(again, n) {
			t.Errorf("%q parses to %+v, printed and parsed again %+v, %v", text, n, again, err)
		}
	})
}

func TestShortKeepsTheFactsAndCounts(t *testing.T) {
	n := sampleNote()
	for i := range 40 {
		n.Readings = append(n.Readings, Reading{Name: fmt.Sprint("reading ", i), Value: "1 V"})
	}
	short, err := n.Short(CodeLimit)
	if err != nil {
		t.Fatal(err)
	}
	if len(short.Text()) > CodeLimit || short.More == 0 || short.More+len(short.Readings) != 42 {
		t.Errorf("%d bytes, %d readings and %d more, want 42 in all within %d bytes", len(short.Text()), len(short.Readings), short.More, CodeLimit)
	}
	if short.Did != n.Did || short.Todo != n.Todo {
		t.Error("a fact was lost")
	}
}

// TestShortFitsWhateverWasTyped: long facts are cut and say so, reasons give way
// to readings; only a limit below the names of the facts is an error.
func TestShortFitsWhateverWasTyped(t *testing.T) {
	n := sampleNote()
	n.Did, n.Todo = strings.Repeat("çut the pipe ", 300), strings.Repeat("y", 4000)
	for range 9 {
		n.Unjudged = append(n.Unjudged, strings.Repeat("why not ", 9))
	}
	short, err := n.Short(CodeLimit)
	if err != nil {
		t.Fatal(err)
	}
	if len(short.Text()) > CodeLimit || !strings.HasSuffix(short.Did, "…") || !strings.HasSuffix(short.Todo, "…") || short.Unit != n.Unit {
		t.Errorf("%d bytes: %+v", len(short.Text()), short)
	}
	// published: ISO/IEC 18004, 85 modules in version 17, and a margin of 4 (from public copies).
	if q, err := n.Symbol(); err != nil || q.Size() > 85+2*4 {
		t.Errorf("symbol of %d modules, %v", q.Size(), err)
	}
	if again, err := ParseCode(short.Text()); err != nil || again.Text() != short.Text() {
		t.Errorf("reads back as %+v, %v", again, err)
	}
	n.Did, n.Todo = "", ""
	if short, err = n.Short(CodeLimit); err != nil || len(short.Readings) == 0 || len(short.Unjudged) == 0 {
		t.Errorf("%d readings and %d reasons left, %v; want some of both", len(short.Readings), len(short.Unjudged), err)
	}
	if _, err := n.Short(20); err == nil {
		t.Error("a note that cannot fit gives no error")
	}
}

// TestSymbol checks the three finder patterns and the size of a short code.
//
// published: ISO/IEC 18004, finder pattern of 7 × 7 modules, side 17+4·version
// (from public copies).
func TestSymbol(t *testing.T) {
	q, err := sampleNote().Symbol()
	if err != nil {
		t.Fatal(err)
	}
	side := q.Size() - 2*quiet
	if (side-17)%4 != 0 || side > 85 {
		t.Errorf("side %d, want 17+4v, at most 85", side)
	}
	for _, corner := range [][2]int{{quiet, quiet}, {quiet + side - 7, quiet}, {quiet, quiet + side - 7}} {
		for i := range 7 {
			if !q.Black(corner[0]+i, corner[1]) || !q.Black(corner[0], corner[1]+i) {
				t.Errorf("no finder pattern at %v", corner)
			}
		}
		if q.Black(corner[0]+1, corner[1]+1) || !q.Black(corner[0]+3, corner[1]+3) {
			t.Errorf("no finder pattern at %v", corner)
		}
	}
	for i := range q.Size() {
		if q.Black(i, 0) || q.Black(0, i) || q.Black(i, quiet-1) {
			t.Error("the margin is not white")
		}
	}
	if svg := q.SVG("a & b"); !strings.Contains(svg, `aria-label="a &amp; b"`) {
		t.Error("the label is not escaped")
	}
}
