package circuit

import (
	"fmt"
	"math"
	"math/cmplx"

	"rung/internal/quantity"
)

// Net is a network of fixed shape with values that change.
//
// The Set methods change values; Solve then finds all voltages; the reading
// methods (Voltage, Current, Meter, Ohms ...) speak of the last solution. None
// of them allocates. A Net is for one goroutine; Clone makes another that
// shares the order of elimination.
type Net struct {
	f            quantity.Frequency
	names        []string
	plan         *plan
	elements     []element
	motors       []motor
	transformers []transformer

	// The off-diagonal admittances of all elements: value i belongs to slot
	// stamp[i] of the matrix. Positions follow the order of elements.
	stamp []int32
	value []complex128

	live    matrix // factored at the last Solve
	state   progress
	v       []complex128
	x, xa   []complex128 // scratch, as are w and wa
	w, wa   []complex128
	dead    matrix // factored for the ohmmeter, valid if deadOK
	deadOK  bool
	scratch []complex128 // values for the ohmmeter
}

// progress is how far the last Solve still holds.
type progress uint8

const (
	stale    progress = iota // an admittance has changed
	factored                 // a source has changed
	solved
)

// leak joins every node to the reference, so that a floating part has a
// voltage: 1e15 ohm, far beyond any insulation a meter would notice.
const leak = 1e-15 // siemens; limit of this solver

// adjacency tells which nodes share an element.
func (n *Net) adjacency() [][]bool {
	rows := make([][]bool, len(n.names))
	for i := range rows {
		rows[i] = make([]bool, len(n.names))
	}
	for i := range n.elements {
		list := n.elements[i].terminals()
		for _, a := range list {
			for _, b := range list {
				if a != b {
					rows[a][b] = true
				}
			}
		}
	}
	return rows
}

func (e *element) terminals() []Node {
	switch e.kind {
	case MotorBranch:
		return e.nodes[:3]
	case TransformerBranch:
		return e.nodes[:4]
	}
	return e.nodes[:2]
}

// place gives e its positions: each ordered pair of different terminals.
func (n *Net) place(e *element) {
	e.stamps = len(n.stamp)
	list := e.terminals()
	for i, a := range list {
		for j, b := range list {
			if i != j {
				n.stamp = append(n.stamp, n.plan.at(a, b))
			}
		}
	}
}

func (n *Net) allocate() {
	size := n.plan.n
	n.value, n.scratch = make([]complex128, len(n.stamp)), make([]complex128, len(n.stamp))
	n.live = matrix{make([]complex128, n.plan.slots), make([]complex128, size)}
	n.dead = matrix{make([]complex128, n.plan.slots), make([]complex128, size)}
	n.v = make([]complex128, size)
	for _, scratch := range []*[]complex128{&n.x, &n.xa, &n.w, &n.wa} {
		*scratch = make([]complex128, size)
	}
	n.state, n.deadOK = stale, false
}

// Clone returns a network of the same shape and values, not yet solved.
func (n *Net) Clone() *Net {
	c := *n
	c.elements = append([]element(nil), n.elements...)
	c.motors = append([]motor(nil), n.motors...)
	c.transformers = append([]transformer(nil), n.transformers...)
	c.allocate()
	copy(c.value, n.value)
	return &c
}

// CopyValues gives n the values of m, a network of the same shape, and its
// solution if it has one that still holds.
func (n *Net) CopyValues(m *Net) {
	if n.plan != m.plan {
		panic("circuit.Net.CopyValues: networks of different shape")
	}
	copy(n.elements, m.elements)
	copy(n.motors, m.motors)
	copy(n.transformers, m.transformers)
	copy(n.value, m.value)
	n.state, n.deadOK = stale, false
	if m.state == solved {
		copy(n.live.a, m.live.a)
		copy(n.live.inv, m.live.inv)
		copy(n.v, m.v)
		n.state = solved
	}
}

// Frequency returns the frequency of n.
func (n *Net) Frequency() quantity.Frequency { return n.f }

// NodeNamed returns the node of a name.
func (n *Net) NodeNamed(name string) (Node, bool) {
	for i, s := range n.names {
		if s == name {
			return Node(i), true
		}
	}
	return 0, false
}

