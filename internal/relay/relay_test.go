package relay

import (
	"math"
	"strings"
	"testing"
	"time"

	"rung/internal/circuit"
	"rung/internal/published"
	"rung/internal/quantity"
)

// Sequences have no published record in digits: the order of events is that of
// the trade's texts on split systems (practice), the times follow from the
// delays of the test wiring.

func wantStory(t *testing.T, x *splitAir, want string) {
	t.Helper()
	if got, want := x.story(), strings.TrimLeft(want, "\n"); got != want {
		t.Errorf("sequence:\n%swant:\n%s", got, want)
	}
}

func wantMotion(t *testing.T, x *splitAir, compressor, outdoorFan, indoorBlower circuit.Motion) {
	t.Helper()
	for i, want := range []circuit.Motion{comp: compressor, fan: outdoorFan, blower: indoorBlower} {
		if got := x.Motion(i); got != want {
			t.Errorf("%s is %v, want %v", x.Wiring.Drives[i].ID, got, want)
		}
	}
}

func TestHealthyCoolingCall(t *testing.T) {
	x := newSplitAir(t)
	x.call(t, time.Minute)
	wantMotion(t, x, circuit.Turning, circuit.Turning, circuit.Turning)
	x.set(t, Setting{statY, false}, Setting{statG, false})
	x.run(t, 5*time.Minute)
	wantStory(t, x, `
0s command stat-y: r-y closed r-g closed contactor energised relay energised
20ms magnet contactor: contactor pulled-in pole-1 closed pole-2 closed compressor energised compressor started fan energised fan started
20ms magnet relay: relay pulled-in
520ms run-up compressor: compressor running
520ms run-up fan: fan running
5.02s timer relay: blower-contact closed blower energised blower started
5.52s run-up blower: blower running
1m0s command stat-y: r-y opened r-g opened contactor dead relay dead
1m0.02s magnet contactor: contactor dropped-out pole-1 opened pole-2 opened compressor stopped fan stopped
1m0.02s magnet relay: relay dropped-out
2m0.02s timer relay: blower-contact opened blower stopped
`)
	wantMotion(t, x, circuit.AtRest, circuit.AtRest, circuit.AtRest)
}

// stated compares got with the ranges of the trade.
func stated(t *testing.T, got map[string]float64) {
	t.Helper()
	published.Read(t, "condensing-unit.txt").CheckList(t, got)
}

// The first half second draws locked-rotor amps, then running amps.
func TestPublishedStartingCurrent(t *testing.T) {
	x := newSplitAir(t)
	x.call(t, 100*time.Millisecond)
	if !x.Starting(comp) || !x.Starting(fan) {
		t.Error("motors are not starting 0.1 s after the call")
	}
	amps := func() float64 { return float64(circuit.Amps(x.outdoor.Current(x.branch["compressor"]))) }
	locked := amps()
	x.run(t, time.Minute)
	stated(t, map[string]float64{"start locked-rotor-current": locked, "start running-current": amps()})
	var started, running float64
	for _, s := range x.Trace() {
		for _, c := range s.Changes {
			if c.Device != (Device{DriveKind, comp}) {
				continue
			}
			switch c.Event {
			case Started:
				started = c.Value
			case Running:
				running = c.Value
			}
		}
	}
	if !(started > 5*running && running > 0) {
		t.Errorf("trace tells %g A at start and %g A running", started, running)
	}
}

func TestOpenContactorCoil(t *testing.T) {
	x := newSplitAir(t)
	x.Wiring.Coils[contactor].Inrush = complex(float64(circuit.Open), 0)
	x.Wiring.Coils[contactor].Jammed = true // no current, no pull
	x.call(t, time.Minute)
	wantMotion(t, x, circuit.AtRest, circuit.AtRest, circuit.Turning)
	if v := x.CoilVolts(contactor); v < 24 {
		t.Errorf("%g V across an open coil, want the whole control voltage", float64(v))
	}
	if a := circuit.Amps(x.indoor.Current(x.branch["contactor-coil"])); a > 1e-6 {
		t.Errorf("%g A through an open coil", float64(a))
	}
}

