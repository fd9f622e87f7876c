package web

import (
	"context"
	"strings"

	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// names are the catalogues, for the wording of what was recorded by its id. They
// are read when a page wants them first.
type names struct {
	// language is the one they are worded in; English if empty.
	language visit.Language
}

// in returns the names in the language of a page.
func (n names) in(ctx context.Context) names {
	n.language = visit.LanguageOf(ctx)
	return n
}

func (n names) text(t fault.Text) string { return t.In(string(n.language)) }

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
	return n.title(check, point)
}

// title names a point, by its check if that has no other.
func (n names) title(check *fieldtest.Check, point *fieldtest.Point) string {
	if len(check.Points) == 1 {
		return n.text(check.Name)
	}
	return n.text(point.Name)
}

// complaint is the wording of a class of complaint.
func (n names) complaint(id string) string {
	if c, known := n.faults().Complaint(id); known {
		return n.text(c.Word)
	}
	return id
}

// shown is a reading as read.
func (n names) shown(r *ledger.Reading) string {
	if r.NotReadable {
		return page.Label(string(n.language), "shows nothing")
	}
	if r.Unit == "" {
		if _, point, ok := n.tests().Point(r.Check, r.Point); ok {
			return n.language.Word(point, r.Text)
		}
		return plain(r.Text)
	}
	return r.Text + " " + r.Unit
}

func (n names) repairName(r *ledger.Repair) string {
	if x, ok := n.faults().Repair(r.Repair); ok {
		return n.text(x.Name)
	}
	if r.Repair == "other" {
		return r.Note
	}
	return plain(r.Repair)
}

// causeName is the short name of a cause.
func (n names) causeName(id string) string {
	if name, known := n.faults().Name(id); known {
		return n.text(name)
	}
	return plain(id)
}

// causeText is a cause in one sentence.
func (n names) causeText(id string) string {
	if f, ok := n.faults().Fault(id); ok {
		return n.text(f.Text)
	}
	return plain(id)
}
