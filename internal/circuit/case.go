package circuit

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/cmplx"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Case is a network of any shape, given as data.
type Case struct {
	ID            string      `json:"id,omitempty"`
	Title         string      `json:"title,omitempty"`
	Note          string      `json:"note,omitempty"`
	ReferenceNode string      `json:"reference_node"`
	FrequencyHz   float64     `json:"frequency_hz,omitempty"` // 0 means 60
	Components    []Component `json:"components"`
}

// Component is one element of a Case. Reactances are those at 60 Hz, whatever
// the frequency of the case.
//
//	type               nodes           fields
//	vsource            +, −            vrms, deg
//	resistor           from, to        ohms
//	series_rx          from, to        ohms, x_ohms
//	capacitor          from, to        uf
//	ideal_transformer  p1, p2, s1, s2  ratio = (Vp1−Vp2)/(Vs1−Vs2)
//	psc_motor          R, C, S         poles, slip, params
type Component struct {
	ID     string       `json:"id"`
	Type   string       `json:"type"`
	Nodes  []string     `json:"nodes"`
	Role   string       `json:"role,omitempty"`
	VRMS   *float64     `json:"vrms,omitempty"`
	Deg    float64      `json:"deg,omitempty"`
	Ohms   *float64     `json:"ohms,omitempty"`
	XOhms  float64      `json:"x_ohms,omitempty"`
	UF     *float64     `json:"uf,omitempty"`
	Ratio  *float64     `json:"ratio,omitempty"`
	Poles  int          `json:"poles,omitempty"`
	Slip   *float64     `json:"slip,omitempty"`
	Params *MotorParams `json:"params,omitempty"`
}

// MotorParams are the constants of a Motor under the symbols of its equations,
// all in ohm but the turns ratio a; resistances are those while running.
type MotorParams struct {
	R1m, X1m, R2, X2, Xm, R1a, X1a float64
	A                              float64 `json:"a"`
	Rc                             float64
}

// Phasor is an rms phasor as it stands in data.
type Phasor struct {
	Re float64 `json:"re"`
	Im float64 `json:"im"`
}

// Complex returns p as a complex number.
func (p Phasor) Complex() complex128 { return complex(p.Re, p.Im) }

// Solution is the answer to a Case: node voltages to the reference (V rms),
// branch currents (A rms) and motor torques (N·m).
//
// The current of a source is the one delivered out of its first node, of any
// other two-terminal component the one from first to second node. A
// transformer T has T.pri into p1 and T.sec out of s1; a motor M has M.main and
// M.aux into its windings and M.common out of C, core loss included.
type Solution struct {
	Nodes    map[string]Phasor  `json:"nodes"`
	Currents map[string]Phasor  `json:"currents"`
	Torques  map[string]float64 `json:"torques,omitempty"`
}

// CaseError says what is wrong with a Case, and in which component.
type CaseError struct {
	Component string // "" if the case as a whole
	Reason    string
}

func (e *CaseError) Error() string {
	if e.Component == "" {
		return "network: " + e.Reason
	}
	return fmt.Sprintf("network: component %q: %s", e.Component, e.Reason)
}

// ReadCase decodes a Case from JSON. Fields it does not know are ignored.
func ReadCase(r io.Reader) (*Case, error) {
	var c Case
	if err := json.NewDecoder(r).Decode(&c); err != nil {
		return nil, fmt.Errorf("read network: %w", err)
	}
	return &c, nil
}

// Solve returns the voltages and currents of c.
//
// Wrong data, a node without any path to the reference node and sources that
// contradict each other give a *CaseError.
func (c *Case) Solve() (*Solution, error) {
	t, err := newTableau(c)
	if err != nil {
		return nil, err
	}
	x, err := num.SolveComplex("circuit.Case.Solve", t.a, t.b)
	if err != nil {
		return nil, t.explain(err)
	}
	return t.solution(c, x)
}

// explain turns a singular column into the node or component it belongs to.
func (t *tableau) explain(err error) error {
	var singular *num.SingularError
	if !errors.As(err, &singular) {
		return err
	}
	if singular.Column < len(t.names) {
		return &CaseError{Reason: fmt.Sprintf("no single voltage at node %q: sources or transformers contradict each other", t.names[singular.Column])}
	}
	return &CaseError{Component: t.owner[singular.Column-len(t.names)],
		Reason: "no single current: it lies in a loop of sources, transformers or zero ohms"}
}

