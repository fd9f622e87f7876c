package plant

import (
	"errors"
	"math"
	"testing"

	"rung/internal/cycle"
	"rung/internal/quantity"
)

func TestCompleteSaysWhatItTook(t *testing.T) {
	n, taken := Nameplate{}.Complete()
	if err := n.Check(); err != nil {
		t.Fatalf("a plate filled in from nothing is refused: %v", err)
	}
	seen := map[string]bool{}
	for _, a := range taken {
		if seen[a.Field] || a.Source.Ref == "" || a.Value == 0 && a.Choice == "" {
			t.Errorf("assumption %+v: twice, without source or without value", a)
		}
		seen[a.Field] = true
	}
	if again, more := n.Complete(); again != n || len(more) != 0 {
		t.Errorf("completing a complete plate took %v", more)
	}
	known := Nameplate{Refrigerant: "R-22", NominalCooling: 7034, RatedLoadAmps: 12}
	got, taken := known.Complete()
	if got.Metering != cycle.FixedOrifice || got.Compressor != Reciprocating || got.RatedLoadAmps != 12 {
		t.Errorf("R-22: metering %v, compressor %v, RLA %v", got.Metering, got.Compressor, got.RatedLoadAmps)
	}
	for _, a := range taken {
		if a.Field == "refrigerant" || a.Field == "nominal-cooling" || a.Field == "rated-load-amps" {
			t.Errorf("took %s although it was known", a.Field)
		}
	}
}

func TestEverySizeBuilds(t *testing.T) {
	for _, s := range sizes {
		for _, refrigerant := range []string{"R-410A", "R-22"} {
			for _, metering := range []cycle.MeteringDevice{cycle.TXV, cycle.FixedOrifice} {
				for _, indoor := range []IndoorUnit{AirHandler, Furnace} {
					for _, blower := range []BlowerMotor{PSCMotor, ConstantAirflowMotor} {
						n := Nameplate{NominalCooling: quantity.Power(s.capacity), Refrigerant: refrigerant, Metering: metering, Indoor: indoor, Blower: blower}
						p, err := Build(n)
						if err != nil {
							t.Errorf("%.0f W, %s, metering %v, indoor %v, blower %v: %v", s.capacity, refrigerant, metering, indoor, blower, err)
							continue
						}
						if st := solve(t, p, Cool); st.Trip != NoTrip || !st.Pumping() || st.Blower != MotorRuns {
							t.Errorf("%.0f W, %s, metering %v, indoor %v, blower %v: trip %v, outcome %v, blower %v", s.capacity, refrigerant, metering, indoor, blower, st.Trip, st.Cycle.Outcome, st.Blower)
						}
					}
				}
			}
		}
	}
}

// Plates of one size list different capacitors, each right for its own motor:
// line amps and torque hardly depend on which.
func TestPlateCapacitorIsTheBalancedOne(t *testing.T) {
	a := solve(t, mustBuild(t, usual()), Cool)
	line := amps(t, a, Running, "compressor/common-terminal")
	for _, farad := range []float64{35e-6, 40e-6, 50e-6, 55e-6} {
		n := usual()
		n.HermCapacitance = quantity.Capacitance(farad)
		b := solve(t, mustBuild(t, n), Cool)
		// The balance is kept to first order only; 4 % is less than the spread of plates of one size.
		near(t, "line amps", amps(t, b, Running, "compressor/common-terminal"), line, 0.04*line)
		if b.Compressor != MotorRuns {
			t.Errorf("%g F: compressor %v", farad, b.Compressor)
		}
	}
}

func TestBuildRefusesNonsense(t *testing.T) {
	var outside *quantity.RangeError
	var choice *ChoiceError
	var conflict *ConflictError
	for _, row := range []struct {
		name string
		n    Nameplate
		kind any
	}{
		{"30 ton", Nameplate{NominalCooling: 105000}, &outside},
		{"negative capacitor", Nameplate{HermCapacitance: -45e-6}, &outside},
		{"farads for microfarads", Nameplate{HermCapacitance: 45}, &outside},
		{"480 V", Nameplate{RatedVoltage: 480}, &outside},
		{"NaN cooling", Nameplate{NominalCooling: quantity.Power(math.NaN())}, &outside},
		{"SEER in Btu per watt-hour", Nameplate{SEER: 14}, &outside},
		{"unknown refrigerant", Nameplate{Refrigerant: "R-11"}, &choice},
		{"wire of no size", Nameplate{ConductorAWG: 9}, &choice},
		{"277 V tap", Nameplate{Transformer: 277}, &choice},
		{"locked rotor below load", Nameplate{RatedLoadAmps: 30, NominalCooling: 14067, LockedRotorAmps: 35}, &conflict},
		{"5 ton on 8 A", Nameplate{NominalCooling: 17584, RatedLoadAmps: 8}, &conflict},
		{"120 V tap on a 230 V air handler", Nameplate{Transformer: 120, BlowerVoltage: 230}, &conflict},
		{"breaker below load", Nameplate{RatedLoadAmps: 16, MaxProtection: 15}, &conflict},
	} {
		_, err := Build(row.n)
		if err == nil || !errors.As(err, row.kind) {
			t.Errorf("%s: error %v, want a %T", row.name, err, row.kind)
		}
	}
}

func TestSolveRefusesSurroundingsThatNoHouseHas(t *testing.T) {
	p := mustBuild(t, usual())
	ps := p.Healthy()
	for _, change := range []func(*Surroundings){
		func(s *Surroundings) { s.Outdoor = 240 },
		func(s *Surroundings) { s.Outdoor = quantity.Temperature(math.NaN()) },
		func(s *Surroundings) { s.ReturnWetBulb = s.ReturnDryBulb + 1 },
		func(s *Surroundings) { s.Line = 120 },
		func(s *Surroundings) { s.Elevation = 9000 },
	} {
		at := ratingDay
		change(&at)
		var outside *quantity.RangeError
		if _, err := p.Solve(&ps, at, Cool); !errors.As(err, &outside) {
			t.Errorf("Solve at %+v: error %v, want a RangeError", at, err)
		}
	}
	if _, err := p.Solve(&ps, ratingDay, numDemands); err == nil {
		t.Error("Solve of an unknown demand: no error")
	}
}

func TestDemandWords(t *testing.T) {
	for d := Off; d < numDemands; d++ {
		if got, err := ParseDemand(d.String()); err != nil || got != d {
			t.Errorf("ParseDemand(%q) = %v, %v", d.String(), got, err)
		}
	}
	var choice *ChoiceError
	if _, err := ParseDemand("warm"); !errors.As(err, &choice) {
		t.Errorf(`ParseDemand("warm"): error %v, want a ChoiceError`, err)
	}
}
