package replace

import (
	"math"
	"strconv"
	"testing"

	"rung/internal/circuit"
	"rung/internal/published"
	"rung/internal/quantity"
)

func TestPublishedBranchCircuits(t *testing.T) {
	for _, r := range published.Read(t, "branch.txt").Rows {
		got, err := BranchCircuit(quantity.Current(r.Number(t, "rated")), quantity.Current(r.Number(t, "selection")),
			[]quantity.Current{quantity.Current(r.Number(t, "other"))})
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		for name, x := range map[string]quantity.Current{"minimum": got.Minimum, "first-limit": got.FirstLimit, "first-device": got.FirstDevice,
			"most-limit": got.MostLimit, "most-device": got.MostDevice} {
			if !math.IsNaN(r.Number(t, name)) {
				r.Check(t, name, float64(x), published.Within(r.Number(t, "tolerance")))
			}
		}
	}
}

func TestPublishedConductors(t *testing.T) {
	for _, r := range published.Read(t, "conductor.txt").Rows {
		got, err := Branch(BranchNeed{RatedLoad: 10, PlateMinimum: quantity.Current(r.Number(t, "minimum")),
			Terminals: int(r.Number(t, "terminals")), Cable: r.Text("cable") == "yes"})
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		r.CheckWord(t, "awg", strconv.Itoa(got.Conductor.AWG), r.Text("awg"))
	}
}

func TestPublishedAmpacity(t *testing.T) {
	for _, r := range published.Read(t, "ampacity.txt").Rows {
		c, err := ConductorOf(int(r.Number(t, "awg")))
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		r.Check(t, "amps-60", float64(c.Amps[0]), published.Within(0))
		r.Check(t, "amps-75", float64(c.Amps[1]), published.Within(0))
		r.Check(t, "amps-90", float64(c.Amps[2]), published.Within(0))
		r.Check(t, "stranded", c.OhmsPerMetre(false), published.Within(r.Number(t, "tolerance")))
		if !math.IsNaN(r.Number(t, "solid")) {
			r.Check(t, "solid", c.OhmsPerMetre(true), published.Within(r.Number(t, "tolerance")))
		}
	}
}

func TestPublishedAmbientFactors(t *testing.T) {
	for _, r := range published.Read(t, "ambient.txt").Rows {
		got, err := AmbientFactor(quantity.Temperature(r.Number(t, "air")+273.15), 75)
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		r.Check(t, "factor", got, published.Within(1e-9))
	}
}

func TestPublishedVoltageDrop(t *testing.T) {
	for _, r := range published.Read(t, "voltage_drop.txt").Rows {
		c, err := ConductorOf(int(r.Number(t, "awg")))
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		got, err := VoltageDrop(c.OhmsPerMetre(r.Text("solid") == "yes"), quantity.Length(r.Number(t, "length")),
			quantity.Current(r.Number(t, "current")), quantity.Voltage(r.Number(t, "system")))
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		r.Check(t, "drop", float64(got.Volts), published.Within(r.Number(t, "tolerance")))
		r.Check(t, "share", 100*float64(got.Part), published.Within(r.Number(t, "share-tolerance")))
	}
	for _, r := range published.Read(t, "drop_by_area.txt").Rows {
		got, err := VoltageDrop(r.Number(t, "ohms"), quantity.Length(r.Number(t, "length")), quantity.Current(r.Number(t, "current")), quantity.Voltage(r.Number(t, "system")))
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		r.Check(t, "drop", float64(got.Volts), published.Within(r.Number(t, "tolerance")))
	}
}

func TestPublishedWorkedExamples(t *testing.T) {
	got := map[string]float64{}
	keep := func(key string, x float64, err error) {
		t.Helper()
		if err != nil {
			t.Errorf("%s: %v", key, err)
		}
		got[key] = x
	}
	for name, va := range map[string]quantity.Power{"transformer-40va": 40, "transformer-75va": 75} {
		i, err := RatedCurrent(va, 24)
		keep(name+" rated-current", float64(i), err)
	}
	load, least, device, err := ElectricHeat(10000, 240, 3)
	keep("heat-10kw load", float64(load), err)
	keep("heat-10kw minimum", float64(least), err)
	keep("heat-10kw device", float64(device), err)
	p, _, err := PowerAndCurrent(240, 0.93, 0, 14.2)
	keep("motor-14a power", float64(p), err)
	low, high, err := VoltageWindow(208, 230, 0.1)
	keep("window-208-230 low", float64(low), err)
	keep("window-208-230 high", float64(high), err)
	least7, most7 := CapacitorLabel{}.Band(7.5e-6)
	keep("can-7.5uf-6% low", 1e6*float64(least7), nil)
	keep("can-7.5uf-6% high", 1e6*float64(most7), nil)
	for _, c := range []struct {
		name     string
		rated    quantity.Capacitance
		i        quantity.Current
		v        quantity.Voltage
		f        quantity.Frequency
		deviates bool
	}{
		{"readback-1.1a", 7.5e-6, 1.1, 383, 60, false},
		{"readback-35uf", 35e-6, 5.1, 385, 60, true},
		{"readback-50hz", 35e-6, 3.9, 370, 50, true},
		{"readback-30uf", 30e-6, 3.2, 340, 60, true},
		{"readback-reactance", 15e-6, 1.04, 220, 50, false},
	} {
		r, err := ReadBack(CapacitorLabel{}, c.rated, c.i, c.v, c.f)
		keep(c.name+" capacitance", 1e6*float64(r.Capacitance), err)
		if c.deviates {
			keep(c.name+" deviation", 100*r.Deviation, err)
		}
	}
	published.Read(t, "worked.txt").CheckList(t, got)
}

// What is said of a contactor with one pole rests on this: the other leg stays
// live at both ends of the load.
func TestPublishedOpenPole(t *testing.T) {
	b := circuit.NewBuilder(60)
	l1, l2, t1 := b.Node("L1"), b.Node("L2"), b.Node("T1")
	b.Source("leg-1", l1, circuit.Ground, 120, 0.03)
	b.Source("leg-2", l2, circuit.Ground, -120, 0.03)
	b.Resistor("pole-1", l1, t1, 1e9) // open
	b.Resistor("load", t1, l2, 20)
	n, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	at := map[string][2]circuit.Node{"load": {t1, l2}, "open-pole": {l1, t1}, "load-to-ground": {t1, circuit.Ground}, "closed-side-to-ground": {l2, circuit.Ground}}
	for _, r := range published.Read(t, "open_pole.txt").Rows {
		leads := at[r.Text("across")]
		r.Check(t, "voltage", float64(n.Meter(leads[0], leads[1], circuit.HighImpedance)), published.Within(0.5))
	}
}
