package fault

import (
	"errors"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"rung/internal/plant"
	"rung/internal/published"
	"rung/internal/quantity"
)

// load reads a catalogue of its own, which a test may change.
func load(tb testing.TB) *Catalogue {
	tb.Helper()
	c, err := LoadFS(data, "data")
	if err != nil {
		tb.Fatal(err)
	}
	return c
}

func TestLoad(t *testing.T) {
	c := load(t)
	for _, f := range c.Faults {
		if f.Origin.Class == "" || f.Weight <= 0 {
			t.Errorf("fault %s: weight %g without a class", f.ID, f.Weight)
		}
		if got, ok := c.Fault(f.ID); !ok || got.ID != f.ID {
			t.Errorf("Fault(%q) = %v, %v", f.ID, got, ok)
		}
		for _, l := range c.LeftOut {
			if l.ID == f.ID {
				t.Errorf("%s is left out and is here", f.ID)
			}
		}
	}
	if _, ok := c.Fault("gremlin"); ok {
		t.Error(`Fault("gremlin") found`)
	}
}

// Names are short enough for a line of a phone, pairs for two; Load refuses two
// of one name.
func TestNamesAreShort(t *testing.T) {
	// practice: a phone 390 px wide shows some 40 letters in a line
	const oneLine, twoLines = 40, 70
	c := load(t)
	for _, f := range c.Faults {
		// Spanish runs a tenth longer
		if en, es := utf8.RuneCountInString(f.Name.EN), utf8.RuneCountInString(f.Name.ES); en > oneLine || es > oneLine*11/10 || strings.ContainsAny(f.Name.EN+f.Name.ES, ".,;:") {
			t.Errorf("fault %s: %q, %q", f.ID, f.Name.EN, f.Name.ES)
		}
	}
	for _, p := range c.Pairs {
		name, known := c.Name(p.ID)
		if !known || utf8.RuneCountInString(name.EN) > twoLines {
			t.Errorf("pair %s: %q", p.ID, name.EN)
		}
	}
	if _, known := c.Name("gremlin"); known {
		t.Error(`Name("gremlin") found`)
	}
	if name, _ := c.Name("low-charge-then-ice"); name.EN != "Low charge by a leak, then iced indoor coil" {
		t.Errorf("a pair is called %q", name.EN)
	}
	if name, _ := c.Name("dirty-coils-both"); name.EN != "Dirty outdoor coil, with dirty indoor coil" {
		t.Errorf("a pair of one reason is called %q", name.EN)
	}
}

func TestTwoOfOneName(t *testing.T) {
	c := load(t)
	c.Faults[1].Name = c.Faults[0].Name
	if err := c.check(); err == nil || !strings.Contains(err.Error(), "one name") {
		t.Errorf("check() = %v", err)
	}
}

// The capacitor and charge totals keep the proportions of the tally that their
// origin names.
func TestPublishedTally(t *testing.T) {
	c := load(t)
	sum := func(ids ...string) (s float64) {
		for _, id := range ids {
			f, ok := c.Fault(id)
			if !ok {
				t.Fatalf("no fault %s", id)
			}
			s += f.Weight
		}
		return s
	}
	perOrder := sum("herm-cap-weak", "herm-cap-open", "fan-cap-weak", "fan-cap-open") / 52
	published.Read(t, "tally.txt").CheckList(t, map[string]float64{
		"low-charge orders":    sum("low-charge-leak", "empty-system") / perOrder,
		"plugged-drain orders": sum("float-switch-tripped", "condensate-drain-plugged") / perOrder,
	})
}

func TestDistributions(t *testing.T) {
	for _, c := range []struct {
		d       Distribution
		u, want float64
	}{
		{Distribution{Law: Constant, A: 3, B: 3}, 0.7, 3},
		{Distribution{Law: Uniform, A: 0.9, B: 0.5}, 0, 0.9},
		{Distribution{Law: Uniform, A: 0.9, B: 0.5}, 0.25, 0.8},
		{Distribution{Law: Uniform, A: 0.9, B: 0.5}, 1, 0.5},
		{Distribution{Law: LogUniform, A: 1, B: 100}, 0.5, 10},
		{Distribution{Law: LogNormal, A: 1, B: 100}, 0, 1},
		{Distribution{Law: LogNormal, A: 1, B: 100}, 0.5, 10},
		{Distribution{Law: LogNormal, A: 1, B: 100}, 1, 100},
		{Distribution{Law: Choice, Choices: []float64{5, 6}}, 0.49, 5},
		{Distribution{Law: Choice, Choices: []float64{5, 6}}, 0.5, 6},
		{Distribution{Law: Choice, Choices: []float64{5, 6}}, 1, 6},
	} {
		// tolerance: rounding of exp and log in double precision
		if got := c.d.At(c.u); math.Abs(got-c.want) > 1e-12*c.want {
			t.Errorf("%+v.At(%g) = %v, want %v", c.d, c.u, got, c.want)
		}
	}
}

