package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"

	"rung/internal/chart"
	"rung/internal/circuit"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// healthy stands for "nothing wrong" where a cause is chosen.
const healthy = "healthy"

// looks are the three moments at which a circuit is looked at.
var looks = []struct {
	id   string
	ph   plant.PhaseID
	name string
}{
	{"running", plant.Running, "Running"},
	{"at-start", plant.AtStart, "The first moment of the call"},
	{"settled", plant.Settled, "After 15 minutes"},
}

// demandChoices are what a thermostat can call for.
var demandChoices = []visit.Choice{{ID: "cool", Name: "Cool"}, {ID: "fan", Name: "Fan"}, {ID: "off", Name: "Off"}}

// circuitView is what the address of a circuit page asks for.
type circuitView struct {
	as, demand, look string
	red, black       plant.Node
	every            bool
}

func circuitViewOf(r *http.Request) circuitView {
	q := r.URL.Query()
	v := circuitView{as: q.Get("as"), demand: q.Get("demand"), look: q.Get("step"), red: plant.Node(q.Get("red")), black: plant.Node(q.Get("black")), every: q.Get("wires") == "all"}
	if v.as == "" {
		v.as = healthy
	}
	if v.demand == "" {
		v.demand = "cool"
	}
	if v.look == "" {
		v.look = "running"
	}
	return v
}

// path is the address of the page that shows v.
func (v circuitView) path(base string) string {
	q := url.Values{"as": {v.as}, "demand": {v.demand}, "step": {v.look}}
	if v.red != "" {
		q.Set("red", string(v.red))
	}
	if v.black != "" {
		q.Set("black", string(v.black))
	}
	if v.every {
		q.Set("wires", "all")
	}
	return base + "?" + q.Encode()
}

func (v circuitView) phase() plant.PhaseID {
	for _, l := range looks {
		if l.id == v.look {
			return l.ph
		}
	}
	return plant.Running
}

// tapped puts the next lead on n: first red, then black, then red anew.
func (v circuitView) tapped(n plant.Node) circuitView {
	switch {
	case v.red == "" || v.black != "":
		v.red, v.black = n, ""
	default:
		v.black = n
	}
	return v
}

// solved is the plant of a visit, solved.
type solved struct {
	wiring *plant.Wiring
	state  *plant.State
	taken  []string // what was assumed of the surroundings
}

// solve solves the plant of a visit under a demand, sound or
// with one cause at the middle of its severity.
func (s *Server) solve(r *http.Request, id record.VisitID, demand, cause string) (solved, error) {
	model, err := s.Visits.Model(r.Context(), id)
	if err != nil {
		return solved{}, err
	}
	p := model.Plant
	d, err := plant.ParseDemand(demand)
	if err != nil {
		return solved{}, &visit.Error{Kind: visit.Invalid, Message: fmt.Sprintf("A thermostat cannot call for %q.", demand)}
	}
	params := p.Healthy()
	if cause != healthy {
		f, known := s.faults().Fault(cause)
		if !known || !f.Fits(p.Has) {
			return solved{}, &visit.Error{Kind: visit.NotFound, Message: fmt.Sprintf("This system cannot have the cause %q.", cause)}
		}
		if err := f.Apply(&params, 0.5); err != nil {
			return solved{}, err
		}
	}
	state, err := p.Solve(&params, model.Surroundings, d)
	return solved{p.Wiring(), state, model.Taken}, err
}

// asField offers healthy and the causes that stand.
func (s *Server) asField(r *http.Request, id record.VisitID, as string) (page.Field, error) {
	f := page.Field{Name: "as", Label: "Shown as", Kind: page.Pick, Value: as, Choices: []page.Choice{{Value: healthy, Label: "Healthy"}}}
	advice, err := s.Visits.Advise(r.Context(), id)
	if _, blind := mendable(err); err != nil && !blind {
		return f, err
	}
	seen := map[string]bool{healthy: true}
	for _, c := range advice.Standing {
		if _, known := s.faults().Fault(c.ID); known && !seen[c.ID] {
			f.Choices = append(f.Choices, page.Choice{Value: c.ID, Label: c.Name})
			seen[c.ID] = true
		}
	}
	if !seen[as] {
		f.Choices = append(f.Choices, page.Choice{Value: as, Label: s.causeName(as)})
	}
	return f, nil
}

