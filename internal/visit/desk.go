package visit

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/moistair"
	"rung/internal/plant"
	"rung/internal/quantity"
)

// desk is a visit laid out for reasoning: from one side, with the other beside
// it.
type desk struct {
	Here
	Language
	*side
	other   *side // nil if the system is known from one side only
	engines *engines
	faults  *fault.Catalogue
	checks  *fieldtest.Catalogue
	taken   []string // what was taken for surroundings not recorded
	agreed  agreed
	ambient quantity.Pressure
	leftOut []string
	// closures and happened are what weighs in beside the readings.
	closures map[string]float64
	happened []happening
	leaning  []happening // what age and season do, with whole sentences
	advice   diagnosis.Advice
}

// usual stands in for surroundings that were not recorded.
// practice: a warm afternoon, a room that is being cooled, a service of 240 V.
var usual = map[string]string{
	"outdoor-dry-bulb": "85 °F", "return-dry-bulb": "76 °F", "line-voltage": "240 V",
}

// usualHumidity is that of the return air where no wet bulb was recorded.
// practice: half saturated, as in a house that was cooled until lately.
const usualHumidity = 0.5

// desk lays a visit out and works out the advice. Where none can be had, blind
// says why, and the rest goes on without.
func (s *Service) desk(ctx context.Context, here Here, l Language) (*desk, error) {
	d := s.lay(here, l)
	learned, err := s.learntOn(ctx, dayOf(here.Visit.Opened.At))
	if err != nil {
		return nil, err
	}
	d.experience(learned)
	for _, x := range []*side{d.side, d.other} {
		if x != nil {
			s.engines.turn(x.situation)
		}
	}
	if err := d.think(s.engines, d.possible); err == nil {
		d.advice, err = d.ask(d.c)
		if err != nil {
			d.blind = fmt.Errorf("advise: %w", err)
		} else {
			d.changeSides()
		}
	}
	if d.blind != nil {
		d.advice = diagnosis.Advice{Charge: d.gate()}
	} else {
		s.engines.ahead(d.side, d.advice, s.ahead)
	}
	return d, ctx.Err()
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
func (s *Service) lay(here Here, l Language) *desk {
	d := &desk{Here: here, Language: l, side: &side{}, engines: s.engines, faults: s.faults(), checks: s.checks(), ambient: ambientOf(here)}
	d.situate()
	if k := s.sides(here.System, d.situation.Complaint); k.wired != nil {
		d.divide(k)
	}
	var leftOut []*ledger.Reading
	d.c, leftOut = s.caseOf(here, d.side, d.other)
	if d.other != nil {
		d.other.c, _ = s.caseOf(here, d.other, d.side)
	}
	for _, r := range leftOut {
		d.leftOut = append(d.leftOut, d.say("left-out", "reading", d.readingName(r)))
	}
	if _, e := s.repairsOf(here.Visit); e.from > 0 {
		d.leftOut = append(d.leftOut, d.say("own-repair"))
	}
	return d
}

// divide sets the described system beside the plant, or in its place where
// nothing cools.
func (d *desk) divide(k known) {
	heat := &side{wired: k.wired, situation: Situation{Heating: k.cooled && k.heating, Wiring: k.wired.System.ID, House: k.house, Complaint: d.situation.Complaint,
		Surroundings: d.situation.Surroundings, OutdoorKnown: d.situation.OutdoorKnown}}
	switch {
	case !k.cooled:
		d.side = heat
	case k.first:
		d.side, d.other = heat, d.side
	default:
		d.other = heat
	}
	if k.first {
		d.taken = nil // no surroundings enter into what a described system shows
	}
}

// situate gathers plate, surroundings and complaint.
func (d *desk) situate() {
	x := &d.situation
	d.agreed = agree(nameplateOf(d.System))
	x.Plate, d.plate = d.agreed.given, d.agreed.full
	x.Surroundings = plant.Surroundings{
		Outdoor:       quantity.Temperature(d.surrounding("outdoor-dry-bulb")),
		ReturnDryBulb: quantity.Temperature(d.surrounding("return-dry-bulb")),
		Line:          quantity.Voltage(d.surrounding("line-voltage")),
		Elevation:     elevationOf(d.Here),
	}
	x.Surroundings.ReturnWetBulb = d.wetBulb(x.Surroundings.ReturnDryBulb)
	_, x.OutdoorKnown = d.Visit.Surroundings["outdoor-dry-bulb"]
	_, x.WetBulbKnown = d.Visit.Surroundings["return-wet-bulb"]
	if _, known := d.faults.Complaint(d.Visit.Complaint); known { // a later program may know more classes
		x.Complaint = d.Visit.Complaint
	}
}

// surrounding returns a value of the surroundings in SI, the usual one where
// none was recorded.
func (d *desk) surrounding(id string) float64 {
	f := surrounding(id)
	if si, known := inSI(f.dim, d.Visit.Surroundings[id].AsRead, d.ambient); known {
		return si
	}
	d.taken = append(d.taken, d.say("assumed-surroundings", "what", d.text(f.called), "taken", usual[id]))
	return mustSI(usual[id], f.dim)
}

// wetBulb returns the wet bulb of return air of a dry bulb, that of usual
// humidity where none was recorded.
func (d *desk) wetBulb(dry quantity.Temperature) quantity.Temperature {
	f := surrounding("return-wet-bulb")
	if si, known := inSI(f.dim, d.Visit.Surroundings[f.id].AsRead, d.ambient); known {
		return quantity.Temperature(si)
	}
	d.taken = append(d.taken, d.say("assumed-surroundings", "what", d.text(f.called), "taken", d.phrase("relative-humidity", "n", percent(usualHumidity))))
	wet, ok := wetBulbAt(dry, usualHumidity, d.ambient)
	if !ok {
		return dry // refused by the limits of the surroundings
	}
	return wet
}

// wetBulbAt returns the wet bulb of air of a relative humidity.
func wetBulbAt(dry quantity.Temperature, humidity quantity.RelativeHumidity, ambient quantity.Pressure) (quantity.Temperature, bool) {
	air, err := moistair.FromRelativeHumidity(dry, humidity, ambient)
	return air.WetBulb, err == nil
}

// possible refuses plates and surroundings for which no system can be modelled.
func (d *desk) possible() error {
	var list []string
	for _, e := range joined(d.agreed.full.Check()) {
		list = append(list, d.agreed.objection(e))
	}
	for _, e := range joined(d.situation.Surroundings.Check()) {
		list = append(list, d.surroundingsObjection(e))
	}
	if len(list) == 0 {
		return nil
	}
	return errorf(OutOfRange, "%s", d.say("no-advice", "why", strings.Join(list, "; ")))
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
		inUnit(e.Value, dim, unit, step, standardAir), English.between(e.Min, e.Max, dim, unit, step, standardAir))
}

// overtaken says whether a warning is about what the gauges showed before the
// last repair, which nobody can look into any more.
func (d *desk) overtaken(w diagnosis.Warning) bool {
	if w.Kind != diagnosis.WarnEqualPressures && w.Kind != diagnosis.WarnContradiction {
		return false
	}
	for _, r := range d.Visit.Counting() {
		if string(r.ID()) == w.Reading {
			return r.Epoch < d.Visit.Epoch()
		}
	}
	return false
}