func (t *tableau) solution(c *Case, x []complex128) (*Solution, error) {
	s := &Solution{Nodes: map[string]Phasor{c.ReferenceNode: {}}, Currents: map[string]Phasor{}}
	for i, name := range t.names {
		s.Nodes[name] = phasor(x[i])
	}
	v := func(name string) complex128 { return s.Nodes[name].Complex() }
	for i := range c.Components {
		p := &c.Components[i]
		at := t.first[i]
		switch p.Type {
		case "ideal_transformer":
			s.Currents[p.ID+".pri"], s.Currents[p.ID+".sec"] = phasor(x[at]), phasor(x[at]*complex(*p.Ratio, 0))
		case "psc_motor":
			main, aux := x[at], x[at+1]
			s.Currents[p.ID+".main"], s.Currents[p.ID+".aux"] = phasor(main), phasor(aux)
			s.Currents[p.ID+".common"] = phasor(main + aux + (v(p.Nodes[0])-v(p.Nodes[1]))*p.coreAdmittance())
			if s.Torques == nil {
				s.Torques = map[string]float64{}
			}
			m := p.motor()
			s.Torques[p.ID] = float64(m.Torque(*p.Slip, c.frequency(), main, aux))
		default:
			s.Currents[p.ID] = phasor(x[at])
		}
	}
	for name, p := range s.Currents {
		if z := p.Complex(); cmplx.IsNaN(z) || cmplx.IsInf(z) {
			return nil, &CaseError{Reason: fmt.Sprintf("current %q is not finite", name)}
		}
	}
	return s, nil
}

func phasor(z complex128) Phasor { return Phasor{Re: real(z), Im: imag(z)} }

func (c *Case) frequency() quantity.Frequency {
	if c.FrequencyHz == 0 {
		return BaseFrequency
	}
	return quantity.Frequency(c.FrequencyHz)
}

func (p *Component) motor() Motor {
	q := p.Params
	return Motor{
		Poles: p.Poles, MainOhms: quantity.Resistance(q.R1m), AuxOhms: quantity.Resistance(q.R1a),
		MainX: quantity.Resistance(q.X1m), AuxX: quantity.Resistance(q.X1a),
		RotorR: quantity.Resistance(q.R2), RotorX: quantity.Resistance(q.X2),
		MagnetisingX: quantity.Resistance(q.Xm), Turns: quantity.Ratio(q.A), CoreOhms: quantity.Resistance(q.Rc),
	}
}

func (p *Component) coreAdmittance() complex128 {
	if p.Params.Rc == 0 {
		return 0
	}
	return complex(1/p.Params.Rc, 0)
}

// check says what is wrong with the data of p.
func (p *Component) check() error {
	want, known := terminals[p.Type]
	switch {
	case p.ID == "":
		return &CaseError{Reason: "a component has no id"}
	case !known:
		return &CaseError{p.ID, fmt.Sprintf("unknown type %q", p.Type)}
	case len(p.Nodes) != want:
		return &CaseError{p.ID, fmt.Sprintf("has %d nodes, a %s has %d", len(p.Nodes), p.Type, want)}
	}
	for _, n := range p.Nodes {
		if n == "" {
			return &CaseError{p.ID, "has a node without a name"}
		}
	}
	switch p.Type {
	case "vsource":
		return p.need("vrms", p.VRMS, 0, 1e6)
	case "resistor", "series_rx":
		if !(math.Abs(p.XOhms) <= maxOhms) {
			return &CaseError{p.ID, fmt.Sprintf("x_ohms %g is beyond %g", p.XOhms, float64(maxOhms))}
		}
		return p.need("ohms", p.Ohms, 0, maxOhms)
	case "capacitor":
		return p.need("uf", p.UF, 0, 1e6)
	case "ideal_transformer":
		return p.need("ratio", p.Ratio, 1e-3, 1e3)
	}
	return p.checkMotor()
}

// maxOhms is the greatest impedance taken: a thousand times an open switch.
const maxOhms = 1e12 // ohm; limit of this solver, not of nature

var terminals = map[string]int{
	"vsource": 2, "resistor": 2, "series_rx": 2, "capacitor": 2, "ideal_transformer": 4, "psc_motor": 3,
}

func (p *Component) checkMotor() error {
	if p.Params == nil {
		return &CaseError{p.ID, "has no params"}
	}
	if p.Poles < 2 || p.Poles%2 != 0 || p.Poles > 48 {
		return &CaseError{p.ID, fmt.Sprintf("has %d poles, want an even number from 2 to 48", p.Poles)}
	}
	if err := p.need("slip", p.Slip, 0, 2); err != nil {
		return err
	}
	q := p.Params
	for _, f := range []struct {
		name  string
		value float64
		least float64
	}{
		{"R1m", q.R1m, 0}, {"X1m", q.X1m, 0}, {"X2", q.X2, 0}, {"R1a", q.R1a, 0}, {"X1a", q.X1a, 0}, {"Rc", q.Rc, 0},
		{"R2", q.R2, 1e-9}, {"Xm", q.Xm, 1e-9}, {"a", q.A, 1e-3}, // the model divides by these
	} {
		if err := p.need(f.name, &f.value, f.least, maxOhms); err != nil {
			return err
		}
	}
	return nil
}

func (p *Component) need(name string, value *float64, min, max float64) error {
	if value == nil {
		return &CaseError{p.ID, "has no " + name}
	}
	if !(min <= *value && *value <= max) {
		return &CaseError{p.ID, fmt.Sprintf("%s %g is outside %g to %g", name, *value, min, max)}
	}
	return nil
}
