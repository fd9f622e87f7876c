// Package circuit solves alternating-current networks at one frequency, in
// rms phasors: what a voltmeter, a clamp and an ohmmeter read anywhere in a
// wired system.
//
// It has two ways to the same answer.
//
//   - [Case] is a network of any shape given as data, with ideal sources and
//     ideal transformers; it is solved by a dense elimination with pivoting.
//   - [Builder] and [Net] hold a network of fixed shape whose values change:
//     sources with an impedance, resistors, coils, capacitors, switches,
//     transformers and permanent-split-capacitor motors. The order of
//     elimination is worked out once in [Builder.Compile]; a new solution after
//     any change of values then costs a few microseconds and allocates nothing.
//
// An open switch is a resistor of 1 gigohm, so that every node keeps a voltage
// for a meter to read. In a Net each node also leaks to the reference through
// 1e15 ohm, so that a floating part of the network has a solution.
//
// Motors follow the revolving-field theory of the single-phase machine with two
// windings in quadrature at a steady slip ([Motor]); the slip is found by the
// balance of torque with a [Load]. Left out: saturation, harmonics, transients
// such as the first half cycle of a start, and direct current other than the
// test current of an ohmmeter.
//
// Range: any frequency above zero; impedances from 1 microhm to 1 teraohm.
// Against the fourteen published networks of testdata, solved by a general
// circuit simulator, voltages and currents agree within 1e-6 of the largest of
// the case, apart from that simulator's own rounding of microamps (see the head
// of testdata/published/networks.txt).
package circuit
