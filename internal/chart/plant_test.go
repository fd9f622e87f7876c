package chart

import (
	"strings"
	"testing"

	"rung/internal/plant"
	"rung/internal/quantity"
)

// solve returns a plant with unknown nameplate on a hot day, with parameters
// changed by spoil.
func solve(t *testing.T, d plant.Demand, spoil func(*plant.Params) error) (*plant.Plant, *plant.State) {
	t.Helper()
	p, err := plant.Build(plant.Nameplate{})
	if err != nil {
		t.Fatal(err)
	}
	ps := p.Healthy()
	if spoil != nil {
		if err := spoil(&ps); err != nil {
			t.Fatal(err)
		}
	}
	st, err := p.Solve(&ps, plant.Surroundings{Outdoor: 308, ReturnDryBulb: 298, ReturnWetBulb: 291, Line: 240}, d)
	if err != nil {
		t.Fatal(err)
	}
	return p, st
}

// live returns how each device of the drawing is lit, by its id.
func live(t *testing.T, svg string) map[string]string {
	t.Helper()
	got := map[string]string{}
	parse(t, svg).walk(func(e element) {
		for _, c := range []string{"flowing", "waiting", "dead"} {
			if e.has("device") && e.has(c) {
				got[strings.TrimPrefix(e.attr("id"), "device-")] = c
			}
		}
	})
	return got
}

// TestPlantLadder checks by class what is lit in the drawing of a real plant.
func TestPlantLadder(t *testing.T) {
	for _, c := range []struct {
		name   string
		demand plant.Demand
		want   map[string]string
	}{
		{"cooling", plant.Cool, map[string]string{
			"contactor-coil": "flowing", "contactor-pole-1": "flowing", "compressor-motor": "flowing", "condenser-fan-motor": "flowing",
			"run-capacitor-herm": "flowing", "run-capacitor-fan": "flowing", "blower-motor-motor": "flowing", "thermostat-r-w": "waiting",
		}},
		{"fan only", plant.Fan, map[string]string{
			"contactor-coil": "dead", "contactor-pole-1": "waiting", "compressor-motor": "dead", "blower-motor-motor": "flowing", "thermostat-r-y": "waiting",
		}},
		{"off", plant.Off, map[string]string{
			"contactor-coil": "dead", "compressor-motor": "dead", "blower-motor-motor": "dead", "transformer-primary": "flowing", "thermostat-r-y": "waiting", "thermostat-r-g": "waiting",
		}},
	} {
		p, st := solve(t, c.demand, nil)
		got := live(t, Ladder(FromPlant(p.Wiring(), st, View{Phase: plant.Running})))
		for id, want := range c.want {
			if got[id] != want {
				t.Errorf("%s: %s is %q, want %q", c.name, id, got[id], want)
			}
		}
	}
}

// TestPlantLadderDrawsAllDevicesOnce: every device of a rung is drawn once,
// but for the conductors that drop nothing.
func TestPlantLadderDrawsAllDevicesOnce(t *testing.T) {
	p, st := solve(t, plant.Cool, nil)
	for _, every := range []bool{false, true} {
		seen := map[string]int{}
		parse(t, Ladder(FromPlant(p.Wiring(), st, View{Phase: plant.Running, Every: every}))).walk(func(e element) {
			if e.has("device") {
				seen[e.attr("id")]++
			}
		})
		for _, l := range p.Wiring().Ladders {
			for _, r := range l.Rungs {
				for _, id := range r.Steps {
					d, _ := p.Wiring().Device(id)
					n := seen["device-"+strings.ReplaceAll(id, "/", "-")]
					if n > 1 || n == 0 && (every || d.Kind != plant.KindConductor) {
						t.Errorf("every=%v: %s is drawn %d times", every, id, n)
					}
				}
			}
		}
	}
}

// TestPlantLadderTextIsClear holds the real drawings to the rule that no wire
// runs through a text, in every phase and demand.
func TestPlantLadderTextIsClear(t *testing.T) {
	for _, d := range []plant.Demand{plant.Cool, plant.Fan, plant.Off} {
		p, st := solve(t, d, nil)
		for _, every := range []bool{false, true} {
			for _, ph := range []plant.PhaseID{plant.AtStart, plant.Running} {
				checkTextIsClear(t, Ladder(FromPlant(p.Wiring(), st, View{Phase: ph, Every: every, Red: plant.T1, Black: plant.T2})))
			}
		}
	}
}

// TestOpenWireIsDrawn: a conductor that is open is drawn although good ones
// are left out, and the rung says where it is open.
func TestOpenWireIsDrawn(t *testing.T) {
	open := plant.MustParam("outdoor-cable/y-resistance")
	p, st := solve(t, plant.Cool, func(ps *plant.Params) error { return ps.Put(open, 1e9) })
	svg := Ladder(FromPlant(p.Wiring(), st, View{Phase: plant.Running}))
	if got := live(t, svg)["outdoor-cable-y"]; got != "waiting" {
		t.Errorf("the open conductor is %q, want waiting", got)
	}
	if !strings.Contains(svg, "open at Cable Y to outdoor unit: 2") {
		t.Error("the rung does not say where it is open")
	}
	if got := live(t, svg)["compressor-motor"]; got == "flowing" {
		t.Error("the compressor is lit without a call")
	}
}

// TestLeakIsDrawn: leakage has a rung of its own while it carries current.
func TestLeakIsDrawn(t *testing.T) {
	leak := plant.MustParam("outdoor-cable/y-c-resistance")
	p, st := solve(t, plant.Cool, func(ps *plant.Params) error { return ps.Put(leak, 30) })
	if svg := Ladder(FromPlant(p.Wiring(), st, View{Phase: plant.Running})); !strings.Contains(svg, "Where it should not flow") {
		t.Error("the leak is not drawn")
	}
	p, st = solve(t, plant.Cool, nil)
	if svg := Ladder(FromPlant(p.Wiring(), st, View{Phase: plant.Running})); strings.Contains(svg, "Where it should not flow") {
		t.Error("a sound plant is drawn with a leak")
	}
}

// still is a circuit without voltage.
type still struct{}

func (still) Phasor(plant.PhaseID, plant.Node) complex128         { return 0 }
func (still) Amps(plant.PhaseID, string) (quantity.Current, bool) { return 0, true }
func (still) Closed(plant.PhaseID, string) (closed, ok bool)      { return true, true }

func TestDeadPlantIsDark(t *testing.T) {
	p, _ := solve(t, plant.Off, nil)
	for id, class := range live(t, Ladder(FromPlant(p.Wiring(), still{}, View{}))) {
		if class != "dead" {
			t.Errorf("%s is %s in a plant without voltage", id, class)
		}
	}
}
