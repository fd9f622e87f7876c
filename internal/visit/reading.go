package visit

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/moistair"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/tradeunit"
)

// TakeReadings records what a check showed, one entry for each point filled
// in, and returns their ids.
func (s *Service) TakeReadings(ctx context.Context, by By, visit record.VisitID, in ReadingsInput) ([]record.EntryID, error) {
	p, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return nil, err
	}
	check, err := s.check(in.Check)
	if err != nil {
		return nil, err
	}
	if err := sameEpoch(LanguageOf(ctx), in.Epoch, here.Visit); err != nil {
		return nil, err
	}
	l := LanguageOf(ctx)
	var wrong fieldErrors
	var events []record.Event
	for _, pt := range in.Points {
		point, known := pointOf(check, pt.Point)
		if !known {
			wrong.add(pt.Point, NotFound, "The check %s has no such point.", check.Name.EN)
			continue
		}
		if clean(pt.Text) == "" && !pt.NotReadable {
			continue
		}
		v, ok := wrong.reading(l, check, point, in.Demand, pt, ambientOf(here))
		if !ok {
			continue
		}
		events = append(events, record.ReadingTaken{
			Visit: visit, Check: check.ID, Point: point.ID, Demand: in.Demand, AsRead: v, NotReadable: pt.NotReadable,
			Place: clean(in.Place), Instrument: clean(in.Instrument), By: clean(in.ReadBy), Role: by.Person.Role, At: in.At,
			Unsettled: in.Unsettled, Doubt: clean(in.Doubt), Note: clean(in.Note), AfterRepair: here.Visit.LastRepair(),
		})
	}
	if err := wrong.err(); err != nil {
		return nil, err
	}
	if len(events) == 0 {
		return nil, errorf(Invalid, "%s", l.say("nothing-filled-in"))
	}
	return s.write(ctx, by, p, events)
}

// sameEpoch refuses a form that was drawn before a repair was recorded.
func sameEpoch(l Language, drawn *int, v *ledger.Visit) error {
	if drawn == nil || *drawn == v.Epoch() {
		return nil
	}
	return errorf(Conflict, "%s", l.say("repairs-changed"))
}

// check returns a check of the catalogue.
func (s *Service) check(id string) (*fieldtest.Check, error) {
	c, known := s.checks().Check(id)
	if !known {
		return nil, errorf(NotFound, "There is no check %q.", id)
	}
	return c, nil
}

// pointOf returns a point of a check.
func pointOf(c *fieldtest.Check, id string) (*fieldtest.Point, bool) {
	for i := range c.Points {
		if c.Points[i].ID == id {
			return &c.Points[i], true
		}
	}
	return nil, false
}

// reading reads what was typed for a point, and adds what is wrong with it.
func (f *fieldErrors) reading(l Language, c *fieldtest.Check, p *fieldtest.Point, demand string, in PointInput, ambient quantity.Pressure) (record.AsRead, bool) {
	if d, err := plant.ParseDemand(demand); err != nil || !p.AtAll(d) {
		f.add(p.ID, Invalid, "%s", l.phrase("not-at-this-call", "point", l.text(p.Name), "demands", strings.Join(l.demandNames(p), ", ")))
		return record.AsRead{}, false
	}
	if in.NotReadable {
		return record.AsRead{}, true
	}
	if p.Words != nil {
		if _, known := p.Word(clean(in.Text)); !known {
			f.add(p.ID, Invalid, "%s", l.phrase("none-of", "point", l.text(p.Name), "typed", strconv.Quote(clean(in.Text)), "words", strings.Join(l.wordsOf(p), ", ")))
			return record.AsRead{}, false
		}
		return record.AsRead{Text: clean(in.Text)}, true
	}
	return f.meter(l, c, p, in, ambient)
}

// overload is how a meter shows more than it can measure.
const overload = "OL"

