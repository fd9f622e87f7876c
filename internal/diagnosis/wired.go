package diagnosis

import (
	"fmt"
	"math"

	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/system"
)

// Wired is a described system and the complaint about it: what is known before
// the first check.
type Wired struct {
	System *system.Description
	Faults *fault.Catalogue
	Checks *fieldtest.Catalogue
	// Complaint is the id of a complaint of the catalogue, or empty.
	Complaint string
	// Heating says that nothing is proposed at a cooling call: that is read on
	// the plant beside, and nobody runs it in the cold to find a fault of the heat.
	Heating bool
	// Experience is what the shop has proved and what happened to the system.
	Experience Experience
}

// wiredWorld is the World of a described system. Its particles differ in the
// severity of the fault alone: what the parts of another house differ by stands
// in the discrepancy of each meter.
type wiredWorld struct {
	listing
	on    *fieldtest.Wired
	reads map[Demand][]int // places in on.Points, in the order of points
	shown map[shownKey][]fieldtest.Outcome

	healthy []fieldtest.Outcome // at a heating call, if it was asked for
}

// shownKey names what a hypothesis shows at a demand; all particles of one
// without severities show the same, and are the first.
type shownKey struct {
	hyp, particle int
	demand        Demand
}

// OpenWired returns an engine over a described system. It returns an error if
// the complaint is unknown or the catalogue does not fit the description.
func OpenWired(s Wired, set Settings) (*Engine, error) {
	if _, known := s.Faults.Complaint(s.Complaint); s.Complaint != "" && !known {
		return nil, fmt.Errorf("diagnosis: no complaint %q", s.Complaint)
	}
	on, err := s.Checks.On(s.System)
	if err != nil {
		return nil, fmt.Errorf("diagnosis: %w", err)
	}
	w := &wiredWorld{
		listing: listing{catalogue: s.Faults, tests: s.Checks, complaint: s.Complaint, modes: ModesOf(on), experience: s.Experience},
		on:      on, reads: map[Demand][]int{}, shown: map[shownKey][]fieldtest.Outcome{},
	}
	w.otherwise = w.inHeating
	w.list(FaultsOf(s.Faults, s.System))
	w.addPoints(s.Heating)
	w.heed()
	return NewEngine(w, s.Experience.settings(set))
}

// alikeInCooling names the complaint of cooling that says of it what a complaint
// of heating says of heating.
var alikeInCooling = map[string]string{"not-heating": "not-cooling", "weak-heat": "weak-cooling"}

// inHeating is the share of a fault among the complaints of heating. A fault of
// which the catalogue knows only what it does to cooling does the same to
// heating, if a heating call plays otherwise with it: a heat pump needs its
// outdoor unit in winter too, a furnace does not.
func (w *wiredWorld) inHeating(f *fault.Fault, share float64) float64 {
	twin, heating := alikeInCooling[w.complaint]
	_, named := f.Complaints[w.complaint]
	if !heating || named || f.InHeat != nil || f.Complaints[twin] <= share {
		return share
	}
	listed, _ := w.on.System.Fault(f.ID)
	with, err := w.on.Read(plant.Heat, listed.Edits...)
	if err != nil {
		return share
	}
	if w.healthy == nil {
		if w.healthy, err = w.on.Read(plant.Heat); err != nil {
			return share
		}
	}
	for i, o := range with {
		if w.on.Points[i].Demand == plant.Heat && differ(w.on.Points[i].Point, o, w.healthy[i]) {
			return f.Complaints[twin]
		}
	}
	return share
}

// differ reports whether two outcomes of a point are further apart than meter
// and model miss by.
func differ(p *fieldtest.Point, a, b fieldtest.Outcome) bool {
	if a.Kind != b.Kind || a.Kind == fieldtest.IsWord {
		return a.Kind != b.Kind || a.Word != b.Word
	}
	return math.Abs(a.Value-b.Value) > 2*p.Meter.Sigma(b.Value)
}

// ModesOf returns the modes in which a described system works.
func ModesOf(on *fieldtest.Wired) []string {
	var list []string
	for _, d := range []plant.Demand{plant.Heat, plant.Cool} {
		if on.Calls(d) {
			list = append(list, d.String())
		}
	}
	return list
}

// FaultsOf returns the faults of the catalogue that a described system can have.
func FaultsOf(c *fault.Catalogue, d *system.Description) []*fault.Fault {
	var list []*fault.Fault
	for i := range c.Faults {
		if _, has := d.Fault(c.Faults[i].ID); has {
			list = append(list, &c.Faults[i])
		}
	}
	return list
}

// addPoints lists the points of the system and their checks, in heating without
// those at a cooling call.
func (w *wiredWorld) addPoints(heating bool) {
	listed := map[string]bool{}
	for i := range w.on.Points {
		p := &w.on.Points[i]
		demand := Demand(p.Demand.String())
		if heating && demand == Cool {
			continue
		}
		w.points = append(w.points, pointOf(p.Check, p.Point, demand))
		w.reads[demand] = append(w.reads[demand], i)
		if !listed[p.Check.ID] {
			listed[p.Check.ID] = true
			w.checks = append(w.checks, w.checkOf(p.Check))
		}
	}
}

// Severity returns the severity quantile of the first fault.
func (w *wiredWorld) Severity(h, n int) float64 {
	if len(w.faults[h]) == 0 {
		return math.NaN()
	}
	f, _ := w.on.System.Fault(w.faults[h][0].ID)
	if !f.HasDegrees() {
		return math.NaN()
	}
	return severityDraw(f.ID, n)
}

// hasDegrees reports whether the particles of a hypothesis differ.
func (w *wiredWorld) hasDegrees(h int) bool {
	for _, f := range w.faults[h] {
		if listed, _ := w.on.System.Fault(f.ID); listed.HasDegrees() {
			return true
		}
	}
	return false
}

// Predict plays the call with the faults of the hypothesis.
func (w *wiredWorld) Predict(h, n int, d Demand, out []Outcome) {
	if !w.hasDegrees(h) {
		n = 0
	}
	key := shownKey{h, n, d}
	shown, known := w.shown[key]
	if !known {
		shown = w.read(h, n, d)
		w.shown[key] = shown
	}
	for k, i := range w.reads[d] {
		out[k] = outcomeOf(shown[i])
	}
}

// read returns what a hypothesis shows at a demand in a particle. Where the
// network has no solution, which no fault of the catalogue brings about, nothing
// is readable.
func (w *wiredWorld) read(h, n int, d Demand) []fieldtest.Outcome {
	none := make([]fieldtest.Outcome, len(w.on.Points))
	demand, err := plant.ParseDemand(string(d))
	if err != nil {
		return none
	}
	var edits []system.Edit
	for _, f := range w.faults[h] {
		listed, _ := w.on.System.Fault(f.ID)
		some, err := listed.EditsAt(severityDraw(f.ID, n))
		if err != nil {
			return none
		}
		edits = append(edits, some...)
	}
	shown, err := w.on.Read(demand, edits...)
	if err != nil {
		return none
	}
	return shown
}
