package replace

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"rung/internal/plant"
	"rung/internal/quantity"
)

const uF = 1e-6 // F

// verdict writes an answer as "fits: 0; note: 1+2 (ids); refused: 3 (ids)".
func verdict(a Answer) string {
	var parts []string
	for _, c := range slices.Concat(a.Choices, a.Refused) {
		var places, ids []string
		for _, p := range c.Parts {
			places = append(places, string(rune('0'+p)))
		}
		for _, s := range c.Why {
			if c.Grade == Refused {
				ids = append(ids, s.ID)
			}
		}
		for _, n := range c.Notes {
			ids = append(ids, n.ID)
		}
		parts = append(parts, c.Grade.String()+" "+strings.Join(places, "+")+" "+strings.Join(ids, " "))
	}
	return strings.Join(parts, "\n")
}

func single(value quantity.Capacitance, v quantity.Voltage) CapacitorLabel {
	return CapacitorLabel{Capacitance: value, Volts: v}
}

func dual(herm, fan quantity.Capacitance, v quantity.Voltage) CapacitorLabel {
	return CapacitorLabel{Capacitance: herm, Fan: fan, Volts: v}
}

// The rules of section "replacement" of trade teaching; practice, no source.
func TestCapacitor(t *testing.T) {
	start := CapacitorLabel{Start: true, Capacitance: 88 * uF, Volts: 330}
	tall := single(35*uF, 440)
	tall.Height = 0.12
	oval := single(35*uF, 370)
	oval.Case = OvalCase
	for _, c := range []struct {
		name  string
		need  CapacitorNeed
		truck []CapacitorLabel
		want  string
	}{
		{"same, higher volts, lower volts", CapacitorNeed{Label: single(35*uF, 370)},
			[]CapacitorLabel{single(35*uF, 440), single(35*uF, 370), single(35*uF, 330)},
			"fits 1 \nfits 0 cap-look-height\nrefused 2 cap-volts-low"},
		{"370 does not replace 440", CapacitorNeed{Label: single(35*uF, 440)}, []CapacitorLabel{single(35*uF, 370)}, "refused 0 cap-volts-low"},
		{"value within and outside the tolerance", CapacitorNeed{Label: single(45*uF, 440)},
			[]CapacitorLabel{single(50*uF, 440), single(47*uF, 440)},
			"fits-with-note 1 cap-measure-first\nrefused 0 cap-value"},
		{"printed tolerance is asked", CapacitorNeed{Label: CapacitorLabel{Capacitance: 45 * uF, Volts: 440, Below: 0.06, Above: 0.1}},
			[]CapacitorLabel{single(48*uF, 440)}, "fits-with-note 0 cap-measure-first"},
		{"start capacitor", CapacitorNeed{Label: single(88*uF, 330)}, []CapacitorLabel{start}, "refused 0 cap-start"},
		{"dual by dual, by two singles, by one", CapacitorNeed{Label: dual(45*uF, 5*uF, 440)},
			[]CapacitorLabel{single(45*uF, 440), single(5*uF, 440), dual(45*uF, 5*uF, 440), dual(40*uF, 5*uF, 440)},
			"fits 2 \nfits-with-note 0+1 cap-two-singles\nrefused 0 cap-single-for-dual-herm\nrefused 1 cap-single-for-dual-fan\nrefused 3 cap-value"},
		{"dual with a section left over", CapacitorNeed{Label: single(5*uF, 370)}, []CapacitorLabel{dual(45*uF, 5*uF, 440), dual(5*uF, 7.5*uF, 370)},
			"fits-with-note 1 cap-section-unused\nfits-with-note 0 cap-section-unused cap-look-height"},
		{"sections in parallel", CapacitorNeed{Label: single(50*uF, 440)}, []CapacitorLabel{dual(45*uF, 5*uF, 440)}, "fits-with-note 0 cap-sections-parallel"},
		{"two in parallel where no single fits", CapacitorNeed{Label: single(80*uF, 370)}, []CapacitorLabel{single(40*uF, 370), single(40*uF, 440)},
			"fits-with-note 0+1 cap-parallel cap-look-height\nrefused 0 cap-value\nrefused 1 cap-value"},
		{"no parallel where a single fits", CapacitorNeed{Label: single(80*uF, 370)}, []CapacitorLabel{single(40*uF, 370), single(40*uF, 440), single(80*uF, 370)},
			"fits 2 \nrefused 0 cap-value\nrefused 1 cap-value"},
		{"too tall", CapacitorNeed{Label: single(35*uF, 370), Room: 0.1}, []CapacitorLabel{tall}, "refused 0 cap-too-tall"},
		{"another strap", CapacitorNeed{Label: CapacitorLabel{Capacitance: 35 * uF, Volts: 370, Case: RoundCase}}, []CapacitorLabel{oval}, "fits-with-note 0 cap-strap"},
		{"the plate wins", CapacitorNeed{Label: single(40*uF, 370), Plate: single(35*uF, 440)}, []CapacitorLabel{single(40*uF, 440), single(35*uF, 440)},
			"fits 1 \nrefused 0 cap-value"},
	} {
		a, err := Capacitor(c.need, c.truck)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := verdict(a); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.name, got, c.want)
		}
	}
}

