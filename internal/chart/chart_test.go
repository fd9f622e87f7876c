package chart

import (
	"encoding/xml"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "rewrite the golden drawings")

// drawings are the golden files: they fix what is shown, not what is true.
func drawings() map[string]string {
	day := func(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
	return map[string]string{
		"ladder": Ladder(Sample()),
		"odds":   Odds(0.41, "run capacitor: 41 in 100"),
		"ranges": Ranges([]Range{{"Healthy", 38, 42, "38 to 42 µF"}, {"Open", 0, 1, "0 to 1 µF"}}, 0.4, "capacitance"),
		"trend": Trend([]Past{
			{On: day(2023, 6, 2), Value: 128, Text: "128", Settled: true}, {On: day(2026, 5, 3), Value: 97, Text: "97", Settled: false}, {On: day(2026, 7, 14), Value: 112, Text: "112", Settled: true},
		}, "suction pressure"),
		"trend-ahead": TrendAhead([]Past{
			{On: day(2023, 6, 2), Value: 12, Text: "12.0", Settled: true, Low: 9, High: 15}, {On: day(2024, 6, 3), Value: 10, Text: "10.0", Settled: true, Low: 8, High: 14},
			{On: day(2025, 7, 14), Value: 7, Text: "7.0", Settled: true, Low: 9, High: 15},
		}, Ahead{On: day(2026, 5, 1), Value: 5, Low: 3, High: 7, Limit: 6}, "subcooling"),
	}
}

func TestGolden(t *testing.T) { compareGolden(t, drawings()) }

func compareGolden(t *testing.T, drawings map[string]string) {
	t.Helper()
	for name, got := range drawings {
		file := filepath.Join("testdata", name+".svg")
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s differs from %s; run with -update and read the diff", name, file)
		}
	}
}

// element is one element of a drawing, with what is in it.
type element struct {
	XMLName  xml.Name
	Attrs    []xml.Attr `xml:",any,attr"`
	Children []element  `xml:",any"`
	Text     string     `xml:",chardata"`
}

func parse(t *testing.T, svg string) element {
	t.Helper()
	var e element
	if err := xml.NewDecoder(strings.NewReader(svg)).Decode(&e); err != nil && err != io.EOF {
		t.Fatalf("the drawing is not well-formed: %v", err)
	}
	return e
}

