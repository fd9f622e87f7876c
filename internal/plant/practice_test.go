package plant

import (
	"testing"
	"time"

	"rung/internal/cycle"
	"rung/internal/quantity"
)

// The tests of this file are facts of the trade: what every mechanic finds at
// the unit. No publication gives them as numbers for this machine; each says
// practice, and where a circuit simulator has solved the same wiring the
// figures stand in package circuit's published networks.

// practice: a healthy 3 ton unit draws 60 to 85 % of its rated load amps at
// rating weather; 24 to 28 V on the control side; R-410A about 130 and 390 psig.
func TestHealthyReadsAsTheTradeExpects(t *testing.T) {
	p := mustBuild(t, usual())
	st := solve(t, p, Cool)
	if st.Trip != NoTrip || st.Compressor != MotorRuns || st.OutdoorFan != MotorRuns || st.Blower != MotorRuns || st.Contactor != ContactorClosed {
		t.Fatalf("healthy: trip %v, compressor %v, fan %v, blower %v, contactor %v", st.Trip, st.Compressor, st.OutdoorFan, st.Blower, st.Contactor)
	}
	rla := float64(p.Nameplate().RatedLoadAmps)
	for _, row := range []struct {
		what     string
		got      float64
		min, max float64
	}{
		{"compressor A", amps(t, st, Running, "compressor/common-terminal"), 0.6 * rla, 0.85 * rla},
		{"locked-rotor A", amps(t, st, AtStart, "compressor/common-terminal"), 4 * rla, 7 * rla},
		{"outdoor fan A", amps(t, st, Running, "condenser-fan/protector"), 1.2, 1.6},
		{"HERM-C V", volts(t, st, Running, CapHerm, CapC), 370, 420},
		{"R-C V", volts(t, st, Running, BoardR, BoardC), 24, 28},
		{"coil V", volts(t, st, Running, Coil1, Coil2), 24, 28},
		{"drop over a pole, V", volts(t, st, Running, L1, T1), 0, 0.1},
		{"dip at start, part", 1 - volts(t, st, AtStart, L1, L2)/volts(t, st, Running, L1, L2), 0.01, 0.10},
		{"suction psig", gauge(st, st.Cycle.SuctionPressure) / psi(1), 118, 140},
		{"liquid psig", gauge(st, st.Cycle.LiquidPressure) / psi(1), 350, 420},
		{"split K", float64(st.Return - st.Supply), 16 / 1.8, 22 / 1.8},
		{"total external static Pa", float64(st.Air.ExternalStatic), 50, 125},
	} {
		if !(row.min <= row.got && row.got <= row.max) {
			t.Errorf("%s = %.4g, want %.4g to %.4g", row.what, row.got, row.min, row.max)
		}
	}
}

// practice: the contactor makes both loads at once; nothing runs before it.
func TestContactorFeedsCompressorAndFanTogether(t *testing.T) {
	p := mustBuild(t, usual())
	st := solve(t, p, Cool)
	at := map[string]time.Duration{}
	for _, e := range st.Trace() {
		if e.Kind == "started" || e.Kind == "closed" {
			at[e.Device] = e.At
		}
	}
	if at["compressor/motor"] != at["condenser-fan/motor"] || at["compressor/motor"] != at["contactor/pole-1"] || at["contactor/pole-1"] <= at["thermostat/r-y"] {
		t.Errorf("thermostat %v, contactor %v, compressor %v, fan %v: want call before contactor, both motors with it",
			at["thermostat/r-y"], at["contactor/pole-1"], at["compressor/motor"], at["condenser-fan/motor"])
	}
}

// practice: with a blown leg both legs read 120 V to ground and 0 V to each
// other; the line voltage stands across the fuse.
func TestBlownFuseHidesFromReadingsToGround(t *testing.T) {
	n := usual()
	n.FusedDisconnect = Yes
	p := mustBuild(t, n)
	st := solve(t, p, Cool, hide{path: "disconnect/fuse-1", word: "blown"})
	// 1 V: the drop of nothing but the meter's current and idle coils.
	near(t, "L1-G", volts(t, st, Settled, L1, Ground), 120, 1)
	near(t, "L2-G", volts(t, st, Settled, L2, Ground), 120, 1)
	near(t, "L1-L2", volts(t, st, Settled, L1, L2), 0, 1)
	near(t, "across the fuse", volts(t, st, Settled, DiscOut1, L1), 240, 2)
	if st.Compressor != Silent || st.OutdoorFan != Silent {
		t.Errorf("compressor %v, fan %v, want silent", st.Compressor, st.OutdoorFan)
	}
	r, _ := st.Ohms(OhmFuse1)
	if r < Open {
		t.Errorf("Ohms(fuse-1) = %v, want open", r)
	}
}