// Every effect stays within the sensible range of its parameter at every
// severity, and moves in one direction: a worse fault is not a milder one.
func TestEffectsStayInRange(t *testing.T) {
	for _, f := range load(t).Faults {
		for _, e := range f.Effects {
			d := e.Param.Describe()
			if e.Op != Set {
				continue // relative: tested on plants
			}
			for u := 0.0; u <= 1; u += 1.0 / 64 {
				if v := e.Value.At(u); !(d.Min <= v && v <= d.Max) {
					t.Errorf("fault %s: %s = %g at %g, outside %g to %g", f.ID, d.Path, v, u, d.Min, d.Max)
				}
			}
		}
	}
}

func TestApply(t *testing.T) {
	c := load(t)
	f, _ := c.Fault("contactor-pitted")
	one, two := plant.MustParam("contactor/pole-1-resistance"), plant.MustParam("contactor/pole-2-resistance")
	for _, row := range []struct {
		u        float64
		one, two float64
	}{
		{0, 0.05, 0.001}, {0.35, math.Sqrt(0.05 * 2), 0.001}, {0.7, 0.001, 0.05}, {1, 0.001, 2},
	} {
		var ps plant.Params
		for _, p := range []plant.Param{one, two} {
			if err := ps.Put(p, 0.001); err != nil {
				t.Fatal(err)
			}
		}
		if err := f.Apply(&ps, row.u); err != nil {
			t.Fatal(err)
		}
		// tolerance: rounding in double precision
		if math.Abs(ps.At(one)-row.one) > 1e-9 || math.Abs(ps.At(two)-row.two) > 1e-9 {
			t.Errorf("Apply(%g): poles %v, %v, want %v, %v", row.u, ps.At(one), ps.At(two), row.one, row.two)
		}
		if v, dim, ok := f.Severity(row.u); !ok || dim != quantity.DimResistance || math.Abs(v-max(row.one, row.two)) > 1e-9 {
			t.Errorf("Severity(%g) = %v %s, %v", row.u, v, dim, ok)
		}
	}
}

func TestApplyRefuses(t *testing.T) {
	f, _ := load(t).Fault("herm-cap-weak")
	var re *quantity.RangeError
	for _, u := range []float64{-0.01, 1.01, math.NaN()} {
		var ps plant.Params
		if err := f.Apply(&ps, u); !errors.As(err, &re) {
			t.Errorf("Apply(%v) = %v, want a RangeError", u, err)
		}
	}
}

func TestFits(t *testing.T) {
	c := load(t)
	only := func(list ...plant.Equipment) func(plant.Equipment) bool {
		return func(e plant.Equipment) bool {
			if e == plant.Always {
				return true
			}
			for _, x := range list {
				if x == e {
					return true
				}
			}
			return false
		}
	}
	for _, row := range []struct {
		fault string
		has   []plant.Equipment
		want  bool
	}{
		{"txv-stuck-closed", []plant.Equipment{plant.HasTXV}, true},
		{"txv-stuck-closed", []plant.Equipment{plant.HasFixedOrifice}, false},
		{"orifice-wrong", []plant.Equipment{plant.HasTXV}, false},
		{"lps-open", nil, false},
		{"lps-open", []plant.Equipment{plant.LowPressureSwitch}, true},
		{"contactor-welded", nil, true},
		{"float-switch-tripped", nil, false},
		{"herm-cap-open", nil, true},
		{"normal-operation", nil, true},
	} {
		f, _ := c.Fault(row.fault)
		if got := f.Fits(only(row.has...)); got != row.want {
			t.Errorf("%s fits %v: %v, want %v", row.fault, row.has, got, row.want)
		}
	}
	for _, f := range c.Fits(only()) {
		for _, e := range f.Effects {
			if need := e.Param.Describe().Needs; need != plant.Always && f.ID != "contactor-welded" {
				t.Errorf("a bare system can have %s, which needs %s", f.ID, need)
			}
		}
	}
}

