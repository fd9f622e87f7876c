package circuit

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
)

func TestReadCase(t *testing.T) {
	const text = `{"id":"x","reference_node":"N","components":[
		{"id":"S","type":"vsource","nodes":["a","N"],"vrms":120,"deg":90,"role":"ignored"},
		{"id":"M","type":"psc_motor","nodes":["a","N","s"],"motor":"any","poles":2,"slip":0.03,
		 "params":{"R1m":1,"X1m":0.8,"R2":1.3,"X2":0.8,"Xm":56,"R1a":2,"X1a":1.3,"a":1.34,"Rc":480},"z60":{"mm":[1,2]}},
		{"id":"C","type":"capacitor","nodes":["s","a"],"uf":45}]}`
	c, err := ReadCase(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if p := c.Components[1].Params; p.A != 1.34 || p.Rc != 480 || p.R1m != 1 {
		t.Errorf("params = %+v", *p)
	}
	s, err := c.Solve()
	if err != nil {
		t.Fatal(err)
	}
	if v := s.Nodes["a"]; math.Abs(v.Re) > 1e-10 || math.Abs(v.Im-120) > 1e-10 { // rounding
		t.Errorf("node a = %+v, want 120 V at 90 degrees", v)
	}
	out, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"nodes":{"N":{"re":0,"im":0}`, `"currents":{"C":{"re":`, `"M.aux":`, `"M.common":`, `"torques":{"M":`} {
		if !strings.Contains(string(out), want) {
			t.Errorf("answer %s has no %s", out, want)
		}
	}
}

func TestCaseErrors(t *testing.T) {
	for _, row := range []struct{ name, components, want string }{
		{"no components", ``, "has no components"},
		{"unknown type", `{"id":"A","type":"diode","nodes":["a","N"]}`, `component "A": unknown type "diode"`},
		{"three nodes", `{"id":"A","type":"resistor","nodes":["a","b","N"],"ohms":1}`, "has 3 nodes"},
		{"empty node", `{"id":"A","type":"resistor","nodes":["","N"],"ohms":1}`, "without a name"},
		{"no value", `{"id":"A","type":"resistor","nodes":["a","N"]}`, "has no ohms"},
		{"negative", `{"id":"A","type":"capacitor","nodes":["a","N"],"uf":-4}`, "uf -4 is outside"},
		{"huge", `{"id":"A","type":"series_rx","nodes":["a","N"],"ohms":1,"x_ohms":1e13}`, "x_ohms 1e+13 is beyond"},
		{"twice", `{"id":"A","type":"resistor","nodes":["a","N"],"ohms":1},{"id":"A","type":"resistor","nodes":["a","N"],"ohms":1}`, "named twice"},
		{"no reference", `{"id":"A","type":"resistor","nodes":["a","b"],"ohms":1}`, "reference node"},
		{"island", `{"id":"A","type":"resistor","nodes":["a","N"],"ohms":1},{"id":"B","type":"resistor","nodes":["c","d"],"ohms":1}`, "no path to the reference"},
		{"floating secondary", `{"id":"T","type":"ideal_transformer","nodes":["a","N","s","t"],"ratio":5},{"id":"B","type":"resistor","nodes":["s","t"],"ohms":1}`, "no path to the reference"},
		{"sources fight", `{"id":"A","type":"vsource","nodes":["a","N"],"vrms":120},{"id":"B","type":"vsource","nodes":["a","N"],"vrms":110}`, "no single current"},
		{"motor without params", `{"id":"M","type":"psc_motor","nodes":["a","N","s"],"poles":2,"slip":1}`, "has no params"},
		{"odd poles", `{"id":"M","type":"psc_motor","nodes":["a","N","s"],"poles":3,"slip":1,"params":{}}`, "3 poles"},
		{"no rotor", `{"id":"M","type":"psc_motor","nodes":["a","N","s"],"poles":2,"slip":1,"params":{"R1m":1,"Xm":50,"a":1}}`, "R2 0 is outside"},
	} {
		c, err := ReadCase(strings.NewReader(`{"reference_node":"N","components":[` + row.components + `]}`))
		if err != nil {
			t.Fatalf("%s: %v", row.name, err)
		}
		_, err = c.Solve()
		var wrong *CaseError
		if !errors.As(err, &wrong) || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%s: error %v, want a CaseError with %q", row.name, err, row.want)
		}
	}
	c := references(t)[0]
	c.FrequencyHz = -60
	if _, err := c.Solve(); err == nil {
		t.Error("no error at -60 Hz")
	}
}

// No published figure: at 50 Hz a pure reactance is 5/6 of that at 60 Hz, a
// capacitor's 6/5.
func TestCaseFrequency(t *testing.T) {
	volts, none, uf := 120.0, 0.0, 50.0
	c := &Case{ReferenceNode: "N", FrequencyHz: 50, Components: []Component{
		{ID: "S", Type: "vsource", Nodes: []string{"a", "N"}, VRMS: &volts},
		{ID: "X", Type: "series_rx", Nodes: []string{"a", "N"}, Ohms: &none, XOhms: 12},
		{ID: "C", Type: "capacitor", Nodes: []string{"a", "N"}, UF: &uf},
	}}
	s, err := c.Solve()
	if err != nil {
		t.Fatal(err)
	}
	if i := s.Currents["X"].Im; math.Abs(i+12) > 1e-12 { // rounding
		t.Errorf("current in 12 ohm of reactance at 50 Hz = %g A, want -12", i)
	}
	if i, want := s.Currents["C"].Im, 120*2*math.Pi*50*50e-6; math.Abs(i-want) > 1e-12 {
		t.Errorf("current in 50 µF at 50 Hz = %g A, want %g", i, want)
	}
}

func FuzzReadCase(f *testing.F) {
	f.Add(`{"reference_node":"N","components":[{"id":"A","type":"vsource","nodes":["a","N"],"vrms":120},{"id":"R","type":"resistor","nodes":["a","N"],"ohms":0}]}`)
	f.Add(`{"reference_node":"N","components":[{"id":"M","type":"psc_motor","nodes":["N","N","N"],"poles":2,"slip":0,"params":{"R2":1,"Xm":1,"a":1}}]}`)
	f.Add(`{"components":[{"id":"T","type":"ideal_transformer","nodes":["","","",""],"ratio":1}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		c, err := ReadCase(strings.NewReader(text))
		if err != nil {
			return
		}
		s, err := c.Solve()
		if err != nil {
			return
		}
		if _, err := json.Marshal(s); err != nil { // not finite
			t.Errorf("answer to %q: %v", text, err)
		}
	})
}