// practice: pressures are equal with the unit off, and stay equal when the
// compressor does not turn, turns backward or does not pump: equal pressures
// say nothing about charge.
func TestPressuresStayEqualWithoutPumping(t *testing.T) {
	p := mustBuild(t, usual())
	for _, row := range []struct {
		name   string
		d      Demand
		faults []hide
	}{
		{"off", Off, nil},
		{"HERM open", Cool, []hide{{path: "run-capacitor/herm-capacitance", value: 0}}},
		{"overload open", Cool, []hide{{path: "compressor/overload", word: "open"}}},
		{"scroll backward", Cool, []hide{{path: "compressor/rotation", word: "reverse"}}},
		{"low charge, off", Off, []hide{{path: "refrigerant/charge", value: 0.6}}},
	} {
		st := solve(t, p, row.d, row.faults...)
		c := st.CycleAt(Running)
		if c.SuctionPressure != c.LiquidPressure {
			t.Errorf("%s: suction %.0f, liquid %.0f Pa, want equal", row.name, c.SuctionPressure, c.LiquidPressure)
		}
	}
	full, low := solve(t, p, Off), solve(t, p, Off, hide{path: "refrigerant/charge", value: 0.6})
	if full.Standing.SuctionPressure != low.Standing.SuctionPressure {
		t.Errorf("standing pressure %.0f at full, %.0f Pa at 60 %% charge: want the same while liquid remains",
			full.Standing.SuctionPressure, low.Standing.SuctionPressure)
	}
}

// practice: with the HERM section open the compressor hums on locked-rotor amps
// for 2 to 20 s and the overload opens; the HERM lead carries nothing; the fan
// goes on. C-R and C-S then read open, R-S the sum.
func TestOpenHermSectionHumsThenStops(t *testing.T) {
	p := mustBuild(t, usual())
	st := solve(t, p, Cool, hide{path: "run-capacitor/herm-capacitance", value: 0})
	healthy := solve(t, p, Cool)
	if st.Compressor != MotorHums || st.OutdoorFan != MotorRuns || st.Trip != CompressorOverloadTrip || st.CompressorAt(Settled) != Silent {
		t.Errorf("compressor %v then %v, fan %v, trip %v; want hums then silent, runs, overload", st.Compressor, st.CompressorAt(Settled), st.OutdoorFan, st.Trip)
	}
	if st.TripAfter < 2*time.Second || st.TripAfter > 20*time.Second {
		t.Errorf("overload opens after %v, want 2 to 20 s", st.TripAfter)
	}
	lra := amps(t, healthy, AtStart, "compressor/common-terminal")
	near(t, "common A while humming", amps(t, st, Running, "compressor/common-terminal"), lra, 0.05*lra) // practice: practically unchanged
	near(t, "HERM A while humming", amps(t, st, Running, "compressor/start-terminal"), 0, 0.01)
	near(t, "common A after", amps(t, st, Settled, "compressor/common-terminal"), 0, 0.01)
	near(t, "HERM-C V while humming", volts(t, st, Running, CapHerm, CapC), volts(t, st, Running, T1, T2), 10)
	cr, _ := st.Ohms(OhmCompressorCR)
	rs, _ := st.Ohms(OhmCompressorRS)
	hcr, _ := healthy.Ohms(OhmCompressorCR)
	hcs, _ := healthy.Ohms(OhmCompressorCS)
	if cr < Open {
		t.Errorf("C-R = %v after the trip, want open", cr)
	}
	near(t, "R-S", float64(rs), float64(hcr+hcs), 0.02) // plug resistances of 2 milliohm
}

