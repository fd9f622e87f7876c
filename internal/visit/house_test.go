package visit

import (
	"fmt"
	"testing"

	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/record"
	"rung/internal/system"
)

// Whatever a plate may say of the heat side, the described system can be built
// and read with it, alone and with every fault.
func TestPlatesOfHeating(t *testing.T) {
	s := newShop(t)
	for _, f := range plateFields() {
		if f.sets == nil {
			continue
		}
		reaches := false
		for _, kind := range system.IDs() {
			d, _ := system.Describe(kind)
			for _, text := range []string{f.low, f.high} {
				v, _, problem := f.read(text)
				if problem != "" {
					t.Fatal(problem)
				}
				x := &ledger.System{SystemAdded: record.SystemAdded{Kind: kind}, Units: []*ledger.Unit{
					{UnitAdded: record.UnitAdded{Kind: f.on[0]}, Plate: map[string]ledger.PlateValue{f.id: {PlateValue: record.PlateValue{AsRead: v}}}}}}
				house := houseOf(d, x)
				reaches = reaches || house != ""
				on, err := s.engines.on(s.checks(), kind, house)
				if err != nil {
					t.Fatalf("%s, %s of %s: %v", kind, f.name, text, err)
				}
				for _, fault := range append([]system.Fault{{}}, d.Faults...) {
					if _, err := on.Read(plant.Heat, fault.Edits...); err != nil {
						t.Errorf("%s, %s of %s, %s: %v", kind, f.name, text, fault.ID, err)
					}
				}
			}
		}
		if !reaches {
			t.Errorf("%s reaches no described system", f.name)
		}
	}
}

// A furnace of twice the input has twice the airflow, and the same rise.
func TestInputOfTheHouse(t *testing.T) {
	d, _ := system.Describe("gas-furnace")
	rated, _ := d.Number("gas-rated")
	flow, _ := d.Number("airflow-rated")
	x := &ledger.System{Units: []*ledger.Unit{{UnitAdded: record.UnitAdded{Kind: "furnace"},
		Plate: map[string]ledger.PlateValue{"gas-input": {PlateValue: record.PlateValue{AsRead: record.AsRead{Text: "120000", Unit: "Btu/h"}}}}}}}
	house := must(describe("gas-furnace", houseOf(d, x)))(t)
	now, _ := house.Number("gas-rated")
	blows, _ := house.Number("airflow-rated")
	if now < 35160 || now > 35175 { // W; published: 1 Btu/h = 0.293071 W (NIST SP 811, B.8)
		t.Errorf("input %g W", now)
	}
	if r, want := fmt.Sprintf("%.4f", blows/flow), fmt.Sprintf("%.4f", now/rated); r != want {
		t.Errorf("airflow times %s, input times %s", r, want)
	}
}
