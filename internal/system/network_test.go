package system

import (
	"math"
	"math/cmplx"
	"testing"
	"time"

	"rung/internal/circuit"
)

// TestOpposedTransformers gives the loop through two opposed transformers the
// resistances of a network that was computed elsewhere, and wants its current.
// With the cables and bonds of the description it is 11 A.
//
// published: case lv-two-transformers-opposed of circuit/testdata/published/networks.txt, computed with ngspice 39
func TestOpposedTransformers(t *testing.T) {
	d, _ := Describe("twin-transformers")
	f, ok := d.Fault("rc-rh-tied-opposed-fuses-bridged")
	if !ok {
		t.Fatal("no such fault")
	}
	edits := append([]Edit(nil), f.Edits[:2]...) // the jumper in, a transformer turned round
	edits = append(edits, Edit{"open", "stat-electronics"}, Edit{"ohms", "jumper", "0.01"},
		Edit{"short", "A-SEC", "A-R", "0.02"}, Edit{"short", "B-SEC", "B-R", "1e-5"})
	for _, id := range []string{"leg-1", "boiler-breaker", "air-breaker", "boiler-neutral", "air-neutral", "boiler-bond", "air-bond", "cable-rh", "cable-rc"} {
		edits = append(edits, Edit{"ohms", id, "1e-5"})
	}
	s, err := d.Build(edits...)
	if err != nil {
		t.Fatal(err)
	}
	want := cmplx.Abs(complex(12.90791, -1.846318)) // A
	// tolerance: what the nine joints of 1e-5 ohm add to a loop of 4.2 ohm, and the blown fuses beside the bridges
	amps, err := mustPlay(t, s, "cool", time.Minute, -time.Second).Amps("jumper")
	if err != nil || math.Abs(float64(amps)-want) > 1e-3*want {
		t.Errorf("%.5g A circulate, want %.5g (%v)", float64(amps), want, err)
	}
}

// TestComputedReadings compares descriptions with networks of like units that
// were computed elsewhere. Their cables and mains differ by some hundredths of
// an ohm, a thermostat and a delay draw 0.1 A more here, and a start sags by a
// few volts more, and the slip of the fan is found here and given there: hence
// the tolerances.
//
// published: circuit/testdata/published/networks.txt, computed with ngspice 39
func TestComputedReadings(t *testing.T) {
	for _, c := range []struct {
		network, system, fault, call string
		at                           time.Duration
		a, b                         string
		volts, within                float64
	}{
		{"cu-3t-crankcase-heater-path", "split-air-conditioner", "healthy", "cool", -time.Second, "L1", "T1", 239.57, 0.5},
		{"cu-3t-crankcase-heater-path", "split-air-conditioner", "healthy", "cool", -time.Second, "T1", Ground, 119.58, 0.3},
		{"cu-3t-crankcase-heater-path", "split-air-conditioner", "healthy", "cool", -time.Second, "T1", "T2", 0.484, 0.02},
		{"cu-3t-run-normal", "split-air-conditioner", "healthy", "cool", time.Minute, "L1", "L2", 237.85, 1},
		{"cu-3t-run-normal", "split-air-conditioner", "healthy", "cool", time.Minute, "T2", "HERM", 398.05, 2},
		{"cu-3t-run-normal", "split-air-conditioner", "healthy", "cool", time.Minute, "FAN", "T2", 404.69, 8},
		{"cu-3t-open-herm-locked", "split-air-conditioner", "herm-cap-open", "cool", time.Second, "T2", "HERM", 226.6, 5},
		{"cu-3t-open-herm-locked", "split-air-conditioner", "herm-cap-open", "cool", time.Second, "HERM", "T1", 0, 1},
		{"cu-3t-weak-contact-5ohm-start", "split-air-conditioner", "contactor-pole-resistance", "cool", 300 * time.Millisecond, "L1", "L2", 234.54, 3},
		{"cu-3t-weak-contact-5ohm-start", "split-air-conditioner", "contactor-pole-resistance", "cool", 300 * time.Millisecond, "L1", "T1", 156.38, 3},
		{"cu-3t-weak-contact-5ohm-start", "split-air-conditioner", "contactor-pole-resistance", "cool", 300 * time.Millisecond, "T1", "T2", 87.72, 2},
		{"cu-3t-blown-fuse-L1-backfeed", "split-air-conditioner", "disconnect-fuse-open", "cool", time.Minute, "F1", "L1", 240, 0.2},
		{"cu-3t-blown-fuse-L1-backfeed", "split-air-conditioner", "disconnect-fuse-open", "cool", time.Minute, "L1", Ground, 120, 0.2},
		{"cu-3t-blown-fuse-L1-backfeed", "split-air-conditioner", "disconnect-fuse-open", "cool", time.Minute, "L1", "L2", 0, 0.01},
		{"lv-cool-call-normal", "split-air-conditioner", "healthy", "cool", time.Minute, "out-Y", "out-C", 26.92, 0.6},
		{"lv-y-c-short", "split-air-conditioner", "lv-fuse-blown-outdoor-wire", "cool", 30 * time.Millisecond, "R", "C", 10.52, 0.6},
		{"lv-open-common", "split-air-conditioner", "lv-open-c", "cool", time.Minute, "out-Y", Ground, 27.48, 0.3},
		{"lv-open-common", "split-air-conditioner", "lv-open-c", "cool", time.Minute, "out-C", Ground, 27.48, 0.3},
		{"lv-open-common", "split-air-conditioner", "lv-open-c", "cool", time.Minute, "out-Y", "out-C", 0, 0.05},
		{"lv-two-transformers-opposed", "twin-transformers", "rc-rh-tied-opposed-fuses-bridged", "cool", -time.Second, "stat-Rc", Ground, 0.065, 0.1},
	} {
		v, err := mustPlay(t, mustBuild(t, c.system, c.fault), c.call, 10*time.Minute, c.at).Volts(c.a, c.b, circuit.HighImpedance)
		if err != nil || math.Abs(float64(v)-c.volts) > c.within {
			t.Errorf("%s: %s to %s reads %.4g, want %g within %g (%v)", c.network, c.a, c.b, float64(v), c.volts, c.within, err)
		}
	}
}
