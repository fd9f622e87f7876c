package circuit

import (
	"math"

	"rung/internal/quantity"
)

// BaseFrequency is the frequency at which all reactances of this package are
// stated; at another frequency they scale in proportion.
const BaseFrequency = quantity.Frequency(60) // Hz; convention of nameplates in North America

// Motor is a single-phase induction motor with a main (run) and an auxiliary
// (start) winding in quadrature, by the revolving-field equivalent circuit.
//
//	symbol  field          meaning, all referred to the main winding
//	R1m     MainOhms       winding resistance C to R at 25 °C
//	R1a     AuxOhms        winding resistance C to S at 25 °C, not referred
//	X1m     MainX          leakage reactance of the main winding
//	X1a     AuxX           leakage reactance of the auxiliary winding, not referred
//	R2, X2  RotorR, RotorX rotor resistance and leakage reactance
//	Xm      MagnetisingX   magnetising reactance
//	a       Turns          effective turns, auxiliary to main
//	Rc      CoreOhms       core loss as a resistor from R to C; 0 means none
type Motor struct {
	Poles        int
	MainOhms     quantity.Resistance
	AuxOhms      quantity.Resistance
	MainX        quantity.Resistance
	AuxX         quantity.Resistance
	RotorR       quantity.Resistance
	RotorX       quantity.Resistance
	MagnetisingX quantity.Resistance
	Turns        quantity.Ratio
	CoreOhms     quantity.Resistance
	// Warmth is the resistance of the running windings over that at 25 °C.
	// An ohmmeter on the motor at rest reads without it. Zero means 1.
	Warmth quantity.Ratio
}

// WindingImpedance is the matrix that gives the winding voltages of a motor
// from its winding currents, in ohm:
//
//	V(R)−V(C) = MainMain·Imain + MainAux·Iaux
//	V(S)−V(C) = AuxMain·Imain + AuxAux·Iaux
type WindingImpedance struct {
	MainMain, MainAux, AuxMain, AuxAux complex128
}

// Impedance returns the winding matrix of m at a slip and frequency.
//
// slip is 1 at rest, 0 at synchronous speed, up to 2 against the field. The
// core loss is not in it.
//
// memory: Fitzgerald, Kingsley, Umans, Electric Machinery, chapter on
// single-phase motors, double-revolving-field theory; the book not read here.
func (m *Motor) Impedance(slip float64, f quantity.Frequency) WindingImpedance {
	zf, zb := m.fields(slip, f)
	return m.windings(zf, zb, f)
}

// windings returns the winding matrix for the impedances of the two fields.
func (m *Motor) windings(zf, zb complex128, f quantity.Frequency) WindingImpedance {
	h := float64(f / BaseFrequency)
	a := float64(m.Turns)
	r1m, r1a := m.running()
	coupling := complex(0, a) * (zf - zb)
	return WindingImpedance{
		MainMain: complex(r1m, h*float64(m.MainX)) + zf + zb,
		MainAux:  -coupling,
		AuxMain:  coupling,
		AuxAux:   complex(r1a, h*float64(m.AuxX)) + complex(a*a, 0)*(zf+zb),
	}
}

// running returns the winding resistances at running temperature.
func (m *Motor) running() (main, aux float64) {
	warmth := float64(m.Warmth)
	if warmth == 0 {
		warmth = 1
	}
	return warmth * float64(m.MainOhms), warmth * float64(m.AuxOhms)
}

// fields returns the impedances Zf and Zb of the forward and the backward
// revolving field, half of jXm parallel to the rotor branch.
func (m *Motor) fields(slip float64, f quantity.Frequency) (zf, zb complex128) {
	h := float64(f / BaseFrequency)
	r2, x2, xm := float64(m.RotorR), h*float64(m.RotorX), h*float64(m.MagnetisingX)
	half := func(s float64) complex128 { // multiplied through by s, so that s = 0 is allowed
		return complex(0, xm/2) * quotient(complex(r2, s*x2), complex(r2, s*(x2+xm)))
	}
	return half(slip), half(2 - slip)
}

// Torque returns the air-gap torque of m from its winding currents (A rms).
// Rotational losses are part of the load.
//
// memory: as Impedance; the published check is in testdata.
func (m *Motor) Torque(slip float64, f quantity.Frequency, main, aux complex128) quantity.Torque {
	zf, zb := m.fields(slip, f)
	return m.torque(zf, zb, f, main, aux)
}

// torque is Torque for the impedances of the two fields.
func (m *Motor) torque(zf, zb complex128, f quantity.Frequency, main, aux complex128) quantity.Torque {
	a := float64(m.Turns)
	cross := real(main)*imag(aux) - imag(main)*real(aux) // Im(conj(Imain)·Iaux)
	power := (abs2(main)+a*a*abs2(aux))*real(zf-zb) + 2*a*real(zf+zb)*cross
	return quantity.Torque(power / float64(m.SynchronousSpeed(f)))
}

// SynchronousSpeed returns the speed of the revolving field.
func (m *Motor) SynchronousSpeed(f quantity.Frequency) quantity.AngularSpeed {
	return quantity.AngularSpeed(4 * math.Pi * float64(f) / float64(m.Poles))
}

// Speed returns the shaft speed at a slip.
func (m *Motor) Speed(slip float64, f quantity.Frequency) quantity.AngularSpeed {
	return quantity.AngularSpeed(1-slip) * m.SynchronousSpeed(f)
}

// Slip returns the slip at a shaft speed.
func (m *Motor) Slip(speed quantity.AngularSpeed, f quantity.Frequency) float64 {
	return 1 - float64(speed/m.SynchronousSpeed(f))
}

// CoupledCoils is the same motor described by the inductances of its windings
// and of the equivalent rotor windings, as textbooks also do.
type CoupledCoils struct {
	Poles                         int
	MainOhms, AuxOhms             quantity.Resistance
	RotorOhms                     quantity.Resistance // of the equivalent rotor winding
	MainHenry, AuxHenry           float64             // H, self-inductance
	RotorHenry                    float64             // H
	MainRotorHenry, AuxRotorHenry float64             // H, greatest mutual inductance
	CoreOhms                      quantity.Resistance // core loss as a resistor R to C; 0 means none
}

// Motor returns the revolving-field form of c. The split of leakage between
// stator and rotor is arbitrary and changes nothing at the terminals; here the
// main winding and the rotor get equal shares.
func (c CoupledCoils) Motor() Motor {
	w := 2 * math.Pi * float64(BaseFrequency) // rad/s
	k := math.Sqrt(c.MainHenry / c.RotorHenry)
	a := c.AuxRotorHenry / c.MainRotorHenry
	xm := w * c.MainRotorHenry * k
	return Motor{
		Poles:        c.Poles,
		MainOhms:     c.MainOhms,
		AuxOhms:      c.AuxOhms,
		MainX:        quantity.Resistance(w*c.MainHenry - xm),
		AuxX:         quantity.Resistance(w*c.AuxHenry - a*a*xm),
		RotorR:       c.RotorOhms * quantity.Resistance(k*k),
		RotorX:       quantity.Resistance(w*c.RotorHenry*k*k - xm),
		MagnetisingX: quantity.Resistance(xm),
		Turns:        quantity.Ratio(a),
		CoreOhms:     c.CoreOhms,
	}
}

func abs2(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// quotient returns a/b without the checks for infinities that the language
// makes; b must not be zero or beyond about 1e150.
func quotient(a, b complex128) complex128 { return a * reciprocal(b) }

func reciprocal(b complex128) complex128 {
	d := 1 / abs2(b)
	return complex(real(b)*d, -imag(b)*d)
}
