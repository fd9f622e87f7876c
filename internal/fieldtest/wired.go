package fieldtest

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"rung/internal/plant"
	"rung/internal/system"
)

// A call on a described system stands for callLength before what has settled is
// read.
// practice: long enough for three trials for ignition, a defrost that is
// forced, and water that has begun to warm; a mechanic watches one whole cycle.
const callLength = 10 * time.Minute

// Wired is the catalogue as it can be read on one described system: the points
// whose "wiring" names something that the system has.
type Wired struct {
	System *system.Description
	// Points lists them in the order of the catalogue, each at each demand.
	Points []WiredPoint
}

// WiredPoint is a point of a check at a demand.
type WiredPoint struct {
	Check  *Check
	Point  *Point
	Demand plant.Demand

	probe probe
}

// On returns the catalogue as it can be read on a described system. An error is
// a mistake in the data.
func (c *Catalogue) On(d *system.Description) (*Wired, error) {
	w := &Wired{System: d}
	for i := range c.Checks {
		k := &c.Checks[i]
		for j := range k.Points {
			p := &k.Points[j]
			if len(p.wiring) == 0 {
				continue
			}
			for _, demand := range p.WiringDemands {
				probe, ok, err := p.on(d, demand)
				if err != nil {
					return nil, fmt.Errorf("check %s, point %s, on %s: %w", k.ID, p.ID, d.ID, err)
				}
				if ok {
					w.Points = append(w.Points, WiredPoint{k, p, demand, probe})
				}
			}
		}
	}
	return w, nil
}

// on returns the first of the ways to read the point that fits the description
// and the demand.
func (p *Point) on(d *system.Description, demand plant.Demand) (probe, bool, error) {
	for _, way := range p.wiring {
		if way.during != "" && !asks(d, way.during, demand) {
			continue
		}
		b, ok, err := way.on(d, p)
		if err != nil || ok {
			b.call, b.long = CallAt(d, demand), way.long
			if way.during != "" {
				b.call = way.during
			}
			return b, ok && (b.call != "" || demand == plant.Off), err
		}
	}
	return probe{}, false, nil
}

// Calls reports whether a thermostat of the system can ask for the demand.
func (w *Wired) Calls(d plant.Demand) bool { return CallAt(w.System, d) != "" }

// CallAt returns the call of a description that a demand means: that of its
// name, else the first that asks for it; none when nothing calls.
func CallAt(d *system.Description, demand plant.Demand) string {
	first := ""
	for _, c := range d.Calls {
		if c.ID == demand.String() {
			return c.ID
		}
		if first == "" && asks(d, c.ID, demand) {
			first = c.ID
		}
	}
	return first
}

// asks reports whether a description has a call that asks for a demand: what
// it says itself, or by its name; any other call asks for heat.
func asks(d *system.Description, call string, demand plant.Demand) bool {
	for _, c := range d.Calls {
		if c.ID != call {
			continue
		}
		word := c.Demand
		switch {
		case word != "":
		case c.ID == plant.Cool.String(), c.ID == plant.Fan.String():
			word = c.ID
		default:
			word = plant.Heat.String()
		}
		return word == demand.String()
	}
	return false
}

// Find returns the place of a point at a demand, -1 if the system has none.
func (w *Wired) Find(check, point string, demand plant.Demand) int {
	for i := range w.Points {
		p := &w.Points[i]
		if p.Check.ID == check && p.Point.ID == point && p.Demand == demand {
			return i
		}
	}
	return -1
}

