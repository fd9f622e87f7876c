package system

import (
	"fmt"
	"slices"
	"strings"
)

// Edit is one change of a description: something cut, shorted, swapped, stuck.
//
//	open DEVICE               a conductor, contact, coil, load or fuse that does not conduct
//	winding MOTOR run|start Z a winding of another resistance; 1e9 is open
//	demand CALL CONTACTS      what a call closes: a thermostat set or wired in another way
//	weld CONTACT              a contact that never opens
//	jam COIL                  an armature that does not move
//	stick BOARD               a board that lives and does nothing
//	ohms DEVICE Z             a loose lug, a weak igniter: another impedance
//	value DEVICE KEY VALUE    another value of a device or board
//	short POINT POINT Z       insulation that is gone
//	cross DEVICE DEVICE       the far ends of two conductors exchanged
//	move DEVICE POINT POINT   a conductor put on other terminals
//	reverse TRANSFORMER       its secondary turned round
//	rest QUANTITY X           the heat side as it never should be: where a quantity rests
//	scale QUANTITY K          how far it goes: a weak draft, a choked coil
//	add QUANTITY X CONDITIONS  one more thing that drives it: a choked filter
//	never FLAG, always FLAG
//	set VALUE X               a number of the heat side: dirt, a pressure, a hand that turned a screw
type Edit []string

// ParseEdit reads an edit.
func ParseEdit(text string) (Edit, error) {
	words := strings.Fields(text)
	if len(words) == 0 {
		return nil, fmt.Errorf("empty edit")
	}
	want, ok := editWords[words[0]]
	if !ok || len(words) != want {
		return nil, fmt.Errorf("edit %q: unknown, or not of %d words", text, want)
	}
	return words, nil
}

// editWords are the edits and of how many words they are.
var editWords = map[string]int{
	"open": 2, "weld": 2, "jam": 2, "stick": 2, "ohms": 3, "value": 4, "short": 4, "cross": 3, "move": 4, "reverse": 2,
	"winding": 4, "demand": 3, "set": 3, "rest": 3, "scale": 3, "add": 4, "never": 2, "always": 2,
}

// ShortPrefix begins the id of a device that an edit put between two points.
const ShortPrefix = "short/"

// cut is the resistance of what does not conduct, ohm.
const cut = "1e9"