// NodeName returns the name of a node.
func (n *Net) NodeName(a Node) string { return n.names[a] }

// Nodes returns the number of nodes, the reference included.
func (n *Net) Nodes() int { return len(n.names) }

// Branches returns the number of branches.
func (n *Net) Branches() int { return len(n.elements) }

// BranchName returns the name of a branch.
func (n *Net) BranchName(b Branch) string { return n.elements[b].name }

// Is tells whether b is a branch of n, and of a kind.
func (n *Net) Is(b Branch, k Kind) bool {
	return b >= 0 && int(b) < len(n.elements) && n.elements[b].kind == k
}

// MotorVolts returns the greater of the voltages across the windings of a motor.
func (n *Net) MotorVolts(b Branch) quantity.Voltage {
	e := n.of(b, MotorBranch)
	r, c, s := e.nodes[0], e.nodes[1], e.nodes[2]
	return max(Volts(n.Voltage(r, c)), Volts(n.Voltage(s, c)))
}

// Terminals returns the first two nodes of a branch: from and to, plus and
// minus, R and C of a motor, the primary of a transformer.
func (n *Net) Terminals(b Branch) (Node, Node) { return n.elements[b].nodes[0], n.elements[b].nodes[1] }

// Solve finds all voltages for the present values, if they have changed. An
// error names the node where the network has no finite voltage (an impedance of
// zero, an undamped resonance, a value that is not a number).
func (n *Net) Solve() error {
	if n.state == solved {
		return nil
	}
	if n.state == stale {
		n.assemble(&n.live, n.value)
		n.plan.factor(&n.live)
		n.state = factored
	}
	v := n.v
	clear(v)
	for i := range n.elements {
		e := &n.elements[i]
		if e.kind != SourceBranch {
			continue
		}
		j := e.volts * e.y
		n.inject(v, e.nodes[0], j)
		n.inject(v, e.nodes[1], -j)
	}
	n.plan.solve(&n.live, v)
	for i, z := range v {
		if d := real(z) - real(z) + imag(z) - imag(z); d != 0 { // NaN or infinite
			return fmt.Errorf("circuit: no finite voltage at node %q", n.nodeAt(int32(i)))
		}
	}
	n.state = solved
	return nil
}

// assemble writes the admittances into m, ready to factor.
func (n *Net) assemble(m *matrix, value []complex128) {
	clear(m.a)
	for k := range n.plan.n { // the leak of each node is in the reference column
		m.a[n.plan.row[k]+n.plan.degree[k]] = complex(-leak, 0)
	}
	for i, slot := range n.stamp {
		m.a[slot] += value[i]
	}
}

func (n *Net) inject(x []complex128, a Node, current complex128) {
	if a != Ground {
		x[n.plan.position[a-1]] += current
	}
}

func (n *Net) nodeAt(position int32) string {
	for i, p := range n.plan.position {
		if p == position {
			return n.names[i+1]
		}
	}
	return ""
}

// At returns the voltage of a node to the reference, V rms.
func (n *Net) At(a Node) complex128 {
	if a == Ground {
		return 0
	}
	return n.v[n.plan.position[a-1]]
}

// Voltage returns the voltage of a over b, V rms, with no meter connected.
func (n *Net) Voltage(a, b Node) complex128 { return n.At(a) - n.At(b) }

// Current returns the current through a two-terminal branch from its first to
// its second node, of a source the one delivered out of plus; A rms. Of a motor
// it is the current out of C, of a transformer the one out of the secondary.
func (n *Net) Current(b Branch) complex128 {
	e := &n.elements[b]
	switch e.kind {
	case MotorBranch:
		_, _, common := n.MotorCurrents(b)
		return common
	case TransformerBranch:
		_, secondary := n.TransformerCurrents(b)
		return secondary
	case SourceBranch:
		return (e.volts - n.Voltage(e.nodes[0], e.nodes[1])) * e.y
	}
	return n.Voltage(e.nodes[0], e.nodes[1]) * e.y
}