func (f *fieldErrors) meter(l Language, c *fieldtest.Check, p *fieldtest.Point, in PointInput, ambient quantity.Pressure) (record.AsRead, bool) {
	if p.Meter.OpenAtTop && strings.EqualFold(clean(in.Text), overload) {
		return record.AsRead{Text: overload}, true
	}
	unit := in.Unit
	if unit == "" {
		unit = p.Unit
	}
	field := amountField{id: p.ID, name: l.text(p.Name), dim: p.Dim}
	typed, err := tradeunit.Parse(in.Text, p.Dim, unit)
	if err != nil {
		f.add(p.ID, Invalid, "%s", field.typingProblem(l, in.Text, err))
		return record.AsRead{}, false
	}
	var impossible *fieldtest.ImpossibleError
	if err := c.Credible(p, typed.SI(ambient)); errors.As(err, &impossible) {
		low, high := p.Meter.Low, p.Meter.High
		f.add(p.ID, OutOfRange, "%s", l.phrase("reading-cannot-be", "point", l.text(p.Name), "typed", typed.String(),
			"low", typed.Unit.Format(low, ambient, decimalsFor(typed.Unit.Of(low, ambient))),
			"high", typed.Unit.Format(high, ambient, decimalsFor(typed.Unit.Of(high, ambient))), "advice", l.text(impossible.Advice)))
		return record.AsRead{}, false
	}
	return record.AsRead{Text: typed.Text, Unit: typed.Unit.Symbol}, true
}

// wordsOf lists the words of a point: in English as they are kept.
func (l Language) wordsOf(p *fieldtest.Point) []string {
	if l == Spanish && len(p.WordsES) > 0 {
		return p.WordsES
	}
	return p.Words
}

func (l Language) demandNames(p *fieldtest.Point) []string {
	var names []string
	for _, d := range []plant.Demand{plant.Off, plant.Cool, plant.Heat, plant.Fan} {
		if p.AtAll(d) {
			names = append(names, l.choice("demand", d.String()).Name)
		}
	}
	return names
}

// elevationOf returns how high the site lies: as recorded on the visit, else
// for the property, else sea level.
func elevationOf(h Here) quantity.Length {
	metres, known := inSI(quantity.DimLength, h.Visit.Surroundings["elevation"].AsRead, standardAir)
	if !known && h.Property.Elevation != nil {
		metres, _ = inSI(quantity.DimLength, *h.Property.Elevation, standardAir)
	}
	return quantity.Length(metres)
}

// ambientOf returns the air pressure of the site.
func ambientOf(h Here) quantity.Pressure {
	p, err := moistair.PressureAtElevation(elevationOf(h))
	if err != nil {
		return standardAir // beyond the formula, which the limits of the field keep out
	}
	return p
}

// Refuse records that a check could not be done.
func (s *Service) Refuse(ctx context.Context, by By, visit record.VisitID, in RefusalInput) error {
	p, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	check, err := s.check(in.Check)
	if err != nil {
		return err
	}
	if _, known := pointOf(check, in.Point); in.Point != "" && !known {
		return errorf(NotFound, "The check %s has no such point.", check.Name.EN)
	}
	var wrong fieldErrors
	why := wrong.needed("why", in.Why, "Say why it could not be done.")
	if err := wrong.err(); err != nil {
		return err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.CheckRefused{
		Visit: visit, Check: check.ID, Point: in.Point, Demand: in.Demand, Why: why, AfterRepair: here.Visit.LastRepair(),
	}})
	return err
}

// History returns the readings of a point over all visits to a system, oldest
// first.
func (s *Service) History(ctx context.Context, system record.SystemID, check, point string) ([]HistoryLine, error) {
	p, _, err := s.loadSystem(ctx, system)
	if err != nil {
		return nil, err
	}
	c, err := s.check(check)
	if err != nil {
		return nil, err
	}
	pt, known := pointOf(c, point)
	if !known {
		return nil, errorf(NotFound, "The check %s has no such point.", c.Name.EN)
	}
	var list []HistoryLine
	for _, r := range p.History(system, check, point) {
		at := ambientOf(Here{Property: p.Property, Visit: r.Visit})
		o, ok := outcomeOf(pt, r.Reading, at)
		list = append(list, HistoryLine{PastReading: r, Number: ok && pt.Words == nil && o.Kind == isValue, Value: o.Value, Showing: English.showing(pt, r.Reading)})
	}
	return list, nil
}

// showing returns a reading as read, in words where it is one.
func (l Language) showing(p *fieldtest.Point, r *ledger.Reading) string {
	switch {
	case r.NotReadable:
		return l.phrase("not-readable")
	case p.Words != nil:
		return l.Word(p, r.Text)
	}
	return strings.TrimSpace(fmt.Sprintf("%s %s", r.Text, r.Unit))
}

// refusedAt reports whether a refusal covers a point of a check.
func refusedAt(r ledger.Refusal, point, demand string) bool {
	return (r.Point == "" || r.Point == point) && (r.Demand == "" || r.Demand == demand)
}
