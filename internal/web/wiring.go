package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"rung/internal/chart"
	"rung/internal/circuit"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/relay"
	"rung/internal/system"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// A call on the wiring pages lasts callLength, and the system is followed until
// playLength: long enough for every delay after the call.
const (
	callLength = 10 * time.Minute
	playLength = 15 * time.Minute
)

// powerOff is the moment at which every source is taken away and ohms are read.
const powerOff = "off"

// wirings lists the kinds of system whose wiring can be looked into.
func (s *Server) wirings(w http.ResponseWriter, r *http.Request) error {
	list := page.LinkList{Heading: "Kinds of system"}
	for _, id := range system.IDs() {
		d, _ := system.Describe(id)
		list.Links = append(list.Links, page.Link{Text: d.Name, Href: "/wiring/" + id, Note: count(len(d.Faults), "fault to look at", "faults to look at")})
	}
	return s.render(w, r, http.StatusOK, page.Place(page.PlacePage{
		Shell: page.Shell{Title: "Wiring and sequence", Back: page.Link{Text: "Start", Href: "/"}},
		Lists: []page.LinkList{list},
	}))
}

// wiringView is what the address of a wiring page asks for.
type wiringView struct {
	base              string // address of the page
	as, call, moment  string
	red, black, clamp string
	every             bool
}

func wiringViewOf(r *http.Request, d *system.Description) wiringView {
	q := r.URL.Query()
	v := wiringView{base: r.URL.Path, as: q.Get("as"), call: q.Get("demand"), moment: q.Get("step"), red: q.Get("red"), black: q.Get("black"), clamp: q.Get("clamp"), every: q.Get("wires") == "all"}
	if v.as == "" {
		v.as = healthy
	}
	if v.call == "" {
		v.call = d.Calls[0].ID
	}
	return v
}

func (v wiringView) path() string {
	q := url.Values{"as": {v.as}, "demand": {v.call}}
	for name, value := range map[string]string{"step": v.moment, "red": v.red, "black": v.black, "clamp": v.clamp} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if v.every {
		q.Set("wires", "all")
	}
	return v.base + "?" + q.Encode()
}

// tapped puts the next lead on a point: first red, then black, then red anew.
func (v wiringView) tapped(point string) wiringView {
	if v.red == "" || v.black != "" {
		v.red, v.black = point, ""
	} else {
		v.black = point
	}
	return v
}

// at returns the view at another moment.
func (v wiringView) at(moment string) wiringView {
	v.moment = moment
	return v
}

// wiring draws a system at a moment of its sequence, and reads volts between two
// points of it, or ohms with the power off.
func (s *Server) wiring(w http.ResponseWriter, r *http.Request) error {
	d, ok := system.Describe(r.PathValue("kind"))
	if !ok {
		return &visit.Error{Kind: visit.NotFound, Message: fmt.Sprintf("There is no wiring of %q here.", r.PathValue("kind"))}
	}
	return s.showWiring(w, r, d, page.Shell{Title: d.Name, Back: page.Link{Text: "Wiring and sequence", Href: "/wiring"}}, nil)
}

// showWiring draws a described system; standing are the causes that stand in the
// visit from which it is looked at.
func (s *Server) showWiring(w http.ResponseWriter, r *http.Request, d *system.Description, shell page.Shell, standing []visit.CauseLine) error {
	v := wiringViewOf(r, d)
	if _, chosen := r.URL.Query()["demand"]; !chosen && standing != nil {
		if heat := fieldtest.CallAt(d, plant.Heat); heat != "" {
			v.call = heat // a visit is reasoned from here for its heat
		}
	}
	built, err := faulted(d, v)
	if err != nil {
		return err
	}
	actions, err := built.Call(v.call, 0, callLength)
	if err != nil {
		return &visit.Error{Kind: visit.NotFound, Message: fmt.Sprintf("A thermostat on this system cannot call for %q.", v.call)}
	}
	whole, err := built.Play(playLength, actions...)
	if err != nil {
		return err
	}
	moments := momentsOf(whole)
	at, here := momentAt(moments, v.moment)
	now, err := built.Play(at, actions...)
	if err != nil {
		return err
	}
	p := wiringPage(d, v, moments, here, standing)
	p.Shell = shell
	if p.Others, err = elsewise(d, v, at, actions, standing); err != nil {
		return err
	}
	p.Drawing = chart.Ladder(chart.FromSystem(now, chart.SystemView{Every: v.every, Red: v.red, Black: v.black,
		Href: func(point string) string { return v.tapped(point).path() }}))
	p.Answer, p.Detail = probe(now, v)
	p.Clamp, p.Amps = clampField(d, v.clamp), clamped(now, v)
	p.StepText = doing(now)
	if stop := whole.StoppedIn(v.call); stop != "" && v.as != healthy && (v.call == d.Calls[0].ID || d.Sequences[v.call] != nil) {
		p.Ends = "Of the written sequence, this does not happen: " + stepWords(d, stop) + "."
	}
	return s.render(w, r, http.StatusOK, page.Ladder(p))
}