// practice: with the FAN section open the fan hums and head climbs to the
// high-pressure switch, which stops the unit; without one the compressor's
// overload does.
func TestOpenFanSectionEndsAtTheHighPressureLimit(t *testing.T) {
	for _, row := range []struct {
		fitted Fitted
		want   Trip
	}{{Yes, HighPressureTrip}, {No, CompressorOverloadTrip}} {
		n := usual()
		n.HighPressureSwitch = row.fitted
		st := solve(t, mustBuild(t, n), Cool, hide{path: "run-capacitor/fan-capacitance", value: 0})
		if st.OutdoorFan != MotorHums || st.Trip != row.want {
			t.Errorf("switch %v: fan %v, trip %v; want it to hum, and trip %v", row.fitted, st.OutdoorFan, st.Trip, row.want)
		}
		if row.fitted == Yes {
			near(t, "voltage across the open switch", volts(t, st, Settled, AfterLPS, Coil1), volts(t, st, Settled, BoardR, BoardC), 1)
			near(t, "FAN lead A", amps(t, st, Running, "run-capacitor/fan-lead"), 0, 0.01)
		}
	}
}

// practice: a full pan opens the float: in R the thermostat goes blank while
// the board keeps 24 V, in Y only the outdoor unit stops.
func TestFloatKillsWhatItBreaks(t *testing.T) {
	full := hide{path: "condensate-drain/blockage", value: 1}
	for _, row := range []struct {
		float   FloatBreaks
		display bool
		blower  MotorState
		across  Node
	}{{FloatBreaksR, false, Silent, FloatR}, {FloatBreaksY, true, MotorRuns, FloatY}} {
		n := usual()
		n.Float = row.float
		st := solve(t, mustBuild(t, n), Cool, full)
		if st.Looks.DisplayLit != row.display || st.Blower != row.blower || st.Contactor != ContactorOpen || !st.Looks.PanFull {
			t.Errorf("float %v: display %v, blower %v, contactor %v, pan full %v", row.float, st.Looks.DisplayLit, st.Blower, st.Contactor, st.Looks.PanFull)
		}
		from := BoardR
		if row.float == FloatBreaksY {
			from = BoardYOut
		}
		near(t, "R-C on the board", volts(t, st, Settled, BoardR, BoardC), 27, 1.5) // practice: 26 to 29 V with little load
		near(t, "across the float", volts(t, st, Settled, from, row.across), volts(t, st, Settled, BoardR, BoardC), 1)
	}
	n := usual()
	n.Float = NoFloat
	if st := solve(t, mustBuild(t, n), Cool, full); st.Contactor != ContactorClosed {
		t.Error("without a float switch a full pan stops nothing")
	}
}

// practice: a hard Y-C short takes more than 8 A, pulls R-C to about 10 V and
// opens a 3 A fuse at once; then everything on 24 V is dead.
func TestShortOfYToCBlowsTheFuse(t *testing.T) {
	p := mustBuild(t, usual())
	short := hide{path: "outdoor-cable/y-c-resistance", value: 0.05}
	st := solve(t, p, Cool, short)
	near(t, "fuse A", amps(t, st, AtStart, "control-fuse/fuse"), 8.4, 0.5)     // published: reference network lv-y-c-short, 8.1 A on a longer cable
	near(t, "R-C while shorted", volts(t, st, AtStart, BoardR, BoardC), 10, 1) // practice
	if !st.FuseBlown || st.Trip != ControlFuseTrip || st.Looks.DisplayLit || st.Blower != Silent || st.Contactor != ContactorOpen {
		t.Errorf("fuse blown %v, trip %v, display %v, blower %v, contactor %v; want everything dead", st.FuseBlown, st.Trip, st.Looks.DisplayLit, st.Blower, st.Contactor)
	}
	near(t, "R-C after", volts(t, st, Settled, BoardR, BoardC), 0, 0.1)
	near(t, "across the fuse", volts(t, st, Settled, Secondary, BoardR), 27.5, 1)
	if off := solve(t, p, Off, short); off.FuseBlown {
		t.Error("the fuse blew without a call: Y is dead until the thermostat closes")
	}
}

