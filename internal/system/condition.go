package system

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// condition is something that holds or does not at a moment.
type condition struct {
	not      bool
	device   string // it has its voltage, or turns
	watched  int    // index of that device in System.watched
	flag     int    // index, or -1
	quantity int    // index, or -1
	volts    bool   // the voltage at the device is asked for
	moves    bool   // whether the device conducts is asked for
	figure   string // a value that is asked for, and
	is       bool   // whether it holds, which it does or not for a whole play
	above    bool   // quantity or voltage ≥ value, else ≤; the device conducts
	value    float64
}

// condition reads a condition.
func (d *Description) condition(s string) (condition, error) {
	c := condition{flag: -1, quantity: -1}
	name := s
	if rest, not := strings.CutPrefix(s, "!"); not {
		c.not, name = true, rest
	}
	for _, op := range []string{">=", "<="} {
		left, right, ok := strings.Cut(name, op)
		if !ok {
			continue
		}
		x, err := strconv.ParseFloat(right, 64)
		if err != nil {
			return c, fmt.Errorf("condition %s: %s is not a number", s, right)
		}
		for i, q := range d.Quantities {
			if q.Name == left {
				c.quantity, c.above, c.value = i, op == ">=", x
				return c, nil
			}
		}
		for _, v := range d.Values {
			if v.Name == left {
				c.figure, c.above, c.value = left, op == ">=", x
				return c, nil
			}
		}
		if v, ok := d.Device(left); ok && v.Kind == Load {
			c.device, c.volts, c.above, c.value = left, true, op == ">=", x
			return c, nil
		}
		return c, fmt.Errorf("condition %s: no quantity, value or load %s", s, left)
	}
	for i, f := range d.Flags {
		if f.Name == name {
			c.flag = i
			return c, nil
		}
	}
	if id, word, moves := strings.Cut(name, ":"); moves {
		if d.device(id) < 0 || word != "closed" && word != "open" {
			return c, fmt.Errorf("condition %s: want a device and closed or open", s)
		}
		c.device, c.moves, c.above = id, true, word == "closed"
		return c, nil
	}
	if v, ok := d.Device(name); ok && (v.Kind == Load || v.Kind == Coil || v.Kind == Motor) {
		c.device = name
		return c, nil
	}
	return c, fmt.Errorf("condition %s: no load, coil, motor or flag of that name", s)
}

// conditions reads a list of them.
func (d *Description) conditions(list []string) ([]condition, error) {
	var all []condition
	for _, s := range list {
		c, err := d.condition(s)
		if err != nil {
			return nil, err
		}
		all = append(all, c)
	}
	return all, nil
}

// watch reads a list of conditions and keeps the devices that they ask about.
func (s *System) watch(list ...string) ([]condition, error) {
	all, err := s.conditions(list)
	for i := range all {
		c := &all[i]
		if c.figure != "" {
			c.is = s.known[c.figure] >= c.value == c.above
		}
		if c.device != "" && !c.moves {
			c.watched = s.look(c.device)
		}
	}
	return all, err
}

// look keeps a device that conditions or quantities ask about, and returns its
// place in System.watched.
func (s *System) look(id string) int {
	i := slices.Index(s.watched, id)
	if i < 0 {
		i = len(s.watched)
		s.watched = append(s.watched, id)
	}
	return i
}