// mostOthers is for how many standing causes a meter is predicted.
// practice: more are not compared at a glance.
const mostOthers = 4

// elsewise says what the meter shows between the leads when nothing is wrong
// and under each of the standing causes, at the same moment.
func elsewise(d *system.Description, v wiringView, at time.Duration, actions []system.Action, standing []visit.CauseLine) ([]string, error) {
	if v.red == "" || v.black == "" || len(standing) == 0 {
		return nil, nil
	}
	var list []string
	for _, c := range append([]visit.CauseLine{{ID: healthy, Name: "Healthy"}}, standing[:min(len(standing), mostOthers)]...) {
		if _, known := d.Fault(c.ID); !known && c.ID != healthy || c.ID == v.as {
			continue
		}
		other := v
		other.as = c.ID
		built, err := faulted(d, other)
		if err != nil {
			return nil, err
		}
		p, err := built.Play(at, actions...)
		if err != nil {
			return nil, err
		}
		if shows := meterBetween(p, v); shows != "" {
			list = append(list, c.Name+": "+shows)
		}
	}
	return list, nil
}

// meterBetween is what a usual meter shows between the leads, in short.
func meterBetween(p *system.Play, v wiringView) string {
	if v.moment == powerOff {
		ohms, err := p.Ohms(v.red, v.black)
		switch {
		case err != nil:
			return ""
		case float64(ohms) > meterEnds:
			return "OL"
		}
		return showOhms(float64(ohms))
	}
	volts, err := p.Volts(v.red, v.black, circuit.HighImpedance)
	if err != nil {
		return ""
	}
	return showVolts(volts)
}

// meterEnds is the resistance above which a usual meter shows OL, ohm.
// practice: where usual meters end.
const meterEnds = 40e6

// wiringOfVisit draws the described system that a visit is reasoned from.
func (s *Server) wiringOfVisit(w http.ResponseWriter, r *http.Request, here visit.Here, d *system.Description) error {
	advice, err := s.Visits.Advise(r.Context(), here.Visit.Visit)
	if _, blind := mendable(err); err != nil && !blind {
		return err
	}
	return s.showWiring(w, r, d, s.shell(r, here, "Ladder", "Ladder"), advice.Standing)
}

// faulted builds the system that is shown.
func faulted(d *system.Description, v wiringView) (*system.System, error) {
	var edits []system.Edit
	if v.as != healthy {
		f, ok := d.Fault(v.as)
		if !ok {
			return nil, &visit.Error{Kind: visit.NotFound, Message: fmt.Sprintf("This system cannot have the fault %q.", v.as)}
		}
		edits = append(edits, f.Edits...)
	}
	if v.moment == powerOff {
		for _, dev := range d.Devices {
			if dev.Kind == system.Source {
				edits = append(edits, system.Edit{"value", dev.ID, "volts", "0"})
			}
		}
	}
	return d.Build(edits...)
}

// moment is a time at which something happens.
type moment struct {
	at   time.Duration
	what []string
}

// id names a moment in an address: its time in milliseconds.
func (m moment) id() string { return strconv.FormatInt(m.at.Milliseconds(), 10) }

// beforeCall is the moment before the thermostat calls.
const beforeCall = -time.Second

// momentsOf groups what a play saw by its times, from before the call on.
func momentsOf(p *system.Play) []moment {
	list := []moment{{at: beforeCall, what: []string{"Before the call"}}}
	for _, e := range p.Events() {
		text := eventWords(e)
		if text == "" {
			continue
		}
		if last := &list[len(list)-1]; last.at == e.At {
			last.what = append(last.what, text)
			continue
		}
		list = append(list, moment{at: e.At, what: []string{text}})
	}
	return list
}

// momentAt finds the moment of an address; with none, the last one within the
// call.
func momentAt(list []moment, id string) (time.Duration, int) {
	here := 0
	for i, m := range list {
		if m.id() == id {
			return m.at, i
		}
		if id == "" && m.at < callLength {
			here = i
		}
	}
	return list[here].at, here
}