// practice: with the common open, 24 V stands on both coil terminals to ground
// and nothing across the coil.
func TestOpenCommonShowsVoltsToGroundOnly(t *testing.T) {
	st := solve(t, mustBuild(t, usual()), Cool, hide{path: "outdoor-cable/c-resistance", value: float64(Open)})
	near(t, "coil, Y side, to ground", volts(t, st, Settled, Coil1, Ground), 27, 1.5)
	near(t, "coil, C side, to ground", volts(t, st, Settled, Coil2, Ground), 27, 1.5)
	near(t, "across the coil", volts(t, st, Settled, Coil1, Coil2), 0, 0.1)
}

// practice: a single contact leaves the other leg live; a crankcase heater
// across it makes even T1 live. Two poles make T1 and T2 dead.
func TestOpenContactorLeavesOneSideLive(t *testing.T) {
	bar := usual()
	st := solve(t, mustBuild(t, bar), Off)
	near(t, "T2-G, bus bar", volts(t, st, Settled, T2, Ground), 120, 1)
	near(t, "T1-T2, bus bar", volts(t, st, Settled, T1, T2), 0, 1)
	bar.CrankcaseHeater = Yes
	st = solve(t, mustBuild(t, bar), Off)
	near(t, "T1-G with crankcase heater", volts(t, st, Settled, T1, Ground), 120, 1) // published: reference network cu-3t-crankcase-heater-path, 119.6 V
	two := usual()
	two.Poles = TwoPole
	st = solve(t, mustBuild(t, two), Off)
	near(t, "T1-G, two poles", volts(t, st, Settled, T1, Ground), 0, 4) // a gigohm of open contact over a 10 megohm meter, twice
	near(t, "T2-G, two poles", volts(t, st, Settled, T2, Ground), 0, 4)
}

// practice: welded contacts run the outdoor unit with nothing on the coil.
func TestWeldedContactorRunsWithoutACall(t *testing.T) {
	st := solve(t, mustBuild(t, usual()), Off, hide{path: "contactor/pole-1", word: "welded"})
	near(t, "T1-T2", volts(t, st, Settled, T1, T2), 238, 3)
	near(t, "coil", volts(t, st, Settled, Coil1, Coil2), 0, 0.1)
	if st.Compressor != MotorRuns || st.OutdoorFan != MotorRuns || st.Blower != Silent {
		t.Errorf("compressor %v, fan %v, blower %v", st.Compressor, st.OutdoorFan, st.Blower)
	}
	if st.Cycle.EvaporatingTemp > 273.15 {
		t.Errorf("evaporating at %.1f K without indoor air, want below freezing", st.Cycle.EvaporatingTemp)
	}
}

// practice: 5 ohm in one pole leaves about 90 V at the motors on locked rotor:
// it hums. published: reference network cu-3t-weak-contact-5ohm-start.
func TestBurntPoleStarvesTheStart(t *testing.T) {
	st := solve(t, mustBuild(t, usual()), Cool, hide{path: "contactor/pole-1-resistance", value: 5})
	near(t, "T1-T2 at start", volts(t, st, AtStart, T1, T2), 88, 6)   // another supply and a compressor fitted to its plate
	near(t, "across the pole", volts(t, st, AtStart, L1, T1), 156, 8) // likewise
	if st.Compressor != MotorHums || !st.Looks.BurntConductor {
		t.Errorf("compressor %v, burnt %v; want it to hum, and a burnt contact", st.Compressor, st.Looks.BurntConductor)
	}
}

// practice: a weak capacitor shows in the HERM amps and in microfarads under
// load, hardly in the line amps.
func TestWeakCapacitorHidesInLineAmps(t *testing.T) {
	p := mustBuild(t, usual())
	healthy := solve(t, p, Cool)
	c := float64(p.Nameplate().HermCapacitance)
	weak := solve(t, p, Cool, hide{path: "run-capacitor/herm-capacitance", value: 0.7 * c})
	h, w := amps(t, healthy, Running, "compressor/common-terminal"), amps(t, weak, Running, "compressor/common-terminal")
	near(t, "line amps", w, h, 0.05*h)
	farads := amps(t, weak, Running, "compressor/start-terminal") / (2 * 3.14159265 * 60 * volts(t, weak, Running, CapHerm, CapC))
	near(t, "capacitance under load", farads, 0.7*c, 0.01*c) // the lead's own milliohms
}

