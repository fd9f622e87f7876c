package visit

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"rung/internal/ledger"
	"rung/internal/record"
)

// SplitAirConditioner is the kind of a system where no other is given: one
// that cools, and whose heat source is looked at and not modelled.
const SplitAirConditioner = "split-air-conditioner"

// Properties lists the properties whose name or address contains find.
func (s *Service) Properties(ctx context.Context, find string) ([]ledger.PropertyLine, error) {
	all, err := lines[ledger.PropertyLine](ctx, s, ledger.ListProperties)
	find = strings.ToLower(strings.TrimSpace(find))
	return slices.DeleteFunc(all, func(p ledger.PropertyLine) bool {
		return !strings.Contains(strings.ToLower(p.Name+" "+p.Address), find)
	}), err
}

// OpenVisits lists the visits not closed, the latest first.
func (s *Service) OpenVisits(ctx context.Context) ([]ledger.VisitLine, error) {
	all, err := lines[ledger.VisitLine](ctx, s, ledger.ListOpenVisits)
	slices.Reverse(all)
	return all, err
}

// Tasks lists the open tasks, the most urgent first.
func (s *Service) Tasks(ctx context.Context) ([]ledger.TaskLine, error) {
	return lines[ledger.TaskLine](ctx, s, ledger.ListTasks)
}

// lines reads a list of the journal.
func lines[T any](ctx context.Context, s *Service, list string) ([]T, error) {
	rows, err := s.log.Rows(ctx, list, "")
	if err != nil {
		return nil, err
	}
	all := make([]T, len(rows))
	for i, r := range rows {
		if err := json.Unmarshal(r.Value, &all[i]); err != nil {
			return nil, fmt.Errorf("list %s, row %s: %w", list, r.Key, err)
		}
	}
	return all, nil
}

// Property returns a property with all about it.
func (s *Service) Property(ctx context.Context, id record.PropertyID) (*ledger.Property, error) {
	p, err := s.knownProperty(ctx, id)
	return p.Property, err
}

func (s *Service) knownProperty(ctx context.Context, id record.PropertyID) (loaded, error) {
	p, err := s.load(ctx, id)
	if err == nil && len(p.envelopes) == 0 {
		err = errorf(NotFound, "There is no such property here.")
	}
	return p, err
}

// System returns a system and its property.
func (s *Service) System(ctx context.Context, id record.SystemID) (*ledger.Property, *ledger.System, error) {
	p, system, err := s.loadSystem(ctx, id)
	return p.Property, system, err
}

func (s *Service) loadSystem(ctx context.Context, id record.SystemID) (loaded, *ledger.System, error) {
	p, err := s.whereIs(ctx, "system", string(id))
	if err != nil {
		return p, nil, err
	}
	system, found := p.System(id)
	if !found {
		return p, nil, errorf(NotFound, "There is no such system here.")
	}
	return p, system, nil
}

// Unit returns a unit, its system and its property.
func (s *Service) Unit(ctx context.Context, id record.UnitID) (*ledger.Property, *ledger.System, *ledger.Unit, error) {
	p, system, unit, err := s.loadUnit(ctx, id)
	return p.Property, system, unit, err
}

func (s *Service) loadUnit(ctx context.Context, id record.UnitID) (loaded, *ledger.System, *ledger.Unit, error) {
	p, err := s.whereIs(ctx, "unit", string(id))
	if err != nil {
		return p, nil, nil, err
	}
	unit, system, found := p.Unit(id)
	if !found {
		return p, nil, nil, errorf(NotFound, "There is no such unit here.")
	}
	return p, system, unit, nil
}

// AddProperty enters a house, or with Replaces new details of one.
func (s *Service) AddProperty(ctx context.Context, by By, in PropertyInput) (record.PropertyID, error) {
	id := in.Replaces
	var p loaded
	var err error
	if id == "" {
		if _, err := by.form(); err != nil {
			return "", err
		}
		id = record.PropertyID(by.Form)
		p, err = s.load(ctx, id)
	} else {
		p, err = s.knownProperty(ctx, id)
	}
	if err != nil {
		return "", err
	}
	var wrong fieldErrors
	event := record.PropertyAdded{
		Property: id, Name: wrong.needed("name", in.Name, "Give the property a name or an address to find it by."),
		Address: clean(in.Address), Contact: clean(in.Contact), Access: clean(in.Access),
	}
	if v, ok := wrong.amount(English, "elevation", in.Elevation, elevation()); ok {
		event.Elevation = &v
	}
	if err := wrong.err(); err != nil {
		return "", err
	}
	_, err = s.write(ctx, by, p, []record.Event{event})
	return id, err
}

// AddSystem enters a system of a property, or with Replaces new details of one.
func (s *Service) AddSystem(ctx context.Context, by By, to record.PropertyID, in SystemInput) (record.SystemID, error) {
	p, err := s.knownProperty(ctx, to)
	if err != nil {
		return "", err
	}
	id := in.Replaces
	if id == "" {
		id = record.SystemID(by.Form)
	} else if _, known := p.System(id); !known {
		return "", errorf(NotFound, "There is no such system here.")
	}
	if in.Kind == "" {
		in.Kind = SplitAirConditioner
	}
	var wrong fieldErrors
	wrong.oneOf("kind", in.Kind, s.SystemKinds(), "Choose what kind of system it is.")
	if err := wrong.err(); err != nil {
		return "", err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.SystemAdded{
		System: id, Number: clean(in.Number), Name: clean(in.Name), Kind: in.Kind, Areas: clean(in.Areas), Proven: clean(in.Proven),
	}})
	return id, err
}

// AddUnit enters a unit of a system, or with Replaces new details of one.
func (s *Service) AddUnit(ctx context.Context, by By, to record.SystemID, in UnitInput) (record.UnitID, error) {
	p, _, err := s.loadSystem(ctx, to)
	if err != nil {
		return "", err
	}
	id := in.Replaces
	if id == "" {
		id = record.UnitID(by.Form)
	} else if _, _, known := p.Unit(id); !known {
		return "", errorf(NotFound, "There is no such unit here.")
	}
	var wrong fieldErrors
	wrong.oneOf("kind", in.Kind, s.UnitKinds(), "Choose what kind of unit it is.")
	if err := wrong.err(); err != nil {
		return "", err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.UnitAdded{
		Unit: id, System: to, Kind: in.Kind, Place: clean(in.Place), Label: clean(in.Label),
	}})
	return id, err
}