func TestCapacitorDoubts(t *testing.T) {
	a, err := Capacitor(CapacitorNeed{Label: single(40*uF, 370), Plate: single(35*uF, 440)}, nil)
	if err != nil || len(a.Doubts) != 2 || a.Doubts[0].ID != "cap-plate-wins" || a.Doubts[1].ID != "cap-was-weak" || !a.MustBuy() {
		t.Errorf("plate against can: %+v, %v", a, err)
	}
	a, err = Capacitor(CapacitorNeed{}, []CapacitorLabel{single(35*uF, 370)})
	if err != nil || len(a.Doubts) != 1 || a.Doubts[0].ID != "cap-need-unknown" || len(a.Choices)+len(a.Refused) != 0 {
		t.Errorf("nothing known: %+v, %v", a, err)
	}
	var out *quantity.RangeError
	if _, err = Capacitor(CapacitorNeed{Label: single(35, 370)}, nil); !errors.As(err, &out) {
		t.Errorf("35 F: error %v, want a RangeError", err)
	}
}

// No answer ever proposes a start capacitor, too few volts or µF outside the
// tolerance, over a grid of needs and a truck of all sizes.
func TestCapacitorNeverProposesWhatIsUnsafe(t *testing.T) {
	var truck []CapacitorLabel
	for _, v := range []quantity.Voltage{330, 370, 440} {
		for _, c := range []quantity.Capacitance{5, 7.5, 10, 30, 35, 40, 45, 50, 80} {
			truck = append(truck, single(c*uF, v), dual(c*uF, 5*uF, v), CapacitorLabel{Start: true, Capacitance: c * uF, Volts: v})
		}
	}
	for _, need := range []CapacitorLabel{single(5*uF, 370), single(80*uF, 370), single(12.5*uF, 370), dual(35*uF, 5*uF, 440), dual(60*uF, 7.5*uF, 370)} {
		a, err := Capacitor(CapacitorNeed{Label: need}, truck)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range a.Choices {
			low, high := need.Band(need.Capacitance)
			var sum quantity.Capacitance
			good := false
			for _, p := range c.Parts {
				l := truck[p]
				if l.Start || l.Volts < need.Volts {
					t.Errorf("%+v: proposes %+v", need, l)
				}
				sum += l.Capacitance
				for _, x := range []quantity.Capacitance{l.Capacitance, l.Fan, l.Capacitance + l.Fan} {
					good = good || low <= x && x <= high
				}
			}
			if !good && !(low <= sum && sum <= high) {
				t.Errorf("%+v: proposes %v outside %v to %v", need, c.Parts, low, high)
			}
		}
	}
}

