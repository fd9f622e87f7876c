package circuit

import (
	"fmt"
	"math"

	"rung/internal/quantity"
)

// tableau holds a Case as one linear system. Its unknowns are the voltages of
// all nodes but the reference, then the currents of all components (two for a
// motor). Keeping every current as an unknown, rather than forming it from a
// difference of voltages, keeps it exact across contacts of a milliohm.
//
// a is n×n by rows: first Kirchhoff's current law at each node (current out of
// the node, A), then the law of each component, scaled so that its greatest
// coefficient is one.
type tableau struct {
	names []string // of the unknown nodes
	index map[string]int
	first []int    // first current of each component, as a position in x
	owner []string // component of each current
	n     int
	a, b  []complex128
}

// maxUnknowns bounds the work of one case: a dense solution grows with its cube.
const maxUnknowns = 600

func newTableau(c *Case) (*tableau, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	t := &tableau{index: map[string]int{c.ReferenceNode: -1}}
	for i := range c.Components {
		for _, name := range c.Components[i].Nodes {
			if _, seen := t.index[name]; !seen {
				t.index[name] = len(t.names)
				t.names = append(t.names, name)
			}
		}
	}
	if err := t.checkConnected(c); err != nil {
		return nil, err
	}
	at := len(t.names)
	for i := range c.Components {
		t.first = append(t.first, at)
		at += c.Components[i].currents()
		for range c.Components[i].currents() {
			t.owner = append(t.owner, c.Components[i].ID)
		}
	}
	if at > maxUnknowns {
		return nil, &CaseError{Reason: fmt.Sprintf("has %d unknowns, more than %d", at, maxUnknowns)}
	}
	t.n = at
	t.a, t.b = make([]complex128, at*at), make([]complex128, at)
	for i := range c.Components {
		t.stamp(&c.Components[i], t.first[i], c.frequency())
	}
	return t, nil
}

func (c *Case) check() error {
	if !(c.FrequencyHz == 0 || c.FrequencyHz >= 1 && c.FrequencyHz <= 1000) {
		return &CaseError{Reason: fmt.Sprintf("frequency %g Hz is outside 1 to 1000", c.FrequencyHz)}
	}
	if len(c.Components) == 0 {
		return &CaseError{Reason: "has no components"}
	}
	ids := map[string]bool{}
	reference := false
	for i := range c.Components {
		p := &c.Components[i]
		if err := p.check(); err != nil {
			return err
		}
		if ids[p.ID] {
			return &CaseError{p.ID, "is named twice"}
		}
		ids[p.ID] = true
		for _, n := range p.Nodes {
			reference = reference || n == c.ReferenceNode
		}
	}
	if !reference {
		return &CaseError{Reason: fmt.Sprintf("no component is joined to the reference node %q", c.ReferenceNode)}
	}
	return nil
}

// checkConnected finds nodes without a path to the reference. The two sides of
// a transformer are not joined by it.
func (t *tableau) checkConnected(c *Case) error {
	group := make([]int, len(t.names)+1) // union-find; position 0 is the reference
	for i := range group {
		group[i] = i
	}
	find := func(name string) int {
		i := t.index[name] + 1
		for group[i] != i {
			i = group[i]
		}
		return i
	}
	join := func(a, b string) {
		i, j := find(a), find(b)
		group[max(i, j)] = min(i, j)
	}
	for i := range c.Components {
		n := c.Components[i].Nodes
		join(n[0], n[1])
		switch len(n) {
		case 3:
			join(n[1], n[2])
		case 4:
			join(n[2], n[3])
		}
	}
	for _, name := range t.names {
		if find(name) != 0 {
			return &CaseError{Reason: fmt.Sprintf("node %q has no path to the reference node %q", name, c.ReferenceNode)}
		}
	}
	return nil
}

func (p *Component) currents() int {
	if p.Type == "psc_motor" {
		return 2
	}
	return 1
}

// add adds z to the coefficient of the voltage of node in a row. The reference
// has no column.
func (t *tableau) add(row int, node string, z complex128) {
	if j := t.index[node]; j >= 0 {
		t.a[row*t.n+j] += z
	}
}

// leave lets k times current number j leave node.
func (t *tableau) leave(node string, j int, k complex128) {
	if i := t.index[node]; i >= 0 {
		t.a[i*t.n+j] += k
	}
}

// stamp writes p, whose currents begin at row and column j.
func (t *tableau) stamp(p *Component, j int, f quantity.Frequency) {
	n := p.Nodes
	h := float64(f / BaseFrequency)
	switch p.Type {
	case "vsource": // current counted as delivered out of the first node
		t.leave(n[0], j, -1)
		t.leave(n[1], j, 1)
		t.add(j, n[0], 1)
		t.add(j, n[1], -1)
		sin, cos := math.Sincos(p.Deg * math.Pi / 180)
		t.b[j] = complex(*p.VRMS*cos, *p.VRMS*sin)
	case "resistor":
		t.twoTerminal(n, j, 1, complex(*p.Ohms, 0))
	case "series_rx":
		t.twoTerminal(n, j, 1, complex(*p.Ohms, h*p.XOhms))
	case "capacitor":
		t.twoTerminal(n, j, complex(0, 2*math.Pi*float64(f)**p.UF*1e-6), 1) // µF to F
	case "ideal_transformer":
		ratio := complex(*p.Ratio, 0)
		t.leave(n[0], j, 1)
		t.leave(n[1], j, -1)
		t.leave(n[2], j, -ratio)
		t.leave(n[3], j, ratio)
		k := complex(1/math.Max(1, *p.Ratio), 0)
		t.add(j, n[0], k)
		t.add(j, n[1], -k)
		t.add(j, n[2], -k*ratio)
		t.add(j, n[3], k*ratio)
	case "psc_motor":
		t.stampMotor(p, j, f)
	}
}

// twoTerminal writes y (V1 − V2) = z I, scaled.
func (t *tableau) twoTerminal(n []string, j int, y, z complex128) {
	t.leave(n[0], j, 1)
	t.leave(n[1], j, -1)
	k := complex(1/math.Max(math.Sqrt(abs2(y)), math.Sqrt(abs2(z))), 0)
	t.add(j, n[0], k*y)
	t.add(j, n[1], -k*y)
	t.a[j*t.n+j] -= k * z
}

func (t *tableau) stampMotor(p *Component, j int, f quantity.Frequency) {
	r, c, s := p.Nodes[0], p.Nodes[1], p.Nodes[2]
	t.leave(r, j, 1)
	t.leave(s, j+1, 1)
	t.leave(c, j, -1)
	t.leave(c, j+1, -1)
	g := p.coreAdmittance()
	for _, row := range []struct {
		node string
		g    complex128
	}{{r, g}, {c, -g}} {
		if i := t.index[row.node]; i >= 0 {
			t.add(i, r, row.g)
			t.add(i, c, -row.g)
		}
	}
	m := p.motor()
	z := m.Impedance(*p.Slip, f)
	t.law(j, r, c, j, z.MainMain, z.MainAux)
	t.law(j+1, s, c, j, z.AuxMain, z.AuxAux)
}

// law writes V(from) − V(to) = zm I(at) + za I(at+1) into a row, scaled.
func (t *tableau) law(row int, from, to string, at int, zm, za complex128) {
	k := complex(1/math.Max(1, math.Max(math.Sqrt(abs2(zm)), math.Sqrt(abs2(za)))), 0)
	t.add(row, from, k)
	t.add(row, to, -k)
	t.a[row*t.n+at] -= k * zm
	t.a[row*t.n+at+1] -= k * za
}
