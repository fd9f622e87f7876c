package system

import (
	"fmt"
	"slices"
	"strings"
)

// check refuses a description that names what it does not have.
func (d *Description) check() error {
	if d.ID == "" || d.Name == "" || len(d.Calls) == 0 {
		return fmt.Errorf("system, name or call is missing")
	}
	points := map[string]bool{Ground: true}
	for _, p := range d.Points {
		if points[p.ID] {
			return fmt.Errorf("point %s twice", p.ID)
		}
		points[p.ID] = true
	}
	devices, commanded := map[string]Kind{}, map[string]bool{}
	for i := range d.Devices {
		v := &d.Devices[i]
		if _, twice := devices[v.ID]; twice {
			return fmt.Errorf("line %d: device %s twice", v.line, v.ID)
		}
		devices[v.ID], commanded[v.ID] = v.Kind, v.commanded()
		for _, p := range v.Points {
			if !points[p] {
				return fmt.Errorf("line %d: %s: no point %s", v.line, v.ID, p)
			}
		}
	}
	if err := d.checkBoards(points, devices); err != nil {
		return err
	}
	for _, c := range d.Calls {
		for _, id := range c.Closes {
			if !commanded[id] {
				return fmt.Errorf("call %s: %s is no contact of the thermostat", c.ID, id)
			}
		}
	}
	for _, l := range d.Ladders {
		if !points[l.Left] || !points[l.Right] {
			return fmt.Errorf("ladder %s: no rail %s or %s", l.Name, l.Left, l.Right)
		}
		for _, r := range l.Rungs {
			for _, id := range r.Devices {
				if _, ok := devices[id]; !ok {
					return fmt.Errorf("rung %q: no device %s", r.Label, id)
				}
			}
		}
	}
	if err := d.checkFigures(devices); err != nil {
		return err
	}
	return d.checkConditions()
}

// checkFigures works out the values once, so that quantities rest where they
// say for whoever reads the description.
func (d *Description) checkFigures(devices map[string]Kind) error {
	known, err := d.figures()
	if err != nil {
		return err
	}
	c := d.clone()
	if err := c.settle(known); err != nil {
		return err
	}
	for i, q := range c.Quantities {
		d.Quantities[i].Rest = q.Rest
		for _, a := range q.Adds {
			if a.By != "" && devices[a.By] != Load {
				return fmt.Errorf("quantity %s: %s is no load", q.Name, a.By)
			}
		}
	}
	return nil
}

func (d *Description) checkBoards(points map[string]bool, devices map[string]Kind) error {
	for _, b := range d.Boards {
		inputs := map[string]bool{}
		for _, in := range b.Inputs {
			inputs[in.Name] = true
			if in.Told == "" && !(points[in.A] && points[in.B]) {
				return fmt.Errorf("board %s: input %s: no point %s or %s", b.ID, in.Name, in.A, in.B)
			}
		}
		modes := map[string]bool{}
		for _, m := range b.Modes {
			modes[m.Name] = true
		}
		if len(modes) == 0 {
			return fmt.Errorf("board %s has no modes", b.ID)
		}
		for _, m := range b.Modes {
			for _, on := range m.On {
				if devices[on] != Contact {
					return fmt.Errorf("line %d: mode %s: %s is no contact", m.line, m.Name, on)
				}
			}
			for _, w := range m.Next {
				if !modes[w.To] {
					return fmt.Errorf("line %d: mode %s leads to no mode %s", m.line, m.Name, w.To)
				}
				for _, t := range w.If {
					if !inputs[t.Input] {
						return fmt.Errorf("line %d: mode %s asks for no input %s", m.line, m.Name, t.Input)
					}
				}
			}
		}
	}
	return nil
}

// checkConditions reads every condition once.
func (d *Description) checkConditions() error {
	var all []string
	for _, b := range d.Boards {
		for _, in := range b.Inputs {
			if in.Told != "" {
				all = append(all, in.Told)
			}
		}
	}
	for _, q := range d.Quantities {
		for _, a := range q.Adds {
			all = append(all, a.If...)
		}
	}
	for _, f := range d.Flags {
		all = append(append(all, f.Lights...), f.Holds...)
	}
	steps := slices.Clone(d.Sequence)
	for call, list := range d.Sequences {
		if !slices.ContainsFunc(d.Calls[1:], func(c Call) bool { return c.ID == call }) {
			return fmt.Errorf("sequence %s: no call of that name after the first", call)
		}
		steps = append(steps, list...)
	}
	for _, s := range steps {
		id, word, moves := strings.Cut(s, ":")
		if !moves {
			all = append(all, s)
			continue
		}
		if d.device(id) < 0 || word != "closed" && word != "open" {
			return fmt.Errorf("step %s: want a device and closed or open", s)
		}
	}
	for _, c := range all {
		if _, err := d.condition(c); err != nil {
			return err
		}
	}
	return nil
}
