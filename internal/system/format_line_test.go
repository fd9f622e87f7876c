package system

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rung/internal/circuit"
	"rung/internal/relay"
)

// fanUnit is the least line side: a fan behind a two-pole breaker, a fuse and
// its protector, called by a thermostat or by a hand at its pins.
const fanUnit = `
system fan-unit
name "Fan unit"
point P1 "leg 1" panel line
point P2 "leg 2" panel line
point B1 "breaker 1" panel line
point B2 "breaker 2" panel line
point L1 "behind the fuse" unit line
point T1 "behind the contact" unit line
point in "behind the protector" unit line bare
point S "start" unit line
source leg-1 "Leg 1" P1 ground volts=120
source leg-2 "Leg 2" P2 ground volts=-120
breaker b1 "Breaker 1" P1 B1 amps=15
breaker b2 "Breaker 2" P2 B2 amps=15 with=b1
fuse f "Fuse" B1 L1 amps=5 curve=time-delay
thermostat t "Thermostat" L1 T1
switch pins "Pins" L1 T1 normal=open
overload o "Protector" T1 in amps=1.42
motor fan "Fan" B2 in S use=fan watts=186 volts=230
capacitor c "Capacitor" S B2 uf=5
call on "On" t
call by-hand "By hand" pins
step t:closed
step fan
sequence by-hand
step pins:closed
step fan
`

func TestLineSideRefuses(t *testing.T) {
	for _, c := range []struct{ line, because string }{
		{`overload o2 "Protector" T1 in`, "wants the amps"},
		{`breaker b3 "Breaker" P2 B2 amps=15 with=b9`, "no fuse or breaker b9"},
		{`motor m "Fan" B2 in S use=fan watts=186 volts=230 run-ohms=0`, "ohms of a winding"},
		{`switch closed "Closed" L1 T1` + "\n" + `call c "C" closed`, "closed is no contact"},
		{"step by-hand:closed", "want a device"},
		{"set fan full=pins", "wants eased"},
		{"set fan full=nothing eased=0.5", "no load, coil, motor or flag"},
		{"set no-fan eased=0.5", "no device no-fan"},
	} {
		d, err := parse("fan", fanUnit+c.line+"\n")
		if err == nil {
			_, err = d.Build()
		}
		if err == nil || !strings.Contains(err.Error(), c.because) {
			t.Errorf("%s: %v, want %s", c.line, err, c.because)
		}
	}
}

// playFan builds the fan unit with edits and plays a call.
func playFan(t *testing.T, call string, at time.Duration, edits ...string) *Play {
	t.Helper()
	d, err := parse("fan", fanUnit)
	if err != nil {
		t.Fatal(err)
	}
	var list []Edit
	for _, text := range edits {
		e, err := ParseEdit(text)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, e)
	}
	s, err := d.Build(list...)
	if err != nil {
		t.Fatal(err)
	}
	return mustPlay(t, s, call, time.Hour, at)
}

// A motor that does not start opens its protector, not the fuse, and the
// protector closes again when the motor has cooled.
// practice: a small motor at rest draws about twice its amps; its protector opens within a minute or two and
// closes after about half an hour to an hour
func TestProtectorOpensAndCloses(t *testing.T) {
	p := playFan(t, "on", time.Hour, "open c")
	var opened, closed time.Duration
	for _, e := range p.Events() {
		switch {
		case e.ID == "o" && e.What == relay.Tripped && opened == 0:
			opened = e.At
		case e.ID == "o" && e.What == relay.Restored && closed == 0:
			closed = e.At
		}
	}
	if opened < 10*time.Second || opened > 2*time.Minute || closed < 30*time.Minute || closed > time.Hour {
		t.Errorf("the protector opens at %v and closes at %v", opened, closed)
	}
	if !p.Closed("f") {
		t.Error("the fuse has opened too")
	}
}

// Either pole of a breaker opens both, from the start and on a short.
func TestPolesOpenTogether(t *testing.T) {
	for _, edit := range []string{"open b1", "open b2", "short B2 ground 0.05", "short B1 B2 0.05"} {
		p := playFan(t, "on", time.Minute, edit)
		if p.Closed("b1") || p.Closed("b2") {
			t.Errorf("%s: poles closed: %v, %v", edit, p.Closed("b1"), p.Closed("b2"))
		}
	}
}

// A time-delay fuse carries a start that would melt a blade.
// practice: time-delay fuses stand motor starts of several times their rating
func TestFuseCurves(t *testing.T) {
	for _, c := range []struct {
		curve string
		holds bool
	}{{"time-delay", true}, {"blade", false}} {
		p := playFan(t, "on", time.Minute, "value f curve "+c.curve, "value f amps 1.3")
		if p.Closed("f") != c.holds {
			t.Errorf("%s: the fuse holds: %v, want %v", c.curve, p.Closed("f"), c.holds)
		}
	}
}

