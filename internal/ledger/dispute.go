package ledger

import (
	"slices"
	"strconv"
	"strings"

	"rung/internal/record"
)

// Dispute is a thing on which entries differ whose authors did not know of each
// other. It is settled by record.StatementSettled.
type Dispute struct {
	About string         // record.AboutPlate …
	Visit record.VisitID // of repairs and closings
	Unit  record.UnitID  // of a nameplate
	Field string         // of a nameplate
	// Statements are what stands against each other, oldest first.
	Statements []Statement
}

// Statement is what one entry says about a thing.
type Statement struct {
	Stamp Stamp  // of the entry that said it first
	Value string // as read: "14.1 A"; an id: a repair, an outcome; empty: not known
	// Entry is the entry to be named in a settlement: that of Stamp, or of an
	// earlier settlement that let it stand.
	Entry record.EntryID
}

// Settlement is a dispute that was settled, or a value corrected by somebody who
// saw what another had recorded.
type Settlement struct {
	About  string         // as of the dispute, as the next three
	Visit  record.VisitID // of repairs and closings
	Unit   record.UnitID  // of a nameplate
	Field  string         // of a nameplate
	Stands *Statement     // nil: all of them are true
	// Over are the statements that it overrules, or all that it found true; those
	// that were taken back since are not among them.
	Over  []Statement
	Why   string
	Stamp Stamp
}

// Says reports whether the statement is this value, in whatever digits: "14.10
// A" says "14.1 A".
func (s Statement) Says(value string) bool { return plainValue(s.Value) == plainValue(value) }

// subject is the thing that statements are about.
type subject struct {
	about string
	visit record.VisitID
	unit  record.UnitID
	field string
}

// statement is a Statement with what it brings into the view.
type statement struct {
	Statement
	order   int // in which it was said
	plate   PlateValue
	closing *Closing
}

// settlement is a StatementSettled.
type settlement struct {
	record.StatementSettled
	stamp Stamp
	order int
}

func (f *folder) say(about subject, s statement) {
	f.order++
	s.order, s.Entry = f.order, s.Stamp.Entry
	f.said[about] = append(f.said[about], s)
}

// settle notes a settlement. It returns false if what it is about is not here.
func (f *folder) settle(stamp Stamp, event record.StatementSettled) bool {
	about := subject{about: event.About}
	known := false
	switch event.About {
	case record.AboutPlate:
		about.unit, about.field = event.Unit, event.Field
		_, _, known = f.p.Unit(event.Unit)
	case record.AboutRepair, record.AboutClosing:
		about.visit = event.Visit
		_, known = f.p.Visit(event.Visit)
	}
	if known {
		f.order++
		f.settled[about] = append(f.settled[about], settlement{event, stamp, f.order})
	}
	return known
}

// resolve puts what stands into the view, and what does not agree beside it.
func (f *folder) resolve() {
	f.p.standing = map[subject][]Statement{}
	fields := map[record.UnitID][]string{}
	for about := range f.said {
		if about.about == record.AboutPlate {
			fields[about.unit] = append(fields[about.unit], about.field)
		}
	}
	for _, s := range f.p.Systems {
		for _, u := range s.Units {
			for _, field := range slices.Sorted(slices.Values(fields[u.Unit])) {
				f.resolvePlate(u, field)
			}
		}
	}
	for _, v := range f.p.Visits {
		f.resolveVisit(v)
	}
}

func (f *folder) resolvePlate(u *Unit, field string) {
	about := subject{about: record.AboutPlate, unit: u.Unit, field: field}
	list := f.standing(about)
	if last := list[len(list)-1]; last.plate.Text != "" {
		u.Plate[field] = last.plate
	}
	if d, ok := about.dispute(list); ok {
		u.Disputes = append(u.Disputes, d)
	}
	u.Settled = append(u.Settled, f.settlements(about)...)
}

func (f *folder) resolveVisit(v *Visit) {
	for _, what := range []string{record.AboutRepair, record.AboutClosing} {
		about := subject{about: what, visit: v.Visit}
		list := f.standing(about)
		if n := len(list); n > 0 && what == record.AboutClosing {
			v.Closed = list[n-1].closing
		}
		if d, ok := about.dispute(list); ok {
			v.Disputes = append(v.Disputes, d)
		}
		v.Settled = append(v.Settled, f.settlements(about)...)
	}
}

