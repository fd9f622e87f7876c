package circuit

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// controls is the transformer of the published control-circuit cases with a
// load on its secondary.
func controls(t *testing.T, load quantity.Resistance) (*Net, Node, Node, Branch) {
	t.Helper()
	b := NewBuilder(BaseFrequency)
	hot, sec, c := b.Node("hot"), b.Node("secondary"), b.Node("C")
	b.Switch("disconnect", hot, b.Node("line"), 0.005)
	b.Source("line", b.Node("line"), Ground, 120, 1e-4)
	x := b.Transformer("transformer", hot, Ground, sec, c, Transformer{Ratio: 4.3, Primary: 24 + 3i, Secondary: 0.8 + 0.15i, Magnetising: 450 + 1800i})
	b.Resistor("bond", c, Ground, 0.01)
	b.Resistor("load", sec, c, load)
	n, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	return n, sec, c, x
}

func TestPublishedTransformer(t *testing.T) {
	open, s0, c0, _ := controls(t, Open)
	n, sec, c, x := controls(t, 14.4)
	_, amps := n.TransformerCurrents(x)
	published.Read(t, "transformer.txt").CheckList(t, map[string]float64{
		"open voltage":   float64(open.Meter(s0, c0, HighImpedance)),
		"loaded voltage": float64(Volts(n.Voltage(sec, c))),
		"loaded current": float64(Amps(amps)),
	})
}

// practice: winding ohms of the 3 ton compressor, C-R 0.85, C-S 1.65, and R-S
// their sum; the capacitor reads open.
func TestOhmsOfMotor(t *testing.T) {
	x := ofType(t, named(t, "comp-3-ton"))
	r, s := Node(1), Node(2)
	var live *LiveError
	if err := x.Solve(); err != nil {
		t.Fatal(err)
	}
	if _, err := x.Ohms(r, Ground); !errors.As(err, &live) {
		t.Errorf("Ohms on 230 V: error %v, want a LiveError", err)
	}
	x.SetSource(x.line, 0)
	x.SetImpedance(x.line, 1e9) // disconnect out
	if err := x.Solve(); err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		a, b Node
		want float64
	}{{r, Ground, 0.85}, {s, Ground, 1.65}, {r, s, 2.50}, {r, r, 0}} {
		got, err := x.Ohms(row.a, row.b)
		if err != nil {
			t.Fatal(err)
		}
		published.Near(t, "winding, ohm", float64(got), row.want, 1e-7) // a gigohm in parallel
	}
}

// Two paths in parallel fool the ohmmeter: a coil measured in place reads with
// the transformer's secondary across it, and alone when a lead is lifted. No
// published figure: the values are the parallel law.
func TestOhmsInParallel(t *testing.T) {
	n, sec, c, _ := controls(t, 18)
	n.SetClosed(0, false)
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	got, err := n.Ohms(sec, c)
	if err != nil {
		t.Fatal(err)
	}
	published.Near(t, "coil and secondary, ohm", float64(got), 18*0.8/18.8, 1e-9)
	n.SetTransformer(2, Transformer{Ratio: 4.3, Primary: 24, Secondary: 1e9, Magnetising: 1800i})
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	if got, err = n.Ohms(sec, c); err != nil {
		t.Fatal(err)
	}
	published.Near(t, "coil alone, ohm", float64(got), 18, 1e-6)
}

// No published figure: power into all branches of a network adds up to zero,
// and the shaft and the losses of a motor to what it takes.
func TestPowerBalances(t *testing.T) {
	n, comp := splitSystem(t)
	n.SetSlip(comp, 0.03)
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for b := range n.elements {
		sum += float64(n.Power(Branch(b)))
	}
	published.Near(t, "sum of powers, W", sum, 0, 1e-3) // sources of a microhm: their amps are rounded to 1e-7

	m := n.Motor(comp)
	main, aux, common := n.MotorCurrents(comp)
	r1m, r1a := m.running()
	r, c := n.Terminals(comp)
	core := abs2(n.Voltage(r, c)) / float64(m.CoreOhms)
	copperLoss := abs2(main)*r1m + abs2(aux)*r1a
	airGap := float64(n.Power(comp)) - core - copperLoss
	zf, zb := m.fields(0.03, BaseFrequency)
	a := float64(m.Turns)
	forward := abs2(main-complex(0, a)*aux) * real(zf) // the two revolving fields and their currents
	backward := abs2(main+complex(0, a)*aux) * real(zb)
	published.Near(t, "air-gap power, W", airGap, forward+backward, 1e-6)
	published.Near(t, "torque, N·m", float64(n.Torque(comp)), (forward-backward)/float64(m.SynchronousSpeed(BaseFrequency)), 1e-9)
	if common == 0 {
		t.Error("no current")
	}
}

func TestCloneIsIndependent(t *testing.T) {
	n, comp := splitSystem(t)
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	before := n.Current(comp)
	c := n.Clone()
	c.SetSlip(comp, 1)
	if err := c.Solve(); err != nil {
		t.Fatal(err)
	}
	if n.Slip(comp) == 1 || n.Current(comp) != before {
		t.Error("a change of the clone shows in the original")
	}
	c.CopyValues(n)
	if err := c.Solve(); err != nil {
		t.Fatal(err)
	}
	if c.Current(comp) != before {
		t.Errorf("current of the copy %v, want %v", c.Current(comp), before)
	}
}

func TestBuilderRefuses(t *testing.T) {
	for name, spoil := range map[string]func(*Builder){
		"zero ohm":          func(b *Builder) { b.Resistor("x", b.Node("a"), Ground, 0) },
		"ideal source":      func(b *Builder) { b.Source("x", b.Node("a"), Ground, 120, 0) },
		"negative farad":    func(b *Builder) { b.Capacitor("x", b.Node("a"), Ground, -1e-6) },
		"not a number":      func(b *Builder) { b.Resistor("x", b.Node("a"), Ground, quantity.Resistance(math.NaN())) },
		"transformer ratio": func(b *Builder) { b.Transformer("x", b.Node("a"), Ground, b.Node("s"), Ground, Transformer{}) },
		"motor of nothing":  func(b *Builder) { b.Motor("x", b.Node("a"), Ground, b.Node("s"), Motor{}) },
	} {
		b := NewBuilder(BaseFrequency)
		spoil(b)
		if _, err := b.Compile(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := NewBuilder(0).Compile(); err == nil {
		t.Error("0 Hz: no error")
	}
}

// A value that spoils the network is told with the node, not shown as a
// reading.
func TestSolveTellsNaN(t *testing.T) {
	x := ofType(t, named(t, "comp-3-ton"))
	x.SetCapacitance(x.capacitor, quantity.Capacitance(math.NaN()))
	if err := x.Solve(); err == nil {
		t.Error("no error for a capacitance that is not a number")
	}
}
