package circuit

import (
	"fmt"
	"math"
	"math/cmplx"
	"strconv"
	"testing"

	"rung/internal/published"
)

// reference is a published network with its results.
type reference struct {
	Case
	nodes, currents map[string]complex128
	matrices        map[string]WindingImpedance
	torques         map[string]float64
	readings        []reading
	rows            map[string]published.Row // by "node NAME", "current NAME", ...
}

type reading struct {
	row      published.Row
	from, to string
	volts    float64
}

// references reads testdata/published/networks.txt, whose head says the form.
func references(t testing.TB) []*reference {
	t.Helper()
	var list []*reference
	for _, row := range published.ReadFree(t, "networks.txt").Rows {
		f := row.Cells
		if f[0] == "case" {
			list = append(list, &reference{Case: Case{ID: f[1]}, nodes: map[string]complex128{}, currents: map[string]complex128{},
				matrices: map[string]WindingImpedance{}, torques: map[string]float64{}, rows: map[string]published.Row{}})
			continue
		}
		if err := list[len(list)-1].line(row); err != nil {
			t.Fatalf("%v: %v", row, err)
		}
	}
	if len(list) != 14 {
		t.Fatalf("networks.txt: %d cases, want 14", len(list))
	}
	return list
}

func (r *reference) line(row published.Row) error {
	f := row.Cells
	switch f[0] {
	case "note":
		return nil
	case "reference":
		r.ReferenceNode = f[1]
		return nil
	case "node", "current", "matrix", "torque", "reading":
		return r.result(row)
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

func (r *reference) result(row published.Row) error {
	f := row.Cells
	if f[0] == "reading" {
		v, err := numbers(f[3:])
		if err != nil {
			return err
		}
		r.readings = append(r.readings, reading{row, f[1], f[2], v[0]})
		return nil
	}
	v, err := numbers(f[2:])
	if err != nil {
		return err
	}
	r.rows[f[0]+" "+f[1]] = row
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

func TestPublishedNetworks(t *testing.T) {
	for _, r := range references(t) {
		t.Run(r.ID, func(t *testing.T) {
			s, err := r.Solve()
			if err != nil {
				t.Fatal(err)
			}
			r.compare(t, "voltage", func(name string) complex128 { return s.Nodes[name].Complex() })
			r.compare(t, "current", func(name string) complex128 { return s.Currents[name].Complex() })
			if len(s.Nodes) != len(r.nodes) || len(s.Currents) != len(r.currents) {
				t.Errorf("%d nodes and %d currents, want %d and %d", len(s.Nodes), len(s.Currents), len(r.nodes), len(r.currents))
			}
			for _, m := range r.readings {
				got := cmplx.Abs(s.Nodes[m.from].Complex() - s.Nodes[m.to].Complex())
				m.row.CheckAs(t, "reading[V]", got, m.volts, published.Within(5e-6*m.volts+tolerance*240)) // printed with six digits
			}
			r.compareTorques(t, func(name string) float64 { return s.Torques[name] })
		})
	}
}

func TestPublishedWindingImpedance(t *testing.T) {
	for _, r := range references(t) {
		for i := range r.Components {
			p := &r.Components[i]
			want, motor := r.matrices[p.ID]
			if !motor {
				continue
			}
			m := p.motor()
			got := m.Impedance(*p.Slip, BaseFrequency)
			limit := published.Of("of the auxiliary winding's", cmplx.Abs(want.AuxAux), 1e-8) // printed with nine digits
			for _, pair := range [][2]complex128{{got.MainMain, want.MainMain}, {got.MainAux, want.MainAux}, {got.AuxMain, want.AuxMain}, {got.AuxAux, want.AuxAux}} {
				checkPhasor(t, r.rows["matrix "+p.ID], "winding-impedance[ohm]", pair[0], pair[1], limit)
			}
		}
	}
}

// checkPhasor holds the distance of two complex numbers to the limit.
func checkPhasor(t *testing.T, row published.Row, quantity string, got, want complex128, l published.Limit) {
	t.Helper()
	size := cmplx.Abs(want)
	row.CheckAs(t, quantity, size+cmplx.Abs(got-want), size, l)
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

// compare holds the voltages or currents that get gives to the tolerance, a
// fraction of the largest of the case, and for currents the noise.
func (r *reference) compare(t *testing.T, what string, get func(string) complex128) {
	t.Helper()
	want, kind, unit, noise := r.nodes, "node ", "[V]", 0.0
	if what == "current" {
		want, kind, unit, noise = r.currents, "current ", "[A]", r.noise()
	}
	largest := 0.0
	for _, z := range want {
		largest = math.Max(largest, cmplx.Abs(z))
	}
	for name, z := range want {
		checkPhasor(t, r.rows[kind+name], what+unit, get(name), z, published.Of("of the largest in the case", largest, tolerance+noise/largest))
	}
}

// compareTorques holds the torques to the five digits that are printed; below
// 1e-12 N·m is rounding.
func (r *reference) compareTorques(t *testing.T, get func(string) float64) {
	t.Helper()
	for name, want := range r.torques {
		r.rows["torque "+name].CheckAs(t, "torque[N·m]", get(name), want, published.Within(5e-5*math.Abs(want)+1e-12))
	}
}
