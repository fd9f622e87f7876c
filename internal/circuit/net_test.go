package circuit

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"rung/internal/quantity"
)

// fixed is a published network as a Net.
type fixed struct {
	*Net
	node   map[string]Node
	branch map[string]Branch
}

// compileReference makes a Net of a published case, and of whatever more adds
// to it. Ideal sources and
// transformers get series impedances of a microhm and a magnetising branch of a
// teraohm, which change nothing that the tolerance could see.
func compileReference(t testing.TB, c *Case, more ...func(*Builder)) fixed {
	t.Helper()
	const small, large = 1e-6, 1e12
	b := NewBuilder(c.frequency())
	r := fixed{node: map[string]Node{c.ReferenceNode: Ground}, branch: map[string]Branch{}}
	node := func(name string) Node {
		if _, known := r.node[name]; !known {
			r.node[name] = b.Node(name)
		}
		return r.node[name]
	}
	for i := range c.Components {
		p := &c.Components[i]
		n := make([]Node, len(p.Nodes))
		for j, name := range p.Nodes {
			n[j] = node(name)
		}
		switch p.Type {
		case "vsource":
			r.branch[p.ID] = b.Source(p.ID, n[0], n[1], cmplx.Rect(*p.VRMS, p.Deg*math.Pi/180), small)
		case "resistor", "series_rx":
			r.branch[p.ID] = b.Impedance(p.ID, n[0], n[1], complex(*p.Ohms, p.XOhms))
		case "capacitor":
			r.branch[p.ID] = b.Capacitor(p.ID, n[0], n[1], quantity.Capacitance(*p.UF*1e-6))
		case "ideal_transformer":
			r.branch[p.ID] = b.Transformer(p.ID, n[0], n[1], n[2], n[3],
				Transformer{Ratio: quantity.Ratio(*p.Ratio), Primary: small, Secondary: small, Magnetising: large})
		case "psc_motor":
			r.branch[p.ID] = b.Motor(p.ID, n[0], n[1], n[2], p.motor())
		}
	}
	for _, add := range more {
		add(b)
	}
	var err error
	if r.Net, err = b.Compile(); err != nil {
		t.Fatal(err)
	}
	for i := range c.Components {
		if p := &c.Components[i]; p.Type == "psc_motor" {
			r.SetSlip(r.branch[p.ID], *p.Slip)
		}
	}
	return r
}

// current returns a current under its published name.
func (r fixed) current(c *Case, name string) complex128 {
	if b, known := r.branch[name]; known {
		return r.Current(b)
	}
	for i := range c.Components {
		id := c.Components[i].ID
		b := r.branch[id]
		switch name {
		case id + ".main":
			main, _, _ := r.MotorCurrents(b)
			return main
		case id + ".aux":
			_, aux, _ := r.MotorCurrents(b)
			return aux
		case id + ".common":
			return r.Current(b)
		case id + ".pri":
			primary, _ := r.TransformerCurrents(b)
			return primary
		case id + ".sec":
			return r.Current(b)
		}
	}
	return cmplx.NaN()
}

func TestPublishedNetworksInFixedShape(t *testing.T) {
	for _, r := range references(t) {
		t.Run(r.ID, func(t *testing.T) {
			n := compileReference(t, &r.Case)
			if err := n.Solve(); err != nil {
				t.Fatal(err)
			}
			r.compare(t, "voltage", func(name string) complex128 { return n.At(n.node[name]) })
			for _, p := range r.Components { // a difference of voltages over a microhm says nothing of a microamp
				if p.Type == "vsource" {
					delete(r.currents, p.ID)
				}
			}
			r.compare(t, "current", func(name string) complex128 { return n.current(&r.Case, name) })
			r.compareTorques(t, func(name string) float64 { return float64(n.Torque(n.branch[name])) })
		})
	}
}

