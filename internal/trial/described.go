package trial

import (
	"math/rand/v2"
	"slices"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/system"
)

// described is a system that heats, by its description, at a heating call. Its
// parts have no tolerances: what those of another house differ by stands in the
// discrepancy of each meter.
type described struct {
	on     *fieldtest.Wired
	checks *fieldtest.Catalogue
}

func (k *described) can(all *fault.Catalogue) []*fault.Fault {
	return diagnosis.FaultsOf(all, k.on.System)
}

func (k *described) demands() []plant.Demand {
	return []plant.Demand{plant.Off, plant.Heat, plant.Fan}
}

func (k *described) sits() []string { return nil }

// verifying lists what shows that heat arrives.
// practice: a whole heating call is watched, and what it brings felt or measured.
func (k *described) verifying() []string {
	var list []string
	for _, id := range []string{"look-listen", "watch-sequence", "watch-boiler", "watch-outdoor", "temp-rise", "delta-t-air", "pipe-dt"} {
		if slices.ContainsFunc(k.on.Points, func(p fieldtest.WiredPoint) bool { return p.Check.ID == id && p.Demand == plant.Heat }) {
			list = append(list, id)
		}
	}
	return list
}

func (k *described) house() house { return describedHouse{k} }

func (k *described) open(faults *fault.Catalogue, set diagnosis.Settings) (func(string) (adviser, error), error) {
	return func(complaint string) (adviser, error) { return k.engine(complaint, faults, set) }, nil
}

func (k *described) engine(complaint string, faults *fault.Catalogue, set diagnosis.Settings) (*diagnosis.WiredSystem, error) {
	return diagnosis.OpenWired(diagnosis.Wired{System: k.on.System, Faults: faults, Checks: k.checks, Complaint: complaint, Heating: true}, set)
}

// describedHouse is one of a described system: all are alike.
type describedHouse struct{ *described }

func (h describedHouse) draw(*rand.Rand, float64) error { return nil }

func (h describedHouse) shows(faults []*fault.Fault, severity []float64, d plant.Demand) ([]shown, error) {
	var edits []system.Edit
	for i, f := range faults {
		listed, _ := h.on.System.Fault(f.ID)
		some, err := listed.EditsAt(severity[i])
		if err != nil {
			return nil, err
		}
		edits = append(edits, some...)
	}
	all, err := h.on.Read(d, edits...)
	if err != nil {
		return nil, err
	}
	var out []shown
	for i, p := range h.on.Points {
		if p.Demand == d {
			out = append(out, shown{p.Check, p.Point, all[i]})
		}
	}
	return out, nil
}