// eventWords says an event in a sentence; empty for what says nothing new.
func eventWords(e system.Event) string {
	name := e.Label
	switch e.What {
	case relay.Entered:
		return name + " " + e.Mode
	case relay.Woke:
		return name + " has its supply"
	case relay.Died:
		return name + " loses its supply"
	case relay.Seen:
		return name + ": yes"
	case relay.Unseen:
		return name + ": no more"
	case relay.Energised:
		return fmt.Sprintf("%s gets %.0f V", name, e.Value)
	case relay.Running:
		return fmt.Sprintf("%s is up to speed at %.3g A", name, e.Value)
	case relay.Stalled:
		return fmt.Sprintf("%s hums and does not turn: %.3g A", name, e.Value)
	case relay.Started:
		return "" // told by what comes of it
	}
	words := map[relay.Event]string{relay.Closed: "closes", relay.Opened: "opens", relay.Dead: "loses its voltage", relay.PulledIn: "pulls in",
		relay.DroppedOut: "drops out", relay.Chattering: "chatters", relay.Stopped: "stops", relay.Blown: "blows", relay.Tripped: "opens: too hot", relay.Restored: "closes again"}
	return name + " " + words[e.What]
}

// stepWords says a step of a written sequence.
func stepWords(d *system.Description, step string) string {
	id, word, moves := strings.Cut(step, ":")
	name, not := strings.CutPrefix(id, "!")
	label := name
	if v, ok := d.Device(name); ok {
		label = v.Label
	}
	for _, f := range d.Flags {
		if f.Name == name {
			label = f.Label
		}
	}
	switch {
	case moves && word == "closed":
		return label + " closes"
	case moves:
		return label + " opens"
	case not:
		return label + " stops"
	}
	return label + " works"
}

// doing says what has power now and what the boards do.
func doing(p *system.Play) string {
	var works, boards []string
	for _, v := range p.Devices {
		if (v.Kind == system.Load || v.Kind == system.Motor) && p.Works(v.ID) {
			works = append(works, inSentence(v.Label))
		}
	}
	for _, b := range p.Boards {
		if p.Alive(b.ID) {
			boards = append(boards, b.Label+" "+p.Mode(b.ID).Label+".")
		} else {
			boards = append(boards, b.Label+" is dead.")
		}
	}
	text := "Nothing works now. "
	if len(works) > 0 {
		text = "At work now: " + strings.Join(works, ", ") + ". "
	}
	return text + strings.Join(boards, " ")
}

// wiringPage is the page without drawing and reading.
func wiringPage(d *system.Description, v wiringView, moments []moment, here int, standing []visit.CauseLine) page.LadderPage {
	p := page.LadderPage{
		Form:   v.base,
		As:     page.Field{Name: "as", Label: "Shown as", Kind: page.Pick, Value: v.as, Choices: []page.Choice{{Value: healthy, Label: "Healthy"}}},
		Demand: page.Field{Name: "demand", Label: "Calling for", Kind: page.Pick, Value: v.call},
		Step:   page.Field{Name: "step", Label: "Moment", Kind: page.Pick, Value: moments[here].id()},
		Wires:  page.Field{Name: "wires", Label: "Draw every wire, also the good ones", Kind: page.Tick, Value: map[bool]string{true: "yes"}[v.every], Send: "all"},
		Red:    wiringLead("red", "Red lead on", d, v.red), Black: wiringLead("black", "Black lead on", d, v.black),
		Cautions: []string{"A model of a usual system of this kind: the diagram on the panel of the unit wins. " +
			"Line voltage stands on these points in a real one. Only with a meter proved on a live source, one hand, and if you are qualified for it."},
	}
	listed := map[string]bool{}
	for _, c := range standing {
		if _, has := d.Fault(c.ID); has {
			listed[c.ID] = true
			p.As.Choices = append(p.As.Choices, page.Choice{Value: c.ID, Label: c.Name + " (" + c.Odds + ")"})
		}
	}
	for _, f := range d.Faults {
		if !listed[f.ID] {
			p.As.Choices = append(p.As.Choices, page.Choice{Value: f.ID, Label: f.Name})
		}
	}
	for _, c := range d.Calls {
		p.Demand.Choices = append(p.Demand.Choices, page.Choice{Value: c.ID, Label: c.Label})
	}
	p.Step.Choices = append(p.Step.Choices, page.Choice{Value: powerOff, Label: "Power off: read ohms"})
	for _, m := range moments {
		p.Step.Choices = append(p.Step.Choices, page.Choice{Value: m.id(), Label: clockOf(m.at) + m.what[0]})
	}
	up := v
	up.red, up.black = "", ""
	p.Clear = up.path()
	if v.moment == powerOff {
		p.Step.Value = powerOff
		p.Moment = "Power off at every source"
		return p
	}
	p.Moment, p.Happens = clockOf(moments[here].at), moments[here].what
	if here > 0 {
		p.Before = v.at(moments[here-1].id()).path()
	}
	if here+1 < len(moments) {
		p.After = v.at(moments[here+1].id()).path()
	}
	return p
}