// The meter of the ghost-voltage cases is a branch there and a reading here.
func TestMeterLoadsTheNetwork(t *testing.T) {
	for _, row := range []struct {
		id   string
		load quantity.Resistance
		want quantity.Voltage // published, six digits
	}{
		{"cu-3t-blown-fuse-float", HighImpedance, 34.3752},
		{"cu-3t-blown-fuse-float-lowz", LowImpedance, 0.0203606},
	} {
		for _, r := range references(t) {
			if r.ID != row.id {
				continue
			}
			n := compileReference(t, &r.Case)
			n.SetImpedance(n.branch["METER"], 1e12) // lift the meter that is part of the case
			if err := n.Solve(); err != nil {
				t.Fatal(err)
			}
			got := n.Meter(n.node["L1"], Ground, row.load)
			if math.Abs(float64(got-row.want)) > 2e-5*float64(row.want) { // a lifted meter of 1e12 ohm, and six digits
				t.Errorf("%s: Meter = %g V, want %g", row.id, got, row.want)
			}
		}
	}
}

// Random networks have no published answer: the fixed-shape solution must
// agree with the dense one, which shares nothing with it but the stated values.
func TestNetAgreesWithCase(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11)) // seed 7, 11
	names := []string{"ground", "a", "b", "c", "d", "e", "f", "g", "h"}
	value := func(lo, hi float64) *float64 { v := lo * math.Pow(hi/lo, rng.Float64()); return &v }
	for trial := range 200 {
		c := &Case{ReferenceNode: "ground", FrequencyHz: []float64{50, 60}[trial%2]}
		add := func(p Component) {
			p.ID = string(rune('A' + len(c.Components)))
			c.Components = append(c.Components, p)
		}
		pick := func(k int) []string {
			list := make([]string, k)
			for i, j := range rng.Perm(len(names))[:k] {
				list[i] = names[j]
			}
			return list
		}
		for i := 1; i < len(names); i++ { // a tree, so that all is connected
			add(Component{Type: "series_rx", Nodes: []string{names[i], names[rng.IntN(i)]}, Ohms: value(1e-3, 1e9), XOhms: *value(1e-3, 10)})
		}
		for range 6 {
			add(Component{Type: "resistor", Nodes: pick(2), Ohms: value(1e-3, 1e9)})
		}
		add(Component{Type: "capacitor", Nodes: pick(2), UF: value(1, 100)})
		add(Component{Type: "psc_motor", Nodes: pick(3), Poles: 2, Slip: value(0.01, 1),
			Params: &MotorParams{R1m: 1, X1m: 0.8, R2: 1.3, X2: 0.8, Xm: 56, R1a: 2, X1a: 1.4, A: 1.3, Rc: 480}})
		add(Component{Type: "vsource", Nodes: []string{"s", "ground"}, VRMS: value(24, 240), Deg: 30})
		add(Component{Type: "resistor", Nodes: []string{"s", names[1+rng.IntN(8)]}, Ohms: value(0.1, 1)})
		x := Transformer{Ratio: quantity.Ratio(*value(0.5, 10)), Primary: 24 + 3i, Magnetising: 450 + 1800i, Secondary: 0.8 + 0.15i}
		at := pick(4)
		n := compileReference(t, c, func(b *Builder) {
			b.Transformer("x", b.Node(at[0]), b.Node(at[1]), b.Node(at[2]), b.Node(at[3]), x)
		})
		for _, e := range []struct {
			from, to string
			z        complex128
		}{{at[0], "tp", x.Primary}, {"tp", at[1], x.Magnetising}, {"ts", at[2], x.Secondary}} {
			r := real(e.z)
			add(Component{Type: "series_rx", Nodes: []string{e.from, e.to}, Ohms: &r, XOhms: imag(e.z)})
		}
		ratio := float64(x.Ratio)
		add(Component{Type: "ideal_transformer", Nodes: []string{"tp", at[1], "ts", at[3]}, Ratio: &ratio})
		want, err := c.Solve()
		if err != nil {
			t.Fatal(err)
		}
		if err := n.Solve(); err != nil {
			t.Fatal(err)
		}
		largest := 0.0
		for _, p := range want.Nodes {
			largest = math.Max(largest, cmplx.Abs(p.Complex()))
		}
		for name, p := range want.Nodes {
			if name == "tp" || name == "ts" {
				continue // inside the transformer
			}
			if d := cmplx.Abs(n.At(n.node[name]) - p.Complex()); !(d <= 1e-5*largest) { // eight nodes leak 1e-15 S each beside 1e9 ohm
				t.Errorf("trial %d: node %s = %v, want %v", trial, name, n.At(n.node[name]), p.Complex())
			}
		}
	}
}
