package visit

import (
	"errors"
	"fmt"
	"slices"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/system"
)

// A system can be known from two sides. The plant knows the refrigerant, the
// air and the motors of one that cools; a described system knows wiring, boards
// and the heat side. A visit is reasoned from one of them, the one that the
// complaint points to; what is read on the other is kept, and proved by it.
type side struct {
	situation Situation
	plate     plant.Nameplate  // full; of the plant
	wired     *fieldtest.Wired // of a described system; nil for the plant
	c         diagnosis.Case
	blind     error // why there is no advice, and then no reasoner
	reasoner  Reasoner
	ask       func(diagnosis.Case) (diagnosis.Advice, error) // of the reasoner, remembered
}

// knows reports whether the side can read a point at a demand.
func (s *side) knows(p *fieldtest.Point, check string, d plant.Demand) bool {
	if s == nil {
		return false
	}
	if s.wired != nil {
		if s.situation.Heating && d == plant.Cool {
			return false
		}
		return s.wired.Find(check, p.ID, d) >= 0
	}
	return p.Applies(s.plate.Has) && p.At(d)
}

// canHave returns the faults that the side can have.
func (s *side) canHave(c *fault.Catalogue) []*fault.Fault {
	if s.wired != nil {
		return diagnosis.FaultsOf(c, s.wired.System)
	}
	return c.Fits(s.plate.Has)
}

// think makes the reasoner of the side ready, once.
func (s *side) think(e *engines, possible func() error) error {
	if s.reasoner != nil || s.blind != nil {
		return s.blind
	}
	if s.wired == nil {
		if s.blind = possible(); s.blind != nil {
			return s.blind
		}
	}
	if s.reasoner, s.blind = e.reasoner(s.situation); s.blind != nil {
		s.blind = fmt.Errorf("advise: %w", s.blind)
		return s.blind
	}
	s.ask = func(c diagnosis.Case) (diagnosis.Advice, error) { return e.advise(s.situation, s.reasoner, c) }
	return nil
}

// Bounds of a change of sides. practice: three readings that point nowhere are
// enough to look elsewhere, and elsewhere must be clearly better.
const (
	noLead     = 0.3 // probability below which no cause leads
	enoughRead = 3
	clearly    = 2.0
)

// changeSides reasons from the other side where this one finds no cause for
// what was read and the other one does: what belongs to the wiring of two
// transformers is nothing that a plant can have.
//
// It is decided by what was read before the first repair, so that a repair does
// not change it back.
func (d *desk) changeSides() {
	found := asFound(d.c)
	if d.other == nil || len(found.Readings) < enoughRead || d.c.Stopped() {
		return
	}
	here, err := d.ask(found)
	if err != nil || leading(here) >= noLead || d.other.think(d.engines, d.possible) != nil {
		return
	}
	there, err := d.other.ask(asFound(d.other.c))
	if err != nil || leading(there) < max(noLead, clearly*leading(here)) {
		return
	}
	if there, err = d.other.ask(d.other.c); err == nil {
		d.side, d.other, d.advice = d.other, d.side, there
	}
}

// asFound returns a case as it was before the first repair.
func asFound(c diagnosis.Case) diagnosis.Case {
	if len(c.Repairs) == 0 {
		return c
	}
	first := c
	first.Repairs = nil
	first.Readings = slices.DeleteFunc(slices.Clone(c.Readings), func(r diagnosis.Reading) bool { return r.Epoch > 0 || r.Drop })
	first.Refused = slices.DeleteFunc(slices.Clone(c.Refused), func(r diagnosis.Refusal) bool { return r.Epoch > 0 })
	return first
}

// leading returns the probability of the likeliest cause that is one.
func leading(a diagnosis.Advice) float64 {
	for _, c := range a.Causes {
		if c.ID != Healthy {
			return c.Probability
		}
	}
	return 0
}

// errSide means that a point belongs to neither side.
var errSide = errors.New("the point belongs to no model of the system")

