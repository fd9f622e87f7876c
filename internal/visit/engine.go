package visit

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"
	"sync"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/record"
)

// Reasoner gives advice about one system on one day. A *diagnosis.System is
// one. It must be safe for several goroutines.
type Reasoner interface {
	Advise(diagnosis.Case) (diagnosis.Advice, error)
	// Card returns what a point should show, healthy first, then under the
	// leading causes.
	Card(diagnosis.Case, diagnosis.Ref) ([]diagnosis.Expectation, error)
}

// Situation is what a Reasoner is made for.
type Situation struct {
	Plate        plant.Nameplate // as known; unknown fields are zero
	Surroundings plant.Surroundings
	// OutdoorKnown and WetBulbKnown say that these were recorded, not assumed.
	OutdoorKnown, WetBulbKnown bool
	Complaint                  string
}

// engines makes reasoners and keeps the last few, and the last advice given:
// what they hold follows from the journal, so forgetting changes only the time
// an answer takes.
type engines struct {
	open func(Situation) (Reasoner, error)

	mu     sync.Mutex
	plants map[plant.Nameplate]*plant.Plant
	made   map[Situation]Reasoner
	advice map[[sha256.Size]byte]diagnosis.Advice
}

// Numbers of what is kept. practice: a shop of fifty mechanics has that many
// visits open; a reasoner holds some megabytes, an advice some kilobytes.
const (
	mostReasoners = 8
	mostAdvice    = 256
)

func newEngines(open func(Situation) (Reasoner, error)) *engines {
	return &engines{open: open, plants: map[plant.Nameplate]*plant.Plant{}, made: map[Situation]Reasoner{},
		advice: map[[sha256.Size]byte]diagnosis.Advice{}}
}

// plant returns the plant of a nameplate.
func (e *engines) plant(n plant.Nameplate) (*plant.Plant, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if p, made := e.plants[n]; made {
		return p, nil
	}
	p, err := plant.Build(n)
	if err != nil {
		return nil, err
	}
	if len(e.plants) >= mostReasoners {
		clear(e.plants)
	}
	e.plants[n] = p
	return p, nil
}

