package chart

import (
	"fmt"
	"math/cmplx"
	"slices"
	"strings"

	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/system"
)

// Circuit tells what the wires of a plant carry; *plant.State does.
type Circuit interface {
	// Phasor returns the voltage of a node to the cabinet.
	Phasor(ph plant.PhaseID, n plant.Node) complex128
	// Amps returns the current through a device; false if there is none such.
	Amps(ph plant.PhaseID, device string) (quantity.Current, bool)
	// Closed says whether a device conducts; ok is false if there is none such.
	Closed(ph plant.PhaseID, device string) (closed, ok bool)
}

// View says how the circuit of a plant is drawn.
type View struct {
	Phase plant.PhaseID
	Every bool // also the conductors that drop nothing
	// Red and Black are the nodes under the leads; empty if a lead is up.
	Red, Black plant.Node
	Href       func(plant.Node) string // where a tap on a node leads
	Words      map[string]string       // what a device does, by its id: "running"
}

// Least values that count as voltage, current and drop.
//
// practice: below 2 V a mechanic says "no voltage"; 20 mA is less than the
// electronics of a thermostat draw; a good conductor drops less than about 2 %,
// half a volt at 24 V and 3 V (of 240) between the panel and the unit.
const (
	someVolts    = 2.0  // V
	someAmps     = 0.02 // A
	leastAmps    = 1e-3 // A; less is what leaks through an open contact
	someDrop     = 0.5  // V, in the control circuit
	someLineDrop = 3.0  // V, at line voltage
)

// headings name the ladders of a plant.
var headings = map[string]string{"line": "outdoor unit", "indoor": "indoor unit", "control": "control"}

// FromPlant arranges the wiring of a plant as a diagram: each device once, in
// the rung where it comes first; a rung that starts behind a device drawn
// before starts at a tag. Leakage is drawn only where it carries current.
func FromPlant(w *plant.Wiring, circuit Circuit, v View) Diagram {
	a := arranger{w: w, c: circuit, v: v, drawn: map[string]bool{}, same: map[plant.Node]plant.Node{}, points: map[plant.Node]plant.TestPoint{}}
	for _, t := range w.TestPoints {
		a.points[t.Node] = t
	}
	a.hideConductors()
	d := Diagram{Label: "Ladder diagram. Thick wires carry current, dashed ones have voltage, thin ones are dead."}
	for _, l := range w.Ladders {
		d.Sections = append(d.Sections, a.section(l))
	}
	if s := a.leaks(); len(s.Rungs) > 0 {
		d.Sections = append(d.Sections, s)
	}
	return d
}

type arranger struct {
	w      *plant.Wiring
	c      Circuit
	v      View
	drawn  map[string]bool
	same   map[plant.Node]plant.Node // node of a hidden conductor: the node shown for it
	points map[plant.Node]plant.TestPoint
}

// hideConductors joins the ends of every conductor that drops nothing.
func (a *arranger) hideConductors() {
	if a.v.Every {
		return
	}
	for _, d := range a.w.Devices {
		closed, _ := a.c.Closed(a.v.Phase, d.ID)
		most := someDrop
		if a.points[d.From].Line || a.points[d.To].Line {
			most = someLineDrop
		}
		grounds := d.From == plant.Ground || d.To == plant.Ground || d.From == system.Ground || d.To == system.Ground
		if d.Kind != plant.KindConductor || grounds || !closed || a.volts(d.From, d.To) > most {
			continue // what is grounded keeps its own name
		}
		a.drawn[d.ID] = true
		keep, drop := a.shown(d.From), a.shown(d.To)
		if keep == drop {
			continue
		}
		if a.rank(drop) > a.rank(keep) {
			keep, drop = drop, keep
		}
		a.same[drop] = keep
	}
}

// rank prefers nodes that end a ladder, then those a lead can reach.
func (a *arranger) rank(n plant.Node) int {
	for _, l := range a.w.Ladders {
		if n == l.Left.Node || n == l.Right.Node {
			return 2
		}
	}
	if n == a.v.Red || n == a.v.Black {
		return 2
	}
	if _, reachable := a.points[n]; reachable {
		return 1
	}
	return 0
}

