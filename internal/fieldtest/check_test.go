package fieldtest

import (
	"errors"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"rung/internal/fault"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
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

func faults(tb testing.TB) *fault.Catalogue {
	tb.Helper()
	c, err := fault.Load()
	if err != nil {
		tb.Fatal(err)
	}
	return c
}

// The ids, units and words on which readings already written down rely: they
// may be added to and never renamed.
func TestStableIDs(t *testing.T) {
	c := load(t)
	for _, row := range []struct {
		check, point, unit, words string
	}{
		{"gauge-pressures", "suction", "psig", ""},
		{"gauge-pressures", "liquid", "psig", ""},
		{"sh-sc", "suction-line", "°F", ""},
		{"sh-sc", "liquid-line", "°F", ""},
		{"delta-t-air", "return", "°F", ""},
		{"delta-t-air", "supply", "°F", ""},
		{"discharge-temp", "pipe", "°F", ""},
		{"look-listen", "outdoor-fan", "", "running stopped slow"},
		{"look-listen", "compressor", "", "running hums-then-stops silent"},
		{"look-listen", "blower", "", "running stopped"},
		{"look-listen", "suction-line-ice", "", "yes no"},
		{"cap-bench", "herm", "µF", ""},
		{"cap-bench", "fan", "µF", ""},
		{"cap-under-load", "herm", "µF", ""},
		{"cap-under-load", "fan", "µF", ""},
		{"v-coil-contactor", "volts", "V", ""},
		{"v-contactor-line", "volts", "V", ""},
		{"v-contactor-load", "volts", "V", ""},
		{"v-r-c-board", "volts", "V", ""},
		{"v-y-c-board", "volts", "V", ""},
		{"v-across-switch", "float-switch", "V", ""},
		{"v-across-switch", "low-pressure-switch", "V", ""},
		{"v-across-switch", "high-pressure-switch", "V", ""},
		{"v-across-switch", "time-delay", "V", ""},
		{"a-common-compressor", "amps", "A", ""},
		{"a-herm-lead", "amps", "A", ""},
		{"a-fan", "amps", "A", ""},
		{"fuse-lv-check", "fuse", "", "good blown"},
		{"esp-total", "static", "in. w.c.", ""},
		{"outdoor-coil-look", "coil", "", "clean dirty blocked"},
		{"filter-look", "filter", "", "clean dirty blocked"},
		{"coil-look", "coil", "", "clean dirty blocked iced"},
	} {
		_, p, ok := c.Point(row.check, row.point)
		if !ok || p.ID != row.point || p.Unit != row.unit || strings.Join(p.Words, " ") != row.words {
			t.Errorf("point %s %s = %+v", row.check, row.point, p)
		}
	}
}

func TestPointOfSinglePointCheck(t *testing.T) {
	c := load(t)
	for _, name := range []string{"", "amps", "a-fan"} {
		if _, p, ok := c.Point("a-fan", name); !ok || p.ID != "amps" {
			t.Errorf("Point(a-fan, %q) = %v, %v", name, p, ok)
		}
	}
	if _, p, ok := c.Point("v-coil-contactor", ""); !ok || p.ID != "volts" {
		t.Errorf("Point(v-coil-contactor) = %v, %v, want what the check is about", p, ok)
	}
	for _, row := range [][2]string{{"cap-bench", ""}, {"a-fan", "volts"}, {"palm-reading", ""}} {
		if _, p, ok := c.Point(row[0], row[1]); ok {
			t.Errorf("Point(%s, %q) = %v, want none", row[0], row[1], p.ID)
		}
	}
}

// Cautions stand at the step where the danger is.
func TestCautionsAtTheirStep(t *testing.T) {
	c := load(t)
	for _, row := range []struct{ check, caution string }{
		{"v-contactor-load", "live-line"},
		{"cap-bench", "capacitor-charge"},
		{"cap-under-load", "live-line"},
		{"gauge-pressures", "refrigerant-pressure"},
		{"ohm-comp-ground", "compressor-terminals"},
		{"breaker-replace-check", "breaker-reset"},
		{"comp-pumpdown", "pumpdown"},
		{"spin-fan", "prove-dead"},
	} {
		k, ok := c.Check(row.check)
		if !ok {
			t.Fatalf("no check %s", row.check)
		}
		found := false
		for _, s := range k.Steps {
			for _, id := range s.Cautions {
				found = found || id == row.caution
			}
		}
		if !found {
			t.Errorf("%s: no step carries %s", row.check, row.caution)
		}
	}
}

// What is done dead needs the unit proven dead, what is done live must not
// have it isolated, and gauges need a certified person.
func TestSafetyOfChecks(t *testing.T) {
	c := load(t)
	has := func(list []string, id string) bool {
		for _, x := range list {
			if x == id {
				return true
			}
		}
		return false
	}
	for _, k := range c.Checks {
		dead := has(k.Needs, "outdoor-power-off") || has(k.Needs, "indoor-power-off") || has(k.Needs, "boiler-power-off")
		if strings.Contains(k.Instrument.EN, "ohmmeter") && k.Power == PowerOff && !dead {
			t.Errorf("%s: ohms without a circuit proven dead", k.ID)
		}
		if k.Power == PowerOn && dead {
			t.Errorf("%s: power on, and proven dead", k.ID)
		}
		if has(k.Needs, "gauges-on") && (k.Licence != "refrigerant" || k.Safety != "s4") {
			t.Errorf("%s: gauges without licence or class", k.ID)
		}
		if has(k.Needs, "capacitor-discharged") && !has(k.Needs, "outdoor-power-off") {
			t.Errorf("%s: a capacitor is discharged with the power off", k.ID)
		}
		if (k.Safety == "s5") != (k.Licence == "gas") {
			t.Errorf("%s: class %s, licence %q: gas and combustion go with their licence", k.ID, k.Safety, k.Licence)
		}
		for _, id := range k.Needs {
			if s, _ := c.Setup(id); has(k.Without, id) || has(s.Excludes, id) {
				t.Errorf("%s: needs and excludes %s", k.ID, id)
			}
		}
	}
}

// Every id that the repairs name is known here.
func TestRepairsKnowTheirChecks(t *testing.T) {
	c := load(t)
	for _, r := range faults(t).Repairs {
		for _, id := range r.Proof {
			if _, ok := c.Check(id); !ok {
				t.Errorf("repair %s: no check %q proves it", r.ID, id)
			}
		}
		for _, id := range r.Cautions {
			if _, ok := c.Caution(id); !ok {
				t.Errorf("repair %s: no caution %q", r.ID, id)
			}
		}
		for _, id := range r.Needs {
			if _, ok := c.Setup(id); !ok {
				t.Errorf("repair %s: no set-up state %q", r.ID, id)
			}
		}
		if _, ok := c.Safety(r.Safety); !ok {
			t.Errorf("repair %s: no safety class %q", r.ID, r.Safety)
		}
	}
}

func TestCredible(t *testing.T) {
	c := load(t)
	k, p, _ := c.Point("v-coil-contactor", "volts")
	if err := k.Credible(p, 27); err != nil {
		t.Errorf("27 V at the coil: %v", err)
	}
	for _, v := range []float64{-1, 240, math.NaN(), math.Inf(1)} {
		var ie *ImpossibleError
		var re *quantity.RangeError
		err := k.Credible(p, v)
		if !errors.As(err, &ie) || ie.Advice.EN == "" || ie.Unit != "V" || !errors.As(err, &re) {
			t.Errorf("%g V at the coil: %v, want an ImpossibleError with advice", v, err)
		}
	}
}

func TestSigma(t *testing.T) {
	m := Meter{Accuracy: 0.2, AccuracyRatio: 0.02, Resolution: 0.1, Discrepancy: 0.3, DiscrepancyRatio: 0.05}
	want := math.Sqrt(math.Pow(0.2+0.02*10, 2)/3 + 0.01/12 + 0.09 + 0.25)
	// tolerance: rounding in double precision
	if got := m.Sigma(-10); math.Abs(got-want) > 1e-12 {
		t.Errorf("Sigma(-10) = %v, want %v", got, want)
	}
	for _, k := range load(t).Checks {
		for _, p := range k.Points {
			if len(p.Words) == 0 && !(p.Meter.Sigma(p.Meter.Low) > 0) {
				t.Errorf("%s %s: no doubt at all", k.ID, p.ID)
			}
		}
	}
}

func TestSpread(t *testing.T) {
	for _, row := range []struct {
		text         string
		dim          quantity.Dimension
		fixed, ratio float64
		ok           bool
	}{
		{"2 % + 0.1 A", quantity.DimCurrent, 0.1, 0.02, true},
		{"0.1 uF", quantity.DimCapacitance, 1e-7, 0, true},
		{"3 kPa", quantity.DimPressure, 3000, 0, true},
		{"1 K", quantity.DimTempDiff, 1, 0, true},
		{"1 K", quantity.DimVoltage, 0, 0, false},
		{"-1 K", quantity.DimTempDiff, 0, 0, false},
		{"x %", quantity.DimVoltage, 0, 0, false},
		{"", quantity.DimVoltage, 0, 0, false},
	} {
		fixed, ratio, err := spread(row.text, row.dim)
		// tolerance: rounding of a decimal prefix
		if (err == nil) != row.ok || math.Abs(fixed-row.fixed) > 1e-15 || math.Abs(ratio-row.ratio) > 1e-15 {
			t.Errorf("spread(%q) = %v, %v, %v", row.text, fixed, ratio, err)
		}
	}
	for _, bad := range []string{"", "1", "1 2", "2 1 V", "1 V 2", "1 V 2 A", "0 1 2 3 V"} {
		if lo, hi, err := between(bad, quantity.DimVoltage); err == nil {
			t.Errorf("between(%q) = %v, %v", bad, lo, hi)
		}
	}
}

const (
	textHead   = "# title: T\n# source: practice: nobody\n"
	checkText  = "check a\nname: A\nmeasures: m\nwhere: w\ninstrument: i\nminutes: 1\npower: on\nsafety: s0\nsubsystem: cooling\nstep: s\n"
	pointText  = "point p\nname: P\ndim: voltage\nunit: V\ndemands: cool\nphase: settled\naccuracy: 1 V\nresolution: 1 V\ndiscrepancy: 1 V\nrange: 0 9 V\nbeyond: b\nreads: volts L1 L2\n"
	safetyText = "class s0\nname: n\nrank: 0\nalone: yes\n"
)

func loadText(text string) (*Catalogue, error) {
	return LoadFS(fstest.MapFS{"data/x.txt": {Data: []byte(textHead + text)}}, "data")
}

func TestLoadErrors(t *testing.T) {
	if _, err := loadText(safetyText + checkText + pointText); err != nil {
		t.Fatalf("a good file: %v", err)
	}
	for _, row := range []struct{ text, want string }{
		{pointText, "before its check"},
		{safetyText + checkText, "no points"},
		{checkText + pointText, "no safety class"},
		{safetyText + checkText + checkText + pointText, "stands twice"},
		{safetyText + checkText + pointText + pointText, "stands twice"},
		{safetyText + checkText + strings.Replace(pointText, "volts L1", "ohms L1", 1), "one argument"},
		{safetyText + checkText + strings.Replace(pointText, "volts L1", "aura L1", 1), "unknown kind of reading"},
		{safetyText + checkText + strings.Replace(pointText, "cool", "chill", 1), "demand"},
		{safetyText + checkText + strings.Replace(pointText, "0 9 V", "9 0 V", 1), "empty"},
		{safetyText + checkText + strings.Replace(pointText, "beyond: b\n", "", 1), "beyond"},
		{safetyText + checkText + strings.Replace(pointText, "unit: V\n", "words: x y\n", 1), "words or a meter"},
		{safetyText + strings.Replace(checkText, "power: on", "power: maybe", 1) + pointText, "on, off or either"},
		{safetyText + strings.Replace(checkText, "step: s", "caution: luck\nstep: s", 1) + pointText, "no caution"},
		{safetyText + "omen x\nname: n\n", "unknown kind of block"},
		{safetyText + strings.Replace(checkText, "step: s", "step.es: p\nstep: s", 1) + pointText, "stands beside no step"},
		{safetyText + strings.Replace(checkText, "step: s", "step: s\nstep.es: p\nstep.es: p", 1) + pointText, "stands beside no step"},
		{safetyText + strings.Replace(checkText, "step: s", "step: s\nstep.es: p\nstep: s", 1) + pointText, "some are not"},
	} {
		if _, err := loadText(row.text); err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("load %q...: %v, want %q", row.text[:20], err, row.want)
		}
	}
}