func TestContactor(t *testing.T) {
	need := ContactorNeed{Poles: plant.OneAndAHalfPole, Compressor: 16.7, LockedRotor: 79, Fan: 1.4, Coil: 24, Frequency: 60}
	c := func(p plant.ContactorPoles, load, locked quantity.Current) ContactorLabel {
		return ContactorLabel{Poles: p, FullLoad: load, LockedRotor: locked, Coil: 24, Coil50: true, Coil60: true}
	}
	line := c(plant.TwoPole, 30, 150)
	line.Coil = 240
	fifty := c(plant.TwoPole, 30, 150)
	fifty.Coil60 = false
	heater := need
	heater.HeaterAcrossPole = true
	aux := need
	aux.Auxiliary = 1
	two := need
	two.Poles = plant.TwoPole
	for _, row := range []struct {
		name  string
		need  ContactorNeed
		truck []ContactorLabel
		want  string
	}{
		{"more poles are safer", need, []ContactorLabel{c(plant.OneAndAHalfPole, 30, 150), c(plant.TwoPole, 30, 150)},
			"fits 1 contactor-more-poles\nfits 0 contactor-one-leg-live"},
		{"too few poles", two, []ContactorLabel{c(plant.OneAndAHalfPole, 30, 150)}, "refused 0 contactor-poles-few"},
		{"too few amps", need, []ContactorLabel{c(plant.TwoPole, 18, 150), c(plant.TwoPole, 20, 75)},
			"refused 0 contactor-amps-low\nrefused 1 contactor-locked-low"},
		{"another coil", need, []ContactorLabel{line, fifty}, "refused 0 contactor-coil\nrefused 1 contactor-frequency"},
		{"heater through the open pole", heater, []ContactorLabel{c(plant.TwoPole, 30, 150), c(plant.OneAndAHalfPole, 30, 150)},
			"fits 1 contactor-heater-stays contactor-one-leg-live\nfits-with-note 0 contactor-heater-path"},
		{"auxiliary contacts", aux, []ContactorLabel{c(plant.TwoPole, 30, 150)}, "refused 0 contactor-auxiliary"},
		{"unread", need, []ContactorLabel{{}}, "refused 0 contactor-poles-unread contactor-amps-unread contactor-coil-unread"},
	} {
		a, err := Contactor(row.need, row.truck)
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		if got := verdict(a); got != row.want {
			t.Errorf("%s:\n%s\nwant\n%s", row.name, got, row.want)
		}
	}
}

func TestTransformer(t *testing.T) {
	need := TransformerNeed{Line: 236, Load: 31, Old: 40, Fuse: 3}
	multi := TransformerLabel{Primary: []quantity.Voltage{120, 208, 240}, Secondary: 24, VA: 40, Class2: true}
	large, single, small, open := multi, multi, multi, multi
	large.VA, small.VA = 75, 20
	single.Primary = []quantity.Voltage{120}
	open.Class2 = false
	a, err := Transformer(need, []TransformerLabel{large, multi, single, small, open})
	if err != nil {
		t.Fatal(err)
	}
	want := "fits 1 transformer-cap-taps\nfits 0 transformer-larger transformer-cap-taps\nrefused 2 transformer-tap-none\nrefused 3 transformer-small\nrefused 4 transformer-class"
	if got := verdict(a); got != want {
		t.Errorf("\n%s\nwant\n%s", got, want)
	}
	need.Fuse = 0
	if a, _ = Transformer(need, []TransformerLabel{multi}); verdict(a) != "fits-with-note 0 transformer-add-fuse transformer-cap-taps" {
		t.Errorf("without a fuse: %s", verdict(a))
	}
	if sum, unknown := LoadOf(map[string]int{"contactor": 1, "blower-relay": 1, "thermostat": 1, "flux": 2}); sum != 18 || len(unknown) != 1 {
		t.Errorf("LoadOf = %v, %v, want 18 VA and one unknown", sum, unknown)
	}
}