// MotorCurrents returns the currents into the main and the auxiliary winding
// and the one out of C, core loss included; A rms.
func (n *Net) MotorCurrents(b Branch) (main, aux, common complex128) {
	e := &n.elements[b]
	m := &n.motors[e.index]
	vm, va := n.Voltage(e.nodes[0], e.nodes[1]), n.Voltage(e.nodes[2], e.nodes[1])
	main, aux = m.y.Currents(vm, va)
	return main, aux, main + aux + vm*m.coreAdmittance()
}

// Torque returns the air-gap torque of a motor at its present slip.
func (n *Net) Torque(b Branch) quantity.Torque {
	m := &n.motors[n.elements[b].index]
	main, aux, _ := n.MotorCurrents(b)
	return m.Torque(m.slip, n.f, main, aux)
}

// Slip returns the present slip of a motor.
func (n *Net) Slip(b Branch) float64 { return n.motors[n.elements[b].index].slip }

// Motor returns the constants of a motor.
func (n *Net) Motor(b Branch) Motor { return n.motors[n.elements[b].index].Motor }

// TransformerCurrents returns the currents into the first primary and out of
// the first secondary terminal, A rms.
func (n *Net) TransformerCurrents(b Branch) (primary, secondary complex128) {
	e := &n.elements[b]
	t := &n.transformers[e.index]
	vp, vs := n.Voltage(e.nodes[0], e.nodes[1]), n.Voltage(e.nodes[2], e.nodes[3])
	return t.y11*vp + t.y12*vs, -(t.y12*vp + t.y22*vs)
}

// Power returns the power that flows into a branch (out of a source is
// negative), W.
func (n *Net) Power(b Branch) quantity.Power {
	e := &n.elements[b]
	v := n.Voltage(e.nodes[0], e.nodes[1])
	dot := func(v, i complex128) float64 { return real(v)*real(i) + imag(v)*imag(i) }
	switch e.kind {
	case MotorBranch:
		main, aux, common := n.MotorCurrents(b)
		core := common - main - aux
		return quantity.Power(dot(v, main+core) + dot(n.Voltage(e.nodes[2], e.nodes[1]), aux))
	case TransformerBranch:
		primary, secondary := n.TransformerCurrents(b)
		return quantity.Power(dot(v, primary) - dot(n.Voltage(e.nodes[2], e.nodes[3]), secondary))
	case SourceBranch:
		return quantity.Power(-dot(v, n.Current(b)))
	}
	return quantity.Power(dot(v, n.Current(b)))
}

// Amps returns the size of a current: what a clamp around the conductor shows.
func Amps(current complex128) quantity.Current { return quantity.Current(cmplx.Abs(current)) }

// Volts returns the size of a voltage.
func Volts(voltage complex128) quantity.Voltage { return quantity.Voltage(cmplx.Abs(voltage)) }

// WindingAdmittance is the inverse of a WindingImpedance, siemens.
type WindingAdmittance WindingImpedance

// Admittance returns the inverse of z.
func (z WindingImpedance) Admittance() WindingAdmittance {
	d := reciprocal(z.MainMain*z.AuxAux - z.MainAux*z.AuxMain)
	return WindingAdmittance{MainMain: z.AuxAux * d, MainAux: -z.MainAux * d, AuxMain: -z.AuxMain * d, AuxAux: z.MainMain * d}
}

// Currents returns the winding currents for the voltages V(R)−V(C) and
// V(S)−V(C).
func (y WindingAdmittance) Currents(main, aux complex128) (im, ia complex128) {
	return y.MainMain*main + y.MainAux*aux, y.AuxMain*main + y.AuxAux*aux
}

func (m *Motor) coreAdmittance() complex128 {
	if m.CoreOhms == 0 {
		return 0
	}
	return complex(1/float64(m.CoreOhms), 0)
}

// reactance scales the reactance of z from BaseFrequency to f.
func reactance(z complex128, f quantity.Frequency) complex128 {
	return complex(real(z), imag(z)*float64(f/BaseFrequency))
}

func (e *element) admittance(f quantity.Frequency) complex128 {
	switch {
	case e.kind == CapacitorBranch:
		return complex(0, 2*math.Pi*float64(f)*e.farad)
	case e.kind == SwitchBranch && !e.closed:
		return complex(1/float64(Open), 0)
	}
	return reciprocal(reactance(e.z, f))
}
