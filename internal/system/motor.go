package system

import (
	"fmt"
	"math"

	"rung/internal/circuit"
	"rung/internal/quantity"
	"rung/internal/relay"
)

// easedMotor is a motor that has its full load only under a condition.
type easedMotor struct {
	drive       int
	full, light circuit.Load
	when        []condition
}

// motorType returns the motor of a device: of the set, scaled to its watts and
// volts, with the winding resistances that it may be given.
func motorType(v *Device) (circuit.MotorType, error) {
	volts, err1 := number(v.Values, "volts", math.NaN())
	watts, err2 := number(v.Values, "watts", math.NaN())
	if err1 != nil || err2 != nil {
		return circuit.MotorType{}, fmt.Errorf("volts or watts is no number")
	}
	t, err := circuit.SelectMotor(circuit.MotorUse(v.Values["use"]), quantity.Power(watts), quantity.Voltage(volts))
	if err != nil {
		return t, err
	}
	run, err1 := number(v.Values, "run-ohms", float64(t.Motor.MainOhms))
	start, err2 := number(v.Values, "start-ohms", float64(t.Motor.AuxOhms))
	if err1 != nil || err2 != nil || !(run > 0 && start > 0) {
		return t, fmt.Errorf("the ohms of a winding are no number above zero")
	}
	t.Motor.MainOhms, t.Motor.AuxOhms = quantity.Resistance(run), quantity.Resistance(start)
	if quantity.Resistance(run) >= circuit.Open {
		t.Motor.CoreOhms = 0 // no field of its own, no core loss at its terminals
	}
	return t, nil
}

// drive adds a motor with its load.
func (s *System) drive(v *Device) error {
	t, err := motorType(v)
	if err != nil {
		return err
	}
	load := t.Load()
	torque, known := s.known[v.Values["torque"]]
	var err1 error
	if !known {
		torque, err1 = number(v.Values, "torque", 1)
	}
	starting, err2 := number(v.Values, "starting", float64(load.Starting))
	if err1 != nil || err2 != nil {
		return fmt.Errorf("torque or starting is no number")
	}
	load.Torque *= quantity.Torque(torque)
	load.Starting = quantity.Ratio(starting)
	w := &s.wiring
	s.moving[v.ID] = relay.Device{Kind: relay.DriveKind, Index: len(w.Drives)}
	w.Drives = append(w.Drives, relay.Drive{ID: v.ID, Motor: relay.Place{Branch: s.branch[v.ID]}, Load: load, Rated: t.Volts})
	return s.ease(v, load)
}

// ease adds the rule of a motor that has its full load only under a condition.
func (s *System) ease(v *Device, full circuit.Load) error {
	when, ok := v.Values["full"]
	if !ok {
		return nil
	}
	share, err := number(v.Values, "eased", math.NaN())
	if err != nil || !(share > 0) {
		return fmt.Errorf("a motor that is not always full wants eased above zero")
	}
	e := easedMotor{drive: s.moving[v.ID].Index, full: full, light: full}
	e.light.Torque *= quantity.Torque(share)
	e.when, err = s.watch(when)
	s.eased = append(s.eased, e)
	return err
}