// settlements returns the settlements about a thing that chose between different
// statements. That a further repair was recorded in sight of others, or a value
// again as it was, tells nobody anything.
func (f *folder) settlements(about subject) []Settlement {
	said := f.said[about]
	at := func(id record.EntryID) int {
		return slices.IndexFunc(said, func(x statement) bool { return x.Stamp.Entry == id })
	}
	var list []Settlement
	for _, s := range f.settled[about] {
		x := Settlement{About: about.about, Visit: about.visit, Unit: about.unit, Field: about.field, Why: s.Why, Stamp: s.stamp}
		if s.Stands != "" {
			i := at(s.Stands)
			if i < 0 {
				continue
			}
			x.Stands = &said[i].Statement
		}
		devices := map[string]bool{}
		for _, id := range s.Over {
			i := at(id)
			if i < 0 || x.Stands != nil && (said[i].Stamp.Entry == x.Stands.Stamp.Entry || about.about != record.AboutRepair && said[i].Says(x.Stands.Value)) {
				continue
			}
			x.Over = append(x.Over, said[i].Statement)
			devices[said[i].Stamp.Device] = true
		}
		chose := len(x.Over) > 0 || about.about == record.AboutRepair && x.Stands != nil
		if x.Stands == nil {
			chose = len(devices) > 1
		}
		if chose {
			list = append(list, x)
		}
	}
	return list
}

// standing returns the statements about a thing that are not overruled, oldest
// first: neither by a later one of the same device, which knows what it said,
// nor by a settlement whose author saw them. A settlement is itself a statement:
// that what it lets stand is so. At least one is returned if there was any.
func (f *folder) standing(about subject) []statement {
	said := f.said[about]
	seen := map[record.EntryID]bool{}
	all := slices.Clone(said)
	for _, s := range f.settled[about] {
		at := slices.IndexFunc(said, func(x statement) bool { return x.Stamp.Entry == s.Stands })
		if at < 0 && s.Stands != "" {
			continue // it lets stand what is not here, or was taken back
		}
		for _, id := range s.Over {
			seen[id] = true
		}
		if at >= 0 {
			x := said[at]
			x.order, x.Entry = s.order, s.stamp.Entry
			seen[x.Stamp.Entry] = true
			all = append(all, x)
		}
	}
	if len(all) == 0 {
		return nil
	}
	slices.SortFunc(all, func(a, b statement) int { return a.order - b.order })
	last := map[string]int{} // when each device said its last
	for _, s := range all {
		last[f.author(about, s)] = s.order
	}
	standing := slices.DeleteFunc(slices.Clone(all), func(s statement) bool {
		return seen[s.Entry] || about.about != record.AboutRepair && s.order != last[f.author(about, s)]
	})
	if len(standing) == 0 {
		standing = all[len(all)-1:]
	}
	for _, s := range standing {
		f.p.standing[about] = append(f.p.standing[about], s.Statement)
	}
	return standing
}

// author returns the device on which a statement was made: of one let stand by
// a settlement, that of the settlement.
func (f *folder) author(about subject, s statement) string {
	for _, x := range f.settled[about] {
		if x.stamp.Entry == s.Entry {
			return x.stamp.Device
		}
	}
	return s.Stamp.Device
}

// dispute reports whether statements stand against each other. Repairs do when
// they come from two devices, even the same ones: it may have been done once or
// twice.
func (about subject) dispute(list []statement) (Dispute, bool) {
	values, devices := map[string]bool{}, map[string]bool{}
	d := Dispute{About: about.about, Visit: about.visit, Unit: about.unit, Field: about.field}
	for _, s := range list {
		values[plainValue(s.Value)] = true
		devices[s.Stamp.Device] = true
		d.Statements = append(d.Statements, s.Statement)
	}
	if about.about == record.AboutRepair {
		return d, len(devices) > 1
	}
	return d, len(values) > 1
}

// plainValue strips a value to what tells it from others: "14.10 A" is "14.1 a".
func plainValue(v string) string {
	number, unit, _ := strings.Cut(strings.ToLower(strings.TrimSpace(v)), " ")
	if x, err := strconv.ParseFloat(number, 64); err == nil {
		number = strconv.FormatFloat(x, 'g', -1, 64)
	}
	return number + " " + unit
}

// Statements returns what stands about a field of a nameplate, oldest first,
// whether in dispute or not: what a correction of it overrules.
func (p *Property) Statements(unit record.UnitID, field string) []Statement {
	return p.standing[subject{about: record.AboutPlate, unit: unit, field: field}]
}

// RepairStatements returns the repairs of a visit that no later repair or
// settlement has taken note of.
func (p *Property) RepairStatements(visit record.VisitID) []Statement {
	return p.standing[subject{about: record.AboutRepair, visit: visit}]
}
