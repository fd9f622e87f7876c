package plant

import (
	"errors"
	"fmt"
	"math"

	"rung/internal/airflow"
	"rung/internal/circuit"
	"rung/internal/cycle"
	"rung/internal/quantity"
)

// motors are the three motors of a plant, fitted to its plate, each with the
// load it carries when all is well.
type motors struct {
	compressor, fan, blower             circuit.Motor
	compressorLoad, fanLoad, blowerLoad circuit.Load // at rating; torque and speed
	lockedAmps, ratedAmps               float64      // line current of the compressor on its rated voltage, at rest and at rating
}

// fitMotors scales motors of the typical set so that the compressor delivers
// the shaft power of the calibrated cycle, fan and blower that of their plates,
// and each is balanced with the run capacitor of its plate.
func fitMotors(n *Nameplate, m *cycle.Machine, ducts *airflow.System) (motors, error) {
	var out motors
	rated, err := m.Solve(m.RatingCondition(), cycle.Healthy(), nil)
	if err != nil {
		return out, fmt.Errorf("plant: rating point: %w", err)
	}
	c, err := motorFor(circuit.CompressorMotor, n.NominalCooling, n.RatedVoltage)
	if err != nil {
		return out, fmt.Errorf("plant: compressor motor: %w", err)
	}
	c = c.Scale(c.Nominal*rated.ShaftPower/c.ShaftPower, c.Volts)
	out.compressor, out.compressorLoad = withCapacitor(c, n.HermCapacitance), c.Load()
	f, err := motorFor(circuit.FanMotor, n.FanPower, n.RatedVoltage)
	if err != nil {
		return out, fmt.Errorf("plant: fan motor: %w", err)
	}
	out.fan, out.fanLoad = withCapacitor(f, n.FanCapacitance), f.Load()
	if err := out.compressorFigures(c, n.HermCapacitance); err != nil {
		return out, err
	}
	return out, out.fitBlower(n, ducts)
}

// motorFor returns the motor of the set for a plate. The set has no small
// 230 V blower: a 115 V one is then rewound for the voltage, which scales the
// same way.
func motorFor(use circuit.MotorUse, power quantity.Power, volts quantity.Voltage) (circuit.MotorType, error) {
	t, err := circuit.SelectMotor(use, power, volts)
	var outside *quantity.RangeError
	if errors.As(err, &outside) && use == circuit.BlowerMotor {
		if t, err = circuit.SelectMotor(use, power, 115); err == nil {
			t = t.Scale(power, volts)
		}
	}
	return t, err
}

// withCapacitor rewinds the auxiliary winding of t so that the motor is as
// nearly balanced on the run capacitor c as it was on its own: g times the
// turns, g² times the impedance of the winding.
//
// In balance the auxiliary winding carries its induced voltage, about a times
// the line's and a quarter period from it, so the capacitor has √(1+a²) times
// the line's, and the current it passes, times a, is the share of the field
// that the main winding leaves over: c·a·√(1+a²) is the same for every balanced
// winding. A quadratic in a² then gives the turns.
func withCapacitor(t circuit.MotorType, c quantity.Capacitance) circuit.Motor {
	m := t.Motor
	a2, ratio := float64(m.Turns*m.Turns), float64(t.RunCapacitor/c)
	q := ratio * ratio * a2 * (1 + a2)
	g2 := (math.Sqrt(1+4*q) - 1) / (2 * a2)
	m.AuxOhms *= quantity.Resistance(g2)
	m.AuxX *= quantity.Resistance(g2)
	m.Turns *= quantity.Ratio(math.Sqrt(g2))
	return m
}

// fitBlower takes the blower's load from the duct system at its design point.
func (ms *motors) fitBlower(n *Nameplate, ducts *airflow.System) error {
	if n.Blower != PSCMotor {
		ms.blower = anyMotor // not wired; an ohmmeter never sees it
		return nil
	}
	b, err := motorFor(circuit.BlowerMotor, n.BlowerPower, n.BlowerVoltage)
	if err != nil {
		return fmt.Errorf("plant: blower motor: %w", err)
	}
	ms.blower = withCapacitor(b, n.BlowerCap)
	at := airflow.AsDesigned()
	air, err := ducts.Solve(at)
	if err != nil {
		return fmt.Errorf("plant: design airflow: %w", err)
	}
	// The design speed is that of this motor under the design load.
	load := circuit.FanLoad(air.ShaftPower, b.Motor.Speed(b.Slip, circuit.BaseFrequency))
	net, _, motor, err := testBench(ms.blower, n.BlowerCap, n.BlowerVoltage)
	if err != nil {
		return err
	}
	for range 4 {
		drives := []circuit.Drive{{Motor: motor, Load: load, Rated: n.BlowerVoltage}}
		if err := net.Run(drives); err != nil {
			return fmt.Errorf("plant: blower at design: %w", err)
		}
		load = circuit.FanLoad(air.ShaftPower, ms.blower.Speed(net.Slip(motor), circuit.BaseFrequency))
	}
	ms.blowerLoad = load
	return nil
}

// compressorFigures runs the compressor at rating on a stiff supply.
func (ms *motors) compressorFigures(t circuit.MotorType, c quantity.Capacitance) error {
	net, _, motor, err := testBench(ms.compressor, c, t.Volts)
	if err != nil {
		return err
	}
	if err := net.Solve(); err != nil {
		return fmt.Errorf("plant: compressor at rest: %w", err)
	}
	ms.lockedAmps = float64(circuit.Amps(net.Current(motor)))
	drives := []circuit.Drive{{Motor: motor, Load: ms.compressorLoad, Rated: t.Volts}}
	if err := net.Run(drives); err != nil {
		return fmt.Errorf("plant: compressor at rating: %w", err)
	}
	if drives[0].Motion != circuit.Turning {
		return &ConflictError{Field: "herm-capacitance", Other: "nominal-cooling", Reason: "the compressor would not start on this capacitor"}
	}
	ms.ratedAmps = float64(circuit.Amps(net.Current(motor)))
	return nil
}

// copperLoss returns the loss in the main and the auxiliary winding, W.
func copperLoss(net *circuit.Net, motor circuit.Branch) (main, aux float64) {
	im, ia, _ := net.MotorCurrents(motor)
	m := net.Motor(motor)
	loss := func(i complex128, r quantity.Resistance) float64 {
		a := float64(circuit.Amps(i))
		return a * a * float64(r)
	}
	return loss(im, m.MainOhms), loss(ia, m.AuxOhms)
}

// testBench is a motor with its capacitor on a stiff supply.
func testBench(m circuit.Motor, c quantity.Capacitance, volts quantity.Voltage) (net *circuit.Net, supply, motor circuit.Branch, err error) {
	b := circuit.NewBuilder(circuit.BaseFrequency)
	run, start := b.Node("R"), b.Node("S")
	supply = b.Source("supply", run, circuit.Ground, complex(float64(volts), 0), 1e-3)
	b.Capacitor("capacitor", start, run, c)
	motor = b.Motor("motor", run, circuit.Ground, start, m)
	if net, err = b.Compile(); err != nil {
		return nil, 0, 0, fmt.Errorf("plant: motor bench: %w", err)
	}
	return net, supply, motor, nil
}
