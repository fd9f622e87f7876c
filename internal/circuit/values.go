package circuit

import "rung/internal/quantity"

// The Set methods change the values of one branch of the kind they name; a
// branch of another kind is a mistake of the caller and panics.

// SetImpedance gives an impedance, the inside of a source or the closed contact
// of a switch a new value at BaseFrequency; not zero.
func (n *Net) SetImpedance(b Branch, z complex128) {
	e := &n.elements[b]
	if e.kind != ImpedanceBranch && e.kind != SourceBranch && e.kind != SwitchBranch {
		panic("circuit.Net.SetImpedance: " + e.name + " has no impedance")
	}
	if e.z != z {
		e.z = z
		n.refresh(b)
	}
}

// SetResistance is SetImpedance with no reactance.
func (n *Net) SetResistance(b Branch, r quantity.Resistance) {
	n.SetImpedance(b, complex(float64(r), 0))
}

// SetCapacitance gives a capacitor a new value; zero is open.
func (n *Net) SetCapacitance(b Branch, c quantity.Capacitance) {
	e := n.of(b, CapacitorBranch)
	if e.farad != float64(c) {
		e.farad = float64(c)
		n.refresh(b)
	}
}

// SetClosed opens or closes a switch.
func (n *Net) SetClosed(b Branch, closed bool) {
	e := n.of(b, SwitchBranch)
	if e.closed != closed {
		e.closed = closed
		n.refresh(b)
	}
}

// Closed tells whether a switch is closed.
func (n *Net) Closed(b Branch) bool { return n.of(b, SwitchBranch).closed }

// SetSource gives a source a new open-circuit voltage, V rms.
func (n *Net) SetSource(b Branch, volts complex128) {
	e := n.of(b, SourceBranch)
	if e.volts != volts {
		e.volts = volts
		n.state = min(n.state, factored)
	}
}

// SetTransformer gives a transformer new constants.
func (n *Net) SetTransformer(b Branch, t Transformer) {
	old := &n.transformers[n.of(b, TransformerBranch).index].Transformer
	if *old != t {
		*old = t
		n.refresh(b)
	}
}

// SetMotor gives a motor new constants at the slip it has.
func (n *Net) SetMotor(b Branch, m Motor) {
	old := &n.motors[n.of(b, MotorBranch).index].Motor
	if *old != m {
		*old = m
		n.refresh(b)
	}
}

// SetSlip gives a motor a slip: 1 at rest, 0 at synchronous speed.
func (n *Net) SetSlip(b Branch, slip float64) {
	m := &n.motors[n.of(b, MotorBranch).index]
	if m.slip != slip {
		m.slip = slip
		n.refresh(b)
	}
}

func (n *Net) of(b Branch, k Kind) *element {
	e := &n.elements[b]
	if e.kind != k {
		panic("circuit.Net: " + e.name + " is another kind of branch")
	}
	return e
}

// refresh recomputes what the values of b put into the matrix.
func (n *Net) refresh(b Branch) {
	n.state, n.deadOK = stale, false
	e := &n.elements[b]
	switch e.kind {
	case MotorBranch:
		m := &n.motors[e.index]
		m.y = m.Impedance(m.slip, n.f).Admittance()
		stampMotor(n.value[e.stamps:], m.y, m.coreAdmittance())
	case TransformerBranch:
		t := &n.transformers[e.index]
		t.update(n.f)
		stampTransformer(n.value[e.stamps:], t.y11, t.y12, t.y22)
	default:
		e.y = e.admittance(n.f)
		n.value[e.stamps], n.value[e.stamps+1] = -e.y, -e.y
	}
}

// stampMotor writes the six off-diagonal admittances of a motor in the order
// R-C, R-S, C-R, C-S, S-R, S-C; g is its core loss.
func stampMotor(v []complex128, y WindingAdmittance, g complex128) {
	v[0], v[1] = -(y.MainMain + y.MainAux + g), y.MainAux
	v[2], v[3] = -(y.MainMain + y.AuxMain + g), -(y.MainAux + y.AuxAux)
	v[4], v[5] = y.AuxMain, -(y.AuxMain + y.AuxAux)
}

// stampTransformer writes the twelve off-diagonal admittances of a two-port
// between p1, p2 and s1, s2.
func stampTransformer(v []complex128, y11, y12, y22 complex128) {
	v[0], v[1], v[2] = -y11, y12, -y12   // row p1: p2, s1, s2
	v[3], v[4], v[5] = -y11, -y12, y12   // row p2: p1, s1, s2
	v[6], v[7], v[8] = y12, -y12, -y22   // row s1: p1, p2, s2
	v[9], v[10], v[11] = -y12, y12, -y22 // row s2: p1, p2, s1
}

// update forms the two-port admittances of the T circuit.
func (t *transformer) update(f quantity.Frequency) {
	k := complex(1/float64(t.Ratio), 0)
	zp, zs, zm := reactance(t.Primary, f), reactance(t.Secondary, f), reactance(t.Magnetising, f)
	d := reciprocal(zp*zs + zp*zm*k*k + zm*zs)
	t.y11 = (zs + zm*k*k) * d
	t.y12 = -zm * k * d
	t.y22 = (zp + zm) * d
}