func FuzzLoad(f *testing.F) {
	f.Add(safetyText + checkText + pointText)
	f.Add(safetyText + checkText + "point p\nname: P\nwords: open closed\ndemands: off\nphase: standing\nreads: overload\n")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := loadText(text)
		if err != nil {
			return
		}
		for i := range c.Checks {
			for j := range c.Checks[i].Points {
				if p := &c.Checks[i].Points[j]; p.read == nil {
					t.Errorf("point %s without a reader", p.ID)
				}
			}
		}
	})
}

func TestApplies(t *testing.T) {
	_, p, _ := load(t).Point("v-across-switch", "time-delay")
	if p.Applies(func(plant.Equipment) bool { return false }) || !p.Applies(func(e plant.Equipment) bool { return e == plant.TimeDelay }) {
		t.Error("the point across a time delay needs one")
	}
}

// Every unit is one that a page can read and print.
func TestUnitsAreKnown(t *testing.T) {
	for _, k := range load(t).Checks {
		for _, p := range k.Points {
			if p.Unit == "" {
				continue
			}
			if u, err := tradeunit.Lookup(p.Dim, p.Unit); err != nil || u.Symbol != p.Unit {
				t.Errorf("%s %s: unit %q: %v", k.ID, p.ID, p.Unit, err)
			}
		}
	}
}

// Every caution is shown somewhere.
func TestCautionsAreUsed(t *testing.T) {
	c := load(t)
	used := map[string]bool{}
	note := func(ids []string) {
		for _, id := range ids {
			used[id] = true
		}
	}
	for _, k := range c.Checks {
		for _, s := range k.Steps {
			note(s.Cautions)
		}
	}
	for _, s := range c.Setups {
		note(s.Cautions)
	}
	for _, r := range faults(t).Repairs {
		note(r.Cautions)
	}
	for _, k := range c.Cautions {
		if !used[k.ID] {
			t.Errorf("caution %s is shown nowhere", k.ID)
		}
	}
}
