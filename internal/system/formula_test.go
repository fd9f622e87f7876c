package system

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"rung/internal/published"
	"rung/internal/quantity"
)

// Factors to SI.
// published: NIST SP 811
const (
	btuh = 0.29307107 // W
	cfm  = 4.719474e-4
	inWC = 249.089
)

func celsius(fahrenheit float64) float64 { return (fahrenheit - 32) / 1.8 }

// formulaOf works out a formula.
func formulaOf(t testing.TB, name string, args ...float64) float64 {
	t.Helper()
	x, err := formulas[name].of(args)
	if err != nil {
		t.Fatalf("%s%v: %v", name, args, err)
	}
	return x
}

func TestPublishedRise(t *testing.T) {
	for _, r := range published.Read(t, "air-rise.txt").Rows {
		got := formulaOf(t, "rise", r.Number(t, "output")*btuh, r.Number(t, "airflow")*cfm, celsius(r.Number(t, "return")))
		r.Check(t, "rise", got*1.8, published.Relative(0.015))
	}
}

func TestPublishedOrifice(t *testing.T) {
	for _, r := range published.Read(t, "orifice.txt").Rows {
		got := formulaOf(t, "orifice", r.Number(t, "rated"), r.Number(t, "rated-manifold")*inWC, r.Number(t, "manifold")*inWC)
		r.Check(t, "input", got, published.Within(50))
	}
}

func TestPublishedOxygen(t *testing.T) {
	for _, r := range published.Read(t, "flue-oxygen.txt").Rows {
		r.Check(t, "oxygen", 100*formulaOf(t, "oxygen", r.Number(t, "excess")/100), published.Within(0.15))
	}
}

// A sound furnace after ten minutes of heat shows what the trade expects.
func TestPublishedFurnaces(t *testing.T) {
	for _, r := range published.Read(t, "furnaces.txt").Rows {
		s := mustBuild(t, r.Text("system"), "healthy")
		p := mustPlay(t, s, "heat", 20*time.Minute, 15*time.Minute)
		name, _, _ := strings.Cut(r.Text("quantity"), "[")
		got, ok := p.Quantity(name)
		switch name {
		case "oxygen":
			got *= 100
		case "stack":
			got = got*1.8 + 32
		case "supply":
			got = (got - 21) * 1.8
		case "static":
			got /= inWC
		case "airflow":
			got /= cfm
		case "efficiency":
			got, ok = 100*steadyEfficiency(s), true
		}
		if !ok {
			t.Fatalf("%v: no quantity %s", r, name)
		}
		low, high, _ := strings.Cut(r.Text("range"), "..")
		a, err1 := strconv.ParseFloat(low, 64)
		b, err2 := strconv.ParseFloat(high, 64)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		r.CheckRange(t, r.Text("quantity"), got, a, b)
	}
}

// steadyEfficiency returns the efficiency that a furnace is computed with, on
// its last stage.
func steadyEfficiency(s *System) float64 {
	if x, ok := s.known["efficiency-2"]; ok {
		return x
	}
	return s.known["efficiency"]
}

// The heat that the gas gives is that of the air and of the flue gas together.
func TestHeatIsKept(t *testing.T) {
	for _, excess := range []float64{0.1, 0.5, 1, 2} {
		for _, flow := range []float64{0.3, 0.6, 1} {
			temperature := formulaOf(t, "stack", 190, 0.6, excess, 1, flow/0.566, 21)
			share := formulaOf(t, "efficiency", excess, temperature, 21)
			rise := formulaOf(t, "rise", 20e3*share, flow, 21)
			s, err := room(21)
			if err != nil {
				t.Fatal(err)
			}
			// memory: heat capacities of dry air 1006 and of vapour 1860 J/(kg·K)
			air := rise * flow / float64(s.SpecificVolume) * (1006 + 1860*float64(s.HumidityRatio))
			fl, err := flue(excess, 21)
			if err != nil {
				t.Fatal(err)
			}
			gone, err := lost(fl, temperature, 21)
			if err != nil {
				t.Fatal(err)
			}
			// tolerance: rounding of the heat capacities
			if sum := air + 20e3*gone; math.Abs(sum-20e3) > 20 {
				t.Errorf("excess %g, flow %g: %.1f W of 20000", excess, flow, sum)
			}
		}
	}
}

