package relay

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

// splitAir is a split air conditioner with a permanent-split-capacitor blower:
// the condensing unit and control circuit of the published networks of package
// circuit, with contacts in place of closed resistors.
type splitAir struct {
	*Machine
	outdoor, indoor *circuit.Net
	branch          map[string]circuit.Branch
}

// Indices of the devices of splitAir.
const (
	statY, statG, float = 0, 1, 2
	highPressure        = 0
	contactor, relay    = 0, 1
	controlFuse         = 0
	overload            = 0
	comp, fan, blower   = 0, 1, 2
)

const (
	outdoorNet = iota
	indoorNet
)

func newSplitAir(t testing.TB) *splitAir {
	t.Helper()
	x := &splitAir{branch: map[string]circuit.Branch{}}
	w := Wiring{}
	x.outdoor = x.outdoorUnit(t, &w)
	x.indoor = x.airHandler(t, &w)
	w.Nets = []*circuit.Net{outdoorNet: x.outdoor, indoorNet: x.indoor}
	x.devices(&w)
	m, err := New(w)
	if err != nil {
		t.Fatal(err)
	}
	x.Machine = m
	return x
}

func mustSelect(t testing.TB, use circuit.MotorUse, nominal quantity.Power, volts quantity.Voltage) circuit.MotorType {
	t.Helper()
	m, err := circuit.SelectMotor(use, nominal, volts)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func mustCompile(t testing.TB, b *circuit.Builder) *circuit.Net {
	t.Helper()
	n, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func (x *splitAir) outdoorUnit(t testing.TB, w *Wiring) *circuit.Net {
	b := circuit.NewBuilder(circuit.BaseFrequency)
	n := b.Node
	compressor, outdoorFan := mustSelect(t, circuit.CompressorMotor, 10551, 230), mustSelect(t, circuit.FanMotor, 186, 230)
	b.Source("leg-1", n("p1"), circuit.Ground, 120, 0.082+0.02i) // service and branch conductor
	b.Source("leg-2", n("p2"), circuit.Ground, -120, 0.082+0.02i)
	x.branch["fuse-1"] = b.Switch("fuse-1", n("p1"), n("L1"), 0.003)
	x.branch["fuse-2"] = b.Switch("fuse-2", n("p2"), n("L2"), 0.003)
	x.branch["pole-1"] = b.Switch("pole-1", n("L1"), n("T1"), 0.002)
	x.branch["pole-2"] = b.Switch("pole-2", n("L2"), n("T2"), 0.002)
	x.branch["overload"] = b.Switch("overload", n("T1"), n("compC"), 0.005)
	x.branch["compressor"] = b.Motor("compressor", n("T2"), n("compC"), n("HERM"), compressor.Motor)
	x.branch["herm"] = b.Capacitor("herm", n("HERM"), n("T2"), compressor.RunCapacitor)
	x.branch["fan"] = b.Motor("fan", n("T2"), n("T1"), n("FAN"), outdoorFan.Motor)
	x.branch["fan-capacitor"] = b.Capacitor("fan-capacitor", n("FAN"), n("T2"), outdoorFan.RunCapacitor)
	w.Drives = append(w.Drives,
		Drive{ID: "compressor", Motor: Place{outdoorNet, x.branch["compressor"]}, Load: compressor.Load(), Rated: 230},
		Drive{ID: "fan", Motor: Place{outdoorNet, x.branch["fan"]}, Load: outdoorFan.Load(), Rated: 230})
	w.Overloads = []Overload{{ID: "overload", Contact: Place{outdoorNet, x.branch["overload"]}, Rating: 15, Thermal: MotorOverload}}
	return mustCompile(t, b)
}

func (x *splitAir) airHandler(t testing.TB, w *Wiring) *circuit.Net {
	b := circuit.NewBuilder(circuit.BaseFrequency)
	n := b.Node
	motor := mustSelect(t, circuit.BlowerMotor, 373, 115)
	b.Source("hot", n("h"), circuit.Ground, 120, 0.05)
	b.Transformer("transformer", n("h"), circuit.Ground, n("sec"), n("C"),
		circuit.Transformer{Ratio: 4.3, Primary: 24 + 3i, Secondary: 0.8 + 0.15i, Magnetising: 450 + 1800i})
	b.Resistor("bond", n("C"), circuit.Ground, 0.01)
	wire := func(name, from, to string, r quantity.Resistance) {
		x.branch[name] = b.Resistor(name, n(from), n(to), r)
	}
	contact := func(name, from, to string) { x.branch[name] = b.Switch(name, n(from), n(to), 0.05) }
	x.branch["control-fuse"] = b.Switch("control-fuse", n("sec"), n("R"), 0.02)
	wire("cable-r", "R", "tR", 0.2)
	contact("r-y", "tR", "tY")
	wire("cable-y", "tY", "Y", 0.2)
	contact("float", "Y", "Yf")
	contact("high-pressure", "Yf", "Yh")
	wire("outdoor-y", "Yh", "Yo", 0.4)
	wire("outdoor-c", "Co", "C", 0.4)
	wire("short", "Yo", "Co", circuit.Open)
	x.branch["contactor-coil"] = b.Impedance("contactor-coil", n("Yo"), n("Co"), 9+9i)
	contact("r-g", "tR", "tG")
	wire("cable-g", "tG", "G", 0.2)
	x.branch["relay-coil"] = b.Impedance("relay-coil", n("G"), n("C"), 75+120i)
	x.branch["blower-contact"] = b.Switch("blower-contact", n("h"), n("tap"), 0.01)
	x.branch["blower"] = b.Motor("blower", n("tap"), circuit.Ground, n("aux"), motor.Motor)
	x.branch["blower-capacitor"] = b.Capacitor("blower-capacitor", n("aux"), n("tap"), motor.RunCapacitor)
	w.Drives = append(w.Drives, Drive{ID: "blower", Motor: Place{indoorNet, x.branch["blower"]}, Load: motor.Load(), Rated: 115})
	return mustCompile(t, b)
}

func (x *splitAir) devices(w *Wiring) {
	in := func(name string) Place { return Place{indoorNet, x.branch[name]} }
	out := func(name string) Place { return Place{outdoorNet, x.branch[name]} }
	w.Switches = []Switch{{ID: "stat-y", Contact: in("r-y")}, {ID: "stat-g", Contact: in("r-g")}, {ID: "float", Contact: in("float"), NormallyClosed: true}}
	w.Limits = []Limit{{ID: "high-pressure", Contact: in("high-pressure"), Opens: 4.3e6, Closes: 3.2e6}}
	w.Coils = []Coil{
		{ID: "contactor", Place: in("contactor-coil"), Inrush: 9 + 9i, Sealed: 18 + 62i, PullIn: 18, DropOut: 10,
			Contacts: []Contact{{Place: out("pole-1")}, {Place: out("pole-2")}}},
		{ID: "relay", Place: in("relay-coil"), Inrush: 75 + 120i, Sealed: 75 + 120i, PullIn: 18, DropOut: 8,
			OnDelay: 5 * time.Second, OffDelay: 60 * time.Second, Contacts: []Contact{{Place: in("blower-contact")}}},
	}
	w.Fuses = []Fuse{{ID: "control-fuse", Contacts: []Place{in("control-fuse")}, Rating: 3, Curve: BladeFuse}}
}

// call resets x, asks for cooling and lets it run.
func (x *splitAir) call(t testing.TB, until time.Duration) {
	t.Helper()
	if err := x.Reset(); err != nil {
		t.Fatal(err)
	}
	x.set(t, Setting{statY, true}, Setting{statG, true})
	x.run(t, until)
}

func (x *splitAir) set(t testing.TB, list ...Setting) {
	t.Helper()
	if err := x.Set(list...); err != nil {
		t.Fatal(err)
	}
}

func (x *splitAir) run(t testing.TB, until time.Duration) {
	t.Helper()
	if err := x.Run(until); err != nil {
		t.Fatal(err)
	}
	if x.Unsettled() {
		t.Fatal("Run was cut short")
	}
}

// story prints the trace, one step per line: time, cause, device: changes.
func (x *splitAir) story() string {
	var b strings.Builder
	for _, s := range x.Trace() {
		fmt.Fprintf(&b, "%v %v %s:", s.At.Round(10*time.Millisecond), s.Cause.By, x.Wiring.ID(s.Cause.Device))
		for _, c := range s.Changes {
			name := x.Wiring.ID(c.Device)
			if c.Event == Closed || c.Event == Opened {
				name = x.Wiring.Nets[c.Place.Net].BranchName(c.Place.Branch)
			}
			fmt.Fprintf(&b, " %s %v", name, c.Event)
		}
		b.WriteByte('\n')
	}
	return b.String()
}
