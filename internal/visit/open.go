package visit

import (
	"context"
	"slices"
	"strings"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/ledger"
	"rung/internal/record"
)

// Complaints lists the classes of complaint that a kind of system can bring, in
// the words of the catalogue; all of them for an empty kind.
func (s *Service) Complaints(kind string) []Choice {
	modes := []string{"cool", "heat"}
	if k := s.sides(&ledger.System{SystemAdded: record.SystemAdded{Kind: kind}}, ""); k.wired != nil {
		modes = diagnosis.ModesOf(k.wired)
	} else if kind != "" {
		modes = []string{"cool"}
	}
	var list []Choice
	for _, c := range s.faults().ComplaintsIn(modes...) {
		list = append(list, Choice{c.ID, c.Word.EN})
	}
	return list
}

// Complaint returns a class of complaint: what customers say, and what to ask.
func (s *Service) Complaint(id string) (*fault.Complaint, bool) { return s.faults().Complaint(id) }

// OpenVisit opens a visit to a system.
func (s *Service) OpenVisit(ctx context.Context, by By, system record.SystemID, in OpenInput) (record.VisitID, error) {
	p, x, err := s.loadSystem(ctx, system)
	if err != nil {
		return "", err
	}
	var wrong fieldErrors
	wrong.oneOf("complaint", in.Complaint, s.Complaints(x.Kind), "Choose what comes nearest to the complaint.")
	in.Who.Name = wrong.needed("who", in.Who.Name, "Say who works at the unit.")
	if err := by.vouch(&in.Who); err != nil {
		return "", err
	}
	if in.Who.Role == "" {
		in.Who.Role = "mechanic"
	}
	if in.Who.Role != "mechanic" && in.Who.Role != "apprentice" {
		wrong.add("role", Invalid, "Choose mechanic or apprentice.")
	}
	if err := wrong.err(); err != nil {
		return "", err
	}
	id := record.VisitID(by.Form)
	_, err = s.write(ctx, by, p, []record.Event{record.VisitOpened{
		Visit: id, System: system, Words: clean(in.Words), Complaint: in.Complaint, Who: in.Who, Supervisor: clean(in.Supervisor),
	}})
	return id, err
}

// vouch puts in for who what is known of the author, if it is he: nobody makes
// himself more than he is. An apprentice opens visits for himself only.
func (by By) vouch(who *record.Person) error {
	if by.Person.Name == "" {
		return nil
	}
	if strings.EqualFold(who.Name, by.Person.Name) && by.Person.Role != "" {
		*who = by.Person
		return nil
	}
	if by.Person.Role == "apprentice" {
		return errorf(Denied, "An apprentice opens visits in his own name: %s, not %s.", by.Person.Name, who.Name)
	}
	return nil
}

// Visit returns a visit with its system and property.
func (s *Service) Visit(ctx context.Context, id record.VisitID) (Here, error) {
	_, here, err := s.loadVisit(ctx, id)
	return here, err
}

// RecordSurroundings records what surrounds the system.
func (s *Service) RecordSurroundings(ctx context.Context, by By, visit record.VisitID, in SurroundingsInput) error {
	p, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	var wrong fieldErrors
	values := map[string]record.AsRead{}
	for _, a := range surroundings() {
		if v, ok := wrong.amount(LanguageOf(ctx), a.id, in.Values[a.id], a); ok {
			values[a.id] = v
		}
	}
	for name := range in.Values {
		if !slices.ContainsFunc(surroundings(), func(a amountField) bool { return a.id == name }) {
			wrong.add(name, Invalid, "Nothing of this name is asked for.")
		}
	}
	if len(wrong) == 0 && len(values) == 0 {
		return errorf(Invalid, "%s", LanguageOf(ctx).say("nothing-filled-in"))
	}
	wrong.wetBulb(LanguageOf(ctx), here.Visit, values)
	if err := wrong.err(); err != nil {
		return err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.SurroundingsRecorded{
		Visit: visit, Values: values, Place: clean(in.Place), Instrument: clean(in.Instrument),
	}})
	return err
}

// wetBulb refuses a wet bulb above its dry bulb, counting what is known from
// before: air cannot be more than saturated.
func (f *fieldErrors) wetBulb(l Language, v *ledger.Visit, values map[string]record.AsRead) {
	value := func(id string) (record.AsRead, float64, bool) {
		at, typed := values[id]
		if !typed {
			at = v.Surroundings[id].AsRead
		}
		si, known := inSI(surrounding(id).dim, at, standardAir)
		return at, si, known
	}
	wet, wetSI, known := value("return-wet-bulb")
	dry, drySI, known2 := value("return-dry-bulb")
	if known && known2 && wetSI > drySI {
		f.add("return-wet-bulb", OutOfRange, "%s", l.say("wet-above-dry", "wet", wet.Text+" "+wet.Unit, "dry", dry.Text+" "+dry.Unit))
	}
}

// NoteHazard records that a danger is there, or is over.
func (s *Service) NoteHazard(ctx context.Context, by By, visit record.VisitID, hazard string, over bool) error {
	p, _, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	var wrong fieldErrors
	wrong.oneOf("hazard", hazard, s.Hazards(), "Choose what the danger is.")
	if err := wrong.err(); err != nil {
		return err
	}
	_, err = s.write(ctx, by, p, []record.Event{record.HazardNoted{Visit: visit, Hazard: hazard, Over: over}})
	return err
}

// Surroundings lists what can be recorded about the surroundings.
func (s *Service) Surroundings() []PlateField {
	var list []PlateField
	for _, a := range surroundings() {
		list = append(list, PlateField{ID: a.id, Name: a.name, Where: a.where.EN, Dim: a.dim, Unit: a.unit})
	}
	return list
}