// shown returns the node drawn for n.
func (a *arranger) shown(n plant.Node) plant.Node {
	for {
		to, joined := a.same[n]
		if !joined {
			return n
		}
		n = to
	}
}

func (a *arranger) volts(x, y plant.Node) float64 {
	return cmplx.Abs(a.c.Phasor(a.v.Phase, x) - a.c.Phasor(a.v.Phase, y))
}

// section arranges one ladder.
func (a *arranger) section(l plant.Ladder) Section {
	s := Section{Heading: fmt.Sprintf("%.0f V · %s", a.volts(l.Left.Node, l.Right.Node), headingOf(l.Name))}
	for _, r := range l.Rungs {
		if rung, ok := a.rung(l, r); ok {
			s.Rungs = append(s.Rungs, rung)
		}
	}
	s.Left, s.Right = a.node(l, a.shown(l.Left.Node)), a.node(l, a.shown(l.Right.Node))
	s.Left.Name, s.Right.Name = l.Left.Label, l.Right.Label
	for _, r := range s.Rungs {
		s.Left.Live = max(s.Left.Live, carries(r, 0, s.Left.ID))
		s.Right.Live = max(s.Right.Live, carries(r, len(r.Devices)-1, s.Right.ID))
	}
	return s
}

func headingOf(name string) string {
	if h, ok := headings[name]; ok {
		return h
	}
	return name
}

// carries returns Flowing if device i of r touches the rail and carries current.
func carries(r Rung, i int, rail string) Live {
	if r.Devices[i].Live == Flowing && (r.Nodes[i].ID == rail || r.Nodes[i+1].ID == rail) {
		return Flowing
	}
	return Dead
}

// rung arranges what of r was not drawn before; false if that is nothing.
func (a *arranger) rung(l plant.Ladder, r plant.Rung) (Rung, bool) {
	steps := slices.DeleteFunc(slices.Clone(r.Steps), func(id string) bool {
		_, known := a.w.Device(id)
		return !known || a.drawn[id]
	})
	if len(steps) == 0 {
		return Rung{}, false
	}
	devices := make([]plant.Device, len(steps))
	for i, id := range steps {
		devices[i], _ = a.w.Device(id)
		a.drawn[id] = true
	}
	rung := Rung{Name: capital(r.Label)}
	at := a.firstNode(l, devices)
	rung.Nodes = append(rung.Nodes, a.node(l, at))
	for _, d := range devices {
		from, to := a.shown(d.From), a.shown(d.To)
		if to == at {
			from, to = to, from
		}
		if from != at { // a gap: what lies between was drawn before
			rung.Nodes[len(rung.Nodes)-1] = a.node(l, from)
		}
		at = to
		rung.Devices = append(rung.Devices, a.device(d))
		rung.Nodes = append(rung.Nodes, a.node(l, at))
	}
	rung.State = a.rungState(l, devices, rung)
	return rung, true
}

// firstNode is the end of the first device from which the rung runs on.
func (a *arranger) firstNode(l plant.Ladder, devices []plant.Device) plant.Node {
	from, to := a.shown(devices[0].From), a.shown(devices[0].To)
	if len(devices) > 1 {
		next := devices[1]
		if n := a.shown(next.From); n == from {
			return to
		}
		if n := a.shown(next.To); n == from {
			return to
		}
		return from
	}
	if to == a.shown(l.Left.Node) || from == a.shown(l.Right.Node) {
		return to
	}
	return from
}

// device says how d is drawn.
func (a *arranger) device(d plant.Device) Device {
	closed, _ := a.c.Closed(a.v.Phase, d.ID)
	amps, _ := a.c.Amps(a.v.Phase, d.ID)
	out := Device{ID: strings.ReplaceAll(d.ID, "/", "-"), Name: d.Label, Kind: symbols[d.Kind], Live: Dead, Open: !closed}
	switch {
	case float64(amps) >= someAmps:
		out.Live = Flowing
	case a.volts(d.From, d.To) >= someVolts:
		out.Live = Waiting
	}
	out.State = a.deviceState(d, closed, float64(amps))
	return out
}

