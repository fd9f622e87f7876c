package circuit

import (
	"math/rand/v2"
	"testing"

	"rung/internal/quantity"
)

// A network keeps of its last solution what the changes since have left
// standing. Property: after any changes it has, bit for bit, the voltages of a
// copy that is solved from nothing, and hands them on with its values. Seed 6, 1.
func TestSolutionIsKeptOnlyWhileItHolds(t *testing.T) {
	n, comp := splitSystem(t)
	rng := rand.New(rand.NewPCG(6, 1))
	other := n.Clone()
	for range 400 {
		for range rng.IntN(3) {
			change(n, comp, rng)
		}
		fresh := n.Clone()
		for _, net := range []*Net{n, fresh} {
			if err := net.Solve(); err != nil {
				t.Fatal(err)
			}
		}
		other.CopyValues(n)
		if rng.IntN(2) == 0 {
			if err := other.Solve(); err != nil {
				t.Fatal(err)
			}
		}
		for i := range Node(n.Nodes()) {
			if n.At(i) != fresh.At(i) || other.At(i) != fresh.At(i) {
				t.Fatalf("node %q: %v kept, %v copied, %v fresh", n.NodeName(i), n.At(i), other.At(i), fresh.At(i))
			}
		}
	}
}

// change gives one thing another value, or the one it has.
func change(n *Net, comp Branch, rng *rand.Rand) {
	switch b := Branch(rng.IntN(n.Branches())); {
	case n.Is(b, SourceBranch):
		n.SetSource(b, complex(float64(110+10*rng.IntN(3)), 0))
	case n.Is(b, ImpedanceBranch):
		n.SetResistance(b, quantity.Resistance(1+rng.IntN(3)))
	case n.Is(b, CapacitorBranch):
		n.SetCapacitance(b, quantity.Capacitance(5e-6*float64(rng.IntN(3))))
	case n.Is(b, TransformerBranch):
		n.SetTransformer(b, Transformer{Ratio: quantity.Ratio(4 + rng.IntN(2)), Primary: 24, Secondary: 0.8, Magnetising: 450 + 1800i})
	case n.Is(b, MotorBranch):
		m := n.Motor(b)
		m.MainOhms = quantity.Resistance(1 + rng.IntN(2))
		n.SetMotor(b, m)
	default:
		n.SetSlip(comp, 0.01*float64(1+rng.IntN(3)))
	}
}

// A motor alone on its network is balanced in one go. Property: its torque is
// that of the load, whatever supply and load it comes from. 1e-6: the slip to
// which a balance is taken over a slip of some per cent.
func TestLoneMotorBalancesAtOnce(t *testing.T) {
	x := ofType(t, named(t, "comp-3-ton"))
	if x.run(t) != Turning {
		t.Fatal("it does not start")
	}
	for _, volts := range []float64{200, 240, 215, 250} {
		for _, k := range []float64{1, 0.6, 1.2, 0.3} {
			x.SetSource(x.line, complex(volts, 0))
			d := []Drive{x.drive[0]}
			d[0].Motion = Turning
			d[0].Load.Torque *= quantity.Torque(k)
			if err := x.Run(d); err != nil {
				t.Fatal(err)
			}
			got, want := float64(x.Torque(x.motor)), float64(d[0].Load.Torque)
			if d[0].Motion != Turning || abs(got/want-1) > 1e-6 {
				t.Errorf("at %g V and %g of its load: %v, torque %.8g of %.8g N·m", volts, k, d[0].Motion, got, want)
			}
		}
	}
}
