package fault_test

import (
	"slices"
	"strings"
	"testing"

	"rung/internal/fault"
	"rung/internal/plant"
	"rung/internal/system"
)

func load(tb testing.TB) *fault.Catalogue {
	tb.Helper()
	c, err := fault.Load()
	if err != nil {
		tb.Fatal(err)
	}
	return c
}

// Every fault of the descriptions of systems has its entry, and what is marked
// as a fault of the wiring is an edit in one of them.
func TestFaultsOfTheWiring(t *testing.T) {
	c, edited := load(t), map[string]bool{}
	for _, id := range system.IDs() {
		d, _ := system.Describe(id)
		for _, f := range d.Faults {
			edited[f.ID] = true
			if _, known := c.Fault(f.ID); !known {
				t.Errorf("%s: fault %s has no entry", id, f.ID)
			}
		}
	}
	if len(edited) == 0 {
		t.Fatal("no description has a fault")
	}
	for _, f := range c.Faults {
		if f.Wiring && !edited[f.ID] {
			t.Errorf("%s is of the wiring, and no description has it", f.ID)
		}
	}
}

// A plant never has a fault of the wiring, whatever it is equipped with.
func TestPlantsHaveNoFaultOfTheWiring(t *testing.T) {
	c := load(t)
	for _, f := range c.Fits(func(plant.Equipment) bool { return true }) {
		if f.Wiring {
			t.Errorf("a plant has %s", f.ID)
		}
	}
	f, known := c.Fault("igniter-cracked")
	if !known {
		t.Fatal("no igniter-cracked")
	}
	var ps plant.Params
	if err := f.Apply(&ps, 0.5); err == nil {
		t.Error("a cracked igniter was applied to a plant")
	}
}

// What is of heating only does not come up where a system only cools.
func TestComplaintsIn(t *testing.T) {
	c := load(t)
	has := func(id string, modes ...string) bool {
		return slices.ContainsFunc(c.ComplaintsIn(modes...), func(k *fault.Complaint) bool { return k.ID == id })
	}
	for _, row := range []struct {
		id         string
		heat, cool bool
	}{
		{"not-heating", true, false}, {"outdoor-ice", true, false}, {"frozen", false, true}, {"not-cooling", false, true},
		{"thermostat-blank", true, true}, {"wrong-mode", true, true},
	} {
		if heat, cool := has(row.id, "heat"), has(row.id, "cool"); heat != row.heat || cool != row.cool || !has(row.id, "heat", "cool") {
			t.Errorf("%s: in heat %v, in cool %v, want %v, %v, and in both together", row.id, heat, cool, row.heat, row.cool)
		}
	}
}

// Complaints are told apart by their words in both languages.
func TestComplaintsHaveOneWordEach(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		seen := map[string]string{}
		for _, k := range load(t).Complaints {
			word := k.Word.In(lang)
			if other, twice := seen[word]; twice || lang == "es" && k.Word.ES == "" {
				t.Errorf("%s: %q in %s (%s)", k.ID, word, lang, other)
			}
			seen[word] = k.ID
		}
	}
}

// Work on gas and combustion is for who may do it: the class and the licence go
// together.
func TestGasWorkNeedsItsLicence(t *testing.T) {
	for _, r := range load(t).Repairs {
		if (r.Safety == "s5") != (r.Licence == "gas") {
			t.Errorf("%s: class %s, licence %q", r.ID, r.Safety, r.Licence)
		}
	}
}

// A part that guards against fire, flue gas or a dry boiler is replaced only
// after its reason was sought, and none is bridged.
func TestNoRepairDefeatsASafety(t *testing.T) {
	c := load(t)
	for _, id := range []string{
		"replace-pressure-switch", "replace-limit", "find-rollout-cause", "replace-condensate-switch", "replace-thermal-link", "replace-element-limit",
		"replace-boiler-limit", "restore-boiler-water", "replace-holdoff", "replace-defrost-sensor", "replace-high-pressure-switch", "replace-low-pressure-switch",
	} {
		r, known := c.Repair(id)
		if !known {
			t.Errorf("no repair %s", id)
			continue
		}
		if !strings.Contains(strings.ToLower(r.Note.EN), "bridged") || r.Why.EN == "" {
			t.Errorf("%s: note %q, why %q: nothing forbids to bridge it, or asks why it opened", id, r.Note.EN, r.Why.EN)
		}
	}
	for _, id := range []string{"igniter-cracked", "limit-failed", "rollout-open", "pressure-switch-open", "lwco-tripped", "aquastat-limit-open"} {
		f, known := c.Fault(id)
		if !known {
			t.Errorf("no fault %s", id)
			continue
		}
		if r, _ := c.Repair(f.Repair); len(r.Cautions) == 0 {
			t.Errorf("%s: %s has no caution", id, r.ID)
		}
	}
}
