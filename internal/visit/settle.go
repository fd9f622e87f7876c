package visit

import (
	"context"
	"slices"
	"strings"

	"rung/internal/ledger"
	"rung/internal/record"
)

// SettleInput says which of the entries of a ledger.Dispute stands.
type SettleInput struct {
	About string // of the dispute, as the next three
	Visit record.VisitID
	Unit  record.UnitID
	Field string
	// Stands is the entry that counts (Stamp.Entry of its statement); empty with
	// All: every one of them is true, of repairs.
	Stands record.EntryID
	All    bool
	// Seen lists the statements that were on the page (Entry). What came in
	// since stays in dispute.
	Seen []record.EntryID
	Why  string
}

// errSettled says that there is nothing to settle.
var errSettled = errorf(Conflict, "This was settled meanwhile, or other entries came in. Look at what is recorded now.")

// Settle records which of several entries in dispute stands. Repairs that do not
// stand are taken back with their parts.
func (s *Service) Settle(ctx context.Context, by By, property record.PropertyID, in SettleInput) error {
	p, err := s.knownProperty(ctx, property)
	if err != nil {
		return err
	}
	form, err := by.form()
	if err != nil {
		return err
	}
	event := record.StatementSettled{
		About: in.About, Visit: in.Visit, Unit: in.Unit, Field: in.Field, Stands: in.Stands, Over: in.Seen, Why: clean(in.Why),
	}
	if _, again := p.Holds(record.EntryID(form.String())); again {
		_, err := s.write(ctx, by, p, []record.Event{event})
		return err
	}
	seen, err := p.inDispute(in)
	if err != nil {
		return err
	}
	var wrong fieldErrors
	stands := func(x ledger.Statement) bool { return x.Stamp.Entry == in.Stands }
	switch {
	case in.Stands == "" && in.All && in.About == record.AboutRepair:
	case !slices.ContainsFunc(seen, stands):
		wrong.add("stands", Invalid, "Choose which one is right.")
	}
	if err := wrong.err(); err != nil {
		return err
	}
	var losers []record.Event
	if in.About == record.AboutRepair && !in.All {
		losers = p.takeBack(in.Visit, slices.DeleteFunc(seen, stands))
	}
	_, err = s.write(ctx, by, p, []record.Event{event}, losers...)
	return err
}

// inDispute returns the statements that the person saw.
func (p loaded) inDispute(in SettleInput) ([]ledger.Statement, error) {
	var list []ledger.Dispute
	if u, _, known := p.Unit(in.Unit); known {
		list = append(list, u.Disputes...)
	}
	if v, known := p.Visit(in.Visit); known {
		list = append(list, v.Disputes...)
	}
	i := slices.IndexFunc(list, func(d ledger.Dispute) bool {
		return d.About == in.About && d.Visit == in.Visit && d.Unit == in.Unit && d.Field == in.Field
	})
	if i < 0 || len(in.Seen) < 2 {
		return nil, errSettled
	}
	var seen []ledger.Statement
	for _, id := range in.Seen {
		at := slices.IndexFunc(list[i].Statements, func(x ledger.Statement) bool { return x.Entry == id })
		if at < 0 {
			return nil, errSettled
		}
		seen = append(seen, list[i].Statements[at])
	}
	return seen, nil
}

// takeBack returns the withdrawals of repairs and of the parts changed in them.
func (p loaded) takeBack(visit record.VisitID, repairs []ledger.Statement) []record.Event {
	var events []record.Event
	why := "settled: another entry about it stands"
	v, _ := p.Visit(visit)
	for _, x := range repairs {
		events = append(events, record.EntryWithdrawn{Visit: visit, Entry: x.Stamp.Entry, Why: why})
		for _, r := range v.Repairs {
			if r.Stamp.Entry != x.Stamp.Entry {
				continue
			}
			for _, part := range r.Parts {
				events = append(events, record.EntryWithdrawn{Visit: visit, Entry: part.Stamp.Entry, Why: why})
			}
		}
	}
	return events
}

// corrections returns, for the fields of a nameplate that are recorded now with
// another value than stood on the screen, that this is a correction by somebody
// who saw the other value: on another phone it must not look like two people who
// disagree. A field in dispute whose value is left as it was shown stays so.
func (s *Service) corrections(p loaded, by By, event record.NameplateRecorded) []record.Event {
	form, err := by.form()
	u, _, known := p.Unit(event.Unit)
	if err != nil || !known {
		return nil // told by write
	}
	var list []record.Event
	for _, f := range plateFields() { // in a fixed order
		v, recorded := event.Values[f.id]
		if !recorded {
			continue
		}
		value := strings.TrimSpace(v.Text + " " + v.Unit)
		disputed := slices.ContainsFunc(u.Disputes, func(d ledger.Dispute) bool { return d.Field == f.id })
		shown := u.Plate[f.id]
		if disputed && (ledger.Statement{Value: strings.TrimSpace(shown.Text + " " + shown.Unit)}).Says(value) {
			continue
		}
		var over []record.EntryID
		for _, x := range p.Statements(event.Unit, f.id) {
			if !x.Says(value) && x.Stamp.Device != s.device || disputed {
				over = append(over, x.Entry)
			}
		}
		if over != nil {
			list = append(list, record.StatementSettled{
				About: record.AboutPlate, Unit: event.Unit, Field: f.id, Stands: record.EntryID(form.String()), Over: over,
			})
		}
	}
	return list
}

// furtherRepair returns, for a repair recorded in sight of those of others, that
// it is one more. Repairs in dispute stay so.
func (s *Service) furtherRepair(p loaded, v *ledger.Visit) []record.Event {
	if slices.ContainsFunc(v.Disputes, func(d ledger.Dispute) bool { return d.About == record.AboutRepair }) {
		return nil
	}
	var over []record.EntryID
	for _, x := range p.RepairStatements(v.Visit) {
		if x.Stamp.Device != s.device {
			over = append(over, x.Entry)
		}
	}
	if over == nil {
		return nil
	}
	return []record.Event{record.StatementSettled{About: record.AboutRepair, Visit: v.Visit, Over: over}}
}
