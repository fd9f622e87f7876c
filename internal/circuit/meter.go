package circuit

import (
	"fmt"
	"math"

	"rung/internal/quantity"
)

// The loading of voltmeters.
const (
	// HighImpedance is the input resistance of a digital multimeter.
	HighImpedance quantity.Resistance = 10e6 // ohm; practice: nearly all of them
	// LowImpedance is that of its low-impedance range or of a solenoid tester.
	LowImpedance quantity.Resistance = 3e3 // ohm; practice: about 2 to 4 kilohm
)

// Thevenin returns the voltage of a over b with nothing connected and the
// impedance seen between them, from the last solution.
func (n *Net) Thevenin(a, b Node) (volts, z complex128) {
	return n.Voltage(a, b), n.seen(&n.live, a, b)
}

// seen returns the impedance between two nodes in a factored matrix.
func (n *Net) seen(m *matrix, a, b Node) complex128 {
	from := n.pair(n.x, a, b)
	n.plan.forward(m, n.x, from)
	n.pair(n.w, a, b)
	n.plan.backward(m, n.w, from)
	return dot(n.w, n.x, from)
}

// pair puts 1 A into node a and out of b, or the reading of a over b, into an
// empty x; all before the position it returns is nothing.
func (n *Net) pair(x []complex128, a, b Node) (from int) {
	clear(x)
	from = n.plan.n
	if a != Ground {
		from = int(n.plan.position[a-1])
		x[from]++
	}
	if b != Ground {
		k := int(n.plan.position[b-1])
		x[k]--
		from = min(from, k)
	}
	return from
}

// dot returns wᵀx from a position on.
func dot(w, x []complex128, from int) (sum complex128) {
	for k := from; k < len(x); k++ {
		if w[k] != 0 && x[k] != 0 {
			sum += w[k] * x[k]
		}
	}
	return sum
}

// Meter returns what a voltmeter of input resistance r shows between two
// nodes. The meter loads the network, which shows on floating conductors: a
// ghost voltage.
func (n *Net) Meter(a, b Node, r quantity.Resistance) quantity.Voltage {
	if a == b {
		return 0
	}
	v, z := n.Thevenin(a, b)
	return Volts(v * quotient(complex(float64(r), 0), complex(float64(r), 0)+z))
}

// LiveError says that an ohmmeter was put where there is voltage.
type LiveError struct {
	From, To string
	Volts    quantity.Voltage
}

func (e *LiveError) Error() string {
	return fmt.Sprintf("circuit: %.3g V between %q and %q: an ohmmeter reads only on a dead circuit", float64(e.Volts), e.From, e.To)
}

// deadVolts is the voltage above which an ohmmeter gives no reading.
const deadVolts = 1 // V; practice: a dead circuit reads less on a meter that was proved

// Ohms returns what an ohmmeter shows between two nodes, for the present
// positions of all switches. Every path in parallel counts: windings read their
// copper, transformers do not couple, a capacitor has finished charging and
// reads open, and a source that is still connected reads the resistance inside
// it.
//
// The last solution must be of the same positions, and dead between the two
// nodes; otherwise the error is a *LiveError. Open switches add up: more than
// about 20 megohm means no path.
func (n *Net) Ohms(a, b Node) (quantity.Resistance, error) {
	if a == b {
		return 0, nil
	}
	if v := Volts(n.Voltage(a, b)); !(v <= deadVolts) {
		return quantity.Resistance(math.NaN()), &LiveError{From: n.names[a], To: n.names[b], Volts: v}
	}
	if !n.deadOK {
		n.fillDead()
		n.assemble(&n.dead, n.scratch)
		n.plan.factor(&n.dead)
		n.deadOK = true
	}
	return quantity.Resistance(real(n.seen(&n.dead, a, b))), nil
}

// fillDead writes the direct-current conductances of all elements.
func (n *Net) fillDead() {
	for i := range n.elements {
		e := &n.elements[i]
		v := n.scratch[e.stamps:]
		switch e.kind {
		case MotorBranch:
			m := &n.motors[e.index]
			stampMotor(v, WindingAdmittance{MainMain: copper(float64(m.MainOhms)), AuxAux: copper(float64(m.AuxOhms))}, 0)
		case TransformerBranch:
			t := &n.transformers[e.index]
			stampTransformer(v, copper(real(t.Primary)), 0, copper(real(t.Secondary)))
		default:
			g := copper(real(e.z))
			if e.kind == CapacitorBranch || e.kind == SwitchBranch && !e.closed {
				g = complex(1/float64(Open), 0)
			}
			v[0], v[1] = -g, -g
		}
	}
}

// copper returns the conductance of r ohm, at least a microhm: an ideal
// inductor is a wire to direct current.
func copper(r float64) complex128 { return complex(1/math.Max(r, 1e-6), 0) }
