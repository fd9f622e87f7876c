package relay

import (
	"testing"
	"time"

	"rung/internal/circuit"
)

// Inputs, outputs and modes of a small burner control.
const (
	seesCall = iota
	seesFlame
)

const (
	outGas = iota
	outFan
)

const (
	modeIdle = iota
	modePurge
	modeTrial
	modeBurning
	modeLocked
)

// burner is a control that purges for 15 s, opens its gas valve for a trial of
// 5 s, and locks out for an hour without a flame.
func burner(t *testing.T) *Machine {
	t.Helper()
	b := circuit.NewBuilder(circuit.BaseFrequency)
	n := b.Node
	b.Source("transformer", n("R"), circuit.Ground, 26, 1)
	power := b.Switch("power", n("R"), n("board"), 0.01)
	stat := b.Switch("thermostat", n("board"), n("W"), 0.05)
	b.Resistor("W-load", n("W"), circuit.Ground, 800)
	gas := b.Switch("gas-relay", n("board"), n("valve"), 0.05)
	b.Resistor("gas-valve", n("valve"), circuit.Ground, 60)
	fan := b.Switch("fan-relay", n("board"), n("fan"), 0.05)
	b.Resistor("fan", n("fan"), circuit.Ground, 100)
	at := func(c circuit.Branch) []Contact { return []Contact{{Place: Place{0, c}}} }
	x, err := New(Wiring{
		Nets:     []*circuit.Net{mustCompile(t, b)},
		Switches: []Switch{{ID: "thermostat", Contact: Place{0, stat}}, {ID: "power", Contact: Place{0, power}, NormallyClosed: true}},
		Loads:    []Load{{ID: "gas-valve", Probe: Probe{0, n("valve"), circuit.Ground}, On: 15}},
		Controllers: []Controller{{
			ID:     "board",
			Supply: &Supply{Probe: Probe{0, n("board"), circuit.Ground}, Least: 18, Loses: time.Second, Returns: 2 * time.Second},
			Inputs: []Input{
				seesCall:  {Name: "call", Probe: Probe{0, n("W"), circuit.Ground}, Least: 15},
				seesFlame: {Name: "flame", Told: true},
			},
			Outputs: []Output{outGas: {"gas", at(gas)}, outFan: {"fan", at(fan)}},
			Program: []Mode{
				modeIdle:    {Name: "idle", Next: []Transition{{To: modePurge, If: []Condition{{seesCall, true}, {seesFlame, false}}}}},
				modePurge:   {Name: "purge", Next: []Transition{{To: modeIdle, If: []Condition{{seesCall, false}}}, {To: modeTrial, After: 15 * time.Second}}},
				modeTrial:   {Name: "trial", On: []int{outGas}, Next: []Transition{{To: modeBurning, If: []Condition{{seesFlame, true}}}, {To: modeLocked, After: 5 * time.Second}}},
				modeBurning: {Name: "burning", On: []int{outGas, outFan}, Next: []Transition{{To: modeIdle, If: []Condition{{seesCall, false}}}, {To: modeLocked, If: []Condition{{seesFlame, false}}}}},
				modeLocked:  {Name: "locked", Next: []Transition{{To: modeIdle, After: time.Hour}}},
			},
		}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := x.Reset(); err != nil {
		t.Fatal(err)
	}
	return x
}

func run(t *testing.T, m *Machine, until time.Duration) {
	t.Helper()
	if err := m.Run(until); err != nil {
		t.Fatal(err)
	}
}

func wantMode(t *testing.T, m *Machine, mode int, gas bool) {
	t.Helper()
	if m.Mode(0) != mode || m.Energised(0) != gas {
		t.Errorf("at %v: mode %s, gas %v, want %s, %v", m.Now(), m.Wiring.Controllers[0].Program[m.Mode(0)].Name, m.Energised(0),
			m.Wiring.Controllers[0].Program[mode].Name, gas)
	}
}

func TestControllerRunsItsProgram(t *testing.T) {
	m := burner(t)
	run(t, m, time.Second)
	if m.Alive(0) {
		t.Error("alive before its electronics have woken")
	}
	run(t, m, 10*time.Second)
	wantMode(t, m, modeIdle, false)
	if err := m.Set(Setting{0, true}); err != nil {
		t.Fatal(err)
	}
	run(t, m, 24*time.Second)
	wantMode(t, m, modePurge, false)
	run(t, m, 26*time.Second)
	wantMode(t, m, modeTrial, true)
	if err := m.Tell(0, seesFlame, true); err != nil {
		t.Fatal(err)
	}
	run(t, m, 27*time.Second)
	wantMode(t, m, modeBurning, true)
	if err := m.Set(Setting{0, false}); err != nil {
		t.Fatal(err)
	}
	run(t, m, 28*time.Second)
	wantMode(t, m, modeIdle, false)
}

func TestControllerLocksOutAndComesBack(t *testing.T) {
	m := burner(t)
	run(t, m, 10*time.Second)
	if err := m.Set(Setting{0, true}); err != nil {
		t.Fatal(err)
	}
	run(t, m, 31*time.Second)
	wantMode(t, m, modeLocked, false)
	run(t, m, time.Hour)
	wantMode(t, m, modeLocked, false)
	run(t, m, time.Hour+47*time.Second)
	wantMode(t, m, modeTrial, true)
}

func TestControllerDiesWithItsSupply(t *testing.T) {
	m := burner(t)
	run(t, m, 10*time.Second)
	if err := m.Set(Setting{0, true}); err != nil {
		t.Fatal(err)
	}
	run(t, m, 26*time.Second)
	wantMode(t, m, modeTrial, true)
	if err := m.Set(Setting{1, false}); err != nil {
		t.Fatal(err)
	}
	if m.Energised(0) {
		t.Error("gas valve energised with the power off")
	}
	run(t, m, 30*time.Second)
	if m.Alive(0) || m.Mode(0) != modeIdle {
		t.Errorf("alive %v in mode %d after losing its supply", m.Alive(0), m.Mode(0))
	}
	if err := m.Set(Setting{1, true}); err != nil {
		t.Fatal(err)
	}
	run(t, m, 33*time.Second)
	wantMode(t, m, modePurge, false)
}

// A board whose relay is welded keeps the gas on whatever its program says; a
// stuck one never asks for it.
func TestControllerFaults(t *testing.T) {
	m := burner(t)
	m.Wiring.Controllers[0].Outputs[outGas].Contacts[0].Fault = Welded
	if err := m.Reset(); err != nil {
		t.Fatal(err)
	}
	run(t, m, 10*time.Second)
	wantMode(t, m, modeIdle, true)

	m = burner(t)
	m.Wiring.Controllers[0].Stuck = true
	if err := m.Reset(); err != nil {
		t.Fatal(err)
	}
	run(t, m, 10*time.Second)
	if err := m.Set(Setting{0, true}); err != nil {
		t.Fatal(err)
	}
	run(t, m, time.Minute)
	wantMode(t, m, modeIdle, false)
}

func TestControllerProgramIsChecked(t *testing.T) {
	b := circuit.NewBuilder(circuit.BaseFrequency)
	b.Source("s", b.Node("R"), circuit.Ground, 24, 1)
	net := mustCompile(t, b)
	for name, c := range map[string]Controller{
		"no program": {},
		"no output":  {Program: []Mode{{On: []int{0}}}},
		"no mode":    {Program: []Mode{{Next: []Transition{{To: 1}}}}},
		"no input":   {Program: []Mode{{Next: []Transition{{If: []Condition{{Input: 0}}}}}}},
	} {
		if _, err := New(Wiring{Nets: []*circuit.Net{net}, Controllers: []Controller{c}}); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
