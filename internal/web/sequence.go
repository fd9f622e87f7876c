package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
	"rung/internal/web/page"
)

// happenings words what happens in a sequence of operation. The first %s is
// the device, the second the figure.
var happenings = map[plant.EventKind]string{
	"closed": "%s closes", "opened": "%s opens", "energised": "%[2]s reach the %[1]s", "dead": "%s loses its voltage",
	"pulled-in": "%s pulls in", "dropped-out": "%s drops out", "chattering": "%s chatters",
	"started": "%s starts, drawing %s", "running": "%s is up to speed at %s", "stalled": "%s hums and does not turn: %s", "stopped": "%s stops",
	"blown": "%s blows", "tripped": "%s opens: too hot", "restored": "%s has cooled and closes",
	plant.DisplayDead: "the thermostat has no power", plant.StatSilent: "the thermostat does not call",
	plant.CircuitOpen: "the call stops at %s: %s across it", plant.CoilWeak: "only %[2]s reach the %[1]s: too little to pull in",
	plant.Steady: "the refrigerant side is steady, suction %[2]s", plant.NoCirculation: "the compressor turns, but the pressures stay equal",
	plant.CoilFreezes: "the indoor coil is at %[2]s: it freezes", plant.LiquidReturns: "much liquid comes back with the suction gas",
	plant.PressureClimbs: "the liquid pressure climbs to its limit, %[2]s", plant.PumpedDown: "the suction pressure falls to its limit, %[2]s",
	plant.WindingOverheat: "the compressor winding reaches %[2]s",
}

// triggers head the steps that begin with something other than what changes.
var triggers = map[string]string{
	"power-up": "Power is on", "command": "The thermostat calls", "supplied": "The electronics have their supply",
	"run-up": "The motors have had time to start", "timer": "A delay has run out",
}

// sequence shows what happens in which order, and what does not.
func (s *Server) sequence(w http.ResponseWriter, r *http.Request) error {
	here, err := s.here(r)
	if err != nil {
		return err
	}
	if m, err := s.Visits.Model(r.Context(), here.Visit.Visit); err == nil && m.FromWiring {
		return see(w, r, visitPath(here.Visit.Visit)+"/ladder", nil) // it is stepped through there
	}
	v := circuitViewOf(r)
	base := visitPath(here.Visit.Visit)
	as, err := s.asField(r, here.Visit.Visit, v.as)
	if err != nil {
		return err
	}
	p := page.SequencePage{Shell: s.shell(r, here, "Sequence of operation", "Steps"), Form: base + "/sequence", As: as}
	x, err := s.solve(r, here.Visit.Visit, v.demand, v.as)
	if err != nil {
		if p.Ends = lost(err); p.Ends == "" {
			return err
		}
		return s.render(w, r, http.StatusOK, page.Sequence(p))
	}
	p.Taken = strings.Join(x.taken, " ")
	trace := x.state.Trace()
	p.Steps = steps(x, trace, v, base)
	if v.as == healthy {
		p.Ends = "This is how it goes when nothing is wrong."
		return s.render(w, r, http.StatusOK, page.Sequence(p))
	}
	sound, err := s.solve(r, here.Visit.Visit, v.demand, healthy)
	if err != nil {
		return err
	}
	if missing := missing(sound, trace); len(missing) > 0 {
		p.Steps = append(p.Steps, page.SequenceStep{Cause: "Does not happen", Changes: missing, Fails: true})
		p.Ends = "A check between the last step that happens and the first that does not finds the place."
	} else {
		p.Ends = "Every step happens. This cause shows in the figures, not in the order."
	}
	return s.render(w, r, http.StatusOK, page.Sequence(p))
}

// steps groups what happens at the same moment for the same reason.
func steps(x solved, trace []plant.Event, v circuitView, base string) []page.SequenceStep {
	var list []page.SequenceStep
	var last plant.Event
	for i, e := range trace {
		if i == 0 || e.At != last.At || e.Trigger != last.Trigger || e.Trigger == "magnet" && e.By != last.By {
			look := v
			look.look = lookAt(e.At)
			list = append(list, page.SequenceStep{At: after(e.At), Cause: begins(x, e), Ladder: look.path(base + "/ladder")})
		}
		last = e
		step := &list[len(list)-1]
		if text := happening(x, e); text != step.Cause {
			step.Changes = append(step.Changes, text)
		}
	}
	return list
}

// lookAt returns the moment of the ladder that shows a time best.
func lookAt(t time.Duration) string {
	switch {
	case t < 500*time.Millisecond: // the motors have not come up to speed
		return "at-start"
	case t < 15*time.Minute:
		return "running"
	}
	return "settled"
}

// begins heads a step: by what set it off where that is a word of its own,
// else by the first thing that happens in it.
func begins(x solved, e plant.Event) string {
	if text, known := triggers[e.Trigger]; known {
		return text
	}
	return happening(x, e)
}

func happening(x solved, e plant.Event) string {
	form, known := happenings[e.Kind]
	if !known {
		form = "%s: " + plain(string(e.Kind))
	}
	name, figure := inSentence(deviceName(x, e.Device)), figure(x, e)
	if strings.Contains(form, "[2]") || strings.Count(form, "%s") == 2 {
		text := fmt.Sprintf(form, name, figure)
		return capital(strings.Split(text, "%!")[0])
	}
	if strings.Contains(form, "%s") {
		return capital(fmt.Sprintf(form, name))
	}
	return capital(form)
}

// inSentence writes a label with a small letter, unless it begins with a
// name of letters such as HERM.
func inSentence(label string) string {
	if len(label) < 2 || label[1] < 'a' || label[1] > 'z' {
		return label
	}
	return strings.ToLower(label[:1]) + label[1:]
}

// figure prints the value of an event in trade units.
func figure(x solved, e plant.Event) string {
	if e.Dim == quantity.DimNone {
		return ""
	}
	dim, decimals := e.Dim, 1
	if dim == quantity.DimPressureDiff { // a gauge pressure
		dim, decimals, e.Value = quantity.DimPressure, 0, e.Value+x.state.Ambient.Pascal()
	}
	if dim == quantity.DimTemperature {
		decimals = 0
	}
	return tradeunit.US.Preferred(dim).Format(e.Value, x.state.Ambient, decimals)
}

func deviceName(x solved, id string) string {
	if d, known := x.wiring.Device(id); known {
		return d.Label
	}
	return plain(id)
}

// missing lists what a sound plant does and this one does not: armatures that
// pull in, contacts that close, motors that come up to speed.
func missing(sound solved, trace []plant.Event) []string {
	type key struct {
		kind   plant.EventKind
		device string
	}
	happened := map[key]bool{}
	for _, e := range trace {
		happened[key{e.Kind, e.Device}] = true
	}
	var list []string
	for _, e := range sound.state.Trace() {
		switch e.Kind {
		case "closed", "pulled-in", "running", plant.Steady:
			if !happened[key{e.Kind, e.Device}] {
				list = append(list, happening(sound, e))
			}
		}
	}
	return list
}

// after prints how long after the call something happens.
func after(t time.Duration) string {
	switch {
	case t < 500*time.Millisecond:
		return "at once"
	case t < time.Minute:
		return fmt.Sprintf("after %.0f s", t.Seconds())
	}
	return fmt.Sprintf("after %.0f min", t.Minutes())
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