// practice: a clogged filter is low flow on a PSC blower and high power on one
// that holds its flow.
func TestCloggedFilterByBlowerKind(t *testing.T) {
	clogged := hide{path: "filter/resistance", value: 8}
	psc := mustBuild(t, usual())
	n := usual()
	n.Blower = ConstantAirflowMotor
	ecm := mustBuild(t, n)
	a, b := solve(t, psc, Cool), solve(t, psc, Cool, clogged)
	if !(b.Air.Flow < 0.85*a.Air.Flow && b.Air.Power < a.Air.Power) {
		t.Errorf("PSC: flow %.3f to %.3f m³/s, power %.0f to %.0f W; want both down", a.Air.Flow, b.Air.Flow, a.Air.Power, b.Air.Power)
	}
	c, d := solve(t, ecm, Cool), solve(t, ecm, Cool, clogged)
	if !(d.Air.Flow > 0.93*c.Air.Flow && d.Air.Power > 1.3*c.Air.Power) {
		t.Errorf("constant airflow: flow %.3f to %.3f m³/s, power %.0f to %.0f W; want flow kept, power up", c.Air.Flow, d.Air.Flow, c.Air.Power, d.Air.Power)
	}
	if b.Looks.Filter != Blocked || b.Air.FilterDrop < 2*a.Air.FilterDrop {
		t.Errorf("filter looks %v, drop %.0f Pa against %.0f", b.Looks.Filter, b.Air.FilterDrop, a.Air.FilterDrop)
	}
}

// practice: a 240 V tap on 208 V gives 20 to 24 V, the reverse about 31 V.
func TestWrongTap(t *testing.T) {
	p := mustBuild(t, usual())
	low := solve(t, p, Cool, hide{path: "transformer/tap-ratio", value: 208.0 / 240})
	high := solve(t, p, Cool, hide{path: "transformer/tap-ratio", value: 240.0 / 208})
	near(t, "240 V tap on 208 V", volts(t, low, Running, BoardR, BoardC), 23, 1.5)
	near(t, "208 V tap on 240 V", volts(t, high, Running, BoardR, BoardC), 31, 1.5)
}

// practice: an empty system opens the low-pressure switch before anything
// starts; a switch that is not there lets it run on nothing until it trips hot.
func TestEmptySystem(t *testing.T) {
	empty := hide{path: "refrigerant/charge", value: 0}
	st := solve(t, mustBuild(t, usual()), Cool, empty)
	if st.Trip != LowPressureTrip || st.Contactor != ContactorOpen || st.OutdoorFan != Silent {
		t.Errorf("with switch: trip %v, contactor %v, fan %v", st.Trip, st.Contactor, st.OutdoorFan)
	}
	near(t, "across the open switch", volts(t, st, Settled, OutY, AfterLPS), 27, 1.5)
	near(t, "standing, Pa gauge", gauge(st, st.Standing.SuctionPressure), 0, 1)
	n := usual()
	n.LowPressureSwitch = No
	st = solve(t, mustBuild(t, n), Cool, empty)
	if st.Compressor != MotorRuns || st.Cycle.Outcome != cycle.LowPressureLimit || st.Trip != CompressorOverloadTrip {
		t.Errorf("without: compressor %v, outcome %v, trip %v", st.Compressor, st.Cycle.Outcome, st.Trip)
	}
	if g := gauge(st, st.Cycle.LiquidPressure); g > psi(30) {
		t.Errorf("without: liquid %.0f Pa gauge, want near nothing", g)
	}
}

// practice: a winding to ground opens the breaker at once; on a contactor with
// a bus bar even before the call.
func TestGroundedWindingTripsTheBreaker(t *testing.T) {
	ground := hide{path: "compressor/ground-resistance", value: 0.1}
	n := usual()
	if st := solve(t, mustBuild(t, n), Off, ground); st.Trip != BreakerTrip || !st.Looks.BreakerTripped {
		t.Errorf("bus bar, off: trip %v", st.Trip)
	}
	n.Poles = TwoPole
	p := mustBuild(t, n)
	if st := solve(t, p, Off, ground); st.Trip != NoTrip {
		t.Errorf("two poles, off: trip %v, want none", st.Trip)
	}
	st := solve(t, p, Cool, ground)
	if st.Trip != BreakerTrip {
		t.Errorf("two poles, cool: trip %v, want the breaker", st.Trip)
	}
	near(t, "L1-L2 after", volts(t, st, Settled, L1, L2), 0, 2)
}

