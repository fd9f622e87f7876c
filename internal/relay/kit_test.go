package relay

import (
	"math"
	"testing"
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

// hardStart is a compressor with a start capacitor behind a potential relay,
// switched on at time zero against a full pressure difference.
func hardStart(t *testing.T, added quantity.Capacitance) *Machine {
	t.Helper()
	m := mustSelect(t, circuit.CompressorMotor, 10551, 230)
	b := circuit.NewBuilder(circuit.BaseFrequency)
	n := b.Node
	b.Source("line", n("L"), circuit.Ground, 238, 0.16+0.04i)
	on := b.Switch("contactor", n("L"), n("R"), 0.002)
	motor := b.Motor("compressor", n("R"), circuit.Ground, n("S"), m.Motor)
	b.Capacitor("run-capacitor", n("S"), n("R"), m.RunCapacitor)
	b.Capacitor("start-capacitor", n("S"), n("k"), added)
	contact := b.Switch("start-contact", n("k"), n("R"), 0.01)
	load := m.Load()
	load.Starting = 1
	x, err := New(Wiring{
		Nets:     []*circuit.Net{mustCompile(t, b)},
		Switches: []Switch{{ID: "on", Contact: Place{0, on}}},
		Coils: []Coil{{ID: "potential-relay", SenseOnly: true, Probe: Probe{0, n("S"), circuit.Ground}, PullIn: 200, DropOut: 90,
			Contacts: []Contact{{Place: Place{0, contact}, NormallyClosed: true}}}},
		Drives: []Drive{{ID: "compressor", Motor: Place{0, motor}, Load: load, Rated: 230}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := x.Reset(); err != nil {
		t.Fatal(err)
	}
	if err := x.Set(Setting{0, true}); err != nil {
		t.Fatal(err)
	}
	if err := x.Run(10 * time.Second); err != nil {
		t.Fatal(err)
	}
	return x
}

// practice: a start capacitor of 88 to 227 µF behind a potential relay starts a
// compressor against a pressure difference that its run capacitor alone does
// not overcome, and is out of the circuit while it runs.
func TestPotentialRelay(t *testing.T) {
	if got := hardStart(t, 0).Motion(0); got != circuit.Stalled {
		t.Errorf("run capacitor alone: %v, want stalled", got)
	}
	x := hardStart(t, 200e-6)
	if got := x.Motion(0); got != circuit.Turning {
		t.Errorf("with a start capacitor: %v, want turning", got)
	}
	n := x.Wiring.Nets[0]
	if !x.PulledIn(0) || n.Closed(x.Wiring.Coils[0].Contacts[0].Place.Branch) {
		t.Errorf("start capacitor still in the circuit at %g V", float64(x.CoilVolts(0)))
	}
}

// A motor that gets less to turn draws less at once, and one that gets more
// than it can turn stops.
func TestSetLoad(t *testing.T) {
	x := hardStart(t, 200e-6)
	amps := func() float64 { return x.driveAmps(0) }
	full, load := amps(), x.Wiring.Drives[0].Load
	light := load
	light.Torque *= 0.6
	heavy := load
	heavy.Torque *= 10
	for _, c := range []struct {
		load   circuit.Load
		motion circuit.Motion
		more   float64 // than at full load
	}{{light, circuit.Turning, -1}, {load, circuit.Turning, 0}, {heavy, circuit.Stalled, 1}} {
		if err := x.SetLoad(0, c.load); err != nil {
			t.Fatal(err)
		}
		if d := amps() - full; x.Motion(0) != c.motion || d*c.more < 0 || c.more == 0 && math.Abs(d) > 1e-3 || c.more != 0 && math.Abs(d) < 1 {
			t.Errorf("torque %.3g: %v at %.4g A, full load %.4g A", float64(c.load.Torque), x.Motion(0), amps(), full)
		}
	}
}

// A coil that breaks its own circuit is a buzzer.
func TestBuzzerChatters(t *testing.T) {
	b := circuit.NewBuilder(circuit.BaseFrequency)
	n := b.Node
	b.Source("line", n("R"), circuit.Ground, 24, 1)
	contact := b.Switch("own-contact", n("R"), n("a"), 0.01)
	coil := b.Impedance("coil", n("a"), circuit.Ground, 9+9i)
	x, err := New(Wiring{
		Nets: []*circuit.Net{mustCompile(t, b)},
		Coils: []Coil{{ID: "coil", Place: Place{0, coil}, Inrush: 9 + 9i, Sealed: 18 + 62i, PullIn: 18, DropOut: 10,
			Contacts: []Contact{{Place: Place{0, contact}, NormallyClosed: true}}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := x.Reset(); err != nil {
		t.Fatal(err)
	}
	if err := x.Run(time.Hour); err != nil {
		t.Fatal(err)
	}
	if !x.Chattering(0) || x.Unsettled() {
		t.Errorf("chattering %v, cut short %v, want a chattering coil", x.Chattering(0), x.Unsettled())
	}
}
