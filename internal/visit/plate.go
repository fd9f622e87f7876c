package visit

import (
	"context"
	"slices"
	"strings"

	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/record"
)

// Plate returns the fields of the unit's nameplate: known, assumed or unknown.
func (s *Service) Plate(ctx context.Context, unit record.UnitID) ([]PlateField, error) {
	_, system, u, err := s.loadUnit(ctx, unit)
	if err != nil {
		return nil, err
	}
	assumed := map[string]plant.Assumption{}
	for _, a := range agree(nameplateOf(system)).taken {
		assumed[a.Field] = a
	}
	var list []PlateField
	for _, f := range plateFields() {
		if !slices.Contains(f.on, u.Kind) {
			continue
		}
		field := PlateField{ID: f.id, Name: f.name, Where: f.where.EN, Units: f.on, Dim: f.dim, Unit: f.unit, Words: f.choices(), Plain: f.perWatt}
		if v, known := u.Plate[f.id]; known {
			field.Value, field.How = strings.TrimSpace(v.Text+" "+v.Unit), v.How
		} else if a, taken := assumed[f.id]; taken {
			field.Assumed, field.Reason = f.assumed(a), a.Source.Ref
		}
		if field.Plain {
			field.Value, field.Assumed = strings.TrimSuffix(field.Value, " "+f.unit), strings.TrimSuffix(field.Assumed, " "+f.unit)
		}
		list = append(list, field)
	}
	return list, nil
}

// assumed returns what is taken for a field, in its unit.
func (p plateField) assumed(a plant.Assumption) string {
	if a.Choice != "" || p.words != nil {
		return a.Choice
	}
	return inUnit(a.Value, p.dim, p.unit, 0, standardAir)
}

// RecordPlate records values as typed, by field. An empty value leaves a field
// as it is, "-" makes it unknown again.
func (s *Service) RecordPlate(ctx context.Context, by By, unit record.UnitID, values map[string]string) error {
	p, _, u, err := s.loadUnit(ctx, unit)
	if err != nil {
		return err
	}
	var wrong fieldErrors
	event := record.NameplateRecorded{Unit: unit, Values: map[string]record.PlateValue{}}
	for id, text := range values {
		f, known := plateFieldOf(id)
		if text = clean(text); text == "" {
			continue
		}
		if !known || !slices.Contains(f.on, u.Kind) {
			wrong.add(id, Invalid, "Nothing of this name stands on such a plate.")
			continue
		}
		if text == "-" {
			event.Values[id] = record.PlateValue{}
			continue
		}
		v, kind, problem := f.read(text)
		if problem != "" {
			wrong.add(id, kind, "%s", problem)
			continue
		}
		event.Values[id] = record.PlateValue{AsRead: v}
	}
	if err := wrong.err(); err != nil {
		return err
	}
	if len(event.Values) == 0 {
		return errorf(Invalid, "Nothing was filled in, so nothing was recorded.")
	}
	_, err = s.write(ctx, by, p, []record.Event{event}, s.corrections(p, by, event)...)
	return err
}

// nameplateOf gathers what is known of a system from its units. Where two units
// tell the same field, the later in the list stands.
func nameplateOf(system *ledger.System) plant.Nameplate {
	var n plant.Nameplate
	for _, u := range system.Units {
		switch u.Kind {
		case "furnace":
			n.Indoor = plant.Furnace
		case "air-handler":
			n.Indoor = plant.AirHandler
		}
		for _, f := range plateFields() {
			v, known := u.Plate[f.id]
			if !known || !slices.Contains(f.on, u.Kind) {
				continue
			}
			if f.sets != nil || f.month {
				continue // of a described system, or of no model
			}
			if f.words != nil {
				setPlate[f.id](&n, plateValue{word: v.Text})
			} else if si, ok := inSI(f.dim, v.AsRead, standardAir); ok {
				setPlate[f.id](&n, plateValue{si: si})
			}
		}
	}
	return n
}
