package fieldtest

import (
	"testing"

	"rung/internal/plant"
	"rung/internal/system"
)

// on lays the catalogue on a described system.
func on(t testing.TB, c *Catalogue, d *system.Description) *Wired {
	t.Helper()
	w, err := c.On(d)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// readAll returns what every point shows, each at its demand.
func readAll(t testing.TB, w *Wired, edits ...system.Edit) []Outcome {
	t.Helper()
	all := make([]Outcome, len(w.Points))
	for _, demand := range demands {
		some, err := w.Read(demand, edits...)
		if err != nil {
			t.Fatalf("%s, %s: %v", w.System.ID, demand, err)
		}
		for i, o := range some {
			if w.Points[i].Demand == demand {
				all[i] = o
			}
		}
	}
	return all
}

// describe returns a described system, and one of its faults.
func describe(t testing.TB, id, fault string) (*system.Description, system.Fault) {
	t.Helper()
	d, ok := system.Describe(id)
	if !ok {
		t.Fatalf("no system %s", id)
	}
	if fault == "" {
		return d, system.Fault{}
	}
	f, ok := d.Fault(fault)
	if !ok {
		t.Fatalf("%s has no fault %s", id, fault)
	}
	return d, f
}

// What a mechanic sees of a furnace in one heating call follows from its wiring.
// practice: how far the sequence comes under each fault is common knowledge of the trade.
func TestWatchedSequence(t *testing.T) {
	c := load(t)
	for _, row := range []struct{ fault, inducer, igniter, flame, blower string }{
		{"", "running", "stops", "running", "running"},
		{"igniter-cracked", "stops", "stopped", "stopped", "stopped"},
		{"flame-sensor-dirty", "stops", "stops", "stops", "stopped"},
		{"pressure-switch-open", "stops", "stopped", "stopped", "stopped"},
		{"inducer-dead", "stopped", "stopped", "stopped", "stopped"},
		{"gas-off", "stops", "stops", "stopped", "stopped"},
		{"furnace-blower-fail", "comes-and-goes", "stops", "comes-and-goes", "stopped"},
		{"w-wire-open", "stopped", "stopped", "stopped", "stopped"},
	} {
		d, f := describe(t, "gas-furnace", row.fault)
		w := on(t, c, d)
		all := readAll(t, w, f.Edits...)
		for point, want := range map[string]string{"inducer": row.inducer, "igniter": row.igniter, "flame": row.flame, "blower": row.blower} {
			i := w.Find("watch-sequence", point, plant.Heat)
			if got := w.Points[i].Point.Words[all[i].Word]; got != want {
				t.Errorf("%q: %s %s, want %s", row.fault, point, got, want)
			}
		}
	}
}

// A reading of all points of a system under one fault.
// budget: 2 ms at one demand, so that forty faults are read in less than a tenth of a second.
func BenchmarkWiredRead(b *testing.B) {
	c := load(b)
	d, f := describe(b, "gas-furnace", "flame-sensor-dirty")
	w := on(b, c, d)
	for b.Loop() {
		if _, err := w.Read(plant.Heat, f.Edits...); err != nil {
			b.Fatal(err)
		}
	}
}
