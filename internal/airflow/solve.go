package airflow

import (
	"fmt"

	"rung/internal/quantity"
)

// System is an air handler with its ducts, made by New.
type System struct {
	d     Design
	total float64 // Pa at design flow, dry coil
	shaft float64 // W at the design point
	loss  float64 // W lost in the motor at the design point
}

// wetCoil is the drop of a wet coil over that of the dry one.
// practice: coil tables show wet drops a quarter to a half above the dry ones.
const wetCoil = 1.3

// New checks a design and returns its system. Every drop but the coil's may be
// zero, their sum may not.
func New(d Design) (*System, error) {
	const op = "airflow.New"
	if d.Blower != PSC && d.Blower != ConstantAirflow {
		return nil, fmt.Errorf("%s: unknown blower kind %d", op, d.Blower)
	}
	if err := quantity.CheckRange(op, "design flow", float64(d.Flow), 0.05, 3, "m³/s"); err != nil {
		return nil, err
	}
	total := 0.0
	for _, p := range []struct {
		name string
		drop quantity.PressureDiff
	}{{"return drop", d.Return}, {"filter drop", d.Filter}, {"coil drop", d.Coil}, {"supply drop", d.Supply}} {
		if err := quantity.CheckRange(op, p.name, float64(p.drop), 0, 500, "Pa"); err != nil {
			return nil, err
		}
		total += float64(p.drop)
	}
	if err := quantity.CheckRange(op, "sum of drops", total, 10, 1000, "Pa"); err != nil {
		return nil, err
	}
	s := &System{d: d, total: total, shaft: total * float64(d.Flow) / wheelEff}
	eff := motorEffPSC
	if d.Blower == ConstantAirflow {
		eff = motorEffECM
	}
	if d.Power != 0 {
		if err := quantity.CheckRange(op, "power", float64(d.Power), 20, 3000, "W"); err != nil {
			return nil, err
		}
		s.shaft = eff * float64(d.Power)
	}
	s.loss = s.shaft * (1/eff - 1)
	return s, nil
}

// Design returns what the system was built for.
func (s *System) Design() Design { return s.d }

// Solve returns what flows at the setting. A stopped blower moves nothing.
func (s *System) Solve(at Setting) (State, error) {
	if err := at.check(); err != nil {
		return State{}, err
	}
	ret, fil, coil, sup := s.drops(at)
	r := (ret + fil + coil + sup) / s.total
	w, rho := float64(at.Wheel), float64(at.Density/StandardDensity)
	speed, limited, err := s.speed(at, r, w, rho)
	if err != nil {
		return State{}, fmt.Errorf("airflow: %w", err)
	}
	q := flowAt(r, speed, w)
	k := rho * q * q
	out := State{
		Flow:           quantity.VolumeFlow(q * float64(s.d.Flow)),
		ReturnStatic:   quantity.PressureDiff(-k * (ret + fil)),
		SupplyStatic:   quantity.PressureDiff(k * sup),
		FilterDrop:     quantity.PressureDiff(k * fil),
		CoilDrop:       quantity.PressureDiff(k * coil),
		BlowerPressure: quantity.PressureDiff(rho * s.total * pressure(q, speed, w)),
		Speed:          quantity.Ratio(speed),
		ShaftPower:     quantity.Power(rho * s.shaft * shaft(q, speed)),
		AtLimit:        limited,
	}
	if s.d.CoilOutside {
		out.SupplyStatic += out.CoilDrop
	}
	out.ExternalStatic = out.SupplyStatic - out.ReturnStatic
	if speed > 0 {
		out.Power = out.ShaftPower + quantity.Power(s.loss)
	}
	return out, nil
}

// drops returns the resistances of the setting as drops at design flow, Pa.
func (s *System) drops(at Setting) (ret, filter, coil, supply float64) {
	coil = float64(s.d.Coil) * float64(at.CoilFactor)
	if at.WetCoil {
		coil *= wetCoil
	}
	return float64(s.d.Return) * float64(at.ReturnFactor), float64(s.d.Filter) * float64(at.FilterFactor),
		coil, float64(s.d.Supply) * float64(at.SupplyFactor)
}

// speed returns the wheel speed over design and whether a constant-airflow
// blower is at its limit.
func (s *System) speed(at Setting, r, w, rho float64) (float64, bool, error) {
	if s.d.Blower == PSC || at.Speed == 0 {
		return float64(at.Tap) * float64(at.Speed), false, nil
	}
	// The module holds the flow, so a motor slowed from outside makes itself
	// faster again; Speed below 1 lowers only what it can reach.
	want := speedFor(float64(at.Tap), r, w)
	limit, err := limitSpeed(r, w, rho)
	if err != nil {
		return 0, false, err
	}
	limit *= float64(at.Speed)
	if want > limit {
		return limit, true, nil
	}
	return want, false, nil
}

// check refuses what the model does not cover.
func (at Setting) check() error {
	for _, v := range []struct {
		name     string
		x        float64
		min, max float64
		unit     string
	}{
		{"tap", float64(at.Tap), 0.3, 1.5, "of design"},
		{"speed", float64(at.Speed), 0, 1.2, "of nominal"},
		{"wheel", float64(at.Wheel), 0.2, 1.2, "of clean"},
		{"return factor", float64(at.ReturnFactor), 0, 1e4, "of design"},
		{"filter factor", float64(at.FilterFactor), 0, 1e4, "of design"},
		{"coil factor", float64(at.CoilFactor), 0, 1e4, "of design"},
		{"supply factor", float64(at.SupplyFactor), 0, 1e4, "of design"},
		{"density", float64(at.Density), 0.7, 1.4, "kg/m³"},
	} {
		if err := quantity.CheckRange("airflow.Solve", v.name, v.x, v.min, v.max, v.unit); err != nil {
			return err
		}
	}
	return nil
}

// Closed returns the resistance factor of a duct system of which the given
// share of the open area has been closed: registers shut, a branch collapsed.
// With the air speed in what is left rising in proportion, the drop at the
// same flow goes with the inverse square of the open share.
//
// It is meant for shares up to 0.99; outside 0 to 0.99 it is a RangeError.
func Closed(share quantity.Ratio) (quantity.Ratio, error) {
	if err := quantity.CheckRange("airflow.Closed", "share", float64(share), 0, 0.99, "of open area"); err != nil {
		return 0, err
	}
	open := 1 - share
	return 1 / (open * open), nil
}
