package system

import (
	"fmt"
	"math"
	"math/cmplx"
	"strconv"
	"strings"
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
	"rung/internal/relay"
)

// System is a description compiled: one network, and the devices that move in
// it. It is not changed by playing; many may play it at once.
type System struct {
	*Description
	net    *circuit.Net
	wiring relay.Wiring
	node   map[string]circuit.Node
	branch map[string]circuit.Branch
	moving map[string]relay.Device // those that package relay knows

	nominal map[string]float64 // ohm, of each load before any edit
	cut     map[string]bool    // devices that an edit has cut
	known   map[string]float64 // every value of the heat side

	quantities []quantityRule
	flags      []flagRule
	told       []toldInput
	limits     []limitSense
	eased      []easedMotor
	watched    []string // devices that conditions ask about
}

type quantityRule struct {
	Quantity
	adds  [][]condition // of each add
	by    []int         // the load of each add, in System.watched; -1 for none
	creep bool          // a condition may come true without anything happening
	decay float64       // of what is left to go, in a tick
}

type flagRule struct {
	lights, holds []condition
	fixed         string
}

// toldInput is an input of a board that the heat side answers.
type toldInput struct {
	board, input int
	is           condition
}

// limitSense is a limit and the quantity that it feels.
type limitSense struct{ limit, quantity int }

// Build compiles the description after the edits are made to a copy of it.
func (d *Description) Build(edits ...Edit) (*System, error) {
	c := d.clone()
	for _, e := range edits {
		if err := e.apply(c); err != nil {
			return nil, err
		}
	}
	s := &System{Description: c, node: map[string]circuit.Node{}, branch: map[string]circuit.Branch{}, moving: map[string]relay.Device{},
		nominal: map[string]float64{}, cut: map[string]bool{}}
	var err error
	if s.known, err = c.figures(); err == nil {
		err = c.settle(s.known)
	}
	if err != nil {
		return nil, fmt.Errorf("system %s: %w", d.ID, err)
	}
	for i := range d.Devices {
		if v := &d.Devices[i]; v.Kind == Load {
			z, err := loadImpedance(v)
			if err != nil {
				return nil, fmt.Errorf("system %s: %s: %w", d.ID, v.ID, err)
			}
			s.nominal[v.ID] = cmplx.Abs(z)
		}
	}
	b := circuit.NewBuilder(circuit.BaseFrequency)
	s.node[Ground] = circuit.Ground
	for _, p := range c.Points {
		s.node[p.ID] = b.Node(p.ID)
	}
	for i := range c.Devices {
		v := &c.Devices[i]
		s.cut[v.ID] = v.Values["ohms"] == cut || v.Values["inrush"] == cut || v.Kind == Capacitor && v.Values["uf"] == "0"
		if err := s.wire(b, v); err != nil {
			return nil, fmt.Errorf("system %s: %s: %w", c.ID, c.Devices[i].ID, err)
		}
	}
	for i := range c.Boards {
		for k, in := range c.Boards[i].Inputs {
			if in.Told == "" {
				b.Resistor(fmt.Sprint(c.Boards[i].ID, "/input-", k), s.node[in.A], s.node[in.B], inputOhms)
			}
		}
	}
	if s.net, err = b.Compile(); err != nil {
		return nil, fmt.Errorf("system %s: %w", c.ID, err)
	}
	s.wiring.Nets = []*circuit.Net{s.net}
	for i := range c.Devices {
		if err := s.arm(&c.Devices[i]); err != nil {
			return nil, fmt.Errorf("system %s: %s: %w", c.ID, c.Devices[i].ID, err)
		}
	}
	for i := range c.Boards {
		if err := s.program(i); err != nil {
			return nil, fmt.Errorf("system %s: board %s: %w", c.ID, c.Boards[i].ID, err)
		}
	}
	return s, s.rules()
}

// impedance reads "18+62i", or a resistance.
func impedance(text string) (complex128, error) {
	z, err := strconv.ParseComplex(strings.TrimSpace(text), 128)
	if err != nil {
		return 0, fmt.Errorf("%q is no impedance", text)
	}
	return z, nil
}

// zOf returns the impedance of a device under a key, or the one given.
func zOf(v *Device, key string, otherwise complex128) (complex128, error) {
	text, ok := v.Values[key]
	if !ok {
		return otherwise, nil
	}
	return impedance(text)
}

// joint is the resistance of a conductor, contact or fuse that is not given, ohm.
// practice: some centimetres of wire, two terminals, a closed contact
const joint = 0.01

