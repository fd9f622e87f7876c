package circuit

import (
	"bufio"
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"rung/internal/quantity"
)

// MotorUse is what a motor drives.
type MotorUse string

// The uses in the motor set.
const (
	CompressorMotor MotorUse = "compressor"
	FanMotor        MotorUse = "fan"    // outdoor fan
	BlowerMotor     MotorUse = "blower" // indoor blower
)

// MotorType is a motor with what its nameplate and its load say.
type MotorType struct {
	Name    string
	Use     MotorUse
	Nominal quantity.Power // of cooling for a compressor, of the shaft otherwise
	Volts   quantity.Voltage
	Motor   Motor
	// At its rated load:
	Slip         float64
	RunCapacitor quantity.Capacitance
	ShaftPower   quantity.Power
	Expected     MotorFigures
}

// MotorFigures are currents and voltages of a motor on its rated voltage.
type MotorFigures struct {
	Line, Main, Aux quantity.Current // at load
	CapacitorVolts  quantity.Voltage // across the run capacitor, at load
	StartVolts      quantity.Voltage // S to C, at load
	LockedRotor     quantity.Current
	LockedTorque    quantity.Ratio // over the torque at load
}

// Load returns the rated load of t.
func (t MotorType) Load() Load {
	speed := t.Motor.Speed(t.Slip, BaseFrequency)
	if t.Use == CompressorMotor {
		return CompressorLoad(t.ShaftPower, speed)
	}
	return FanLoad(t.ShaftPower, speed)
}

//go:embed data/motors.txt
var motorData string

// warmth is running over 25 °C winding resistance of the motor set.
const warmth = 1.2 // practice: head of data/motors.txt

var motorSet = sync.OnceValues(func() ([]MotorType, error) { return parseMotors(motorData) })

// MotorSet returns the motors of data/motors.txt.
func MotorSet() []MotorType {
	list, err := motorSet()
	if err != nil {
		panic("circuit: " + err.Error()) // the file is part of the program and tested
	}
	return append([]MotorType(nil), list...)
}

// SelectMotor returns the motor of the set that is nearest to a nameplate,
// scaled to its nominal power and voltage: impedances go with the square of the
// voltage over the power, currents with the power over the voltage.
//
// nominal is the cooling of the unit for a compressor, the shaft power
// otherwise. Outside 0.7 to 1.4 of the nearest nominal power, or 0.8 to 1.25 of
// its voltage, the error is a *quantity.RangeError.
func SelectMotor(use MotorUse, nominal quantity.Power, volts quantity.Voltage) (MotorType, error) {
	const op = "circuit.SelectMotor"
	var best MotorType
	distance := math.Inf(1)
	for _, t := range MotorSet() {
		if t.Use != use {
			continue
		}
		d := math.Abs(math.Log(float64(nominal/t.Nominal))) + 10*math.Abs(math.Log(float64(volts/t.Volts))) // the voltage first
		if d < distance {
			best, distance = t, d
		}
	}
	if math.IsInf(distance, 1) {
		return MotorType{}, fmt.Errorf("%s: no %q motor near %g W and %g V", op, use, float64(nominal), float64(volts))
	}
	v, p := float64(best.Volts), float64(best.Nominal)
	if err := quantity.CheckRange(op, "voltage", float64(volts), 0.8*v, 1.25*v, "V"); err != nil {
		return MotorType{}, err
	}
	if err := quantity.CheckRange(op, "nominal power", float64(nominal), 0.7*p, 1.4*p, "W"); err != nil {
		return MotorType{}, err
	}
	return best.Scale(nominal, volts), nil
}

// Scale returns t for another nominal power and voltage.
func (t MotorType) Scale(nominal quantity.Power, volts quantity.Voltage) MotorType {
	kp, kv := float64(nominal/t.Nominal), float64(volts/t.Volts)
	t.Motor = t.Motor.Scale(quantity.Ratio(kv * kv / kp))
	t.RunCapacitor *= quantity.Capacitance(kp / (kv * kv))
	t.ShaftPower *= quantity.Power(kp)
	t.Nominal, t.Volts = nominal, volts
	amps, v := quantity.Current(kp/kv), quantity.Voltage(kv)
	e := &t.Expected
	e.Line, e.Main, e.Aux, e.LockedRotor = e.Line*amps, e.Main*amps, e.Aux*amps, e.LockedRotor*amps
	e.CapacitorVolts, e.StartVolts = e.CapacitorVolts*v, e.StartVolts*v
	return t
}

// Scale returns m with all impedances k times as large.
func (m Motor) Scale(k quantity.Ratio) Motor {
	r := quantity.Resistance(k)
	m.MainOhms, m.AuxOhms = m.MainOhms*r, m.AuxOhms*r
	m.MainX, m.AuxX = m.MainX*r, m.AuxX*r
	m.RotorR, m.RotorX = m.RotorR*r, m.RotorX*r
	m.MagnetisingX, m.CoreOhms = m.MagnetisingX*r, m.CoreOhms*r
	return m
}

func parseMotors(text string) ([]MotorType, error) {
	var list []MotorType
	lines := bufio.NewScanner(strings.NewReader(text))
	for number := 1; lines.Scan(); number++ {
		f := strings.Fields(lines.Text())
		if len(f) == 0 || strings.HasPrefix(f[0], "#") {
			continue
		}
		t, err := parseMotor(f)
		if err != nil {
			return nil, fmt.Errorf("motors.txt:%d: %w", number, err)
		}
		list = append(list, t)
	}
	return list, lines.Err()
}

func parseMotor(f []string) (MotorType, error) {
	const columns = 23
	if len(f) != columns {
		return MotorType{}, fmt.Errorf("%d columns, want %d", len(f), columns)
	}
	v := make([]float64, columns)
	for i := 2; i < columns; i++ {
		x, err := strconv.ParseFloat(f[i], 64)
		if err != nil || !(x > 0) {
			return MotorType{}, fmt.Errorf("column %d: %q is not a positive number", i+1, f[i])
		}
		v[i] = x
	}
	ohm := func(i int) quantity.Resistance { return quantity.Resistance(v[i]) }
	amp := func(i int) quantity.Current { return quantity.Current(v[i]) }
	return MotorType{
		Name: f[0], Use: MotorUse(f[1]), Nominal: quantity.Power(v[3]), Volts: quantity.Voltage(v[4]),
		Motor: Motor{
			Poles: int(v[2]), MainOhms: ohm(5), AuxOhms: ohm(6), MainX: ohm(7), RotorX: ohm(7), RotorR: ohm(8),
			MagnetisingX: ohm(9), Turns: quantity.Ratio(v[10]), AuxX: ohm(11), CoreOhms: ohm(13), Warmth: warmth,
		},
		Slip: v[12], RunCapacitor: quantity.Capacitance(v[14] * 1e-6), ShaftPower: quantity.Power(v[15]),
		Expected: MotorFigures{
			Line: amp(16), Main: amp(17), Aux: amp(18),
			CapacitorVolts: quantity.Voltage(v[19]), StartVolts: quantity.Voltage(v[20]),
			LockedRotor: amp(21), LockedTorque: quantity.Ratio(v[22]),
		},
	}, nil
}
