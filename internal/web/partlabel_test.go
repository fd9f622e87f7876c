package web

import (
	"fmt"
	"testing"

	"rung/internal/plant"
	"rung/internal/replace"
)

// Labels as they are printed on parts. practice: usual marks, invented parts.
func TestLabels(t *testing.T) {
	const uF, inch, hp = 1e-6, 0.0254, 745.6998715822702
	near := func(got, want any) bool { return fmt.Sprintf("%.9g", got) == fmt.Sprintf("%.9g", want) }
	for line, want := range map[string]replace.CapacitorLabel{
		"45+5 uF 440 V":                {Capacitance: 45 * uF, Fan: 5 * uF, Volts: 440},
		"bin 3: 45/5 µF 370/440 VAC":   {Name: "bin 3", Capacitance: 45 * uF, Fan: 5 * uF, Volts: 440},
		"35 MFD ±6 % 370V round":       {Capacitance: 35 * uF, Volts: 370, Below: 0.06, Above: 0.06, Case: replace.RoundCase},
		"7.5uf +10/-6% 440v oval":      {Capacitance: 7.5 * uF, Volts: 440, Below: 0.06, Above: 0.1, Case: replace.OvalCase},
		"88-108 uF 330 V":              {Start: true, Capacitance: 88 * uF, Volts: 330},
		"start 100 uF 330 V":           {Start: true, Capacitance: 100 * uF, Volts: 330},
		"40 uF 440 V 4.5 in high":      {Capacitance: 40 * uF, Volts: 440, Height: 4.5 * inch},
		"40 uF +/-5% 440 V 3 blades x": {Capacitance: 40 * uF, Volts: 440, Below: 0.05, Above: 0.05, Posts: 3},
	} {
		if got, err := capacitorLabel(line); err != nil || !near(got, want) {
			t.Errorf("capacitorLabel(%q) = %+v, %v, want %+v", line, got, err, want)
		}
	}
	for line, want := range map[string]replace.ContactorLabel{
		"2 pole 30 A 150 LRA 24 V 50/60 Hz 1 aux": {Poles: plant.TwoPole, FullLoad: 30, LockedRotor: 150, Coil: 24, Coil50: true, Coil60: true, Auxiliary: 1},
		"1.5-pole 25A LRA 125 A coil 24V":         {Poles: plant.OneAndAHalfPole, FullLoad: 25, LockedRotor: 125, Coil: 24},
		"one pole 40 amps 240 V 60 Hz":            {Poles: plant.OnePole, FullLoad: 40, Coil: 240, Coil60: true},
	} {
		if got, err := contactorLabel(line); err != nil || got != want {
			t.Errorf("contactorLabel(%q) = %+v, %v, want %+v", line, got, err, want)
		}
	}
	if got, err := transformerLabel("40 VA 120/208/240 V to 24 V class 2 fused"); err != nil || got.VA != 40 || len(got.Primary) != 3 || got.Secondary != 24 || !got.Class2 || !got.Protected {
		t.Errorf("transformerLabel = %+v, %v", got, err)
	}
	motor, err := motorLabel("1/4 hp 1075 rpm 208-230 V 1.4 A reversible 1/2 x 5 in 48Y 5 uF 370 V weather shaft any")
	want := replace.MotorLabel{Kind: replace.PSC, Power: hp / 4, Speed: 1075.0 / 60, LowVolts: 208, HighVolts: 230, FullLoad: 1.4, Rotation: replace.Reversible,
		ShaftSize: inch / 2, ShaftReach: 5 * inch, Frame: "48Y", Cap: 5 * uF, CapVolts: 370, Weather: true, Mounting: replace.ShaftAny}
	if err != nil || !near(motor, want) {
		t.Errorf("motorLabel = %+v, %v, want %+v", motor, err, want)
	}
	if got, err := motorLabel("constant torque 1/2 hp part A-77 replaces B-1"); err != nil || got.Part != "A-77" || got.Replaces[0] != "B-1" || got.Kind != replace.ConstantTorque {
		t.Errorf("motorLabel = %+v, %v", got, err)
	}
	for line, want := range map[string]replace.FuseLabel{
		"blade 3 A":               {Place: replace.ControlFuse, Amps: 3},
		"35 A 250 V time-delay":   {Place: replace.LineFuse, Amps: 35, Volts: 250, TimeDelay: true},
		"cartridge 30 amps 250 V": {Place: replace.LineFuse, Amps: 30, Volts: 250},
	} {
		if got, err := fuseLabel(line); err != nil || got != want {
			t.Errorf("fuseLabel(%q) = %+v, %v, want %+v", line, got, err, want)
		}
	}
	// A number that nothing explains is told and not dropped.
	for _, line := range []string{"45 440 V", "45+5 uF 440 V 17", "round"} {
		if got, err := capacitorLabel(line); err == nil {
			t.Errorf("capacitorLabel(%q) = %+v, want an error", line, got)
		}
	}
}

func FuzzLabels(f *testing.F) {
	f.Add("bin 3: 45+5 uF 440 V ±6% round")
	f.Add("1/0 hp 1/2 x 5 in 208-230 V")
	f.Fuzz(func(t *testing.T, line string) {
		// Whatever is typed, reading it does not panic.
		_, _ = capacitorLabel(line)
		_, _ = contactorLabel(line)
		_, _ = transformerLabel(line)
		_, _ = motorLabel(line)
		_, _ = fuseLabel(line)
	})
}

// TestMarksCompile: a pattern is compiled only when it is needed.
func TestMarksCompile(t *testing.T) {
	for _, m := range marks {
		m()
	}
	if len(marks) < 40 {
		t.Errorf("%d marks", len(marks))
	}
}
