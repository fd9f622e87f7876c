package circuit

import (
	"bufio"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"strconv"
	"strings"
	"testing"
)

// reference is a published network with its results.
type reference struct {
	Case
	nodes, currents map[string]complex128
	matrices        map[string]WindingImpedance
	torques         map[string]float64
	readings        []reading
}

type reading struct {
	from, to string
	volts    float64
}

// references reads testdata/published/networks.txt, whose head says the form.
func references(t testing.TB) []*reference {
	t.Helper()
	file, err := os.Open("testdata/published/networks.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var list []*reference
	lines := bufio.NewScanner(file)
	for number := 1; lines.Scan(); number++ {
		f := strings.Fields(lines.Text())
		if len(f) == 0 || strings.HasPrefix(f[0], "#") {
			continue
		}
		if f[0] == "case" {
			list = append(list, &reference{Case: Case{ID: f[1]}, nodes: map[string]complex128{}, currents: map[string]complex128{},
				matrices: map[string]WindingImpedance{}, torques: map[string]float64{}})
			continue
		}
		if err := list[len(list)-1].line(f); err != nil {
			t.Fatalf("networks.txt:%d: %v", number, err)
		}
	}
	if err := lines.Err(); err != nil || len(list) != 14 {
		t.Fatalf("networks.txt: %d cases, error %v, want 14 cases", len(list), err)
	}
	return list
}

func (r *reference) line(f []string) error {
	switch f[0] {
	case "note":
		return nil
	case "reference":
		r.ReferenceNode = f[1]
		return nil
	case "node", "current", "matrix", "torque", "reading":
		return r.result(f)
	}
	terminals, known := terminals[f[0]]
	if !known {
		return fmt.Errorf("unknown word %q", f[0])
	}
	v, err := numbers(f[2+terminals:])
	if err != nil {
		return err
	}
	p := Component{Type: f[0], ID: f[1], Nodes: f[2 : 2+terminals]}
	switch f[0] {
	case "vsource":
		p.VRMS, p.Deg = &v[0], v[1]
	case "resistor":
		p.Ohms = &v[0]
	case "series_rx":
		p.Ohms, p.XOhms = &v[0], v[1]
	case "capacitor":
		p.UF = &v[0]
	case "ideal_transformer":
		p.Ratio = &v[0]
	case "psc_motor":
		p.Poles, p.Slip = int(v[0]), &v[1]
		p.Params = &MotorParams{R1m: v[2], X1m: v[3], R2: v[4], X2: v[5], Xm: v[6], R1a: v[7], X1a: v[8], A: v[9], Rc: v[10]}
	}
	r.Components = append(r.Components, p)
	return nil
}

func (r *reference) result(f []string) error {
	if f[0] == "reading" {
		v, err := numbers(f[3:])
		if err != nil {
			return err
		}
		r.readings = append(r.readings, reading{f[1], f[2], v[0]})
		return nil
	}
	v, err := numbers(f[2:])
	if err != nil {
		return err
	}
	switch f[0] {
	case "node":
		r.nodes[f[1]] = complex(v[0], v[1])
	case "current":
		r.currents[f[1]] = complex(v[0], v[1])
	case "torque":
		r.torques[f[1]] = v[0]
	case "matrix":
		r.matrices[f[1]] = WindingImpedance{complex(v[0], v[1]), complex(v[2], v[3]), complex(v[4], v[5]), complex(v[6], v[7])}
	}
	return nil
}

func numbers(f []string) ([]float64, error) {
	v := make([]float64, len(f))
	for i, s := range f {
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return nil, err
		}
		v[i] = x
	}
	return v, nil
}

// tolerance of the published networks, relative to the largest of the case;
// the reason stands in the head of networks.txt.
const tolerance = 1e-6

func TestCaseAgainstPublishedNetworks(t *testing.T) {
	for _, r := range references(t) {
		t.Run(r.ID, func(t *testing.T) {
			s, err := r.Solve()
			if err != nil {
				t.Fatal(err)
			}
			compare(t, "voltage", 0, r.nodes, func(name string) complex128 { return s.Nodes[name].Complex() })
			compare(t, "current", r.noise(), r.currents, func(name string) complex128 { return s.Currents[name].Complex() })
			if len(s.Nodes) != len(r.nodes) || len(s.Currents) != len(r.currents) {
				t.Errorf("%d nodes and %d currents, want %d and %d", len(s.Nodes), len(s.Currents), len(r.nodes), len(r.currents))
			}
			for _, m := range r.readings {
				got := cmplx.Abs(s.Nodes[m.from].Complex() - s.Nodes[m.to].Complex())
				if math.Abs(got-m.volts) > 5e-6*m.volts+tolerance*240 { // printed with six digits
					t.Errorf("reading %s to %s = %g V, want %g", m.from, m.to, got, m.volts)
				}
			}
			for name, want := range r.torques {
				if got := s.Torques[name]; math.Abs(got-want) > 5e-5*math.Abs(want)+1e-12 { // printed with five digits; below 1e-12 N·m is rounding
					t.Errorf("torque of %s = %g N·m, want %g", name, got, want)
				}
			}
		})
	}
}

func TestWindingImpedanceAgainstPublishedNetworks(t *testing.T) {
	for _, r := range references(t) {
		for i := range r.Components {
			p := &r.Components[i]
			want, motor := r.matrices[p.ID]
			if !motor {
				continue
			}
			m := p.motor()
			got := m.Impedance(*p.Slip, BaseFrequency)
			for _, pair := range [][2]complex128{{got.MainMain, want.MainMain}, {got.MainAux, want.MainAux}, {got.AuxMain, want.AuxMain}, {got.AuxAux, want.AuxAux}} {
				if cmplx.Abs(pair[0]-pair[1]) > 1e-8*cmplx.Abs(want.AuxAux) { // printed with nine digits
					t.Errorf("%s %s: Impedance = %v, want %v", r.ID, p.ID, got, want)
				}
			}
		}
	}
}

// noise is the rounding of the published currents, A.
func (r *reference) noise() float64 {
	least := math.Inf(1)
	for _, p := range r.Components {
		if p.Ohms != nil {
			least = math.Min(least, *p.Ohms)
		}
	}
	return 2 * (math.Nextafter(240, 241) - 240) / least
}

// compare reports the members of want that get does not give within tolerance
// of the largest, and noise.
func compare(t *testing.T, what string, noise float64, want map[string]complex128, get func(string) complex128) {
	t.Helper()
	largest := 0.0
	for _, z := range want {
		largest = math.Max(largest, cmplx.Abs(z))
	}
	for name, z := range want {
		if d := cmplx.Abs(get(name) - z); !(d <= tolerance*largest+noise) {
			t.Errorf("%s %s = %v, want %v, off by %.2g of the largest", what, name, get(name), z, d/largest)
		}
	}
}
