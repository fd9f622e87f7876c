package plant

import (
	"slices"
	"testing"
)

func everyKit() []Nameplate {
	bare := Nameplate{HighPressureSwitch: No, Float: NoFloat}
	full := Nameplate{HighPressureSwitch: Yes, LowPressureSwitch: Yes, TimeDelay: Yes, OutdoorBoard: Yes, CrankcaseHeater: Yes,
		StartAssist: Yes, FusedDisconnect: Yes, CondensatePump: Yes, Poles: TwoPole, Float: FloatBreaksY}
	ecm := Nameplate{Blower: ConstantAirflowMotor, Indoor: Furnace, Poles: OnePole, CrankcaseHeater: Yes}
	return []Nameplate{bare, full, ecm}
}

// Every rung is one path from device to device, and the cooling rung runs from
// rail to rail.
func TestRungsAreConnected(t *testing.T) {
	for _, n := range everyKit() {
		w := mustBuild(t, n).Wiring()
		for _, l := range w.Ladders {
			for _, r := range l.Rungs {
				at := []Node{}
				for i, id := range r.Steps {
					d, ok := w.Device(id)
					if !ok {
						t.Errorf("%s, %s: no device %q", l.Name, r.Label, id)
						continue
					}
					ends := []Node{d.From, d.To}
					if d.Third != "" {
						ends = append(ends, d.Third)
					}
					if i > 0 && !slices.ContainsFunc(ends, func(x Node) bool { return slices.Contains(at, x) }) {
						t.Errorf("%s, %s: %s at %v does not meet the device before it at %v", l.Name, r.Label, id, ends, at)
					}
					at = ends
				}
			}
		}
		cooling := w.Ladders[2].Rungs[0].Steps
		first, _ := w.Device(cooling[0])
		last, _ := w.Device(cooling[len(cooling)-1])
		if first.From != w.Ladders[2].Left.Node || last.To != w.Ladders[2].Right.Node {
			t.Errorf("cooling rung runs from %v to %v", first.From, last.To)
		}
	}
}

// Ids and nodes are unique, every bound resistance exists, and every test
// point can be read.
func TestWiringIsComplete(t *testing.T) {
	all := map[string]bool{}
	for _, n := range everyKit() {
		p := mustBuild(t, n)
		w := p.Wiring()
		seen := map[string]bool{}
		for _, d := range w.Devices {
			if seen[d.ID] || d.Label == "" || d.From == d.To {
				t.Errorf("device %+v: twice, unnamed or shorted", d)
			}
			seen[d.ID], all[d.ID] = true, true
		}
		st := solve(t, p, Cool)
		for _, tp := range w.TestPoints {
			if v := volts(t, st, Settled, tp.Node, Ground); !(v >= 0 && v < 600) {
				t.Errorf("test point %s: %g V", tp.Node, v)
			}
		}
		if _, err := st.Volts(Settled, "nowhere", L1, 1e7); err == nil {
			t.Error("Volts at a node that is not there: no error")
		}
		for _, d := range w.Devices {
			if _, ok := st.Closed(Settled, d.ID); !ok {
				t.Errorf("Closed(%q): not ok", d.ID)
			}
		}
	}
	for id := range resistanceOf {
		if !all[id] {
			t.Errorf("resistances.txt names %q, which no kit has", id)
		}
	}
}

// The devices of a healthy cooling call conduct; with the call off the
// thermostat's contact, and with it the contactor, does not.
func TestClosedFollowsTheCall(t *testing.T) {
	p := mustBuild(t, everyKit()[1])
	on, off := solve(t, p, Cool), solve(t, p, Off)
	for _, id := range p.Wiring().Ladders[2].Rungs[0].Steps {
		if closed, _ := on.Closed(Settled, id); !closed {
			t.Errorf("cooling: %s is open", id)
		}
	}
	for _, id := range []string{"thermostat/r-y", "contactor/pole-1", "contactor/pole-2"} {
		if closed, _ := off.Closed(Settled, id); closed {
			t.Errorf("off: %s is closed", id)
		}
	}
}

// Every part that an ohmmeter can be put on has a value, open only where it
// should be.
func TestOhmsOfSoundParts(t *testing.T) {
	st := solve(t, mustBuild(t, everyKit()[1]), Off)
	insulated := []OhmPoint{OhmCompressorGnd, OhmFanGnd, OhmCapCase, OhmBranchGround, OhmCableYC, OhmStatRC, OhmStatYC, OhmStatGC}
	parts := []OhmPoint{OhmCoil, OhmCompressorCR, OhmCompressorCS, OhmCompressorRS, OhmFanCR, OhmFanCS, OhmFanRS, OhmBlowerCR,
		OhmPrimary, OhmSecondary, OhmControlFuse, OhmFuse1, OhmFuse2, OhmHeater, OhmDoor, OhmFloat, OhmHighSwitch, OhmLowSwitch}
	for _, part := range insulated {
		if r, ok := st.Ohms(part); !ok || r < Open {
			t.Errorf("Ohms(%s) = %v, %v; want open", part, r, ok)
		}
	}
	for _, part := range parts {
		if r, ok := st.Ohms(part); !ok || !(r > 0 && r < 2000) {
			t.Errorf("Ohms(%s) = %v, %v; want a part that conducts", part, r, ok)
		}
	}
	if _, ok := st.Ohms("teapot"); ok {
		t.Error("Ohms(teapot) is known")
	}
	herm, fan := st.BenchCapacitance()
	near(t, "HERM on the bench", float64(herm), 45e-6, 1e-12)
	near(t, "FAN on the bench", float64(fan), 5e-6, 1e-12)
}
