package circuit

import (
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Three networks of houses against a general circuit simulator, run here and
// now: set SIMULATOR to the command of ngspice to ask for it.
//
// Voltages agree within 1e-6 of the largest of the case, and a microvolt for the
// digits that the simulator writes.
func TestAgainstSimulator(t *testing.T) {
	command := os.Getenv("SIMULATOR")
	if command == "" {
		t.Skip("SIMULATOR is not set: no circuit simulator to compare with (SIMULATOR=ngspice)")
	}
	files, err := filepath.Glob("testdata/simulator/*.json")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d networks, %v", len(files), err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".json"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			var c Case
			if err := json.Unmarshal(text, &c); err != nil {
				t.Fatal(err)
			}
			ours, err := c.Solve()
			if err != nil {
				t.Fatal(err)
			}
			theirs := simulate(t, command, &c)
			largest := 0.0
			for _, p := range ours.Nodes {
				largest = math.Max(largest, cmplx.Abs(p.Complex()))
			}
			for name, p := range ours.Nodes {
				other, ok := theirs[name]
				if !ok && name != c.ReferenceNode {
					t.Errorf("the simulator has no node %s", name)
				}
				if d := cmplx.Abs(p.Complex() - other); d > 1e-6*largest+1e-6 {
					t.Errorf("%s: %v, the simulator %v, apart by %g V", name, p.Complex(), other, d)
				}
			}
		})
	}
}

// simulate runs the simulator on the case and returns its node voltages.
func simulate(t *testing.T, command string, c *Case) map[string]complex128 {
	t.Helper()
	number := map[string]int{c.ReferenceNode: 0}
	var order []string
	node := func(name string) int {
		if _, known := number[name]; !known {
			number[name] = len(number)
			order = append(order, name)
		}
		return number[name]
	}
	var b strings.Builder
	fmt.Fprintf(&b, "* %s\n", c.ID)
	for i, k := range c.Components {
		a, z := node(k.Nodes[0]), node(k.Nodes[1])
		switch k.Type {
		case "vsource":
			fmt.Fprintf(&b, "V%d %d %d AC %.15g %.15g\n", i, a, z, *k.VRMS, k.Deg)
		case "resistor":
			fmt.Fprintf(&b, "R%d %d %d %.15g\n", i, a, z, *k.Ohms)
		case "series_rx":
			fmt.Fprintf(&b, "R%d %d m%d %.15g\nL%d m%d %d %.15g\n", i, a, i, *k.Ohms, i, i, z, k.XOhms/(2*math.Pi*60))
		case "capacitor":
			fmt.Fprintf(&b, "C%d %d %d %.15g\n", i, a, z, *k.UF*1e-6)
		case "ideal_transformer":
			// The secondary is a source of the primary's volts over the ratio; its
			// current comes back to the primary.
			s1, s2 := node(k.Nodes[2]), node(k.Nodes[3])
			fmt.Fprintf(&b, "E%d e%d %d %d %d %.15g\nV%d e%d %d 0\nF%d %d %d V%d %.15g\n",
				i, i, s2, a, z, 1 / *k.Ratio, i, i, s1, i, a, z, i, 1 / *k.Ratio)
		default:
			t.Fatalf("the simulator is given no %s", k.Type)
		}
	}
	b.WriteString(".control\nset numdgt=12\nac lin 1 60 60\nwrdata volts") // it writes small letters only
	for _, name := range order {
		fmt.Fprintf(&b, " v(%d)", number[name])
	}
	b.WriteString("\nquit 0\n.endc\n.end\n")
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "deck.cir"), []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	run := exec.Command(command, "-b", "deck.cir")
	run.Dir = dir
	if text, err := run.CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", command, err, text)
	}
	text, err := os.ReadFile(filepath.Join(dir, "volts"))
	if err != nil {
		t.Fatal(err)
	}
	fields := strings.Fields(string(text))
	if len(fields) != 3*len(order) {
		t.Fatalf("%d numbers for %d nodes", len(fields), len(order))
	}
	volts := map[string]complex128{}
	for i, name := range order {
		var re, im float64
		if _, err := fmt.Sscan(fields[3*i+1]+" "+fields[3*i+2], &re, &im); err != nil {
			t.Fatal(err)
		}
		volts[name] = complex(re, im)
	}
	return volts
}
