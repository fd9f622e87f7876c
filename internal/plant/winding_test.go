package plant

import (
	"math/rand/v2"
	"testing"
	"time"

	"rung/internal/cycle"
	"rung/internal/quantity"
)

// fahrenheit is a temperature in K.
func fahrenheit(t float64) quantity.Temperature { return quantity.Temperature((t + 459.67) / 1.8) }

// hotAfternoon is weather at some outdoor temperature and service.
func hotAfternoon(outdoor float64, line quantity.Voltage) Surroundings {
	at := ratingDay
	at.Outdoor, at.Line = fahrenheit(outdoor), line
	return at
}

// compressors are plates of the usual sizes without pressure switches, which
// would act first.
func compressors() map[string]Nameplate {
	orifice, old := Nameplate{Metering: cycle.FixedOrifice}, Nameplate{Refrigerant: "R-22", Metering: cycle.FixedOrifice, Compressor: Reciprocating}
	return map[string]Nameplate{"3 t": {}, "3 t orifice": orifice, "R-22": old,
		"2 t": {NominalCooling: 7034}, "5 t": {NominalCooling: 17580}}
}

// practice: a weak run capacitor hardly shows in the line amps; the main
// winding heats, and on a hot afternoon the overload opens minutes after the
// start. At 85 % of its capacitance nobody notices.
func TestWeakCapacitorTripsOnAHotAfternoon(t *testing.T) {
	for name, n := range compressors() {
		p := mustBuild(t, n)
		full := float64(p.Nameplate().HermCapacitance)
		at := hotAfternoon(105, 240)
		solve := func(share float64) *State {
			t.Helper()
			st, err := p.Solve(with(t, p, hide{path: "run-capacitor/herm-capacitance", value: share * full}), at, Cool)
			if err != nil {
				t.Fatal(err)
			}
			return st
		}
		sound := solve(1)
		for _, row := range []struct {
			share float64
			want  Trip
		}{{1, NoTrip}, {0.85, NoTrip}, {0.55, CompressorOverloadTrip}, {0.5, CompressorOverloadTrip}, {0.45, CompressorOverloadTrip}} {
			st := solve(row.share)
			if st.Trip != row.want || st.Compressor != MotorRuns {
				t.Errorf("%s, %.2f: trip %v, compressor %v; want trip %v of a running one", name, row.share, st.Trip, st.Compressor, row.want)
			}
			if row.want != NoTrip && (st.TripAfter < 2*time.Minute || st.TripAfter > 15*time.Minute || st.CompressorAt(Settled) != Silent || st.OutdoorFanAt(Settled) != MotorRuns) {
				t.Errorf("%s, %.2f: after %v, compressor %v, fan %v; want it to stop in minutes, the fan to go on", name, row.share, st.TripAfter, st.CompressorAt(Settled), st.OutdoorFanAt(Settled))
			}
			h, w := amps(t, sound, Running, "compressor/common-terminal"), amps(t, st, Running, "compressor/common-terminal")
			if name == "3 t" && (w < 0.95*h || w > 1.06*h) { // practice: 11.25 to 12.2 A of 11.6 down to 40 %
				t.Errorf("%s, %.2f: %.1f A against %.1f A", name, row.share, w, h)
			}
		}
		if st, err := p.Solve(with(t, p, hide{path: "run-capacitor/herm-capacitance", value: 0.6 * full}), hotAfternoon(82, 240), Cool); err != nil || st.Trip != NoTrip {
			t.Errorf("%s, 0.6 on a mild day: trip %v, %v", name, st.Trip, err)
		}
	}
}

// memory: AHRI 210/240, maximum operating conditions and voltage tolerance: a
// sound machine runs at 115 °F and at a tenth under its plate volts.
func TestSoundMachineHoldsOnTheHottestDay(t *testing.T) {
	for name, n := range compressors() {
		p := mustBuild(t, n)
		ps := p.Healthy()
		for variant := range len(p.machines) {
			ps.v[pVariant] = float64(variant)
			for _, line := range []quantity.Voltage{208, 215, 225, 240, 253} {
				for _, outdoor := range []float64{20, 82, 95, 105, 115} {
					st, err := p.Solve(&ps, hotAfternoon(outdoor, line), Cool)
					if err != nil {
						t.Fatal(err)
					}
					if st.Trip != NoTrip {
						t.Errorf("%s, variant %d at %g °F and %g V: trip %v after %v", name, variant, outdoor, line, st.Trip, st.TripAfter)
					}
				}
			}
		}
	}
}

// practice: sound systems with all their tolerances do not stop on their
// overload at 110 °F; one in a hundred stands for those at the edge. Seed 1, 2.
func TestTolerancesDoNotTripTheOverload(t *testing.T) {
	const draws = 200
	for name, n := range compressors() {
		p := mustBuild(t, n)
		s, err := p.NewSolver()
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(1, 2))
		trips := 0
		for range draws {
			ps := draw(t, p, rng)
			st, err := s.Solve(&ps, hotAfternoon(110, 240), Cool)
			if err != nil {
				t.Fatal(err)
			}
			if st.Trip != NoTrip {
				trips++
			}
		}
		if trips > draws/100 {
			t.Errorf("%s: %d of %d trip", name, trips, draws)
		}
	}
}

// practice: suction gas cools the motor, so a machine that has lost most of its
// charge and has no low-pressure switch stops hot; one a third short does not.
// The less gas, the hotter and the sooner.
func TestStarvedCompressorOverheats(t *testing.T) {
	for name, n := range compressors() {
		p := mustBuild(t, n)
		s, err := p.NewSolver()
		if err != nil {
			t.Fatal(err)
		}
		last, after := 0.0, time.Hour
		for _, charge := range []float64{1, 0.85, 0.7, 0.5, 0.4, 0.3, 0.2} {
			st, err := s.Solve(with(t, p, hide{path: "refrigerant/charge", value: charge}), ratingDay, Cool)
			if err != nil {
				t.Fatal(err)
			}
			if hot := s.windingTemp(); hot < last-1 { // 1 K: a little less charge also takes load off
				t.Errorf("%s at charge %g: windings at %.0f K after %.0f K", name, charge, hot, last)
			} else {
				last = hot
			}
			switch {
			case charge >= 0.7 && st.Trip != NoTrip:
				t.Errorf("%s at charge %g: trip %v", name, charge, st.Trip)
			case charge <= 0.2 && st.Trip != CompressorOverloadTrip:
				t.Errorf("%s at charge %g: trip %v, want the overload", name, charge, st.Trip)
			case st.Trip != NoTrip && st.TripAfter > after+time.Minute: // a full head start of one step's heating
				t.Errorf("%s at charge %g: after %v, before %v", name, charge, st.TripAfter, after)
			case st.Trip != NoTrip:
				after = st.TripAfter
			}
		}
	}
}

// practice: an overload that has grown weak opens on a load that a sound one
// carries.
func TestAgedOverloadOpensEarly(t *testing.T) {
	p := mustBuild(t, usual())
	if st := solve(t, p, Cool, hide{path: "compressor/overload-trip-ratio", value: 0.7}); st.Trip != CompressorOverloadTrip || st.TripAfter < time.Minute {
		t.Errorf("ratio 0.7: trip %v after %v", st.Trip, st.TripAfter)
	}
	if st := solve(t, p, Cool, hide{path: "compressor/overload-trip-ratio", value: 1.2}); st.Trip != NoTrip {
		t.Errorf("ratio 1.2: trip %v", st.Trip)
	}
}