// ladder draws the circuit and reads the volts between two points of it.
func (s *Server) ladder(w http.ResponseWriter, r *http.Request) error {
	here, err := s.here(r)
	if err != nil {
		return err
	}
	if m, err := s.Visits.Model(r.Context(), here.Visit.Visit); err == nil && m.FromWiring {
		return s.wiringOfVisit(w, r, here, m.Wiring)
	}
	v := circuitViewOf(r)
	base := visitPath(here.Visit.Visit) + "/ladder"
	as, err := s.asField(r, here.Visit.Visit, v.as)
	if err != nil {
		return err
	}
	p := page.LadderPage{
		Shell: s.shell(r, here, "Ladder", "Ladder"), Form: base, As: as,
		Demand:   page.Field{Name: "demand", Label: "Calling for", Kind: page.Choose, Value: v.demand, Choices: pageChoices(demandChoices)},
		Step:     page.Field{Name: "step", Label: "Moment", Kind: page.Pick, Value: v.look},
		Wires:    page.Field{Name: "wires", Label: "Draw every wire, also the good ones", Kind: page.Tick, Value: map[bool]string{true: "yes"}[v.every], Send: "all"},
		Cautions: []string{"Line voltage stands on these points while you measure. Only with a meter proved on a live source, one hand, and if you are qualified for it."},
	}
	for _, l := range looks {
		p.Step.Choices = append(p.Step.Choices, page.Choice{Value: l.id, Label: l.name})
	}
	x, err := s.solve(r, here.Visit.Visit, v.demand, v.as)
	if err != nil {
		if p.Lost = lost(err); p.Lost == "" {
			return err
		}
		return s.render(w, r, http.StatusOK, page.Ladder(p))
	}
	p.Red, p.Black = leadField("red", "Red lead on", x.wiring, v.red), leadField("black", "Black lead on", x.wiring, v.black)
	up := v
	up.red, up.black = "", ""
	p.Clear = up.path(base)
	p.Answer, p.Detail = reading(x, v)
	if p.Others, err = s.elsewiseInPlant(r, here.Visit.Visit, v, as); err != nil {
		return err
	}
	p.StepText = strings.Join(x.taken, " ")
	p.Drawing = chart.Ladder(chart.FromPlant(x.wiring, x.state, chart.View{
		Phase: v.phase(), Every: v.every, Red: v.red, Black: v.black, Words: motions(x.state, v.phase()),
		Href: func(n plant.Node) string { return v.tapped(n).path(base) },
	}))
	return s.render(w, r, http.StatusOK, page.Ladder(p))
}

// elsewiseInPlant says what the meter shows between the leads when nothing is
// wrong and under each of the causes offered, at the same moment.
func (s *Server) elsewiseInPlant(r *http.Request, id record.VisitID, v circuitView, as page.Field) ([]string, error) {
	if v.red == "" || v.black == "" {
		return nil, nil
	}
	var list []string
	for i, c := range as.Choices {
		if c.Value == v.as || i > mostOthers {
			continue
		}
		x, err := s.solve(r, id, v.demand, c.Value)
		if err != nil {
			return nil, err
		}
		volts, err := x.state.Volts(v.phase(), v.red, v.black, circuit.HighImpedance)
		if err != nil {
			return nil, nil // no such point: said where the reading stands
		}
		list = append(list, c.Label+": "+showVolts(volts))
	}
	return list, nil
}