// With returns the description with edits made to it for good, as of the house
// in which the system stands; its faults are the same.
func (d *Description) With(edits ...Edit) (*Description, error) {
	c := d.clone()
	for _, e := range edits {
		if err := e.apply(c); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// apply makes the edit.
func (e Edit) apply(d *Description) error {
	if want, ok := editWords[e[0]]; !ok || len(e) != want {
		return fmt.Errorf("edit %v: unknown or incomplete", []string(e))
	}
	switch e[0] {
	case "short":
		return e.short(d)
	case "rest", "scale", "add":
		return e.quantity(d)
	case "never", "always":
		return e.flag(d)
	case "demand":
		return e.demand(d)
	case "set":
		for i := range d.Values {
			if d.Values[i].Name == e[1] {
				return d.Values[i].is(e[2])
			}
		}
		return fmt.Errorf("edit %v: no value %s", []string(e), e[1])
	case "stick":
		for i := range d.Boards {
			if d.Boards[i].ID == e[1] {
				d.Boards[i].Values["fault"] = "stuck"
				return nil
			}
		}
		return fmt.Errorf("edit %v: no board %s", []string(e), e[1])
	}
	i := d.device(e[1])
	if i < 0 {
		return fmt.Errorf("edit %v: no device %s", []string(e), e[1])
	}
	return e.device(d, &d.Devices[i])
}

// device makes an edit of one device, or of two.
func (e Edit) device(d *Description, v *Device) error {
	moving := slices.Contains([]Kind{Switch, Thermostat, Limit, Fuse, Breaker, Overload, Contact}, v.Kind)
	switch e[0] {
	case "open":
		switch {
		case moving:
			v.Values["fault"] = "open"
		case v.Kind == Coil:
			v.Values["inrush"], v.Values["sealed"] = cut, cut
			v.Values["fault"] = "jammed" // it has its voltage and no current to pull with
		case v.Kind == Capacitor:
			v.Values["uf"] = "0"
		case v.Kind == Conductor || v.Kind == Load || v.Kind == Source:
			v.Values["ohms"] = cut
		default:
			return fmt.Errorf("edit %v: a %s cannot be cut", []string(e), v.Kind)
		}
	case "weld":
		if !moving || v.Kind == Fuse || v.Kind == Breaker {
			return fmt.Errorf("edit %v: a %s does not weld", []string(e), v.Kind)
		}
		v.Values["fault"] = "welded"
	case "jam":
		if v.Kind != Coil {
			return fmt.Errorf("edit %v: a %s has no armature", []string(e), v.Kind)
		}
		v.Values["fault"] = "jammed"
	case "ohms":
		if _, err := impedance(e[2]); err != nil {
			return err
		}
		if v.Kind == Coil {
			v.Values["inrush"], v.Values["sealed"] = e[2], e[2]
		} else {
			v.Values["ohms"] = e[2]
		}
	case "value":
		v.Values[e[2]] = e[3]
	case "cross":
		j := d.device(e[2])
		if j < 0 {
			return fmt.Errorf("edit %v: no device %s", []string(e), e[2])
		}
		v.Points[1], d.Devices[j].Points[1] = d.Devices[j].Points[1], v.Points[1]
	case "move":
		for _, p := range e[2:] {
			if _, ok := d.Point(p); !ok && p != Ground {
				return fmt.Errorf("edit %v: no point %s", []string(e), p)
			}
		}
		v.Points[0], v.Points[1] = e[2], e[3]
	case "winding":
		if v.Kind != Motor || e[2] != "run" && e[2] != "start" {
			return fmt.Errorf("edit %v: want a motor, and run or start", []string(e))
		}
		v.Values[e[2]+"-ohms"] = e[3]
	case "reverse":
		if v.Kind != Transformer {
			return fmt.Errorf("edit %v: %s is no transformer", []string(e), e[1])
		}
		v.Points[2], v.Points[3] = v.Points[3], v.Points[2]
	}
	return nil
}

func (e Edit) short(d *Description) error {
	if _, err := impedance(e[3]); err != nil {
		return err
	}
	for _, p := range e[1:3] {
		if _, ok := d.Point(p); !ok && p != Ground {
			return fmt.Errorf("edit %v: no point %s", []string(e), p)
		}
	}
	d.Devices = append(d.Devices, Device{ID: ShortPrefix + e[1] + "/" + e[2], Kind: Conductor, Label: "Short",
		Points: []string{e[1], e[2]}, Values: map[string]string{"ohms": e[3]}})
	return nil
}

func (e Edit) demand(d *Description) error {
	closes := list(e[2])
	for _, id := range closes {
		if v, ok := d.Device(id); !ok || !v.commanded() {
			return fmt.Errorf("edit %v: %s is no contact of the thermostat", []string(e), id)
		}
	}
	for i := range d.Calls {
		if d.Calls[i].ID == e[1] {
			d.Calls[i] = Call{ID: e[1], Label: d.Calls[i].Label, Demand: d.Calls[i].Demand, Closes: closes, After: make([]float64, len(closes))}
			return nil
		}
	}
	return fmt.Errorf("edit %v: no call %s", []string(e), e[1])
}

func (e Edit) quantity(d *Description) error {
	a := addOf(e[2])
	if a.Of != "" && e[0] != "add" {
		return fmt.Errorf("edit %v: %s is not a number", []string(e), e[2])
	}
	x := a.Value
	for i := range d.Quantities {
		q := &d.Quantities[i]
		if q.Name != e[1] {
			continue
		}
		q.Adds = slices.Clone(q.Adds)
		switch e[0] {
		case "rest":
			q.Rest, q.RestOf = x, ""
			return nil
		case "add":
			a.If = list(e[3])
			q.Adds = append(q.Adds, a)
			_, err := d.conditions(list(e[3]))
			return err
		}
		for k := range q.Adds {
			q.Adds[k].Value *= x
		}
		return nil
	}
	return fmt.Errorf("edit %v: no quantity %s", []string(e), e[1])
}

func (e Edit) flag(d *Description) error {
	for i := range d.Flags {
		f := &d.Flags[i]
		if f.Name != e[1] {
			continue
		}
		f.Fixed = e[0]
		return nil
	}
	return fmt.Errorf("edit %v: no flag %s", []string(e), e[1])
}