// inputOhms is what an input of a board draws on, ohm.
// practice: a few milliamps of an optocoupler behind its resistor
const inputOhms = 10e3

// wire adds the branch of a device.
func (s *System) wire(b *circuit.Builder, v *Device) error {
	at := func(i int) circuit.Node { return s.node[v.Points[i]] }
	switch v.Kind {
	case Source:
		volts, err := number(v.Values, "volts", math.NaN())
		if err != nil || math.IsNaN(volts) {
			return fmt.Errorf("a source wants volts")
		}
		z, err := zOf(v, "ohms", 0.05)
		s.branch[v.ID] = b.Source(v.ID, at(0), at(1), complex(volts, 0), z)
		return err
	case Conductor:
		z, err := zOf(v, "ohms", joint)
		s.branch[v.ID] = b.Impedance(v.ID, at(0), at(1), z)
		return err
	case Switch, Thermostat, Limit, Fuse, Breaker, Overload, Contact:
		z, err := zOf(v, "ohms", joint)
		s.branch[v.ID] = b.Switch(v.ID, at(0), at(1), quantity.Resistance(real(z)))
		return err
	case Coil:
		z, err := zOf(v, "inrush", 0)
		if err != nil || z == 0 {
			return fmt.Errorf("a coil wants inrush and sealed impedances")
		}
		s.branch[v.ID] = b.Impedance(v.ID, at(0), at(1), z)
		return nil
	case Load:
		z, err := loadImpedance(v)
		s.branch[v.ID] = b.Impedance(v.ID, at(0), at(1), z)
		return err
	case Capacitor:
		uF, err := number(v.Values, "uf", math.NaN())
		if err != nil || math.IsNaN(uF) {
			return fmt.Errorf("a capacitor wants uf")
		}
		s.branch[v.ID] = b.Capacitor(v.ID, at(0), at(1), quantity.Capacitance(uF*1e-6))
		return nil
	case Transformer:
		volts, err1 := number(v.Values, "volts", 120)
		va, err2 := number(v.Values, "va", 40)
		if err1 != nil || err2 != nil {
			return fmt.Errorf("volts or va is no number")
		}
		s.branch[v.ID] = b.Transformer(v.ID, at(0), at(1), at(2), at(3), circuit.ControlTransformer(quantity.Voltage(volts), quantity.Power(va)))
		return nil
	case Motor:
		t, err := motorType(v)
		if err != nil {
			return err
		}
		s.branch[v.ID] = b.Motor(v.ID, at(0), at(1), at(2), t.Motor)
		return nil
	}
	return fmt.Errorf("unknown kind %s", v.Kind)
}

// loadImpedance returns the impedance of a load: given, or from its volts, watts
// and power factor.
func loadImpedance(v *Device) (complex128, error) {
	if _, ok := v.Values["ohms"]; ok {
		return zOf(v, "ohms", 0)
	}
	volts, err1 := number(v.Values, "volts", math.NaN())
	watts, err2 := number(v.Values, "watts", math.NaN())
	pf, err3 := number(v.Values, "pf", 1)
	if err1 != nil || err2 != nil || err3 != nil || !(volts > 0 && watts > 0 && pf > 0 && pf <= 1) {
		return 0, fmt.Errorf("a load wants ohms, or volts and watts")
	}
	z := volts * volts / watts * pf
	return complex(z*pf, z*math.Sqrt(1-pf*pf)), nil
}

// faultOf reads what is wrong with a contact.
func faultOf(v *Device) relay.ContactFault {
	switch v.Values["fault"] {
	case "welded":
		return relay.Welded
	case "open":
		return relay.Burnt
	}
	return relay.Sound
}