// What a mechanic knows of a furnace: which way each reading goes.
func TestFormulasGoTheRightWay(t *testing.T) {
	for _, row := range []struct {
		name string
		args []float64
		arg  int // the one that grows
		to   []float64
		up   bool
	}{
		{"rise", []float64{18e3, 0.5, 21}, 1, []float64{0.2, 0.4, 0.8}, false},
		{"rise", []float64{18e3, 0.5, 21}, 0, []float64{5e3, 10e3, 20e3}, true},
		{"orifice", []float64{1, 872, 872}, 2, []float64{100, 500, 1500}, true},
		{"excess", []float64{0.6, 1, 1}, 1, []float64{0.7, 0.9, 1.2}, true},
		{"excess", []float64{0.6, 1, 1}, 2, []float64{0.5, 0.9, 1.3}, false},
		{"oxygen", []float64{0}, 0, []float64{0, 0.2, 0.6, 2}, true},
		{"monoxide", []float64{30, 0}, 1, []float64{0, 0.1, 0.3}, false},
		{"stack", []float64{190, 0.6, 0.6, 1, 1, 21}, 3, []float64{0.5, 0.8, 1.2}, true},
		{"stack", []float64{190, 0.6, 0.6, 1, 1, 21}, 4, []float64{0.3, 0.6, 1}, false},
		{"stack", []float64{190, 0.6, 0.6, 1, 1, 21}, 2, []float64{0.2, 0.6, 1}, true},
		{"efficiency", []float64{0.6, 190, 21}, 1, []float64{30, 60, 150, 300}, false},
		{"efficiency", []float64{0.6, 190, 21}, 0, []float64{0.2, 0.6, 1}, false},
		{"airflow", tenAir(), 7, []float64{1, 5, 20}, false},
		{"airflow", tenAir(), 1, []float64{0.6, 0.8, 1}, true},
		{"airflow", tenAir(), 2, []float64{0.5, 0.8, 1}, true},
		{"static", tenAir(), 7, []float64{1, 5, 20}, true},
		{"torque", tenAir(), 7, []float64{1, 5, 20}, false},
		{"steady-airflow", tenAir(), 7, []float64{1, 5, 20}, false},
		{"steady-static", tenAir(), 7, []float64{1, 5, 20}, true},
		{"governed", []float64{872, 1744}, 1, []float64{300, 600, 1000}, true},
		{"filter-drop", []float64{25, 1, 0.5, 0.5}, 1, []float64{1, 3, 9}, true},
	} {
		last := math.NaN()
		for _, x := range row.to {
			args := append([]float64(nil), row.args...)
			args[row.arg] = x
			got := formulaOf(t, row.name, args...)
			if row.up && got <= last || !row.up && got >= last {
				t.Errorf("%s of argument %d at %g: %g after %g", row.name, row.arg, x, got, last)
			}
			last = got
		}
	}
}

// tenAir is a sound air side.
func tenAir() []float64 { return []float64{0.566, 1, 1, 45, 25, 0, 50, 1, 1, 1} }

// At the point it was made for a blower moves what it is rated for, and one that
// holds its torque loses less air to a filter than one on a tap.
func TestBlowersOfFurnaces(t *testing.T) {
	for _, name := range []string{"airflow", "steady-airflow"} {
		// tolerance: of the root that is sought
		if got := formulaOf(t, name, tenAir()...); math.Abs(got-0.566) > 1e-5 {
			t.Errorf("%s as designed: %g m³/s", name, got)
		}
	}
	if got := formulaOf(t, "torque", tenAir()...); math.Abs(got-1) > 1e-9 {
		t.Errorf("torque as designed: %g", got)
	}
	clogged := tenAir()
	clogged[7] = 8
	tap, steady := formulaOf(t, "airflow", clogged...), formulaOf(t, "steady-airflow", clogged...)
	if !(tap < steady && steady < 0.566) {
		t.Errorf("behind a clogged filter %g on a tap, %g with torque held", tap, steady)
	}
}

func TestFormulasRefuse(t *testing.T) {
	for _, row := range []struct {
		name string
		args []float64
	}{
		{"rise", []float64{1e4, 0, 21}},
		{"orifice", []float64{1, 0, 100}},
		{"orifice", []float64{1, 872, math.NaN()}},
		{"excess", []float64{-1, 1, 1}},
		{"oxygen", []float64{-0.1}},
		{"stack", []float64{10, 0.6, 0.6, 1, 1, 21}},
		{"stack", []float64{190, 0.6, 0.6, 1, 0, 21}},
		{"efficiency", []float64{0.6, 900, 21}},
		{"airflow", []float64{0.566, 2, 1, 45, 25, 0, 50, 1, 1, 1}},
	} {
		var re *quantity.RangeError
		if x, err := formulas[row.name].of(row.args); !errors.As(err, &re) {
			t.Errorf("%s%v = %g, %v, want a RangeError", row.name, row.args, x, err)
		}
	}
}

func TestValuesRefuse(t *testing.T) {
	for _, c := range []struct{ line, because string }{
		{"value x", "wants a name"},
		{"value x soon K", "not a number"},
		{"value x magic(1) K", "no formula magic"},
		{"value x rise(1,2) K", "wants 3 arguments"},
		{"value x ratio(y,2) share", "no value y before it"},
		{"value x 1 K\nvalue x 2 K", "value x twice"},
		{"value x rise(1,0,21) K", "airflow"},
		{`quantity q "Q" unit=K rest=y lag=1`, "no value y"},
		{"quantity q \"Q\" unit=K rest=0 lag=1\nadd y if=lamp", "no value y"},
		{"quantity q \"Q\" unit=K rest=0 lag=1\nadd 1 if=lamp by=s", "s is no load"},
		{"quantity q \"Q\" unit=K rest=0 lag=1\nadd 1", "wants a quantity"},
	} {
		_, err := parse("lamp", lamp+c.line+"\n")
		if err == nil || !strings.Contains(err.Error(), c.because) {
			t.Errorf("%s: %v, want %s", c.line, err, c.because)
		}
	}
}