// Read returns what every point shows at a demand on the system with the edits
// of a fault, in the order of Points; those of other demands are NotReadable.
func (w *Wired) Read(demand plant.Demand, edits ...system.Edit) ([]Outcome, error) {
	out := make([]Outcome, len(w.Points))
	tries := map[try][]int{} // points by what is done to read them
	var list []try
	for i := range w.Points {
		p := &w.Points[i]
		if p.Demand != demand {
			continue
		}
		if _, known := tries[p.probe.try]; !known {
			list = append(list, p.probe.try)
		}
		tries[p.probe.try] = append(tries[p.probe.try], i)
	}
	if len(list) == 0 {
		return out, nil
	}
	dead, err := w.dead(demand, edits)
	if err != nil {
		return nil, err
	}
	built := map[string]*system.System{} // by what is changed for the reading
	for _, y := range list {
		if built[y.given] == nil {
			if built[y.given], err = w.System.Build(append(slices.Clip(edits), editsOf(y.given)...)...); err != nil {
				return nil, err
			}
		}
		if err := w.read(built[y.given], dead, y, tries[y], out); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// try is what is done to read a point: the call that is made, and what is
// changed for the moment, as the data names it.
type try struct {
	call  string
	given string        // what is changed
	long  time.Duration // how long it stands before what has settled is read
}

// editsOf reads what is changed for a reading: "short R Y 0.01 and open jumper".
func editsOf(given string) []system.Edit {
	var list []system.Edit
	for _, text := range strings.Split(given, " and ") {
		if text != "" {
			list = append(list, strings.Fields(text))
		}
	}
	return list
}

// checkEdits refuses what no description could be changed by.
func checkEdits(given string) error {
	for _, e := range editsOf(given) {
		if _, err := system.ParseEdit(strings.Join(e, " ")); err != nil {
			return err
		}
	}
	return nil
}

// dead returns the system with every source taken away, for the ohmmeter, by the
// devices that are out of the circuit too.
func (w *Wired) dead(demand plant.Demand, edits []system.Edit) (map[string]*system.Play, error) {
	plays := map[string]*system.Play{}
	for i := range w.Points {
		p := &w.Points[i]
		if _, known := plays[p.probe.lifted]; known || !p.probe.dead || p.Demand != demand {
			continue
		}
		play, err := w.without(p.probe.lifted, edits)
		if err != nil {
			return nil, err
		}
		plays[p.probe.lifted] = play
	}
	return plays, nil
}

// without builds the system without its sources and the listed devices.
func (w *Wired) without(lifted string, edits []system.Edit) (*system.Play, error) {
	all := append([]system.Edit(nil), edits...)
	for _, v := range w.System.Devices {
		if v.Kind == system.Source {
			all = append(all, system.Edit{"value", v.ID, "volts", "0"})
		}
	}
	for _, id := range strings.FieldsFunc(lifted, func(r rune) bool { return r == ',' }) {
		all = append(all, system.Edit{"open", id})
	}
	s, err := w.System.Build(all...)
	if err != nil {
		return nil, err
	}
	return s.Play(0)
}

// read plays one call and reads the points of it.
func (w *Wired) read(s *system.System, dead map[string]*system.Play, y try, points []int, out []Outcome) error {
	var actions []system.Action
	if y.call != "" {
		var err error
		if actions, err = s.Call(y.call, 0, 2*y.long); err != nil {
			return err
		}
	}
	shows := make([]sight, len(points))
	look := func(glanced bool) func(*system.Play) {
		return func(p *system.Play) {
			for k, i := range points {
				if b := &w.Points[i].probe; b.watched && b.glanced == glanced {
					b.look(p, &shows[k])
				}
			}
		}
	}
	end, err := s.Attend(y.long, look(false), look(true), actions...)
	if err != nil {
		return err
	}
	for k, i := range points {
		b := &w.Points[i].probe
		p := end
		if b.dead {
			p = dead[b.lifted]
		}
		if !b.watched {
			b.look(p, &shows[k])
		}
		out[i] = w.Points[i].Point.shown(b.outcome(&shows[k], p))
	}
	return nil
}

// shown keeps an outcome within what the meter can show.
func (p *Point) shown(o Outcome) Outcome {
	if o.Kind == IsValue {
		o.Value = min(max(o.Value, p.Meter.Low), p.Meter.High)
	}
	return o
}

// sight is what was seen of one point during a call.
type sight struct {
	most     float64 // largest reading
	last     float64
	worked   bool          // at some time
	rested   bool          // at some time after that
	works    bool          // last seen
	returned bool          // worked again after it had rested
	when     time.Duration // it last worked
	seen     bool          // anything at all
	word     int           // greatest rank of a word told by a board
	held     int           // seconds in a row
}

// probe is a way to read a point on one description.
type probe struct {
	try            // how it comes about; the call is "" when nothing calls
	watched bool   // the whole call is watched, not only its end
	glanced bool   // at every second of it, as what it shows creeps
	dead    bool   // the power is off
	lifted  string // devices out of the circuit as well
	look    func(*system.Play, *sight)
	outcome func(*sight, *system.Play) Outcome
}

// way is a reading as the data names it: "most volts GV C during zone-2", or
// "runs contactor given short R Y 0.01"; "for 60" is how many minutes it takes.
type way struct {
	words  []string
	during string
	given  string        // what is changed for it
	long   time.Duration // how long the call stands
	with   string        // device that the description must have
	while  string        // condition that has held for a minute when it is read
	at     time.Duration // moment at which it is read; zero for the end
	most   bool
}

// setWiring reads ways that are tried in their order, with "|" between them.
func setWiring(p *Point, s string) error {
	p.Wiring = s
	for _, text := range strings.Split(s, "|") {
		words := strings.Fields(text)
		y := way{long: callLength}
		if n := slices.Index(words, "given"); n >= 0 {
			words, y.given = words[:n], strings.Join(words[n+1:], " ")
			if err := checkEdits(y.given); err != nil {
				return err
			}
		}
		for n := len(words); n > 2 && y.ends(words[n-2], words[n-1]); n = len(words) {
			words = words[:n-2]
		}
		if len(words) > 0 && words[0] == "most" {
			words, y.most = words[1:], true
		}
		if len(words) < 2 {
			return fmt.Errorf("%q names no reading", strings.TrimSpace(text))
		}
		if _, known := wirings[words[0]]; !known {
			return fmt.Errorf("unknown kind of reading %q", words[0])
		}
		y.words = words
		p.wiring = append(p.wiring, y)
	}
	return nil
}

// ends takes a pair of words from the end of a way, if it is one.
func (y *way) ends(key, value string) bool {
	switch key {
	case "during":
		y.during = value
	case "with":
		y.with = value
	case "while":
		y.while = value
	case "for":
		minutes, err := strconv.Atoi(value)
		y.long = time.Duration(minutes) * time.Minute
		return err == nil && minutes > 0
	case "at":
		s, err := strconv.Atoi(value)
		y.at = time.Duration(s) * time.Second
		return err == nil
	default:
		return false
	}
	return true
}

// setWiringDemands reads the demands at which a described system is read, where
// they are not those of the plant.
func setWiringDemands(p *Point, s string) (err error) {
	p.WiringDemands, err = demandsOf(s)
	return err
}

// on makes the probe of a way, if the description has what it names.
func (y way) on(d *system.Description, p *Point) (probe, bool, error) {
	if !hasDevices(d, y.with) {
		return probe{}, false, nil
	}
	b, ok, err := wirings[y.words[0]](d, p, y.words[1:])
	b.watched = b.watched || y.most
	if err != nil || !ok {
		return b, ok, err
	}
	b.given = y.given
	if _, wrong := d.Build(editsOf(y.given)...); wrong != nil {
		return b, false, nil // it changes what this description does not have
	}
	if y.at > 0 {
		b = b.at(y.at)
	}
	if y.while == "" {
		return b, true, nil
	}
	when, err := d.Condition(y.while)
	return b.while(when, y.most), err == nil, nil
}

// at makes a probe look at one moment of the call only.
func (b probe) at(moment time.Duration) probe {
	look := b.look
	b.watched, b.glanced = true, true
	b.look = func(x *system.Play, s *sight) {
		if x.Time() == moment {
			look(x, s)
		}
	}
	return b
}

// steady is how long a condition must have held for a probe that waits for it, in
// glances of a second.
// practice: an analyser wants a minute to draw its sample and settle
const steady = 60

// while makes a probe look only while a condition holds, and has held for a
// minute. Unless it keeps the most, the last look counts.
func (b probe) while(when system.Condition, most bool) probe {
	look := b.look
	b.watched, b.glanced = true, true
	b.look = func(x *system.Play, s *sight) {
		if !x.Holds(when) {
			s.held = 0
			return
		}
		if s.held++; s.held >= steady {
			s.seen = s.seen && most
			look(x, s)
		}
	}
	return b
}
