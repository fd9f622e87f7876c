package web

import (
	"strings"

	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
)

// names are the catalogues, for the wording of what was recorded by its id. They
// are read when a page wants them first.
type names struct{}

func (names) faults() *fault.Catalogue    { return tested(fault.Load()) }
func (names) tests() *fieldtest.Catalogue { return tested(fieldtest.Load()) }

// tested returns a catalogue of the program, which is wrong in no program that
// passed its tests.
func tested[T any](catalogue T, err error) T {
	if err != nil {
		panic("web: " + err.Error())
	}
	return catalogue
}

// plain makes words of an id that no catalogue knows, such as one of a later
// program.
func plain(id string) string { return strings.ReplaceAll(id, "-", " ") }

// pointName names what was read: the check, and the point if it says more.
func (n names) pointName(r *ledger.Reading) string {
	check, point, ok := n.tests().Point(r.Check, r.Point)
	if !ok {
		return sentence(plain(r.Check), plain(r.Point))
	}
	return title(check, point)
}

// title names a point, by its check if that has no other.
func title(check *fieldtest.Check, point *fieldtest.Point) string {
	if len(check.Points) == 1 {
		return check.Name.EN
	}
	return point.Name.EN
}

// shown is a reading as read.
func (n names) shown(r *ledger.Reading) string {
	if r.NotReadable {
		return "shows nothing"
	}
	if r.Unit == "" {
		return plain(r.Text)
	}
	return r.Text + " " + r.Unit
}

func (n names) repairName(r *ledger.Repair) string {
	if x, ok := n.faults().Repair(r.Repair); ok {
		return x.Name.EN
	}
	if r.Repair == "other" {
		return r.Note
	}
	return plain(r.Repair)
}

// causeName is the short name of a cause.
func (n names) causeName(id string) string {
	if name, known := n.faults().Name(id); known {
		return name.EN
	}
	return plain(id)
}

// causeText is a cause in one sentence.
func (n names) causeText(id string) string {
	if f, ok := n.faults().Fault(id); ok {
		return f.Text.EN
	}
	return plain(id)
}