// The shares of a fault over all complaints add up to one, those of the heating
// season aside.
func TestShares(t *testing.T) {
	c := load(t)
	for _, f := range c.Faults {
		sum, list := 0.0, c.ComplaintsIn("heat", "cool")
		if f.InHeat != nil {
			list = c.ComplaintsIn("cool")
		}
		for _, k := range list {
			sum += f.Share(k.ID, len(list))
		}
		if math.Abs(sum-1) > 1e-12 { // tolerance: rounding of a sum of 15 terms
			t.Errorf("%s: shares add up to %v", f.ID, sum)
		}
	}
}

func TestEffectErrors(t *testing.T) {
	for _, s := range []string{
		"refrigerant/charge set",
		"refrigerant/colour set 1",
		"refrigerant/charge halve 1",
		"refrigerant/charge set uniform 1",
		"refrigerant/charge set 1 2",
		"refrigerant/charge set loguniform 0 1",
		"refrigerant/charge set choice 1",
		"refrigerant/charge set NaN",
		"refrigerant/charge set Inf",
		"refrigerant/charge set 1 over 0.5 0.5",
		"refrigerant/charge set 1 over 0 2",
		"contactor/pole-1 set bent",
		"contactor/pole-1 scale welded",
		"contactor/pole-1 set uniform normal welded",
	} {
		if e, err := parseEffect(s); err == nil {
			t.Errorf("parseEffect(%q) = %+v, want an error", s, e)
		}
	}
}

func FuzzParseEffect(f *testing.F) {
	f.Add("refrigerant/charge set uniform 0.9 0.4 over 0 0.5")
	f.Add("contactor/pole-1 set choice normal welded")
	f.Fuzz(func(t *testing.T, s string) {
		e, err := parseEffect(s)
		if err != nil {
			return
		}
		for _, u := range []float64{0, 0.5, 1} {
			if v := e.Value.At(u); math.IsNaN(v) {
				t.Errorf("parseEffect(%q): value at %g is not a number", s, u)
			}
		}
	})
}

// A fault is exactly one of: a change of the plant, an edit of the wiring, no
// fault at all.
func TestFaultIsOfOneKind(t *testing.T) {
	change := func(id string, f func(*Fault)) error {
		c := load(t)
		x, ok := c.Fault(id)
		if !ok {
			t.Fatalf("no fault %s", id)
		}
		f(x)
		return c.check()
	}
	for what, err := range map[string]error{
		"wiring with effects":    change("herm-cap-weak", func(f *Fault) { f.Wiring = true }),
		"healthy wiring":         change("normal-operation", func(f *Fault) { f.Wiring = true }),
		"nothing at all":         change("igniter-cracked", func(f *Fault) { f.Wiring = false }),
		"heat shares of cooling": change("no-primary-power", func(f *Fault) { f.InHeat = map[string]float64{"frozen": 0.1} }),
		"heat shares above one":  change("no-primary-power", func(f *Fault) { f.InHeat["not-heating"] = 0.9 }),
		"heat shares twice":      change("igniter-cracked", func(f *Fault) { f.InHeat = map[string]float64{"not-heating": 0.01} }),
		"wiring with severity":   change("igniter-cracked", func(f *Fault) { f.SeverityText.EN = "ohms" }),
		"wiring with a plant":    change("igniter-cracked", func(f *Fault) { f.When = []plant.Equipment{plant.HasTXV} }),
	} {
		if err == nil {
			t.Errorf("%s: no error", what)
		}
	}
}

// A share is the same to the last digit each time: engines built of it agree.
func TestShareIsTheSameEachTime(t *testing.T) {
	c := load(t)
	for _, f := range c.Faults {
		want := f.Share("none that is named", len(c.Complaints))
		for range 50 {
			if got := f.Share("none that is named", len(c.Complaints)); got != want {
				t.Fatalf("%s: %v, then %v", f.ID, want, got)
			}
		}
	}
}