// A short of 0.05 ohm puts 8.1 A through a 3 A blade fuse.
func TestPublishedShortedControlWireBlowsFuse(t *testing.T) {
	x := newSplitAir(t)
	x.indoor.SetResistance(x.branch["short"], 0.05)
	x.call(t, time.Minute)
	wantStory(t, x, `
0s command stat-y: r-y closed r-g closed relay energised
270ms overheated control-fuse: control-fuse blown control-fuse opened relay dead
`)
	if !x.Blown(controlFuse) {
		t.Error("fuse is whole")
	}
	for _, s := range x.Trace() {
		if s.Cause.By == Overheated {
			stated(t, map[string]float64{"shorted-wire fuse-opens-after": s.At.Seconds()})
		}
	}
	wantMotion(t, x, circuit.AtRest, circuit.AtRest, circuit.AtRest)
	sec, _ := x.indoor.NodeNamed("sec")
	board, _ := x.indoor.NodeNamed("R")
	if v := x.indoor.Meter(sec, board, circuit.HighImpedance); v < 24 {
		t.Errorf("%g V across the blown fuse, want the whole secondary", float64(v))
	}
}

// practice: with the common open to the outdoor unit, both coil terminals read
// the control voltage to ground and nothing across.
func TestPublishedOpenCommon(t *testing.T) {
	x := newSplitAir(t)
	x.indoor.SetResistance(x.branch["outdoor-c"], circuit.Open)
	x.call(t, time.Minute)
	wantMotion(t, x, circuit.AtRest, circuit.AtRest, circuit.Turning)
	coil1, _ := x.indoor.NodeNamed("Yo")
	coil2, _ := x.indoor.NodeNamed("Co")
	volts := func(a, b circuit.Node) float64 { return float64(x.indoor.Meter(a, b, circuit.HighImpedance)) }
	stated(t, map[string]float64{
		"open-common ground-to-coil-terminal-Y": volts(coil1, circuit.Ground),
		"open-common ground-to-coil-terminal-C": volts(coil2, circuit.Ground),
		"open-common across-the-coil":           volts(coil1, coil2),
	})
}

// practice: 15 ohm from Y to C draws about 1.5 A more than the coils, never
// opens the 3 A fuse, overloads a 40 VA transformer (1.67 A) and weakens
// pull-in: a coil that needs 20 V no longer gets it, one that needs 18 V does.
func TestPublishedPartialShortWeakensPullIn(t *testing.T) {
	x := newSplitAir(t)
	pull := func(ohms, pullIn float64) quantity.Voltage {
		x.indoor.SetResistance(x.branch["short"], quantity.Resistance(ohms))
		x.Wiring.Coils[contactor].PullIn = quantity.Voltage(pullIn)
		x.call(t, 10*time.Millisecond)
		before := x.CoilVolts(contactor)
		x.run(t, time.Hour)
		if x.Blown(controlFuse) {
			t.Errorf("fuse blown by %g ohm", ohms)
		}
		return before
	}
	sound, weak := pull(float64(circuit.Open), 18), pull(15, 18)
	if !(weak < sound-2) {
		t.Errorf("%g V at the coil before it moves, %g V when sound: want a clear loss", float64(weak), float64(sound))
	}
	if !x.PulledIn(contactor) {
		t.Errorf("coil that pulls in at 18 V stays out at %g V", float64(weak))
	}
	amps := circuit.Amps(x.indoor.Current(x.branch["control-fuse"]))
	stated(t, map[string]float64{"partial-short current-through-the-fuse": float64(amps)}) // transformer 1.67 A, fuse 3 A
	pull(15, 20)
	if x.PulledIn(contactor) || x.Motion(comp) != circuit.AtRest {
		t.Errorf("coil that needs 20 V pulled in at %g V", float64(x.CoilVolts(contactor)))
	}
	pull(float64(circuit.Open), 20)
	if !x.PulledIn(contactor) {
		t.Error("coil that needs 20 V stays out on a sound circuit")
	}
}

// practice: an internal overload opens 2 to 20 s after a locked start and
// closes again after half an hour to some hours.
func TestPublishedLockedCompressorTripsOverload(t *testing.T) {
	x := newSplitAir(t)
	x.Wiring.Drives[comp].Load.Starting = 3
	x.call(t, time.Minute)
	if !x.Tripped(overload) {
		t.Fatal("overload is closed a minute after a locked start")
	}
	wantMotion(t, x, circuit.AtRest, circuit.Turning, circuit.Turning)
	var tripped, restored time.Duration
	x.run(t, 4*time.Hour)
	for _, s := range x.Trace() {
		switch {
		case s.Cause.By == Overheated && tripped == 0:
			tripped = s.At
		case s.Cause.By == Cooled && restored == 0:
			restored = s.At
		}
	}
	stated(t, map[string]float64{
		"locked-compressor overload-opens-after":  tripped.Seconds(),
		"locked-compressor overload-closes-after": restored.Seconds(),
	})
}

