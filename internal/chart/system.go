package chart

import (
	"strings"

	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/system"
)

// SystemView says how the circuit of a described system is drawn.
type SystemView struct {
	Every      bool   // also the conductors that drop nothing
	Red, Black string // the points under the leads; empty if a lead is up
	Href       func(point string) string
}

// FromSystem arranges the wiring of a described system at the moment of a play
// as a diagram, as FromPlant does that of a plant.
func FromSystem(p *system.Play, v SystemView) Diagram {
	words := map[string]string{}
	for _, d := range p.Devices {
		if d.Kind == system.Motor {
			words[d.ID] = motionOf(p, d.ID)
		}
	}
	view := View{Every: v.Every, Red: plant.Node(v.Red), Black: plant.Node(v.Black), Words: words}
	if v.Href != nil {
		view.Href = func(n plant.Node) string { return v.Href(string(n)) }
	}
	return FromPlant(wiringOf(p.Description), playing{p}, view)
}

// hums is the least current of a motor that stands and hums, A.
// practice: the smallest fan motors draw more than one ampere at rest; what leaks
// through a crankcase heater does not make a motor hum.
const hums = 0.5

func motionOf(p *system.Play, motor string) string {
	amps, err := p.Amps(motor)
	switch {
	case p.Works(motor):
		return "running"
	case err == nil && float64(amps) >= hums:
		return "hums, stands still"
	}
	return "stands still"
}

// playing answers for a play as a Circuit; it has one phase, the moment.
type playing struct{ p *system.Play }

func (c playing) Phasor(_ plant.PhaseID, n plant.Node) complex128 {
	if n == plant.Ground {
		n = system.Ground
	}
	v, _ := c.p.Phasor(string(n))
	return v
}

func (c playing) Amps(_ plant.PhaseID, device string) (quantity.Current, bool) {
	a, err := c.p.Amps(device)
	return a, err == nil
}

func (c playing) Closed(_ plant.PhaseID, device string) (closed, ok bool) {
	return c.p.Conducts(device)
}

// kindsOf maps the kinds of a described system to those of a plant.
var kindsOf = map[system.Kind]plant.Kind{
	system.Conductor: plant.KindConductor, system.Switch: plant.KindSwitch, system.Thermostat: plant.KindStatContact,
	system.Limit: plant.KindPressure, system.Fuse: plant.KindFuse, system.Breaker: plant.KindBreaker, system.Coil: plant.KindCoil,
	system.Contact: plant.KindContact, system.Load: plant.KindLoad, system.Motor: plant.KindMotor, system.Capacitor: plant.KindCapacitor,
	system.Transformer: plant.KindTransformer, system.Overload: plant.KindOverload,
}

// wiringOf returns the structure of a described system in the terms of a plant.
// What an edit put between two points stands as leakage, drawn where it carries
// current.
func wiringOf(d *system.Description) *plant.Wiring {
	var w plant.Wiring
	for _, v := range d.Devices {
		kind, drawn := kindsOf[v.Kind]
		if !drawn {
			continue // a source stands behind its rail
		}
		if strings.HasPrefix(v.ID, system.ShortPrefix) {
			kind = plant.KindLeak
		}
		dev := plant.Device{ID: v.ID, Kind: kind, Label: v.Label, From: plant.Node(v.Points[0]), To: plant.Node(v.Points[1])}
		if len(v.Points) > 2 {
			dev.Third = plant.Node(v.Points[2])
		}
		w.Devices = append(w.Devices, dev)
	}
	for _, p := range d.Points {
		if !p.Bare {
			w.TestPoints = append(w.TestPoints, plant.TestPoint{Node: plant.Node(p.ID), Label: p.Label, Where: p.Where, Line: p.Line})
		}
	}
	for _, l := range d.Ladders {
		left, _ := d.Point(l.Left)
		out := plant.Ladder{Name: l.Name, Low: !left.Line, Left: plant.Rail{Node: plant.Node(l.Left), Label: l.Left}, Right: plant.Rail{Node: plant.Node(l.Right), Label: l.Right}}
		for _, r := range l.Rungs {
			out.Rungs = append(out.Rungs, plant.Rung{Label: r.Label, Steps: r.Devices})
		}
		w.Ladders = append(w.Ladders, out)
	}
	return &w
}
