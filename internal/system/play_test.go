package system

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rung/internal/circuit"
)

// mustBuild builds a system with a fault; "healthy" is none.
func mustBuild(t testing.TB, id, fault string) *System {
	t.Helper()
	d, ok := Describe(id)
	if !ok {
		t.Fatalf("no system %s", id)
	}
	var edits []Edit
	if fault != "healthy" {
		f, ok := d.Fault(fault)
		if !ok {
			t.Fatalf("%s has no fault %s", id, fault)
		}
		edits = f.Edits
	}
	s, err := d.Build(edits...)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func mustPlay(t testing.TB, s *System, call string, length, until time.Duration) *Play {
	t.Helper()
	actions, err := s.Call(call, 0, length)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Play(until, actions...)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestSequences plays the cases of testdata/sequence: a system with a fault (or
// healthy) under a call, the step of the written sequence at which it stops,
// and what meters show on the way.
//
//	system ID
//	case FAULT CALL stops=STEP|-  [length=S until=S]
//	volts S POINT POINT V TOLERANCE   low: the same on a low-impedance meter
//	amps S DEVICE A TOLERANCE
//	mode S BOARD MODE
//	works S DEVICE yes|no
//	quantity S QUANTITY X TOLERANCE
//
// practice: the sequences and where each fault stops them are those of the
// trade; volts follow from the network and are checked for what a mechanic
// would expect to within the tolerance beside them.
func TestSequences(t *testing.T) {
	files, err := filepath.Glob("testdata/sequence/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatal("no cases", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) { runCases(t, file) })
	}
}

func runCases(t *testing.T, file string) {
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	c := cases{t: t, file: file, cased: map[string]bool{}}
	sc := bufio.NewScanner(strings.NewReader(string(text)))
	for n := 1; sc.Scan(); n++ {
		words, err := split(sc.Text())
		if err != nil {
			t.Fatalf("%s:%d: %v", file, n, err)
		}
		if len(words) > 0 {
			c.number = n
			c.line(words)
		}
	}
	d, _ := Describe(c.system)
	for _, f := range d.Faults {
		if !c.cased[f.ID] && !f.Inherited {
			t.Errorf("%s: no case of %s", file, f.ID)
		}
	}
}

type cases struct {
	t             *testing.T
	file          string
	number        int
	system        string
	cased         map[string]bool
	built         *System
	call          string
	length, until time.Duration
}

func (c *cases) errorf(format string, args ...any) {
	c.t.Helper()
	c.t.Errorf("%s:%d: %s", c.file, c.number, fmt.Sprintf(format, args...))
}

func (c *cases) line(words []string) {
	if words[0] == "system" {
		c.system = words[1]
		return
	}
	if words[0] == "case" {
		c.begin(words[1:])
		return
	}
	at := c.seconds(words[1])
	p := mustPlay(c.t, c.built, c.call, c.length, at)
	switch words[0] {
	case "volts":
		v, err := p.Volts(words[2], words[3], circuit.HighImpedance)
		c.near(strings.Join(words[1:4], " "), float64(v), words[4], words[5], err)
	case "low":
		v, err := p.Volts(words[2], words[3], circuit.LowImpedance)
		c.near(strings.Join(words[1:4], " "), float64(v), words[4], words[5], err)
	case "amps":
		a, err := p.Amps(words[2])
		c.near(strings.Join(words[1:3], " "), float64(a), words[3], words[4], err)
	case "mode":
		if m := p.Mode(words[2]); m.Name != words[3] {
			c.errorf("%s is in mode %s, want %s", words[2], m.Name, words[3])
		}
	case "quantity":
		x, ok := p.Quantity(words[2])
		if !ok {
			c.t.Fatalf("%s:%d: no quantity %s", c.file, c.number, words[2])
		}
		c.near(strings.Join(words[1:3], " "), x, words[3], words[4], nil)
	case "works":
		if p.Works(words[2]) != (words[3] == "yes") {
			c.errorf("%s works: %v, want %s", words[2], p.Works(words[2]), words[3])
		}
	default:
		c.t.Fatalf("%s:%d: unknown keyword %s", c.file, c.number, words[0])
	}
}

func (c *cases) begin(words []string) {
	v, err := values(words[2:])
	if err != nil {
		c.t.Fatalf("%s:%d: %v", c.file, c.number, err)
	}
	c.cased[words[0]] = true
	c.call, c.length, c.until = words[1], 10*time.Minute, 15*time.Minute
	if s, ok := v["length"]; ok {
		c.length = c.seconds(s)
	}
	if s, ok := v["until"]; ok {
		c.until = c.seconds(s)
	}
	c.built = mustBuild(c.t, c.system, words[0])
	p := mustPlay(c.t, c.built, c.call, c.length, c.until)
	want := v["stops"]
	if want == "-" {
		want = ""
	}
	if got := p.StoppedIn(c.call); got != want {
		c.errorf("%s stops at %q, want %q", words[0], got, want)
	}
}

func (c *cases) seconds(s string) time.Duration {
	d, err := time.ParseDuration(s + "s")
	if err != nil {
		c.t.Fatalf("%s:%d: %v", c.file, c.number, err)
	}
	return d
}

func (c *cases) near(what string, got float64, want, tolerance string, err error) {
	var x, tol float64
	if _, bad := fmt.Sscan(want+" "+tolerance, &x, &tol); bad != nil || err != nil {
		c.t.Fatalf("%s:%d: %v %v", c.file, c.number, bad, err)
	}
	if !(math.Abs(got-x) <= tol) {
		c.errorf("%s reads %.3g, want %g within %g", what, got, x, tol)
	}
}

// measured are the units of the heat side that an instrument of its own reads: a
// manometer, an analyser, a meter of microamps, a flow grid.
var measured = map[string]bool{"Pa": true, "ppm": true, "uA": true, "m3/s": true}

// Every fault changes something that a meter or an eye could find at some time
// of a call.
func TestEveryFaultShows(t *testing.T) {
	for _, id := range IDs() {
		d, _ := Describe(id)
		for _, f := range d.Faults {
			if !shows(t, d, f.ID) {
				t.Errorf("%s: %s changes no reading on any call", id, f.ID)
			}
		}
	}
}

func shows(t *testing.T, d *Description, fault string) bool {
	t.Helper()
	sound, broken := mustBuild(t, d.ID, "healthy"), mustBuild(t, d.ID, fault)
	for _, call := range d.Calls {
		for _, at := range []time.Duration{-time.Second, 300 * time.Millisecond, time.Second, 30 * time.Second, 90 * time.Second, 3 * time.Minute, 200 * time.Second, 5 * time.Minute, 11 * time.Minute} {
			a, b := mustPlay(t, sound, call.ID, 10*time.Minute, at), mustPlay(t, broken, call.ID, 10*time.Minute, at)
			for i, p := range d.Points {
				for _, to := range []string{Ground, d.Ladders[len(d.Ladders)-1].Right, d.Points[max(i-1, 0)].ID} {
					x, err1 := a.Volts(p.ID, to, circuit.HighImpedance)
					y, err2 := b.Volts(p.ID, to, circuit.HighImpedance)
					if err1 == nil && err2 == nil && math.Abs(float64(x-y)) > 1 {
						return true
					}
				}
			}
			for _, f := range d.Flags {
				if a.Flag(f.Name) != b.Flag(f.Name) {
					return true
				}
			}
			for _, q := range d.Quantities {
				x, _ := a.Quantity(q.Name)
				y, _ := b.Quantity(q.Name)
				if measured[q.Unit] && math.Abs(x-y) > 0.05*math.Abs(x) {
					return true
				}
			}
			for _, v := range d.Devices {
				if v.Kind == Load || v.Kind == Motor || v.Kind == Switch {
					x, _ := a.Amps(v.ID)
					y, _ := b.Amps(v.ID)
					if math.Abs(float64(x-y)) > 0.05*math.Max(float64(x), 0.02) {
						return true
					}
				}
			}
		}
	}
	return false
}

// Playing is deterministic, and a play to a moment is what a longer play was then.
func TestPlaysAgree(t *testing.T) {
	for _, id := range IDs() {
		s := mustBuild(t, id, "healthy")
		call := s.Calls[0].ID
		long := mustPlay(t, s, call, 5*time.Minute, 8*time.Minute).Events()
		short := mustPlay(t, s, call, 5*time.Minute, 2*time.Minute).Events()
		if len(short) == 0 || len(short) > len(long) {
			t.Fatalf("%s: %d events, then %d", id, len(short), len(long))
		}
		for i, e := range short {
			if e != long[i] {
				t.Errorf("%s: event %d is %+v, then %+v", id, i, e, long[i])
			}
		}
	}
}

// The full sequence of the largest system. Budget 1 ms.
func BenchmarkPlay(b *testing.B) {
	for _, id := range IDs() {
		s := mustBuild(b, id, "healthy")
		b.Run(id, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				mustPlay(b, s, s.Calls[0].ID, 5*time.Minute, 8*time.Minute)
			}
		})
	}
}

// Budget 20 ms: every description and its faults read, once in a program's life.
func BenchmarkLibrary(b *testing.B) {
	for b.Loop() {
		for _, id := range IDs() {
			if _, err := describe(id + ".txt"); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// Budget 0.5 ms: a description built with a fault, as for each severity of each.
func BenchmarkBuild(b *testing.B) {
	for _, id := range []string{"gas-furnace", "furnace-condensing", "heat-pump"} {
		d, _ := Describe(id)
		b.Run(id, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := d.Build(d.Faults[0].Edits...); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// An hour of the system with the longest timers. Budget 5 ms.
func BenchmarkLongPlay(b *testing.B) {
	s := mustBuild(b, "heat-pump", "healthy")
	b.ReportAllocs()
	for b.Loop() {
		mustPlay(b, s, "heat", 50*time.Minute, time.Hour)
	}
}

// Budget 20 µs: a point probed once the system is solved.
func BenchmarkProbe(b *testing.B) {
	for _, id := range IDs() {
		s := mustBuild(b, id, "healthy")
		p := mustPlay(b, s, s.Calls[0].ID, 5*time.Minute, time.Minute)
		b.Run(id, func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				if _, err := p.Volts(s.Points[i%len(s.Points)].ID, Ground, circuit.HighImpedance); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