// symbols maps the kinds of device to what is drawn.
var symbols = map[plant.Kind]Symbol{
	plant.KindBreaker: Contact, plant.KindDisconnect: Contact, plant.KindContact: Contact, plant.KindSwitch: Contact, plant.KindPressure: Contact,
	plant.KindTimer: Contact, plant.KindStatContact: Contact, plant.KindOverload: Contact, plant.KindFuse: Fuse, plant.KindCoil: Coil,
	plant.KindMotor: Motor, plant.KindModule: Motor, plant.KindCapacitor: Capacitor, plant.KindHeater: Resistance, plant.KindTransformer: Winding,
	plant.KindConductor: Box, plant.KindLoad: Box, plant.KindLeak: Resistance,
}

// deviceState says in a word or a figure what d does.
func (a *arranger) deviceState(d plant.Device, closed bool, amps float64) string {
	across := a.volts(d.From, d.To)
	if word := a.v.Words[d.ID]; word != "" {
		return word
	}
	switch symbols[d.Kind] {
	case Contact, Fuse:
		words := [2]string{"open", "closed"}
		if d.Kind == plant.KindFuse {
			words = [2]string{"blown", "good"}
		}
		if closed && across >= someVolts {
			return fmt.Sprintf("drops %.1f V", across)
		}
		if closed {
			return words[1]
		}
		if across >= someVolts {
			return fmt.Sprintf("%s · %.0f V", words[0], across)
		}
		return words[0]
	case Coil:
		return fmt.Sprintf("%.1f V", across)
	}
	if !closed {
		return "open"
	}
	if d.Kind == plant.KindConductor {
		return fmt.Sprintf("drops %.1f V", across)
	}
	if amps < leastAmps {
		return "no current"
	}
	return fmt.Sprintf("%.2g A", amps)
}

// rungState says whether the rung carries current, or where it is open.
func (a *arranger) rungState(l plant.Ladder, devices []plant.Device, r Rung) string {
	for i, d := range r.Devices {
		if d.Open && d.Live == Waiting {
			return fmt.Sprintf("open at %s: %.0f V across", d.Name, a.volts(devices[i].From, devices[i].To))
		}
	}
	flowing := 0
	for _, d := range r.Devices {
		if d.Live == Flowing {
			flowing++
		}
	}
	switch flowing {
	case len(r.Devices):
		return "carries current"
	case 0:
		return "no current"
	}
	return "part of it carries current"
}

// node says how n is drawn in a ladder.
func (a *arranger) node(l plant.Ladder, n plant.Node) Node {
	out := Node{ID: string(n)}
	common := a.c.Phasor(a.v.Phase, plant.Ground)
	if l.Low {
		common = a.c.Phasor(a.v.Phase, l.Right.Node)
	}
	if cmplx.Abs(a.c.Phasor(a.v.Phase, n)-common) >= someVolts {
		out.Live = Waiting
	}
	if _, reachable := a.points[n]; reachable || a.rank(n) == 2 {
		out.Name = strings.ReplaceAll(string(n), "-", " ")
		out.Note = fmt.Sprintf("%.0f V", a.volts(n, l.Right.Node))
		if a.v.Href != nil {
			out.Href = a.v.Href(n)
		}
	}
	if n == a.shown(a.v.Red) && a.v.Red != "" {
		out.Lead = "red"
	}
	if n == a.shown(a.v.Black) && a.v.Black != "" {
		out.Lead = "black"
	}
	return out
}

// leaks arranges the leakage paths that carry current: what nobody drew into
// the diagram of the unit.
func (a *arranger) leaks() Section {
	s := Section{Heading: "Where it should not flow", Left: Node{ID: "leak-left"}, Right: Node{ID: "leak-right"}}
	for _, d := range a.w.Devices {
		amps, _ := a.c.Amps(a.v.Phase, d.ID)
		if d.Kind != plant.KindLeak || float64(amps) < someAmps {
			continue
		}
		l := plant.Ladder{Right: plant.Rail{Node: plant.Ground}}
		s.Rungs = append(s.Rungs, Rung{Name: d.Label, State: fmt.Sprintf("carries %.2g A", float64(amps)), Devices: []Device{a.device(d)},
			Nodes: []Node{a.node(l, a.shown(d.From)), a.node(l, a.shown(d.To))}})
	}
	return s
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