func TestOpenRunCapacitor(t *testing.T) {
	x := newSplitAir(t)
	x.outdoor.SetCapacitance(x.branch["fan-capacitor"], 0)
	x.call(t, time.Minute)
	wantMotion(t, x, circuit.Turning, circuit.Stalled, circuit.Turning)
}

// One welded pole keeps one leg on the motors, which do not run on it.
func TestWeldedAndBurntPoles(t *testing.T) {
	x := newSplitAir(t)
	x.Wiring.Coils[contactor].Contacts[1].Fault = Welded
	x.call(t, time.Second)
	x.set(t, Setting{statY, false}, Setting{statG, false})
	x.run(t, time.Minute)
	t1, _ := x.outdoor.NodeNamed("T1")
	if v := x.outdoor.Meter(t1, circuit.Ground, circuit.HighImpedance); v < 115 {
		t.Errorf("T1 to ground %g V through the windings, want the leg's 120", float64(v))
	}
	if x.Motion(comp) != circuit.AtRest {
		t.Error("compressor runs on one leg")
	}
	x.Wiring.Coils[contactor].Contacts[0].Fault = Burnt
	x.call(t, time.Minute)
	wantMotion(t, x, circuit.AtRest, circuit.AtRest, circuit.Turning)
}

func TestHighPressureSwitchAndFloat(t *testing.T) {
	x := newSplitAir(t)
	x.call(t, time.Minute)
	sense := func(p float64, want circuit.Motion) {
		t.Helper()
		if err := x.Sense(highPressure, p); err != nil {
			t.Fatal(err)
		}
		x.run(t, x.Now()+10*time.Second)
		if got := x.Motion(comp); got != want {
			t.Errorf("at %g Pa the compressor is %v, want %v", p, got, want)
		}
	}
	sense(4.2e6, circuit.Turning)
	sense(4.4e6, circuit.AtRest)
	sense(3.5e6, circuit.AtRest) // not yet low enough to close
	sense(3.1e6, circuit.Turning)
	x.Wiring.Limits[highPressure].ManualReset = true
	sense(4.4e6, circuit.AtRest)
	sense(1e6, circuit.AtRest)
	if err := x.ResetLimit(highPressure); err != nil {
		t.Fatal(err)
	}
	sense(1e6, circuit.Turning)
	x.set(t, Setting{float, false})
	x.run(t, x.Now()+time.Second)
	wantMotion(t, x, circuit.AtRest, circuit.AtRest, circuit.Turning)
}

func TestLockOutHoldsContactsOpen(t *testing.T) {
	x := newSplitAir(t)
	x.Wiring.Coils[contactor].LockOut = 5 * time.Minute
	x.call(t, time.Minute)
	x.set(t, Setting{statY, false})
	x.run(t, 2*time.Minute)
	x.set(t, Setting{statY, true})
	x.run(t, 5*time.Minute)
	if x.Motion(comp) != circuit.AtRest {
		t.Error("compressor runs four minutes after it stopped")
	}
	x.run(t, 7*time.Minute)
	if x.Motion(comp) != circuit.Turning {
		t.Error("compressor stands six minutes after it stopped")
	}
}

// A loose feed to the air handler carries the 24 V side but not the start of
// the blower: the relay drops out, the voltage comes back, and so on.
func TestSaggingSupplyChatters(t *testing.T) {
	x := newSplitAir(t)
	x.Wiring.Coils[relay].OnDelay, x.Wiring.Coils[relay].OffDelay = 0, 0
	source := branchNamed(t, x.indoor, "hot")
	x.indoor.SetImpedance(source, 20)
	x.call(t, time.Minute)
	if !x.Chattering(relay) {
		t.Fatalf("relay does not chatter:\n%s", x.story())
	}
	if n := len(x.Trace()); n > 60 {
		t.Errorf("%d steps", n)
	}
	x.indoor.SetImpedance(source, 0.05)
	x.call(t, time.Minute)
	if x.Chattering(relay) || x.Motion(blower) != circuit.Turning {
		t.Error("relay still chatters on a sound feed")
	}
}

func branchNamed(t *testing.T, n *circuit.Net, name string) circuit.Branch {
	t.Helper()
	for b := circuit.Branch(0); int(b) < n.Branches(); b++ {
		if n.BranchName(b) == name {
			return b
		}
	}
	t.Fatalf("no branch %q", name)
	return 0
}