// lost says in words why nothing can be drawn, if it is for a reason that the
// mechanic can mend.
func lost(err error) string {
	var outside *quantity.RangeError
	var mistake *visit.Error
	switch {
	case errors.As(err, &outside):
		what, do := explain(err, 0)
		return what + " " + do
	case errors.As(err, &mistake) && mistake.Kind != visit.NotFound:
		return mistake.Error()
	}
	return ""
}

// motions says what the motors do, for the drawing.
func motions(st *plant.State, ph plant.PhaseID) map[string]string {
	words := map[plant.MotorState]string{plant.Silent: "stands still", plant.MotorRuns: "running", plant.MotorSlow: "slow", plant.MotorHums: "hums, stands still", plant.FreeRuns: "turns freely"}
	list := map[string]string{}
	if ph == plant.AtStart {
		return list // they have only just got their voltage: the current says more
	}
	for id, m := range map[string]plant.MotorState{
		"compressor/motor": st.CompressorAt(ph), "condenser-fan/motor": st.OutdoorFanAt(ph), "blower-motor/motor": st.Blower, "blower-motor/module": st.Blower,
	} {
		amps, fitted := st.Amps(ph, id)
		if fitted && m != plant.Silent {
			list[id] = fmt.Sprintf("%s · %.3g A", words[m], float64(amps))
		} else if fitted {
			list[id] = words[m]
		}
	}
	return list
}

func leadField(name, label string, w *plant.Wiring, on plant.Node) page.Field {
	f := page.Field{Name: name, Label: label, Kind: page.Pick, Value: string(on), Choices: []page.Choice{{Value: "", Label: "Nothing"}}}
	for _, t := range w.TestPoints {
		f.Choices = append(f.Choices, page.Choice{Value: string(t.Node), Label: t.Where + ": " + t.Label})
	}
	return f
}

// reading says what a voltmeter shows between the leads, and what a
// low-impedance one would.
func reading(x solved, v circuitView) (answer, detail string) {
	switch {
	case v.red == "" && v.black == "":
		return "", "Tap a point to put the red lead on it, then a second one for the black lead."
	case v.red == "" || v.black == "":
		return "", "One lead is on " + pointLabel(x.wiring, v.red+v.black) + ". Tap a second point."
	}
	volts, err := x.state.Volts(v.phase(), v.red, v.black, circuit.HighImpedance)
	if err != nil {
		return "", "This system has no such point. Tap two points of the drawing."
	}
	low, err := x.state.Volts(v.phase(), v.red, v.black, circuit.LowImpedance)
	if err != nil {
		return "", "This system has no such point. Tap two points of the drawing."
	}
	return meterWords(volts, low, " from "+pointLabel(x.wiring, v.red)+" to "+pointLabel(x.wiring, v.black))
}

// meterWords says what a usual voltmeter shows between two points, and where a
// low-impedance one shows something else.
func meterWords(usual, low quantity.Voltage, between string) (answer, detail string) {
	answer, detail = showVolts(usual)+between, "Predicted for a usual meter. "
	switch gap := math.Abs(float64(usual - low)); {
	case gap > math.Max(2, 0.5*float64(usual)):
		return answer, detail + "A low-impedance meter shows " + showVolts(low) + ": most of it is a ghost that carries nothing."
	case gap > math.Max(2, 0.1*float64(usual)):
		return answer, detail + "A low-impedance meter shows " + showVolts(low) + ": it comes through something that a load pulls down."
	}
	return answer, detail + "A low-impedance meter shows the same."
}

// showVolts prints to what a meter resolves: tenths below 60 V.
func showVolts(v quantity.Voltage) string {
	if math.Abs(float64(v)) < 60 {
		return fmt.Sprintf("%.1f V", math.Abs(float64(v)))
	}
	return fmt.Sprintf("%.0f V", math.Abs(float64(v)))
}

func pointLabel(w *plant.Wiring, n plant.Node) string {
	for _, t := range w.TestPoints {
		if t.Node == n {
			return t.Label + " (" + t.Where + ")"
		}
	}
	return string(n)
}