// A value moves what it drives, an edit moves the value and what follows from
// it, and a quantity can follow the watts that a load draws.
func TestValuesDrive(t *testing.T) {
	d, err := parse("lamp", lamp+`
value shade 0.5 share
value glow product(shade,40) K
quantity warmth "Warmth" unit=K rest=20 lag=1
add glow if=lamp
add -shade if=lamp,shade>=0.8
quantity heat "Heat" unit=K rest=0 lag=1
add 2 if=lamp by=lamp
`)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		edits        []Edit
		warmth, heat float64
	}{
		{nil, 40, 12},
		{[]Edit{{"set", "shade", "0.9"}}, 20 + 36 - 0.9, 12},
		{[]Edit{{"set", "glow", "7"}}, 27, 12},
		{[]Edit{{"scale", "warmth", "0.5"}}, 30, 12},
		{[]Edit{{"rest", "warmth", "10"}}, 30, 12},
		{[]Edit{{"ohms", "lamp", "192"}}, 20, 6}, // too little to be lit
	} {
		s, err := d.Build(c.edits...)
		if err != nil {
			t.Fatal(err)
		}
		p := mustPlay(t, s, "on", time.Minute, 30*time.Second)
		warmth, _ := p.Quantity("warmth")
		heat, _ := p.Quantity("heat")
		if c.edits != nil && c.edits[0][0] == "ohms" {
			c.heat = 0 // its condition does not hold
		}
		// tolerance: the contact takes a thousandth of the volts
		if math.Abs(warmth-c.warmth) > 0.01 || math.Abs(heat-c.heat) > 0.05 {
			t.Errorf("%v: warmth %g and heat %g, want %g and %g", c.edits, warmth, heat, c.warmth, c.heat)
		}
	}
	if _, err := d.Build(Edit{"set", "nothing", "1"}); err == nil {
		t.Error("a value that is none was set")
	}
}

// Whatever the plate says within its range, a furnace can be built with each of
// its faults at every severity.
func TestPlatesAndFaults(t *testing.T) {
	for _, id := range []string{"gas-furnace", "gas-furnace-with-air-conditioner", "furnace-condensing"} {
		d, _ := Describe(id)
		for _, size := range []float64{0.35, 1, 3.2} {
			for _, manifold := range []float64{1 * inWC, 3.5 * inWC, 14 * inWC} {
				gas, _ := d.Number("gas-rated")
				air, _ := d.Number("airflow-rated")
				set := func(name string, x float64) Edit { return Edit{"set", name, strconv.FormatFloat(x, 'g', -1, 64)} }
				h, err := d.With(set("gas-rated", gas*size), set("airflow-rated", air*size), set("manifold-rated", manifold), set("manifold-set", manifold))
				if err != nil {
					t.Fatal(err)
				}
				for _, f := range h.Faults {
					for _, u := range []float64{0, 0.5, 1} {
						edits, err := f.EditsAt(u)
						if err != nil {
							t.Fatal(err)
						}
						if _, err := h.Build(edits...); err != nil {
							t.Errorf("%s, %g times as large, %g Pa, %s at %g: %v", id, size, manifold, f.ID, u, err)
						}
					}
				}
			}
		}
	}
}

// The severities of a fault run from one end of its ranges to the other.
func TestDegrees(t *testing.T) {
	d, err := parse("lamp", lamp+"value a 1 x\nvalue b 1 x\n")
	if err != nil {
		t.Fatal(err)
	}
	list, err := parseFaults("lamp-faults", "fault one \"One\"\nedit set a 2..4\nedit set b 10..20|30..40\nfault two \"Two\"\nedit open lamp\n", d)
	if err != nil {
		t.Fatal(err)
	}
	one, two := list[0], list[1]
	if !one.HasDegrees() || two.HasDegrees() {
		t.Error("degrees of the wrong fault")
	}
	for _, c := range []struct {
		u    float64
		a, b string
	}{{0, "2", "10"}, {0.25, "2.5", "15"}, {0.5, "3", "30"}, {1, "4", "40"}} {
		e, err := one.EditsAt(c.u)
		if err != nil || e[0][2] != c.a || e[1][2] != c.b {
			t.Errorf("EditsAt(%g) = %v, %v, want %s and %s", c.u, e, err, c.a, c.b)
		}
	}
	if one.Edits[0][2] != "3" && one.Edits[0][2] != "2.5" {
		t.Errorf("the middle is %v", one.Edits)
	}
	for _, u := range []float64{-0.1, 1.1, math.NaN()} {
		var re *quantity.RangeError
		if _, err := one.EditsAt(u); !errors.As(err, &re) {
			t.Errorf("EditsAt(%g): %v, want a RangeError", u, err)
		}
	}
	for _, bad := range []string{"edit set a 4..2", "edit set a 1..x", "edit set a 1..2|3", "edit set c 1..2"} {
		if _, err := parseFaults("lamp-faults", "fault f \"F\"\n"+bad+"\n", d); err == nil {
			t.Errorf("%s was read", bad)
		}
	}
}