// reasoner returns the reasoner for a situation. Two who ask for one at once
// may both make it; they are alike.
func (e *engines) reasoner(s Situation) (Reasoner, error) {
	e.mu.Lock()
	r, made := e.made[s]
	e.mu.Unlock()
	if made {
		return r, nil
	}
	r, err := e.open(s)
	if err != nil {
		return nil, err
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if len(e.made) >= mostReasoners {
		clear(e.made)
	}
	e.made[s] = r
	return r, nil
}

// advise returns the advice for a case in a situation.
func (e *engines) advise(s Situation, r Reasoner, c diagnosis.Case) (diagnosis.Advice, error) {
	key := sha256.Sum256(fmt.Appendf(nil, "%#v %#v", s, c))
	e.mu.Lock()
	a, known := e.advice[key]
	e.mu.Unlock()
	if known {
		return a, nil
	}
	a, err := r.Advise(c)
	if err != nil {
		return a, err
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if len(e.advice) >= mostAdvice {
		clear(e.advice)
	}
	e.advice[key] = a
	return a, nil
}

// desk is a visit laid out for reasoning.
type desk struct {
	Here
	faults    *fault.Catalogue
	checks    *fieldtest.Catalogue
	situation Situation
	taken     []string // what was taken for surroundings not recorded
	plate     plant.Nameplate
	ambient   quantity.Pressure
	blind     error // why there is no advice, and then no reasoner
	reasoner  Reasoner
	c         diagnosis.Case
	leftOut   []string
	advice    diagnosis.Advice
}

// open makes the reasoner of a real system.
func (s *Service) open(x Situation) (Reasoner, error) {
	p, err := s.engines.plant(x.Plate)
	if err != nil {
		return nil, err
	}
	return diagnosis.Open(diagnosis.Situation{
		Plant: p, Faults: s.faults, Checks: s.checks, At: x.Surroundings,
		OutdoorKnown: x.OutdoorKnown, WetBulbKnown: x.WetBulbKnown, Complaint: x.Complaint,
	}, diagnosis.DefaultSettings())
}

// Model is the physical model of the system of a visit, for drawings.
type Model struct {
	Plant        *plant.Plant
	Surroundings plant.Surroundings
	Taken        []string // what was assumed of the surroundings, in words
}

// Model returns the model of the system of a visit, in the surroundings of the
// visit.
func (s *Service) Model(ctx context.Context, visit record.VisitID) (Model, error) {
	_, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return Model{}, err
	}
	d := s.lay(here)
	if err := d.possible(); err != nil {
		return Model{}, err
	}
	p, err := s.engines.plant(d.situation.Plate)
	return Model{Plant: p, Surroundings: d.situation.Surroundings, Taken: d.taken}, err
}

// usual stands in for surroundings that were not recorded.
// practice: a warm afternoon, a room that is being cooled, a service of 240 V.
var usual = map[string]string{
	"outdoor-dry-bulb": "85 °F", "return-dry-bulb": "76 °F", "return-wet-bulb": "64 °F", "line-voltage": "240 V",
}

// desk lays a visit out and works out the advice. Where none can be had, blind
// says why, and the rest goes on without.
func (s *Service) desk(ctx context.Context, here Here) (*desk, error) {
	d := s.lay(here)
	c, leftOut := s.caseOf(here, d.plate.Has)
	d.c = c
	for _, r := range leftOut {
		d.leftOut = append(d.leftOut, say("left-out", "reading", d.readingName(r)))
	}
	if d.blind = d.think(s.engines); d.blind != nil {
		d.advice = diagnosis.Advice{Charge: d.gate()}
	}
	return d, ctx.Err()
}

// think asks the reasoner for advice.
func (d *desk) think(e *engines) error {
	if err := d.possible(); err != nil {
		return err
	}
	var err error
	if d.reasoner, err = e.reasoner(d.situation); err != nil {
		return fmt.Errorf("advise: %w", err)
	}
	if d.advice, err = e.advise(d.situation, d.reasoner, d.c); err != nil {
		return fmt.Errorf("advise: %w", err)
	}
	return nil
}

// gate judges the charge by what plate and surroundings tell, where there is no
// reasoner to ask.
func (d *desk) gate() diagnosis.ChargeGate {
	f := diagnosis.ChargeFacts{
		RefrigerantKnown: d.situation.Plate.Refrigerant != "", MeteringKnown: d.situation.Plate.Metering != 0,
		ReturnWetBulbKnown: d.situation.WetBulbKnown, FixedOrifice: d.plate.Has(plant.HasFixedOrifice),
	}
	if d.situation.OutdoorKnown {
		f.Outdoor = d.situation.Surroundings.Outdoor
	}
	return diagnosis.JudgeCharge(f, diagnosis.DefaultSettings())
}

// lay lays a visit out without advice.
func (s *Service) lay(here Here) *desk {
	d := &desk{Here: here, faults: s.faults, checks: s.checks, ambient: ambientOf(here)}
	d.situate()
	return d
}

// situate gathers plate, surroundings and complaint.
func (d *desk) situate() {
	value := func(id string) float64 {
		f := surrounding(id)
		if si, known := inSI(f.dim, d.Visit.Surroundings[id].AsRead, d.ambient); known {
			return si
		}
		d.taken = append(d.taken, say("assumed-surroundings", "what", f.name, "taken", usual[id]))
		return mustSI(usual[id], f.dim)
	}
	_, outdoorKnown := d.Visit.Surroundings["outdoor-dry-bulb"]
	_, wetBulbKnown := d.Visit.Surroundings["return-wet-bulb"]
	d.situation = Situation{Plate: nameplateOf(d.System), Complaint: d.Visit.Complaint, OutdoorKnown: outdoorKnown, WetBulbKnown: wetBulbKnown, Surroundings: plant.Surroundings{
		Outdoor:       quantity.Temperature(value("outdoor-dry-bulb")),
		ReturnDryBulb: quantity.Temperature(value("return-dry-bulb")),
		ReturnWetBulb: quantity.Temperature(value("return-wet-bulb")),
		Line:          quantity.Voltage(value("line-voltage")),
		Elevation:     d.elevation(),
	}}
	d.plate, _ = d.situation.Plate.Complete()
}

func (d *desk) elevation() quantity.Length {
	metres, known := inSI(quantity.DimLength, d.Visit.Surroundings["elevation"].AsRead, standardAir)
	if !known && d.Property.Elevation != nil {
		metres, _ = inSI(quantity.DimLength, *d.Property.Elevation, standardAir)
	}
	return quantity.Length(metres)
}

// possible refuses plates and surroundings for which no system can be modelled.
func (d *desk) possible() error {
	var list []string
	for _, e := range joined(d.plate.Check()) {
		list = append(list, d.plateObjection(e))
	}
	for _, e := range joined(d.situation.Surroundings.Check()) {
		list = append(list, d.surroundingsObjection(e))
	}
	if len(list) == 0 {
		return nil
	}
	return errorf(OutOfRange, "No advice can be worked out: %s. Readings can be recorded all the same.", strings.Join(list, "; "))
}

// joined returns the errors that errors.Join put together; none for nil.
func joined(err error) []error {
	if err == nil {
		return nil
	}
	several, ok := err.(interface{ Unwrap() []error })
	if !ok {
		return []error{err}
	}
	var list []error
	for _, e := range several.Unwrap() {
		list = append(list, joined(e)...)
	}
	return list
}

// plateObjection says in words what the plant has against a plate.
func (d *desk) plateObjection(err error) string {
	var conflict *plant.ConflictError
	var limit *quantity.RangeError
	switch {
	case errors.As(err, &conflict):
		return fmt.Sprintf("%s does not go with %s: %s", plateName(conflict.Field), plateName(conflict.Other), conflict.Reason)
	case errors.As(err, &limit):
		if f, known := plateFieldOf(limit.Name); known && f.dim != "" {
			return outside(f.name, limit, f.dim, f.unit, 0)
		}
	}
	return err.Error()
}

func plateName(id string) string {
	if f, known := plateFieldOf(id); known {
		return f.name
	}
	return id
}

// surroundingsObjection says in words what the plant has against surroundings.
func (d *desk) surroundingsObjection(err error) string {
	var limit *quantity.RangeError
	if !errors.As(err, &limit) {
		return err.Error()
	}
	switch limit.Unit {
	case "V":
		return outside(limit.Name, limit, quantity.DimVoltage, "V", mustSI("1 V", quantity.DimVoltage))
	case "m":
		return outside(limit.Name, limit, quantity.DimLength, "ft", mustSI("1 ft", quantity.DimLength))
	}
	return outside(limit.Name, limit, quantity.DimTemperature, "°F", mustSI("1 °F", quantity.DimTempDiff))
}

// outside says a range error in a unit of the trade, to a step in SI.
func outside(name string, e *quantity.RangeError, dim quantity.Dimension, unit string, step float64) string {
	return fmt.Sprintf("%s of %s lies outside %s, for which a system can be modelled", name,
		inUnit(e.Value, dim, unit, step, standardAir), between(e.Min, e.Max, dim, unit, step, standardAir))
}
