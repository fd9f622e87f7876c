package circuit

import (
	"fmt"
	"math"

	"rung/internal/quantity"
)

// Node is a place of a network where a meter lead can touch.
type Node int32

// Ground is the reference node of every network: the grounded midpoint of the
// service, joined to the cabinets.
const Ground Node = 0

// Branch is the handle of one element of a network.
type Branch int32

// Open is the resistance of an open switch, a blown fuse or a broken wire.
const Open quantity.Resistance = 1e9 // ohm; practice: a value that a meter cannot tell from open

// Kind is a kind of branch.
type Kind uint8

// The kinds of branch.
const (
	ImpedanceBranch Kind = iota
	CapacitorBranch
	SwitchBranch
	SourceBranch
	TransformerBranch
	MotorBranch
)

func (k Kind) String() string {
	return [...]string{"impedance", "capacitor", "switch", "source", "transformer", "motor"}[k]
}

// element is one branch with its present values.
type element struct {
	kind   Kind
	name   string
	nodes  [4]Node // two terminals; a motor R, C, S; a transformer p1, p2, s1, s2
	stamps int     // its first position in Net.stamp
	index  int     // position in Net.motors or Net.transformers

	z      complex128 // impedance kinds, at BaseFrequency: ohm
	farad  float64
	closed bool
	y      complex128 // two-terminal kinds: admittance at the frequency of the net, siemens
	volts  complex128 // source: open-circuit voltage, first over second node, V rms
}

// Transformer is a two-winding transformer by its equivalent T circuit; all
// impedances in ohm at BaseFrequency.
type Transformer struct {
	Ratio       quantity.Ratio // turns, primary to secondary
	Primary     complex128     // resistance and leakage of the primary
	Secondary   complex128     // resistance and leakage of the secondary
	Magnetising complex128     // series form, seen from the primary
}

// ControlTransformer returns a transformer for 24 V of the given primary
// voltage in V and rating in VA.
//
// memory: a 40 VA transformer of 120 V: primary 20 to 40 ohm, secondary 0.7 to
// 1.5 ohm. practice: this one gives 27.8 V open and 24.2 V at 1.68 A. Other
// primaries and ratings scale by turns squared and by rating.
func ControlTransformer(primary quantity.Voltage, va quantity.Power) Transformer {
	turns := float64(primary) / 120
	k := complex(turns*turns*40/float64(va), 0)
	return Transformer{
		Ratio:       quantity.Ratio(4.3 * turns),
		Primary:     (24 + 3i) * k,
		Secondary:   (0.8 + 0.15i) * complex(40/float64(va), 0),
		Magnetising: (450 + 1800i) * k,
	}
}

type transformer struct {
	Transformer
	y11, y12, y22 complex128 // two-port admittance, siemens
}

type motor struct {
	Motor
	slip float64
	y    WindingAdmittance
}

// Builder collects the nodes and elements of a network of fixed shape.
//
// Its methods take nodes of the same builder. Values out of range are reported
// by Compile.
type Builder struct {
	f            quantity.Frequency
	names        []string
	index        map[string]Node
	elements     []element
	motors       []motor
	transformers []transformer
	err          error
}

// NewBuilder starts a network for one frequency, 1 to 1000 Hz. Its reference
// node is named "ground".
func NewBuilder(f quantity.Frequency) *Builder {
	b := &Builder{f: f, names: []string{"ground"}, index: map[string]Node{"ground": Ground}}
	b.err = quantity.CheckRange("circuit.NewBuilder", "frequency", float64(f), 1, 1000, "Hz")
	return b
}

// Node returns the node of a name, new or known.
func (b *Builder) Node(name string) Node {
	if n, known := b.index[name]; known {
		return n
	}
	n := Node(len(b.names))
	b.names = append(b.names, name)
	b.index[name] = n
	return n
}

// Impedance adds z = R + jX at BaseFrequency between two nodes.
func (b *Builder) Impedance(name string, from, to Node, z complex128) Branch {
	b.checkSize(name, z)
	return b.add(element{kind: ImpedanceBranch, name: name, nodes: [4]Node{from, to}, z: z})
}

// Resistor adds a resistance between two nodes.
func (b *Builder) Resistor(name string, from, to Node, r quantity.Resistance) Branch {
	return b.Impedance(name, from, to, complex(float64(r), 0))
}

