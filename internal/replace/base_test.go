package replace

import (
	"strings"
	"testing"
)

// What each call joins, as the terminals are commonly described.
//
// published: Herman and Sparkman, "Electricity and Controls for HVAC-R", chapter
// on thermostats, for the roles; practice: auxiliary and emergency heat.
func TestCallsJoinTerminals(t *testing.T) {
	plain := base("R C Y1 Y2 G W1 W2")
	pump := base("R C Y1 Y2 G O/B W1 W2/AUX E")
	fixed := base("R Y G O B AUX")
	for _, c := range []struct {
		base Base
		set  Settings
		call Call
		want string
	}{
		{plain, Settings{}, Off, ""},
		{plain, Settings{}, FanOnly, "G"},
		{plain, Settings{}, CoolLow, "Y1 G"},
		{plain, Settings{}, CoolHigh, "Y1 Y2 G"},
		{plain, Settings{}, HeatLow, "W1"},
		{plain, Settings{}, HeatHigh, "W1 W2"},
		{plain, Settings{FanWithHeat: true}, HeatLow, "G W1"},
		{pump, Settings{HeatPump: true}, CoolLow, "Y1 G O/B"},
		{pump, Settings{HeatPump: true}, HeatLow, "Y1 G"},
		{pump, Settings{HeatPump: true, ValveInHeat: true}, CoolLow, "Y1 G"},
		{pump, Settings{HeatPump: true, ValveInHeat: true}, HeatLow, "Y1 G O/B"},
		{pump, Settings{HeatPump: true}, HeatHigh, "Y1 G Y2"},
		{pump, Settings{HeatPump: true}, HeatBackup, "Y1 Y2 G W2/AUX"},
		{pump, Settings{HeatPump: true, BackupFossil: true}, HeatBackup, "W2/AUX"},
		{pump, Settings{HeatPump: true}, HeatEmergency, "G W2/AUX E"},
		{fixed, Settings{HeatPump: true}, CoolLow, "Y G O"},
		{fixed, Settings{HeatPump: true}, HeatLow, "Y G B"},
	} {
		cooling, heating := c.base.closes(c.set, c.call)
		var got []string
		for _, x := range append(cooling, heating...) {
			got = append(got, x.Mark)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%+v, %s: joins %s, want %s", c.set, c.call, s, c.want)
		}
	}
}

func BenchmarkThermostat(b *testing.B) {
	// Budget: 1 ms per plan on a phone, so about 0.3 ms here; it is worked out anew at every showing.
	s := Swap{System: heatPump, Old: base("R C Y G O W2"), New: base("R C Y1 Y2 G W1 W2/AUX O/B E", supply(NeedsCommon)), Conductors: wires(b, heatPumpWires)}
	for b.Loop() {
		if p, err := Thermostat(s); err != nil || !p.Accepted() {
			b.Fatal(p.Refusals, err)
		}
	}
}