// sideOf returns the side on which a point is read at a demand: that of the
// visit, except that a cooling call is the plant's and a heating call the
// described system's, where both have the point.
func (d *desk) sideOf(p *fieldtest.Point, check string, demand plant.Demand) *side {
	own, other := d.side.knows(p, check, demand), d.other.knows(p, check, demand)
	switch {
	case own && other && (demand == plant.Cool && d.other.wired == nil || demand == plant.Heat && d.other.wired != nil):
		return d.other
	case own:
		return d.side
	case other:
		return d.other
	}
	return nil
}

// reads reports whether the system of the visit has a point at a demand.
func (d *desk) reads(p *fieldtest.Point, check string, demand plant.Demand) bool {
	if !modelled(p) {
		return d.heatUnknown() && p.At(demand)
	}
	return d.sideOf(p, check, demand) != nil
}

// heatUnknown reports whether the heat source of the system is in no model: then
// it is looked at, and kept with the record.
func (d *desk) heatUnknown() bool { return d.side.wired == nil && d.other == nil }

// blindTo reports whether nothing can be predicted for a point.
func (d *desk) blindTo(p *fieldtest.Point, ref diagnosis.Ref) bool {
	if !modelled(p) {
		return d.blind != nil && d.heatUnknown()
	}
	demand, err := plant.ParseDemand(string(ref.Demand))
	if err != nil {
		return true
	}
	s := d.sideOf(p, ref.Check, demand)
	return s == nil || s.think(d.engines, d.possible) != nil
}

// cardOf returns what a point should show, from the side that knows it.
func (d *desk) cardOf(p *fieldtest.Point, ref diagnosis.Ref) ([]diagnosis.Expectation, error) {
	demand, err := plant.ParseDemand(string(ref.Demand))
	if err != nil {
		return nil, err
	}
	s := d.sideOf(p, ref.Check, demand)
	if s == nil {
		return nil, errSide
	}
	if err := s.think(d.engines, d.possible); err != nil {
		return nil, err
	}
	return s.reasoner.Card(s.c, ref)
}

// SystemKinds lists the kinds of system that visits reason over.
func (s *Service) SystemKinds() []Choice {
	list := []Choice{}
	for _, id := range system.IDs() {
		d, _ := system.Describe(id)
		list = append(list, Choice{id, d.Name})
	}
	return list
}

// wiringOnly are the kinds whose cooling no plant models: a plant is one system of
// one speed.
var wiringOnly = map[string]bool{"two-systems": true, "inverter-outdoor-unit": true}

// known says from which sides a system is known.
type known struct {
	wired  *fieldtest.Wired // nil if it is no described system
	house  string           // what its plates change of the description
	cooled bool             // the plant models its cooling
	first  bool             // the visit is reasoned from the described system
	// heating says that the complaint is one of heating: nobody runs the cooling
	// in the cold to find it.
	heating bool
}

// sides says from which sides a system is known, and from which a visit with
// the complaint is reasoned.
func (s *Service) sides(x *ledger.System, complaint string) known {
	d, described := system.Describe(x.Kind)
	if !described || x.Kind == SplitAirConditioner {
		return known{cooled: true}
	}
	k := known{house: houseOf(d, x)}
	var err error
	if k.wired, err = s.engines.on(s.checks(), x.Kind, k.house); err != nil {
		panic("visit: " + err.Error()) // what plates may say, and the catalogues, are tested
	}
	k.cooled = k.wired.Calls(plant.Cool) && !wiringOnly[x.Kind]
	c, ok := s.faults().Complaint(complaint)
	switch {
	case !k.cooled:
		k.first = true
	case ok && c.Mode != "":
		k.first = c.Mode == plant.Heat.String()
		k.heating = k.first
	case ok:
		full := agree(nameplateOf(x)).full
		k.first = s.brings(diagnosis.FaultsOf(s.faults(), k.wired.System), complaint) > s.brings(s.faults().Fits(full.Has), complaint)
	}
	return k
}

// brings says how often faults bring a complaint that heating and cooling
// share: the side that explains it better has the visit.
func (s *Service) brings(faults []*fault.Fault, complaint string) float64 {
	sum := 0.0
	for _, f := range faults {
		sum += f.Weight * f.Complaints[complaint]
	}
	return sum
}