// practice: thermostat faults leave the equipment able to run but uncalled.
func TestThermostatFaults(t *testing.T) {
	n := usual()
	n.Thermostat = Battery
	battery := mustBuild(t, n)
	p := mustBuild(t, usual())
	for _, row := range []struct {
		p       *Plant
		fault   hide
		display bool
	}{
		{p, hide{path: "thermostat/setting", word: "not-calling"}, true},
		{p, hide{path: "thermostat/output", word: "failed"}, true},
		{battery, hide{path: "thermostat/battery", word: "flat"}, false},
		{p, hide{path: "thermostat-cable/c-resistance", value: float64(Open)}, false},
		{p, hide{path: "door-switch/contact-resistance", value: float64(Open)}, false},
	} {
		st := solve(t, row.p, Cool, row.fault)
		if st.Calling || st.Contactor != ContactorOpen || st.Blower != Silent || st.Looks.DisplayLit != row.display {
			t.Errorf("%s: calling %v, contactor %v, blower %v, display %v", row.fault.path, st.Calling, st.Contactor, st.Blower, st.Looks.DisplayLit)
		}
	}
	swapped := solve(t, p, Heat, hide{path: "thermostat/wiring", word: "y-w-swapped"})
	if swapped.Compressor != MotorRuns {
		t.Error("Y and W swapped: heat call does not start the outdoor unit")
	}
	jumper := hide{path: "thermostat/rc-rh-jumper-resistance", value: float64(Open)}
	if cool, heat := solve(t, p, Cool, jumper), solve(t, p, Heat, jumper); cool.Contactor != ContactorOpen || heat.Blower != MotorRuns {
		t.Errorf("jumper missing: contactor %v on cool, blower %v on heat; want heat only", cool.Contactor, heat.Blower)
	}
}

// practice: 10 ohm in the Y splice leaves 12 to 18 V on the coil: it chatters.
func TestCorrodedSpliceChatters(t *testing.T) {
	st := solve(t, mustBuild(t, usual()), Cool, hide{path: "outdoor-cable/y-resistance", value: 10})
	v := volts(t, st, Settled, Coil1, Coil2)
	if st.Contactor != ContactorChatters || v < 12 || v > 18 {
		t.Errorf("contactor %v, coil %.1f V, want chattering at 12 to 18 V", st.Contactor, v)
	}
}

// practice: a 40 % supply sag or a locked rotor keeps the compressor from
// starting; a free fan with loose blade turns and moves nothing.
func TestMechanicalFaults(t *testing.T) {
	p := mustBuild(t, usual())
	if st := solve(t, p, Cool, hide{path: "compressor/rotor", word: "seized"}); st.Compressor != MotorHums || st.Trip != CompressorOverloadTrip {
		t.Errorf("seized: %v, trip %v", st.Compressor, st.Trip)
	}
	if st := solve(t, p, Cool, hide{path: "condenser-fan/blade-grip", value: 0}); st.OutdoorFan != FreeRuns || st.Trip != HighPressureTrip {
		t.Errorf("loose blade: fan %v, trip %v", st.OutdoorFan, st.Trip)
	}
	if st := solve(t, p, Cool, hide{path: "condenser-fan/bearing-friction", value: 3}); st.OutdoorFan != MotorHums {
		t.Errorf("seized fan: %v", st.OutdoorFan)
	}
	if st := solve(t, p, Cool, hide{path: "blower-wheel/grip", value: 0}); st.Blower != FreeRuns || st.Air.Flow != 0 {
		t.Errorf("loose wheel: blower %v, flow %v", st.Blower, st.Air.Flow)
	}
	var none quantity.VolumeFlow
	if st := solve(t, p, Cool, hide{path: "blower-capacitor/capacitance", value: 0}); st.Blower != MotorHums || st.Air.Flow != none {
		t.Errorf("blower capacitor open: %v, flow %v", st.Blower, st.Air.Flow)
	}
}