// clockOf says when a moment is, from the call on.
func clockOf(t time.Duration) string {
	switch {
	case t < 0:
		return ""
	case t < time.Minute:
		return fmt.Sprintf("%.3g s: ", t.Seconds())
	}
	return fmt.Sprintf("%d min %02d s: ", int(t.Minutes()), int(t.Seconds())%60)
}

func wiringLead(name, label string, d *system.Description, on string) page.Field {
	f := page.Field{Name: name, Label: label, Kind: page.Pick, Value: on, Choices: []page.Choice{{Value: "", Label: "Nothing"}}}
	for _, p := range d.Points {
		if !p.Bare {
			f.Choices = append(f.Choices, page.Choice{Value: p.ID, Label: p.Where + ": " + p.Label})
		}
	}
	f.Choices = append(f.Choices, page.Choice{Value: system.Ground, Label: "cabinet"})
	return f
}

// clampField offers every conductor and device that a clamp goes around.
func clampField(d *system.Description, around string) page.Field {
	f := page.Field{Name: "clamp", Label: "Clamp around", Kind: page.Pick, Value: around, Choices: []page.Choice{{Value: "", Label: "Nothing"}}}
	for _, v := range d.Devices {
		if v.Kind != system.Source {
			f.Choices = append(f.Choices, page.Choice{Value: v.ID, Label: v.Label})
		}
	}
	return f
}

// clamped says what the clamp reads.
func clamped(p *system.Play, v wiringView) string {
	dev, ok := p.Device(v.clamp)
	if !ok {
		return ""
	}
	amps, err := p.Amps(v.clamp)
	if err != nil {
		return ""
	}
	if float64(amps) < 0.005 { // practice: where a good clamp begins
		return "0 A around " + inSentence(dev.Label)
	}
	return fmt.Sprintf("%.3g A around %s", float64(amps), inSentence(dev.Label))
}

// probe says what the meter shows between the leads.
func probe(p *system.Play, v wiringView) (answer, detail string) {
	name := func(id string) string {
		if pt, ok := p.Point(id); ok {
			return pt.Label + " (" + pt.Where + ")"
		}
		return "cabinet"
	}
	switch {
	case v.red == "" && v.black == "":
		return "", "Tap a point to put the red lead on it, then a second one for the black lead."
	case v.red == "" || v.black == "":
		return "", "One lead is on " + name(v.red+v.black) + ". Tap a second point."
	}
	between := " from " + name(v.red) + " to " + name(v.black)
	if v.moment == powerOff {
		ohms, err := p.Ohms(v.red, v.black)
		var live *circuit.LiveError
		switch {
		case errors.As(err, &live):
			return "", "There is still voltage: no ohms are read on a live circuit."
		case err != nil:
			return "", "This system has no such point. Tap two points of the drawing."
		case float64(ohms) > meterEnds:
			return "OL" + between, "More than a meter reads: open."
		}
		return showOhms(float64(ohms)) + between, "Through everything that joins these points, not only the nearest part: lift a wire to read a part alone."
	}
	volts, err1 := p.Volts(v.red, v.black, circuit.HighImpedance)
	low, err2 := p.Volts(v.red, v.black, circuit.LowImpedance)
	if err1 != nil || err2 != nil {
		return "", "This system has no such point. Tap two points of the drawing."
	}
	return meterWords(volts, low, between)
}

// showOhms prints to what a meter resolves.
func showOhms(r float64) string {
	switch {
	case r < 1000:
		return fmt.Sprintf("%.3g Ω", r)
	case r < 1e6:
		return fmt.Sprintf("%.3g kΩ", r/1e3)
	}
	return fmt.Sprintf("%.3g MΩ", r/1e6)
}