func (e element) attr(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (e element) has(class string) bool {
	for _, c := range strings.Fields(e.attr("class")) {
		if c == class {
			return true
		}
	}
	return false
}

func (e element) walk(visit func(element)) {
	visit(e)
	for _, c := range e.Children {
		c.walk(visit)
	}
}

func (e element) number(name string) float64 {
	x, err := strconv.ParseFloat(e.attr(name), 64)
	if err != nil {
		return math.NaN()
	}
	return x
}

// TestLadderLitParts checks by class which devices are lit.
func TestLadderLitParts(t *testing.T) {
	want := map[string]string{
		"contactor-l1": "flowing", "compressor": "flowing", "contactor-l2": "flowing", "start": "flowing",
		"run-capacitor-herm": "flowing", "fuse": "waiting", "heater-stat": "waiting", "heater": "dead",
		"thermostat-y": "flowing", "float": "flowing", "lps": "flowing", "coil": "flowing",
	}
	got := map[string]string{}
	parse(t, Ladder(Sample())).walk(func(e element) {
		if !e.has("device") {
			return
		}
		for _, c := range []string{"flowing", "waiting", "dead"} {
			if e.has(c) {
				got[strings.TrimPrefix(e.attr("id"), "device-")] += c
			}
		}
	})
	for id, class := range want {
		if got[id] != class {
			t.Errorf("device %s is %q, want %q", id, got[id], class)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d devices drawn, want %d", len(got), len(want))
	}
}

// TestLadderWiresOfAnOpenRung: nothing on a rung that carries no current is
// drawn as carrying some, though its rails do.
func TestLadderWiresOfAnOpenRung(t *testing.T) {
	d := Sample()
	d.Sections = d.Sections[:1]
	d.Sections[0].Rungs = d.Sections[0].Rungs[2:]
	parse(t, Ladder(d)).walk(func(e element) {
		if e.has("wire") && e.has("flowing") {
			t.Errorf("wire %s carries current on a rung that is open", e.attr("d"))
		}
	})
}

// TestLadderTaps: every node that can be tapped is a link with a target of 48
// pixels, and both leads are marked by word, not only by colour.
func TestLadderTaps(t *testing.T) {
	links, leads := 0, map[string]bool{}
	parse(t, Ladder(Sample())).walk(func(e element) {
		if e.XMLName.Local == "text" && strings.HasSuffix(e.Text, " lead") {
			leads[e.Text] = true
		}
		if e.XMLName.Local != "a" {
			return
		}
		links++
		for _, c := range e.Children {
			if !c.has("hit") {
				continue
			}
			if w := math.Max(2*orZero(c.number("r")), orZero(c.number("width"))); w < 48 {
				t.Errorf("the target of %s is %v wide, want 48", e.attr("href"), w)
			}
		}
	})
	if links < 14 || !leads["red lead"] || !leads["black lead"] {
		t.Errorf("%d links, leads %v", links, leads)
	}
}

func orZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// TestLadderTextIsClear: no wire runs through a text. A letter is taken as 0.62
// of the font size wide, the width of a broad screen font.
func TestLadderTextIsClear(t *testing.T) { checkTextIsClear(t, Ladder(Sample())) }

func checkTextIsClear(t *testing.T, svg string) {
	t.Helper()
	size := map[string]float64{"point": 13, "volts": 12.5, "name": 13, "state": 13, "rung-name": 14, "rung-state": 13, "heading": 14, "rail-name": 14}
	var texts, wires, tags []box
	parse(t, svg).walk(func(e element) {
		switch {
		case e.has("tag"):
			x, y := e.number("x"), e.number("y")
			tags = append(tags, box{x, y, x + e.number("width"), y + e.number("height"), ""})
		case e.XMLName.Local == "text" && !e.has("letter"):
			texts = append(texts, textBox(e, size[e.attr("class")]))
		case e.has("wire") || e.has("rail"):
			wires = append(wires, pathBoxes(t, e.attr("d"))...)
		}
	})
	if len(texts) < 40 || len(wires) < 30 {
		t.Fatalf("only %d texts and %d wires found", len(texts), len(wires))
	}
	for _, tag := range tags {
		for _, w := range wires {
			if tag.x1+4 < w.x2 && w.x1 < tag.x2-4 && tag.y1 < w.y2 && w.y1 < tag.y2 {
				t.Errorf("a wire %v runs through a tag %v", w, tag)
			}
		}
	}
	for i, a := range texts {
		if a.x1 < -1 || a.x2 > width+1 {
			t.Errorf("text %q leaves the drawing: %v to %v", a.text, a.x1, a.x2)
		}
		for _, w := range wires {
			if a.meets(w) {
				t.Errorf("a wire %v runs through %q %v", w, a.text, a)
			}
		}
		for _, b := range texts[i+1:] {
			if a.meets(b) {
				t.Errorf("%q and %q overlap", a.text, b.text)
			}
		}
	}
}

type box struct {
	x1, y1, x2, y2 float64
	text           string
}

func (a box) meets(b box) bool {
	return a.x1 < b.x2 && b.x1 < a.x2 && a.y1 < b.y2 && b.y1 < a.y2
}

func textBox(e element, size float64) box {
	w := 0.62 * size * float64(len([]rune(e.Text)))
	x, y := e.number("x"), e.number("y")
	switch e.attr("text-anchor") {
	case "middle":
		x -= w / 2
	case "end":
		x -= w
	}
	return box{x, y - 0.75*size, x + w, y + 0.2*size, e.Text}
}

// pathBoxes returns the boxes of the straight pieces of a wire, 6 thick.
func pathBoxes(t *testing.T, d string) []box {
	t.Helper()
	d = strings.NewReplacer("M", " M ", "L", " L ", "H", " H ", "V", " V ").Replace(d)
	var list []box
	x, y := 0.0, 0.0
	f := strings.Fields(d)
	for i := 0; i < len(f); {
		nx, ny, drawn := x, y, true
		read := func(s string) float64 {
			v, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatalf("path %q: %v", d, err)
			}
			return v
		}
		switch f[i] {
		case "M", "L":
			nx, ny, drawn = read(f[i+1]), read(f[i+2]), f[i] == "L"
			i += 3
		case "H":
			nx = read(f[i+1])
			i += 2
		case "V":
			ny = read(f[i+1])
			i += 2
		default:
			t.Fatalf("path %q has %q", d, f[i])
		}
		if drawn {
			list = append(list, box{math.Min(x, nx) - 3, math.Min(y, ny) - 3, math.Max(x, nx) + 3, math.Max(y, ny) + 3, ""})
		}
		x, y = nx, ny
	}
	return list
}

func TestEscapes(t *testing.T) {
	svg := Odds(0.5, `<b a="1">&`)
	if got := parse(t, svg).attr("aria-label"); got != `<b a="1">&` {
		t.Errorf("label = %q", got)
	}
}

func TestOddsStaysInside(t *testing.T) {
	for _, share := range []float64{-1, 0, 0.3, 1, 2} {
		parse(t, Odds(share, "x")).walk(func(e element) {
			if w := e.number("width"); w < 0 || w > width {
				t.Errorf("Odds(%v): width %v", share, w)
			}
		})
	}
}

func TestRangesShareOneScale(t *testing.T) {
	var spans []element
	parse(t, Ranges([]Range{{"a", 0, 10, ""}, {"b", 20, 40, ""}}, 5, "")).walk(func(e element) {
		if e.has("span") {
			spans = append(spans, e)
		}
	})
	if len(spans) != 2 {
		t.Fatalf("%d spans", len(spans))
	}
	// On one scale a, 10 wide, is half as wide as b, 20 wide.
	if a, b := spans[0].number("width"), spans[1].number("width"); math.Abs(2*a-b) > 0.2 { // printed to 0.1 px
		t.Errorf("widths %v and %v, want 1 to 2", a, b)
	}
}

// TestRangesTextIsClear: long names break and stay clear of the numbers.
func TestRangesTextIsClear(t *testing.T) {
	long := "Run capacitor, compressor section: open, with compressor overload: open on heat, its cause not known yet"
	for _, numbers := range []string{"82.6 to 153.2 A", "214.1 to 245.3 psig", "1476.2 to 1691.3 kPa(g)"} {
		checkRangesClear(t, Ranges([]Range{{"Nothing wrong", 56, 104, numbers}, {long, 0, 1, numbers}, {long, 82, 153, numbers}}, 90, ""))
	}
}

func checkRangesClear(t *testing.T, svg string) {
	t.Helper()
	var texts, drawn []box
	parse(t, svg).walk(func(e element) {
		switch {
		case e.XMLName.Local == "text":
			texts = append(texts, textBox(e, 18))
		case e.has("span"):
			drawn = append(drawn, box{e.number("x"), e.number("y"), e.number("x") + e.number("width"), e.number("y") + e.number("height"), ""})
		case e.has("scale"):
			drawn = append(drawn, pathBoxes(t, e.attr("d"))...)
		}
	})
	if len(texts) < 9 {
		t.Fatalf("%d texts, want the long names broken", len(texts))
	}
	for i, a := range texts {
		if a.x1 < -1 || a.x2 > width+1 {
			t.Errorf("%q leaves the drawing: %v to %v", a.text, a.x1, a.x2)
		}
		for _, b := range texts[i+1:] {
			if a.meets(b) {
				t.Errorf("%q and %q overlap", a.text, b.text)
			}
		}
		for _, d := range drawn {
			if a.meets(d) {
				t.Errorf("the drawing %v runs through %q %v", d, a.text, a)
			}
		}
	}
}