// practice: a start capacitor with its potential relay starts a compressor that
// sits tight, and leaves the circuit again; a stuck relay leaves it in.
func TestStartAssist(t *testing.T) {
	tight := hide{path: "compressor/starting-torque", value: 1}
	if st := solve(t, mustBuild(t, usual()), Cool, tight); st.Compressor != MotorHums {
		t.Errorf("without assist: %v, want it to hum", st.Compressor)
	}
	n := usual()
	n.StartAssist = Yes
	p := mustBuild(t, n)
	st := solve(t, p, Cool, tight)
	if st.Compressor != MotorRuns {
		t.Errorf("with assist: %v, want it to run", st.Compressor)
	}
	start, _ := st.Amps(Running, "start-assist/relay")
	near(t, "start lead A while running", float64(start), 0, 0.01)
	stuck := solve(t, p, Cool, hide{path: "start-assist/relay", word: "stuck-closed"})
	if a := amps(t, stuck, Running, "start-assist/relay"); a < 5 {
		t.Errorf("stuck relay: %.1f A in the start lead, want it to stay in", a)
	}
}

// practice: a breaker that has grown weak opens minutes after the start on
// amps that it should carry; a sound one holds.
func TestWeakBreakerOpensOnRatedLoad(t *testing.T) {
	p := mustBuild(t, usual())
	healthy := solve(t, p, Cool)
	// The breaker carries 1.1 times what it takes its rating to be.
	carries := amps(t, healthy, Running, "outdoor-breaker/pole-1") / 1.1 / float64(p.Nameplate().MaxProtection)
	weak := solve(t, p, Cool, hide{path: "outdoor-breaker/trip-ratio", value: 0.95 * carries})
	if weak.Trip != BreakerTrip || weak.TripAfter < time.Minute {
		t.Errorf("5 %% too weak: trip %v after %v, want the breaker after minutes", weak.Trip, weak.TripAfter)
	}
	if st := solve(t, p, Cool, hide{path: "outdoor-breaker/trip-ratio", value: 1.05 * carries}); st.Trip != NoTrip {
		t.Errorf("5 %% to spare: trip %v", st.Trip)
	}
}

// practice: an open coil has its 24 V and does not pull; a shorted one blows
// the control fuse on a call; a held armature has its volts and stays out.
func TestCoilFaults(t *testing.T) {
	p := mustBuild(t, usual())
	st := solve(t, p, Cool, hide{path: "contactor/coil-resistance", value: float64(Open)})
	near(t, "open coil, V", volts(t, st, Settled, Coil1, Coil2), 27, 1.5)
	if st.Contactor != ContactorOpen {
		t.Errorf("open coil: contactor %v", st.Contactor)
	}
	found := false
	for _, e := range st.Trace() {
		found = found || e.Kind == CircuitOpen && e.Device == "contactor/coil"
	}
	if !found {
		t.Error("open coil: the trace does not name it")
	}
	if st := solve(t, p, Cool, hide{path: "contactor/coil-resistance", value: 2}); !st.FuseBlown || st.Contactor != ContactorOpen {
		t.Errorf("shorted coil: fuse blown %v, contactor %v", st.FuseBlown, st.Contactor)
	}
	if st := solve(t, p, Cool, hide{path: "contactor/armature", word: "stuck-open"}); st.Contactor != ContactorOpen || st.FuseBlown {
		t.Errorf("held armature: contactor %v, fuse blown %v", st.Contactor, st.FuseBlown)
	}
}

// practice: shorted turns lower the winding's ohms and raise its amps, most of
// all at rest.
func TestShortedTurnsRaiseAmps(t *testing.T) {
	p := mustBuild(t, usual())
	healthy, st := solve(t, p, Cool), solve(t, p, Cool, hide{path: "compressor/run-turns", value: 0.8})
	hr, _ := healthy.Ohms(OhmCompressorCR)
	r, _ := st.Ohms(OhmCompressorCR)
	if r > 0.85*hr {
		t.Errorf("a fifth of the turns shorted: %.2f ohm against %.2f", r, hr)
	}
	for ph, least := range map[PhaseID]float64{AtStart: 1.3, Running: 1.02} {
		h, a := amps(t, healthy, ph, "compressor/common-terminal"), amps(t, st, ph, "compressor/common-terminal")
		if a < least*h {
			t.Errorf("phase %v: %.1f A against %.1f, want %.2f times", ph, a, h, least)
		}
	}
}