// An open winding draws nothing at its own terminal and takes the torque away.
func TestOpenWindings(t *testing.T) {
	for _, w := range []string{"run", "start"} {
		if p := playFan(t, "on", 10*time.Second, "winding fan "+w+" 1e9"); p.Works("fan") {
			t.Errorf("a fan with an open %s winding starts", w)
		}
	}
	p := playFan(t, "on", 10*time.Second, "winding fan run 1e9", "winding fan start 1e9")
	if a, err := p.Amps("fan"); err != nil || a > 0.001 {
		t.Errorf("a fan with both windings open draws %v A, %v", a, err)
	}
}

// A motor eased by a condition draws less without it, and more from the moment
// it holds.
func TestEasedMotor(t *testing.T) {
	s := mustBuild(t, "two-stage-air-conditioner", "healthy")
	at := func(moment time.Duration) float64 {
		a, err := mustPlay(t, s, "cool", 10*time.Minute, moment).Amps("compressor")
		if err != nil {
			t.Fatal(err)
		}
		return float64(a)
	}
	first, second := at(3*time.Minute), at(5*time.Minute)
	// practice: the first stage of a two-stage compressor draws about two thirds to four fifths of the second
	if share := first / second; !(0.6 < share && share < 0.85) {
		t.Errorf("%.3g A in the first stage, %.3g A in the second", first, second)
	}
}

// A compressor that has to start against most of its load does so with the
// start assist and not without.
// practice: what a start assist is for
func TestStartAssist(t *testing.T) {
	d, _ := Describe("gas-furnace-with-air-conditioner")
	hard := []Edit{{"value", "compressor", "starting", "0.9"}, {"value", "start-capacitor", "uf", "170"}}
	for _, c := range []struct {
		edits []Edit
		runs  bool
	}{{hard, true}, {append(hard, Edit{"open", "start-relay/contact"}), false}} {
		s, err := d.Build(c.edits...)
		if err != nil {
			t.Fatal(err)
		}
		if p := mustPlay(t, s, "cool", 10*time.Minute, time.Minute); p.Works("compressor") != c.runs {
			t.Errorf("with %v the compressor runs: %v, want %v", c.edits, p.Works("compressor"), c.runs)
		}
	}
}

// A call of its own sequence is followed by it, others by that of the first.
func TestSequencesOfCalls(t *testing.T) {
	p := playFan(t, "by-hand", 10*time.Second)
	if got := p.StoppedIn("by-hand"); got != "" {
		t.Errorf("by hand it stops at %q", got)
	}
	if got := p.StoppedAt(); got != "t:closed" {
		t.Errorf("by the first sequence it stops at %q, want t:closed", got)
	}
	if got := playFan(t, "on", 10*time.Second, "demand on pins").StoppedIn("by-hand"); got != "" {
		t.Errorf("a call that is told to close the pins stops at %q", got)
	}
}

// A part that is included twice has ids and labels of its own each time.
func TestPartTwice(t *testing.T) {
	d, _ := Describe("two-systems")
	for up, label := range map[string]string{"up": "Compressor, up", "dn": "Compressor, down"} {
		v, ok := d.Device(up + "-compressor")
		if !ok || v.Label != label {
			t.Errorf("%s-compressor has the label %q, want %q", up, v.Label, label)
		}
	}
}

// The contactor of one and a half poles leaves the motor terminals live with the
// contactor out; two poles leave them dead, and a broken leg shows a ghost that
// a low-impedance meter takes away.
// practice: the reasons for testing dead at T1 and T2, each to ground, and for a second meter
func TestContactorOut(t *testing.T) {
	for _, c := range []struct {
		system, fault, point string
		meter                string
		least, most          float64
	}{
		{"split-air-conditioner", "healthy", "T1", "high", 115, 125},
		{"split-air-conditioner", "healthy", "T2", "low", 115, 125},
		{"two-stage-air-conditioner", "healthy", "T1", "high", 0, 1},
		{"two-stage-air-conditioner", "line-conductor-open", "D1", "high", 20, 60},
		{"two-stage-air-conditioner", "line-conductor-open", "D1", "low", 0, 1},
	} {
		s := mustBuild(t, c.system, c.fault)
		meter := circuit.HighImpedance
		if c.meter == "low" {
			meter = circuit.LowImpedance
		}
		v, err := mustPlay(t, s, s.Calls[0].ID, time.Minute, -time.Second).Volts(c.point, Ground, meter)
		if err != nil || !(c.least <= float64(v) && float64(v) <= c.most) {
			t.Errorf("%s: %s reads %.3g, want %g to %g (%v)", fmt.Sprint(c.system, ", ", c.fault), c.point, float64(v), c.least, c.most, err)
		}
	}
}
