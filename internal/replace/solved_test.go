package replace

import (
	"math/rand/v2"
	"slices"
	"testing"

	"rung/internal/circuit"
)

// solved is a wiring as a network with resistances: transformers of 24 V, the
// second opposed to the first so that a tie shows, loads of 60 ohm, joints of
// 0.02 ohm, commons bonded to the cabinet.
type solved struct {
	b     *circuit.Builder
	nodes map[node]circuit.Node
}

func (s *solved) at(n node) circuit.Node {
	if a, ok := s.nodes[n]; ok {
		return a
	}
	a := s.b.Node(n.kind + " " + n.id)
	s.nodes[n] = a
	s.b.Resistor("leak "+n.kind+n.id, a, circuit.Ground, 1e6)
	return a
}

func (s *solved) join(a, b node) {
	if x, y := s.at(a), s.at(b); x != y {
		s.b.Resistor(a.kind+a.id+" to "+b.kind+b.id, x, y, 0.02)
	}
}

const loadOhms = 60

// solve returns the loads that have their voltage, and the largest current of a
// transformer in units of one load. pulled says whether the isolating relay has.
func solve(t *testing.T, w *wiring, c Call, pulled bool) (on []LoadID, most float64, coil bool) {
	t.Helper()
	s := &solved{circuit.NewBuilder(60), map[node]circuit.Node{}}
	volts := 24.0
	var sources []circuit.Branch
	ids := []SourceID{}
	for _, x := range w.sys.Sources {
		ids = append(ids, x.ID)
	}
	if w.plugIn {
		ids = append(ids, plugSource)
	}
	for _, id := range ids {
		s.b.Resistor("bond "+string(id), s.at(commonNode(id)), circuit.Ground, 0.02)
		sources = append(sources, s.b.Source(string(id), s.at(powerNode(id)), s.at(commonNode(id)), complex(volts, 0), 1))
		volts = -volts
	}
	s.wire(w, c, pulled)
	loads := map[LoadID]circuit.Branch{}
	for _, l := range w.sys.Loads {
		loads[l.ID] = s.b.Resistor(string(l.ID), s.at(loadNode(l.ID)), s.at(commonNode(l.Source)), loadOhms)
	}
	if w.relay != nil {
		s.b.Resistor("coil", s.at(node{"coil", ""}), s.at(commonNode(w.relay.coil)), loadOhms)
	}
	n, err := s.b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	for _, l := range w.sys.Loads {
		if circuit.Volts(n.Voltage(s.at(loadNode(l.ID)), s.at(commonNode(l.Source)))) > 12 {
			on = append(on, l.ID)
		}
	}
	for _, b := range sources {
		most = max(most, float64(circuit.Amps(n.Current(b)))*loadOhms/24)
	}
	if w.relay != nil {
		coil = circuit.Volts(n.At(s.at(node{"coil", ""}))) > 12
	}
	return on, most, coil
}

// wire joins what conductors, jumpers and the call join, one by one and without
// the helpers of the simulation.
func (s *solved) wire(w *wiring, c Call, pulled bool) {
	for _, p := range w.paths {
		if end, ok := p.end.node(); ok && p.mark != "" {
			s.join(terminalNode(p.mark), end)
		}
	}
	for _, j := range w.joined {
		s.join(loadNode(j[0]), loadNode(j[1]))
	}
	cool, _ := w.base.power(false)
	heat, _ := w.base.power(true)
	if w.linkIn || w.base.Link == FixedLink {
		s.join(terminalNode(cool.Mark), terminalNode(heat.Mark))
	}
	if w.plugIn {
		common, _ := w.base.with(Common)
		s.join(terminalNode(w.supplyMark()), powerNode(plugSource))
		s.join(terminalNode(common.Mark), commonNode(plugSource))
	}
	cooling, heating := w.base.closes(w.set, c)
	for _, t := range cooling {
		s.join(terminalNode(cool.Mark), terminalNode(t.Mark))
	}
	for _, t := range heating {
		s.join(terminalNode(heat.Mark), terminalNode(t.Mark))
	}
	if w.relay != nil && pulled {
		s.join(powerNode(w.relay.contact), loadNode(w.relay.load))
	}
}

// The nodal analysis of package circuit, with resistances and opposed
// transformers, energises the same loads as the trial of the plan, and no
// transformer carries more than its loads.
func TestAcceptedPlansSolved(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	checked := 0
	for i := 0; checked < 300; i++ {
		s := draw(r)
		p, err := Thermostat(s)
		if err != nil || !p.Accepted() {
			continue
		}
		checked++
		w := rebuilt(s, p)
		for _, c := range s.System.Calls() {
			on, most, coil := solve(t, &w, c, false)
			if coil {
				on, most, _ = solve(t, &w, c, true)
			}
			want := w.simulate(c).Served
			slices.Sort(on)
			slices.Sort(want)
			if !slices.Equal(on, want) {
				t.Errorf("house %d, %s: solved %v, simulated %v", i, c, on, want)
			}
			if most > float64(len(want))+1.5 {
				t.Errorf("house %d, %s: a transformer carries %.1f loads, %d run", i, c, most, len(want))
			}
		}
		if t.Failed() {
			t.Fatalf("%+v\n%v", s, told(p))
		}
	}
}

// A jumper left in between two transformers shows as a current that no load draws.
func TestTiedTransformersSolved(t *testing.T) {
	w := wiring{
		sys:  System{Sources: []Source{{"indoor", true}, {"boiler", true}}, Loads: []Load{{Compressor, "indoor"}, {Blower, "indoor"}, {Heat, "boiler"}}},
		base: Base{Terminals: ParseTerminals("RC RH C Y G W"), Link: RemovableLink}, linkIn: true,
		paths: []path{{"1", "RC", End{Kind: PowerEnd, Source: "indoor"}}, {"2", "RH", End{Kind: PowerEnd, Source: "boiler"}}},
	}
	if out := w.simulate(Off); len(out.Tied) != 1 {
		t.Errorf("simulate(off) = %+v, want the transformers tied", out)
	}
	if _, most, _ := solve(t, &w, Off, false); most < 20 {
		t.Errorf("tied transformers carry %.1f loads, want a circulating current", most)
	}
}
