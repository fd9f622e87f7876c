package circuit

import (
	"fmt"
	"testing"
)

// splitSystem is a network of the size of a whole split air conditioner: the
// published condensing unit and control circuit side by side, and some more
// wiring.
func splitSystem(t testing.TB) (*Net, Branch) {
	t.Helper()
	var all Case
	for _, r := range references(t) {
		if r.ID != "cu-3t-run-normal" && r.ID != "lv-cool-call-normal" {
			continue
		}
		all.ReferenceNode = r.ReferenceNode
		all.Components = append(all.Components, r.Components...)
	}
	for i := range 8 {
		ohms := 0.1
		all.Components = append(all.Components,
			Component{ID: fmt.Sprint("X", i), Type: "resistor", Nodes: []string{"sec", fmt.Sprint("x", i)}, Ohms: &ohms},
			Component{ID: fmt.Sprint("Y", i), Type: "resistor", Nodes: []string{fmt.Sprint("x", i), fmt.Sprint("x", (i+1)%8)}, Ohms: &ohms})
	}
	r := compileReference(t, &all)
	return r.Net, r.branch["COMP"]
}

// Budget: 5 µs for a new solution of a whole split system (34 nodes) after a
// change of values; no allocation.
func BenchmarkSolve(b *testing.B) {
	n, comp := splitSystem(b)
	b.ReportAllocs()
	slip := 0.03
	for b.Loop() {
		slip = 0.061 - slip
		n.SetSlip(comp, slip)
		if err := n.Solve(); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 1 µs for a voltmeter reading with its loading; no allocation.
func BenchmarkMeter(b *testing.B) {
	n, comp := splitSystem(b)
	if err := n.Solve(); err != nil {
		b.Fatal(err)
	}
	r, c := n.Terminals(comp)
	b.ReportAllocs()
	for b.Loop() {
		n.Meter(r, c, HighImpedance)
	}
}

// Budget: 1 ms for the largest published case by the dense way.
func BenchmarkCase(b *testing.B) {
	list := references(b)
	for b.Loop() {
		if _, err := list[0].Solve(); err != nil {
			b.Fatal(err)
		}
	}
}

// Budget: 40 µs to start compressor and fan from rest and balance both with
// their loads, in a whole split system; no allocation.
func BenchmarkRunFromRest(b *testing.B) {
	n, comp := splitSystem(b)
	var drives [2]Drive
	for i := range n.motors {
		drives[i].Rated = 230
	}
	drives[0].Motor, drives[0].Load = comp, CompressorLoad(2288, 365.3)
	for i := range n.elements {
		if n.BranchName(Branch(i)) == "FAN" {
			drives[1].Motor, drives[1].Load = Branch(i), FanLoad(187, 112.5)
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		for i := range drives {
			drives[i].Motion = AtRest
			n.SetSlip(drives[i].Motor, 1)
		}
		if err := n.Run(drives[:]); err != nil {
			b.Fatal(err)
		}
		if drives[0].Motion != Turning || drives[1].Motion != Turning {
			b.Fatal("a motor did not start")
		}
	}
}