// arm adds what moves.
func (s *System) arm(v *Device) error {
	w := &s.wiring
	place := relay.Place{Branch: s.branch[v.ID]}
	put := func(kind relay.Kind, index int) { s.moving[v.ID] = relay.Device{Kind: kind, Index: index} }
	seconds := func(key string) time.Duration {
		x, _ := number(v.Values, key, 0)
		return time.Duration(x * float64(time.Second))
	}
	switch v.Kind {
	case Switch, Thermostat:
		put(relay.SwitchKind, len(w.Switches))
		sw := relay.Switch{ID: v.ID, Contact: place, NormallyClosed: v.Kind == Switch && v.Values["normal"] != "open", Fault: faultOf(v)}
		if supply, ok := v.Values["supply"]; ok {
			probe, err := s.probe(supply)
			if err != nil {
				return err
			}
			least, err := number(v.Values, "least", 18)
			if err != nil {
				return err
			}
			sw.Supply = &relay.Supply{Probe: probe, Least: quantity.Voltage(least), Loses: 3 * time.Second, Returns: 20 * time.Second}
		}
		w.Switches = append(w.Switches, sw)
	case Limit:
		opens, err1 := number(v.Values, "opens", math.NaN())
		closes, err2 := number(v.Values, "closes", math.NaN())
		q := -1
		for i := range s.Quantities {
			if s.Quantities[i].Name == v.Values["sense"] {
				q = i
			}
		}
		if err1 != nil || err2 != nil || q < 0 || math.IsNaN(opens+closes) {
			return fmt.Errorf("a limit wants sense, opens and closes")
		}
		put(relay.LimitKind, len(w.Limits))
		s.limits = append(s.limits, limitSense{len(w.Limits), q})
		w.Limits = append(w.Limits, relay.Limit{ID: v.ID, Contact: place, Opens: opens, Closes: closes, ManualReset: v.Values["reset"] == "manual", Fault: faultOf(v)})
	case Fuse, Breaker:
		return s.protect(v)
	case Overload:
		amps, err := number(v.Values, "amps", math.NaN())
		if err != nil || math.IsNaN(amps) {
			return fmt.Errorf("an overload wants the amps of its motor")
		}
		put(relay.OverloadKind, len(w.Overloads))
		w.Overloads = append(w.Overloads, relay.Overload{ID: v.ID, Contact: place, Rating: quantity.Current(amps), Thermal: relay.MotorOverload, Fault: faultOf(v)})
	case Coil:
		inrush, err1 := zOf(v, "inrush", 0)
		sealed, err2 := zOf(v, "sealed", inrush)
		pull, err3 := number(v.Values, "pull-in", 16)
		drop, err4 := number(v.Values, "drop-out", 6)
		for _, err := range []error{err1, err2, err3, err4} {
			if err != nil {
				return err
			}
		}
		c := relay.Coil{ID: v.ID, Place: place, Inrush: inrush, Sealed: sealed, PullIn: quantity.Voltage(pull), DropOut: quantity.Voltage(drop),
			Operate: seconds("operate"), OnDelay: seconds("on-delay"), OffDelay: seconds("off-delay"), LockOut: seconds("lock-out"), Jammed: v.Values["fault"] == "jammed"}
		c.Contacts = s.contactsOf(v.ID)
		put(relay.CoilKind, len(w.Coils))
		w.Coils = append(w.Coils, c)
	case Load:
		volts, err := number(v.Values, "volts", 24)
		if err != nil {
			return err
		}
		on, err := number(v.Values, "on", 0.65*volts)
		if err != nil {
			return err
		}
		put(relay.LoadKind, len(w.Loads))
		w.Loads = append(w.Loads, relay.Load{ID: v.ID, Probe: relay.Probe{A: s.node[v.Points[0]], B: s.node[v.Points[1]]}, On: quantity.Voltage(on)})
	case Motor:
		return s.drive(v)
	}
	return nil
}

// protect adds a fuse or breaker. One that trips with another shares its
// handle: either pole opens both.
func (s *System) protect(v *Device) error {
	w := &s.wiring
	place := relay.Place{Branch: s.branch[v.ID]}
	amps, err := number(v.Values, "amps", math.NaN())
	if err != nil || math.IsNaN(amps) {
		return fmt.Errorf("a fuse wants amps")
	}
	blown := v.Values["fault"] == "open"
	if other, ok := v.Values["with"]; ok {
		d, known := s.moving[other]
		if !known || d.Kind != relay.FuseKind {
			return fmt.Errorf("no fuse or breaker %s before it", other)
		}
		f := &w.Fuses[d.Index]
		f.Contacts, f.Blown = append(f.Contacts, place), f.Blown || blown
		s.moving[v.ID] = d
		return nil
	}
	curve := relay.BladeFuse
	switch {
	case v.Kind == Breaker:
		curve = relay.InverseTimeBreaker
	case v.Values["curve"] == "time-delay":
		curve = relay.TimeDelayFuse
	}
	s.moving[v.ID] = relay.Device{Kind: relay.FuseKind, Index: len(w.Fuses)}
	w.Fuses = append(w.Fuses, relay.Fuse{ID: v.ID, Contacts: []relay.Place{place}, Rating: quantity.Current(amps), Curve: curve, Blown: blown})
	return nil
}