func TestMotor(t *testing.T) {
	const hp, inch = 745.7, 0.0254
	old := MotorLabel{Kind: PSC, Power: hp / 4, Speed: 1075.0 / 60, LowVolts: 208, HighVolts: 230, FullLoad: 1.4, Rotation: Clockwise,
		ShaftSize: inch / 2, ShaftReach: 5 * inch, Frame: "48Y", Cap: 5 * uF, CapVolts: 370, Weather: true, Mounting: ShaftDown}
	change := func(f func(*MotorLabel)) MotorLabel { l := old; f(&l); return l }
	need := MotorNeed{Old: old, Outdoor: true, Plate: 1.4, Supply: 230, SharedCapacitor: true}
	for _, row := range []struct {
		name string
		to   MotorLabel
		want string
	}{
		{"the same", old, "fits 0 "},
		{"either way, any mounting", change(func(l *MotorLabel) { l.Rotation, l.Mounting = Reversible, ShaftAny }), "fits 0 motor-rotation-set motor-drain-holes"},
		{"less power", change(func(l *MotorLabel) { l.Power = hp / 6 }), "refused 0 motor-power-low"},
		{"one size up", change(func(l *MotorLabel) { l.Power, l.FullLoad = hp/3, 1.5 }), "fits-with-note 0 motor-power-high motor-amps-over"},
		{"one size up, too many amps", change(func(l *MotorLabel) { l.Power, l.FullLoad = hp/3, 1.95 }), "refused 0 motor-amps-high"},
		{"another speed", change(func(l *MotorLabel) { l.Speed = 825.0 / 60 }), "refused 0 motor-speed"},
		{"another voltage", change(func(l *MotorLabel) { l.LowVolts, l.HighVolts = 115, 115 }), "refused 0 motor-volts"},
		{"turns the other way", change(func(l *MotorLabel) { l.Rotation = CounterClockwise }), "refused 0 motor-rotation"},
		{"short shaft, thick shaft", change(func(l *MotorLabel) { l.ShaftReach, l.ShaftSize = 4*inch, 5*inch/8 }), "refused 0 motor-shaft-size motor-shaft-short"},
		{"another frame", change(func(l *MotorLabel) { l.Frame = "48" }), "fits-with-note 0 motor-frame"},
		{"open to the rain", change(func(l *MotorLabel) { l.Weather = false }), "refused 0 motor-weather"},
		{"its own capacitor", change(func(l *MotorLabel) { l.Cap = 7.5 * uF }), "fits-with-note 0 motor-cap-own"},
		{"a module", change(func(l *MotorLabel) { l.Kind = ConstantTorque }), "refused 0 motor-module-for-psc"},
	} {
		a, err := Motor(need, []MotorLabel{row.to})
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		if got := verdict(a.Answer); got != row.want {
			t.Errorf("%s: %s, want %s", row.name, got, row.want)
		}
		if _, has := a.Capacitors[0]; has != !a.MustBuy() {
			t.Errorf("%s: capacitors %v", row.name, a.Capacitors)
		}
	}
}

// A motor with a module is never guessed at.
func TestModuleMotor(t *testing.T) {
	need := MotorNeed{Old: MotorLabel{Kind: ConstantAirflow, Part: "A-1"}}
	for _, row := range []struct {
		name string
		to   MotorLabel
		want string
	}{
		{"the part", MotorLabel{Kind: ConstantAirflow, Part: "A-1"}, "fits 0 motor-module-wait"},
		{"stated to replace it", MotorLabel{Kind: ConstantAirflow, Part: "B-2", Replaces: []string{"A-1"}}, "fits 0 motor-module-wait"},
		{"universal", MotorLabel{Kind: ConstantAirflow, Programmable: true}, "fits-with-note 0 motor-module-program"},
		{"universal of another kind", MotorLabel{Kind: ConstantTorque, Programmable: true}, "refused 0 motor-module-guess"},
		{"another part", MotorLabel{Kind: ConstantAirflow, Part: "C-3"}, "refused 0 motor-module-guess"},
		{"with a capacitor", MotorLabel{Kind: PSC, Power: 373}, "refused 0 motor-module-guess"},
	} {
		a, err := Motor(need, []MotorLabel{row.to})
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		if got := verdict(a.Answer); got != row.want {
			t.Errorf("%s: %s, want %s", row.name, got, row.want)
		}
	}
	need.Old.Part = ""
	if a, _ := Motor(need, []MotorLabel{{Kind: ConstantAirflow}}); !a.MustBuy() || a.Buy[0].ID != "motor-buy-module" {
		t.Errorf("two modules without numbers: %+v", a)
	}
}

// Full-load speeds of plates. practice: no source.
func TestPoles(t *testing.T) {
	for rpm, want := range map[float64]int{3450: 2, 1625: 4, 1725: 4, 1550: 4, 1075: 6, 1050: 6, 1140: 6, 825: 8, 850: 8, 700: 10, 0: 0, 3600: 0} {
		if got := Poles(rpm/60, 60); got != want {
			t.Errorf("Poles(%v rpm) = %d, want %d", rpm, got, want)
		}
	}
}

