package plant

import (
	_ "embed"
	"fmt"
	"strings"

	"rung/internal/circuit"
)

//go:embed data/resistances.txt
var resistancesText string

var resistanceOf = mustResistances(resistancesText)

func mustResistances(text string) map[string]Param {
	m := map[string]Param{}
	for _, line := range strings.Split(text, "\n") {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		device, path, _ := strings.Cut(line, "|")
		m[strings.TrimSpace(device)] = MustParam(strings.TrimSpace(path))
	}
	return m
}

// side says which of the two networks a device belongs to. They share only the
// cabinet, which is the reference of both, so each is solved alone: the sag of
// the service under the outdoor unit does not reach the indoor one.
type side uint8

const (
	outdoorSide side = iota // branch circuit and outdoor unit at line voltage
	indoorSide              // indoor branch circuit, transformer and 24 V
	numSides
)

// place is where a device is in the compiled networks.
type place struct {
	side   side
	branch circuit.Branch
}

// spot is where a node is in the compiled networks.
type spot struct {
	side side
	node circuit.Node
}

// frame is what all solvers of a plant share: the compiled shapes, and where
// to find devices and nodes in them.
type frame struct {
	nets  [numSides]*circuit.Net
	place map[string]place
	spot  map[Node]spot
	bound []binding // devices whose resistance is one parameter

	device map[place]string // the other way round
}

type binding struct {
	place place
	param Param
}

// sourceIDs are the sources, which are no devices of the wiring.
const (
	sourceLeg1    = "supply/leg-1"
	sourceLeg2    = "supply/leg-2"
	sourceIndoor1 = "supply/indoor-1"
	sourceIndoor2 = "supply/indoor-2"
)

// newFrame compiles the networks of a wiring. Values are placeholders until a
// solve sets them.
func newFrame(w *Wiring) (*frame, error) {
	f := &frame{place: map[string]place{}, spot: map[Node]spot{Ground: {}}, device: map[place]string{}}
	var b [numSides]*circuit.Builder
	for s := range b {
		b[s] = circuit.NewBuilder(circuit.BaseFrequency)
	}
	node := func(s side, n Node) circuit.Node {
		if n == Ground {
			return circuit.Ground
		}
		at := b[s].Node(string(n))
		f.spot[n] = spot{s, at}
		return at
	}
	source := func(id string, s side, n Node) {
		f.place[id] = place{s, b[s].Source(id, node(s, n), circuit.Ground, 120, 0.02)}
	}
	source(sourceLeg1, outdoorSide, Panel1)
	source(sourceLeg2, outdoorSide, Panel2)
	source(sourceIndoor1, indoorSide, IndoorHot)
	source(sourceIndoor2, indoorSide, IndoorBack)
	for i := range w.Devices {
		s := outdoorSide
		if i >= w.indoor {
			s = indoorSide
		}
		d := &w.Devices[i]
		at := place{s, addElement(b[s], d, func(n Node) circuit.Node { return node(s, n) })}
		f.place[d.ID], f.device[at] = at, d.ID
		if p, ok := resistanceOf[d.ID]; ok {
			f.bound = append(f.bound, binding{at, p})
		}
	}
	for s := range b {
		net, err := b[s].Compile()
		if err != nil {
			return nil, fmt.Errorf("plant: wiring: %w", err)
		}
		f.nets[s] = net
	}
	return f, nil
}

// Placeholders, replaced before the first solution.
var (
	anyMotor       = circuit.Motor{Poles: 2, MainOhms: 1, AuxOhms: 1, MainX: 1, AuxX: 1, RotorR: 1, RotorX: 1, MagnetisingX: 50, Turns: 1}
	anyTransformer = circuit.Transformer{Ratio: 5, Primary: 30, Secondary: 1, Magnetising: 1000i}
)

// fixedContact is the resistance of contacts that no fault of the catalogue
// changes: overloads, blower relay.
// practice: a sound snap contact.
const fixedContact = 0.005 // ohm

// addElement adds one device to the builder of its network.
func addElement(b *circuit.Builder, d *Device, node func(Node) circuit.Node) circuit.Branch {
	from, to := node(d.From), node(d.To)
	switch d.Kind {
	case KindMotor:
		return b.Motor(d.ID, from, to, node(d.Third), anyMotor)
	case KindTransformer:
		return b.Transformer(d.ID, from, to, node(d.Third), node(BoardC), anyTransformer)
	case KindCapacitor:
		return b.Capacitor(d.ID, from, to, 1e-6)
	case KindConductor, KindLeak, KindHeater, KindLoad, KindModule, KindCoil:
		return b.Resistor(d.ID, from, to, fixedContact)
	}
	return b.Switch(d.ID, from, to, fixedContact)
}