// contactsOf returns the contacts that a coil moves.
func (s *System) contactsOf(id string) []relay.Contact {
	var list []relay.Contact
	for i := range s.Devices {
		if c := &s.Devices[i]; c.Kind == Contact && c.Values["of"] == id {
			list = append(list, s.contact(c))
		}
	}
	return list
}

func (s *System) contact(c *Device) relay.Contact {
	return relay.Contact{Place: relay.Place{Branch: s.branch[c.ID]}, NormallyClosed: c.Values["normal"] == "closed", Fault: faultOf(c)}
}

// probe reads "A,B".
func (s *System) probe(text string) (relay.Probe, error) {
	a, b, _ := strings.Cut(text, ",")
	na, ok1 := s.node[a]
	nb, ok2 := s.node[b]
	if !ok1 || !ok2 {
		return relay.Probe{}, fmt.Errorf("no points %s", text)
	}
	return relay.Probe{A: na, B: nb}, nil
}

// program adds a board.
func (s *System) program(i int) error {
	b := &s.Boards[i]
	c := relay.Controller{ID: b.ID, Stuck: b.Values["fault"] == "stuck"}
	if supply, ok := b.Values["supply"]; ok {
		probe, err := s.probe(supply)
		if err != nil {
			return err
		}
		least, err1 := number(b.Values, "least", 18)
		loses, err2 := number(b.Values, "loses", 0.2)
		returns, err3 := number(b.Values, "returns", 2)
		for _, err := range []error{err1, err2, err3} {
			if err != nil {
				return err
			}
		}
		c.Supply = &relay.Supply{Probe: probe, Least: quantity.Voltage(least),
			Loses: time.Duration(loses * float64(time.Second)), Returns: time.Duration(returns * float64(time.Second))}
	}
	inputs := map[string]int{}
	for k, in := range b.Inputs {
		inputs[in.Name] = k
		if in.Told != "" {
			is, err := s.watch(in.Told)
			if err != nil {
				return err
			}
			s.told = append(s.told, toldInput{board: len(s.wiring.Controllers), input: k, is: is[0]})
			c.Inputs = append(c.Inputs, relay.Input{Name: in.Name, Told: true})
			continue
		}
		c.Inputs = append(c.Inputs, relay.Input{Name: in.Name, Probe: relay.Probe{A: s.node[in.A], B: s.node[in.B]}, Least: quantity.Voltage(in.Least)})
	}
	outputs := map[string]int{}
	modes := map[string]int{}
	for k, m := range b.Modes {
		modes[m.Name] = k
		for _, id := range m.On {
			if _, known := outputs[id]; known {
				continue
			}
			outputs[id] = len(c.Outputs)
			c.Outputs = append(c.Outputs, relay.Output{Name: id, Contacts: []relay.Contact{s.contact(&s.Devices[s.device(id)])}})
		}
	}
	for _, m := range b.Modes {
		mode := relay.Mode{Name: m.Name}
		for _, id := range m.On {
			mode.On = append(mode.On, outputs[id])
		}
		for _, w := range m.Next {
			t := relay.Transition{To: modes[w.To], After: time.Duration(w.After * float64(time.Second))}
			for _, term := range w.If {
				t.If = append(t.If, relay.Condition{Input: inputs[term.Input], Is: !term.Not})
			}
			mode.Next = append(mode.Next, t)
		}
		c.Program = append(c.Program, mode)
	}
	s.moving[b.ID] = relay.Device{Kind: relay.ControllerKind, Index: len(s.wiring.Controllers)}
	s.wiring.Controllers = append(s.wiring.Controllers, c)
	return nil
}

// rules resolves the conditions of the heat side.
func (s *System) rules() error {
	for _, q := range s.Quantities {
		rule := quantityRule{Quantity: q, decay: math.Exp(-tick.Seconds() / q.Lag)}
		for _, a := range q.Adds {
			c, err := s.watch(a.If...)
			if err != nil {
				return err
			}
			by := -1
			if a.By != "" {
				by = s.look(a.By)
			}
			rule.adds, rule.by = append(rule.adds, c), append(rule.by, by)
			for _, is := range c {
				rule.creep = rule.creep || is.quantity >= 0
			}
		}
		s.quantities = append(s.quantities, rule)
	}
	for _, f := range s.Flags {
		lights, err := s.watch(f.Lights...)
		if err != nil {
			return err
		}
		holds, err := s.watch(f.Holds...)
		if err != nil {
			return err
		}
		s.flags = append(s.flags, flagRule{lights, holds, f.Fixed})
	}
	return nil
}
