package system

import (
	"strings"
	"testing"
	"time"
)

// lamp is the least system: a lamp behind a thermostat.
const lamp = `
system lamp
name "Lamp"
point a "a" box
point b "b" box
source s "Source" a ground volts=24
thermostat t "Thermostat" a b
load lamp "Lamp" b ground volts=24 watts=6
call on "On" t
`

func TestFormatRefuses(t *testing.T) {
	for _, c := range []struct{ line, because string }{
		{"include no-such-part", "no part no-such-part"},
		{`call late "Late" t@soon`, "t@soon is no time"},
		{`call late "Late" t@-5`, "t@-5 is no time"},
		{`call late "Late" lamp@5`, "lamp is no contact"},
		{"flag f \"F\" lights=b>=20", "no quantity, value or load b"},
		{"flag f \"F\" lights=lamp>=bright", "bright is not a number"},
		{"sequence on\nstep lamp", "no call of that name after the first"},
		{"call off \"Off\" t\nsequence off\nstep s", "no load, coil, motor or flag"},
	} {
		_, err := parse("lamp", lamp+c.line+"\n")
		if err == nil || !strings.Contains(err.Error(), c.because) {
			t.Errorf("%s: %v, want %s", c.line, err, c.because)
		}
	}
}

// A contact may close later than its call begins; one that would close after
// the end does not.
func TestCallBeginsLater(t *testing.T) {
	d, err := parse("lamp", lamp+"thermostat t2 \"Second\" a b\ncall both \"Both\" t2@90 t\n")
	if err != nil {
		t.Fatal(err)
	}
	s, err := d.Build()
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, end := range []time.Duration{2 * time.Minute, time.Minute} {
		actions, err := s.Call("both", 10*time.Second, end)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range actions {
			word := " opens "
			if a.Closed {
				word = " closes "
			}
			told = append(told, a.Device+word+a.At.String())
		}
	}
	want := "t closes 10s, t2 closes 1m40s, t2 opens 2m0s, t opens 2m0s, t closes 10s, t2 opens 1m0s, t opens 1m0s"
	if got := strings.Join(told, ", "); got != want {
		t.Errorf("actions %s\nwant %s", got, want)
	}
}

// The voltage at a load is a condition.
func TestVoltageIsACondition(t *testing.T) {
	d, err := parse("lamp", lamp+"flag bright \"Bright\" lights=lamp>=23\nflag dim \"Dim\" lights=lamp,lamp<=23\n")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		edit        Edit
		bright, dim bool
	}{
		{Edit{"value", "t", "ohms", "0.01"}, true, false},
		{Edit{"value", "t", "ohms", "10"}, false, true},
	} {
		s, err := d.Build(c.edit)
		if err != nil {
			t.Fatal(err)
		}
		p := mustPlay(t, s, "on", time.Minute, 30*time.Second)
		if p.Flag("bright") != c.bright || p.Flag("dim") != c.dim {
			t.Errorf("%v: bright %v, dim %v", c.edit, p.Flag("bright"), p.Flag("dim"))
		}
	}
}

// An open coil has its voltage and does not pull in.
func TestOpenCoilStays(t *testing.T) {
	d, _ := Describe("boiler-zone-circulators")
	s, err := d.Build(Edit{"open", "zone-relay-1"})
	if err != nil {
		t.Fatal(err)
	}
	if p := mustPlay(t, s, "zone-1", time.Minute, 30*time.Second); p.Works("zone-relay-1") || p.Closed("zone-relay-1/pump") {
		t.Error("a relay with an open coil pulls in")
	}
}
