package visit

import (
	"strings"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/quantity"
	"rung/internal/record"
)

func (d *desk) hazardNames() []string {
	var names []string
	for _, h := range d.Visit.Hazards {
		names = append(names, d.lower(d.choice("hazard", h).Name))
	}
	return names
}

// hazardDo says what to do about the hazard noted first that stops the work.
func (d *desk) hazardDo() string {
	for _, h := range d.Visit.Hazards {
		if !(diagnosis.Case{Hazards: []diagnosis.Hazard{diagnosis.Hazard(h)}}).Stopped() {
			continue
		}
		for _, a := range answers()["hazard"] {
			if a.id == h {
				return d.text(a.do)
			}
		}
	}
	return ""
}

// causeName returns the short name of a cause.
func (d *desk) causeName(id string) string {
	if id == Healthy {
		return d.say("healthy-cause")
	}
	if name, known := d.faults.Name(id); known {
		return d.text(name)
	}
	if _, known := sentences()[id]; known && strings.HasPrefix(id, diagnosis.UnlistedID("")) {
		return d.say(id)
	}
	return id
}

// causeText returns a cause in one plain sentence, that of a pair with what
// binds the two.
func (d *desk) causeText(id string) string {
	if f, known := d.faults.Fault(id); known {
		return d.text(f.Text)
	}
	if p, known := d.faults.Pair(id); known {
		return d.text(p.Why)
	}
	return ""
}

func (d *desk) repairName(id string) string {
	if r, known := d.faults.Repair(id); known {
		return d.text(r.Name)
	}
	return id
}

// severity says how bad the cause is, if it has a degree.
func (d *desk) severity(c diagnosis.Cause) string {
	if c.Severity == nil || len(c.Faults) != 1 {
		return ""
	}
	f, known := d.faults.Fault(c.Faults[0])
	if !known {
		return ""
	}
	low, dim, ok := f.Severity(c.Severity.Low)
	high, dim2, ok2 := f.Severity(c.Severity.High)
	if !ok || !ok2 || dim != dim2 || dim == quantity.DimNone {
		return ""
	}
	unit := usualUnit(dim)
	low, high = min(low, high), max(low, high)
	return d.text(f.SeverityText) + " " + d.between(low, high, dim, unit, (high-low)/fineness, d.ambient)
}

// point returns the point of a ref.
func (d *desk) point(r diagnosis.Ref) (*fieldtest.Point, bool) {
	c, known := d.checks.Check(r.Check)
	if !known {
		return nil, false
	}
	return pointOf(c, r.Point)
}

// pointName names what is read: its check and its point, or one of them where that says enough.
func (d *desk) pointName(r diagnosis.Ref) string {
	c, known := d.checks.Check(r.Check)
	if !known {
		return r.Check
	}
	p, known := pointOf(c, r.Point)
	if !known {
		return d.text(c.Name)
	}
	switch {
	case p.Alone:
		return upper(d.text(p.Name))
	case len(c.Points) == 1:
		return d.text(c.Name)
	}
	return d.text(c.Name) + ", " + d.text(p.Name)
}

// shown returns a reading of the visit as it was read.
func (d *desk) shown(id string) string {
	r, known := d.Visit.Reading(record.EntryID(id))
	if !known {
		return ""
	}
	p, known := d.point(refOf(r))
	if !known {
		return r.Text
	}
	return d.showing(p, r)
}

func (d *desk) readingName(r *ledger.Reading) string {
	return d.lower(d.pointName(refOf(r))) + " " + strings.TrimSpace(r.Text+" "+r.Unit)
}