// Capacitor adds a capacitance between two nodes; zero is an open capacitor.
func (b *Builder) Capacitor(name string, from, to Node, c quantity.Capacitance) Branch {
	if err := quantity.CheckRange("circuit.Builder.Capacitor", name, float64(c), 0, 1, "F"); err != nil {
		b.fail(err)
	}
	return b.add(element{kind: CapacitorBranch, name: name, nodes: [4]Node{from, to}, farad: float64(c)})
}

// Switch adds a contact, fuse or any conductor that can open, with the
// resistance it has when closed. It starts closed.
func (b *Builder) Switch(name string, from, to Node, contact quantity.Resistance) Branch {
	z := complex(float64(contact), 0)
	b.checkSize(name, z)
	return b.add(element{kind: SwitchBranch, name: name, nodes: [4]Node{from, to}, z: z, closed: true})
}

// Source adds a voltage source: volts is the open-circuit voltage of plus over
// minus (V rms), z the impedance inside it at BaseFrequency.
func (b *Builder) Source(name string, plus, minus Node, volts, z complex128) Branch {
	b.checkSize(name, z)
	return b.add(element{kind: SourceBranch, name: name, nodes: [4]Node{plus, minus}, volts: volts, z: z})
}

// Transformer adds a transformer between the nodes of its primary and of its
// secondary. The first node of each has the same polarity.
func (b *Builder) Transformer(name string, p1, p2, s1, s2 Node, t Transformer) Branch {
	if !(t.Ratio >= 1e-3 && t.Ratio <= 1e3) {
		b.fail(fmt.Errorf("circuit: transformer %q: ratio %g is outside 0.001 to 1000", name, float64(t.Ratio)))
	}
	for _, z := range []complex128{t.Primary, t.Secondary, t.Magnetising} {
		b.checkSize(name, z)
	}
	b.transformers = append(b.transformers, transformer{Transformer: t})
	return b.add(element{kind: TransformerBranch, name: name, nodes: [4]Node{p1, p2, s1, s2}, index: len(b.transformers) - 1})
}

// Motor adds a motor at rest between its run, common and start terminals. The
// run capacitor is an element of its own.
func (b *Builder) Motor(name string, r, c, s Node, m Motor) Branch {
	if m.Poles < 2 || !(m.RotorR > 0) || !(m.MagnetisingX > 0) || !(m.Turns > 0) || !(m.MainOhms > 0) || !(m.AuxOhms > 0) {
		b.fail(fmt.Errorf("circuit: motor %q: poles, resistances, magnetising reactance and turns must be above zero", name))
	}
	b.motors = append(b.motors, motor{Motor: m, slip: 1})
	return b.add(element{kind: MotorBranch, name: name, nodes: [4]Node{r, c, s}, index: len(b.motors) - 1})
}

func (b *Builder) add(e element) Branch {
	for _, n := range e.nodes {
		if n < 0 || int(n) >= len(b.names) {
			panic("circuit.Builder: node of another network")
		}
	}
	b.elements = append(b.elements, e)
	return Branch(len(b.elements) - 1)
}

// checkSize refuses impedances that would drown the others in rounding.
func (b *Builder) checkSize(name string, z complex128) {
	const least = 1e-6 // ohm; limit of this solver
	size := math.Sqrt(abs2(z))
	if err := quantity.CheckRange("circuit.Builder", "impedance of "+name, size, least, maxOhms, "ohm"); err != nil {
		b.fail(err)
	}
}

func (b *Builder) fail(err error) {
	if b.err == nil {
		b.err = err
	}
}

// Compile works out the order of elimination and returns the network, not yet
// solved. The builder may go on to make another.
func (b *Builder) Compile() (*Net, error) {
	if b.err != nil {
		return nil, b.err
	}
	n := &Net{
		f:            b.f,
		names:        append([]string(nil), b.names...),
		elements:     append([]element(nil), b.elements...),
		motors:       append([]motor(nil), b.motors...),
		transformers: append([]transformer(nil), b.transformers...),
	}
	plan := newPlan(len(b.names)-1, n.adjacency())
	n.plan = plan
	for i := range n.elements {
		n.place(&n.elements[i])
	}
	n.allocate()
	for i := range n.elements {
		n.refresh(Branch(i))
	}
	return n, nil
}