// Electronics that feed on the circuit they break: the shorted call pulls the
// thermostat's own supply down. One that lives through the dip lets the fuse
// blow; one that does not comes back again and again, which is cut short and
// told.
func TestThermostatLosesSupply(t *testing.T) {
	x := newSplitAir(t)
	r, _ := x.indoor.NodeNamed("tR")
	c, _ := x.indoor.NodeNamed("C")
	supply := &Supply{Probe: Probe{indoorNet, r, c}, Least: 15, Loses: 500 * time.Millisecond, Returns: 5 * time.Second}
	x.Wiring.Switches[statY].Supply = supply
	x.Wiring.Switches[statG].Supply = supply
	x.indoor.SetResistance(x.branch["short"], 0.05)
	x.call(t, time.Hour)
	if !x.Blown(controlFuse) || x.indoor.Closed(x.branch["r-y"]) {
		t.Errorf("want a blown fuse and R-Y open on a dead thermostat:\n%s", x.story())
	}
	supply.Loses = 50 * time.Millisecond
	x.call(t, time.Second)
	if x.Blown(controlFuse) || x.indoor.Closed(x.branch["r-y"]) {
		t.Errorf("want a whole fuse and R-Y open:\n%s", x.story())
	}
	if err := x.Run(24 * time.Hour); err != nil {
		t.Fatal(err)
	}
	if !x.Unsettled() {
		t.Error("a day of dropping out and coming back is settled")
	}
}

// Equal input gives an equal trace, and a machine used before gives that of a
// new one.
func TestDeterministic(t *testing.T) {
	x, y := newSplitAir(t), newSplitAir(t)
	x.indoor.SetResistance(x.branch["short"], 0.05)
	x.call(t, time.Hour)
	x.indoor.SetResistance(x.branch["short"], circuit.Open)
	x.call(t, time.Hour)
	y.call(t, time.Hour)
	if x.story() != y.story() {
		t.Errorf("second use:\n%snew:\n%s", x.story(), y.story())
	}
	a, b := x.outdoor.Current(x.branch["compressor"]), y.outdoor.Current(y.branch["compressor"])
	if a != b {
		t.Errorf("compressor current %v on second use, %v when new", a, b)
	}
}

func TestPublishedOpeningTimes(t *testing.T) {
	curves := map[string]Curve{"blade": BladeFuse, "time-delay": TimeDelayFuse, "breaker": InverseTimeBreaker}
	for _, row := range published.Read(t, "opening-times.txt").Rows {
		device := row.Text("device")
		got := curves[device].opens(0, row.Number(t, "times"))
		if row.Text("least") == "-" {
			opens := "opens"
			if got == never {
				opens = "stays closed"
			}
			row.CheckWord(t, device+": near the rating", opens, "stays closed")
			continue
		}
		row.CheckRange(t, device+": opens after[s]", got.Seconds(), row.Number(t, "least"), row.Number(t, "most"))
	}
}

// Heating in two halves is heating in one.
func TestHeatIsAFunctionOfTime(t *testing.T) {
	o := MotorOverload
	for _, x := range []float64{0, 1, 3, 5} {
		for _, closed := range []bool{true, false} {
			half := o.after(o.after(0.4, x, closed, 3*time.Second), x, closed, 3*time.Second)
			whole := o.after(0.4, x, closed, 6*time.Second)
			if math.Abs(half-whole) > 1e-12 { // rounding
				t.Errorf("x = %g: %g in two halves, %g in one", x, half, whole)
			}
		}
	}
	at := o.opens(0.2, 5)
	if heat := o.after(0.2, 5, true, at); heat < 1 || heat > 1+1e-5 { // rounded up to a microsecond
		t.Errorf("heat %g when it opens, want 1", heat)
	}
}

func TestNewChecksWiring(t *testing.T) {
	x := newSplitAir(t)
	for name, spoil := range map[string]func(*Wiring){
		"coil on a switch":      func(w *Wiring) { w.Coils[0].Place.Branch = x.branch["r-y"] },
		"contact on a resistor": func(w *Wiring) { w.Switches[0].Contact.Branch = x.branch["cable-r"] },
		"no such network":       func(w *Wiring) { w.Fuses[0].Contacts = []Place{{Net: 7}} },
		"drive on a capacitor":  func(w *Wiring) { w.Drives[0].Motor.Branch = x.branch["herm"] },
		"drops out above":       func(w *Wiring) { w.Coils[0].DropOut = 30 },
		"limit without span":    func(w *Wiring) { w.Limits[0].Closes = w.Limits[0].Opens },
	} {
		w := newSplitAir(t).Wiring
		spoil(&w)
		if _, err := New(w); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
