package relay_test

import (
	"fmt"
	"time"

	"rung/internal/circuit"
	"rung/internal/relay"
)

// A hydronic zone from the same devices: the thermostat drives a zone valve,
// whose end switch, a minute later, calls the boiler; the aquastat's high limit
// stops the burner and leaves the pump.
func ExampleMachine() {
	b := circuit.NewBuilder(60)
	n := b.Node
	b.Source("zone-transformer", n("zone-R"), circuit.Ground, 24, 2)
	stat := b.Switch("thermostat", n("zone-R"), n("zone-W"), 0.05)
	valve := b.Resistor("valve-motor", n("zone-W"), circuit.Ground, 96)
	b.Source("boiler-transformer", n("T"), circuit.Ground, 24, 2)
	end := b.Switch("end-switch", n("T"), n("TT"), 0.05)
	aquastat := b.Impedance("aquastat-relay", n("TT"), circuit.Ground, 60+90i)
	b.Source("line", n("hot"), circuit.Ground, 120, 0.05)
	pumpContact := b.Switch("pump-contact", n("hot"), n("pump"), 0.01)
	b.Resistor("circulator", n("pump"), circuit.Ground, 170)
	highLimit := b.Switch("high-limit", n("pump"), n("burner"), 0.01)
	b.Resistor("burner", n("burner"), circuit.Ground, 60)
	net, err := b.Compile()
	if err != nil {
		fmt.Println(err)
		return
	}
	at := func(branch circuit.Branch) relay.Place { return relay.Place{Branch: branch} }
	to := func(a string) relay.Probe { return relay.Probe{A: n(a), B: circuit.Ground} }
	m, err := relay.New(relay.Wiring{
		Nets:     []*circuit.Net{net},
		Switches: []relay.Switch{{ID: "thermostat", Contact: at(stat)}},
		Limits:   []relay.Limit{{ID: "high-limit", Contact: at(highLimit), Opens: 360, Closes: 354}}, // K
		Coils: []relay.Coil{
			{ID: "zone-valve", Place: at(valve), Inrush: 96, Sealed: 96, PullIn: 18, DropOut: 8, OnDelay: time.Minute,
				Contacts: []relay.Contact{{Place: at(end)}}},
			{ID: "aquastat", Place: at(aquastat), Inrush: 60 + 90i, Sealed: 60 + 90i, PullIn: 18, DropOut: 8,
				Contacts: []relay.Contact{{Place: at(pumpContact)}}},
		},
		Loads: []relay.Load{{ID: "circulator", Probe: to("pump"), On: 90}, {ID: "burner", Probe: to("burner"), On: 90}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	play := func() error {
		if err := m.Reset(); err != nil {
			return err
		}
		if err := m.Set(relay.Setting{Switch: 0, Closed: true}); err != nil {
			return err
		}
		if err := m.Run(20 * time.Minute); err != nil {
			return err
		}
		return m.Sense(0, 361)
	}
	if err := play(); err != nil {
		fmt.Println(err)
		return
	}
	for _, step := range m.Trace() {
		fmt.Print(step.At, " ", step.Cause.By, " ", m.Wiring.ID(step.Cause.Device), ":")
		for _, c := range step.Changes {
			fmt.Print(" ", m.Wiring.ID(c.Device), " ", c.Event, ";")
		}
		fmt.Println()
	}
	// Output:
	// 0s command thermostat: thermostat closed; zone-valve energised;
	// 20ms magnet zone-valve: zone-valve pulled-in;
	// 1m0.02s timer zone-valve: zone-valve closed; aquastat energised;
	// 1m0.04s magnet aquastat: aquastat pulled-in; aquastat closed; circulator energised; burner energised;
	// 20m0s sensed high-limit: high-limit opened; burner dead;
}