func TestFuse(t *testing.T) {
	blade := func(i quantity.Current) FuseLabel { return FuseLabel{Place: ControlFuse, Amps: i} }
	line := func(i quantity.Current, delay bool) FuseLabel {
		return FuseLabel{Place: LineFuse, Amps: i, Volts: 250, TimeDelay: delay}
	}
	for _, row := range []struct {
		name  string
		need  FuseNeed
		truck []FuseLabel
		want  string
	}{
		{"never larger", FuseNeed{Place: ControlFuse, Printed: 3}, []FuseLabel{blade(5), blade(2), blade(3)},
			"fits 2 \nfits-with-note 1 fuse-smaller-control\nrefused 0 fuse-large"},
		{"line", FuseNeed{Place: LineFuse, Printed: 35, Least: 22.3, Volts: 240},
			[]FuseLabel{line(40, true), line(30, true), line(35, true), line(20, true), line(35, false), blade(3)},
			"fits 2 \nfits 1 \nrefused 0 fuse-large\nrefused 3 fuse-small\nrefused 4 fuse-fast\nrefused 5 fuse-kind fuse-volts"},
	} {
		a, err := Fuse(row.need, row.truck)
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		if got := verdict(a); got != row.want {
			t.Errorf("%s:\n%s\nwant\n%s", row.name, got, row.want)
		}
	}
	a, err := Fuse(FuseNeed{Place: ControlFuse, Printed: 3, Old: 10}, nil)
	if err != nil || len(a.Doubts) != 1 || a.Doubts[0].ID != "fuse-was-large" {
		t.Errorf("a large fuse was in: %+v, %v", a.Doubts, err)
	}
	if _, err := Fuse(FuseNeed{Place: ControlFuse, Printed: 30}, nil); err == nil {
		t.Error("a control fuse of 30 A is believed")
	}
}

func TestBranch(t *testing.T) {
	a, err := Branch(BranchNeed{RatedLoad: 16.7, LockedRotor: 79, Others: []quantity.Current{1.4}, Terminals: 75, Length: 15.24, AWG: 12, Breaker: 40})
	if err != nil {
		t.Fatal(err)
	}
	ids := []string{}
	for _, s := range a.Steps {
		ids = append(ids, s.ID)
	}
	want := "branch-minimum branch-first branch-most branch-conductor branch-drop branch-drop-start branch-code-wins"
	if got := strings.Join(ids, " "); got != want {
		t.Errorf("steps %s, want %s", got, want)
	}
	if a.Conductor.AWG != 12 || a.Protection != 35 || a.Findings[0].ID != "branch-breaker-large" || a.Findings[1].ID != "branch-conductor-good" {
		t.Errorf("Branch = %+v", a)
	}
	// The plate wins, upwards and downwards.
	a, err = Branch(BranchNeed{RatedLoad: 16.7, PlateMinimum: 25, PlateMost: 30, Terminals: 60, Breaker: 35})
	if err != nil || a.Minimum != 25 || a.Protection != 30 || a.Conductor.AWG != 10 || a.Findings[0].ID != "branch-breaker-large" {
		t.Errorf("with the plate: %+v, %v", a, err)
	}
	var out *quantity.RangeError
	if _, err := Branch(BranchNeed{RatedLoad: 120}); !errors.As(err, &out) {
		t.Errorf("120 A: error %v, want a RangeError", err)
	}
}

// Warmer air never lets a conductor carry more, and a larger load never gets a
// thinner conductor or a smaller device.
func TestBranchIsMonotonic(t *testing.T) {
	for rating := 60; rating <= 90; rating += 15 {
		last := 2.0
		for c := -10.0; c <= 50; c++ {
			f, err := AmbientFactor(quantity.Temperature(273.15+c), rating)
			if err != nil || f > last {
				t.Errorf("AmbientFactor(%v °C, %d) = %v, %v after %v", c, rating, f, err, last)
			}
			last = f
		}
	}
	lastDevice, lastAWG := quantity.Current(0), 99
	for rla := quantity.Current(5); rla < 60; rla += 0.5 {
		a, err := Branch(BranchNeed{RatedLoad: rla, Terminals: 75})
		if err != nil {
			t.Fatal(err)
		}
		if a.Protection < lastDevice || a.Conductor.AWG > lastAWG || a.Ampacity < a.Minimum || a.Rule.MostDevice > a.Rule.MostLimit && a.Rule.MostDevice > 15 {
			t.Errorf("at %v A: %+v", rla, a)
		}
		lastDevice, lastAWG = a.Protection, a.Conductor.AWG
	}
}
