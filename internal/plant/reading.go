package plant

import (
	"fmt"
	"math"

	"rung/internal/circuit"
	"rung/internal/quantity"
)

// net returns the network of one side in a phase.
func (st *State) net(ph PhaseID, side side) *circuit.Net {
	if ph == Settled && !st.solver.moved {
		ph = Running
	}
	return st.solver.nets[ph][side]
}

// Volts returns what a voltmeter of the given input resistance reads between
// two nodes in a phase; circuit.HighImpedance is the usual meter. A node that
// the plant does not have is an error.
func (st *State) Volts(ph PhaseID, a, b Node, meter quantity.Resistance) (quantity.Voltage, error) {
	from, ok := st.solver.p.frame.spot[a]
	if !ok {
		return 0, fmt.Errorf("plant: no node %q", a)
	}
	to, ok := st.solver.p.frame.spot[b]
	if !ok {
		return 0, fmt.Errorf("plant: no node %q", b)
	}
	if a == Ground {
		from.side = to.side
	}
	if b == Ground {
		to.side = from.side
	}
	if from.side == to.side {
		return st.net(ph, from.side).Meter(from.node, to.node, meter), nil
	}
	va, za := st.net(ph, from.side).Thevenin(from.node, circuit.Ground)
	vb, zb := st.net(ph, to.side).Thevenin(to.node, circuit.Ground)
	r := complex(float64(meter), 0)
	return circuit.Volts((va - vb) * r / (r + za + zb)), nil
}

// Phasor returns the voltage of a node to the cabinet in a phase, with nothing
// loading it; zero for a node that the plant does not have.
func (st *State) Phasor(ph PhaseID, a Node) complex128 {
	at, ok := st.solver.p.frame.spot[a]
	if !ok || a == Ground {
		return 0
	}
	return st.net(ph, at.side).At(at.node)
}

// Amps returns what a clamp reads around the lead of a device in a phase: the
// common lead of a motor, the secondary of the transformer. ok is false for a
// device that the plant does not have.
func (st *State) Amps(ph PhaseID, device string) (amps quantity.Current, ok bool) {
	at, ok := st.solver.p.frame.place[device]
	if !ok {
		return 0, false
	}
	return circuit.Amps(st.net(ph, at.side).Current(at.branch)), true
}

// Closed says whether a device conducts in a phase: a contact, switch, fuse,
// overload or thermostat that is closed and not burnt off, or any other device
// with less than a megohm. ok is false for a device that the plant does not
// have.
func (st *State) Closed(ph PhaseID, device string) (closed, ok bool) {
	at, ok := st.solver.p.frame.place[device]
	if !ok {
		return false, false
	}
	const conducts = 1e6 // ohm
	if p, bound := resistanceOf[device]; bound && st.Params.v[p] >= conducts {
		return false, true
	}
	n := st.net(ph, at.side)
	if n.Is(at.branch, circuit.SwitchBranch) {
		return n.Closed(at.branch), true
	}
	return true, true
}

// OhmPoint is a part on which an ohmmeter is put, isolated, with the leads that
// could carry another path lifted.
type OhmPoint string

// The parts that can be measured dead.
const (
	OhmCoil          OhmPoint = "contactor-coil"
	OhmCompressorCR  OhmPoint = "compressor-c-r"
	OhmCompressorCS  OhmPoint = "compressor-c-s"
	OhmCompressorRS  OhmPoint = "compressor-r-s"
	OhmCompressorGnd OhmPoint = "compressor-ground"
	OhmFanCR         OhmPoint = "fan-c-r"
	OhmFanCS         OhmPoint = "fan-c-s"
	OhmFanRS         OhmPoint = "fan-r-s"
	OhmFanGnd        OhmPoint = "fan-ground"
	OhmBlowerCR      OhmPoint = "blower-c-r"
	OhmPrimary       OhmPoint = "transformer-primary"
	OhmSecondary     OhmPoint = "transformer-secondary"
	OhmControlFuse   OhmPoint = "control-fuse"
	OhmFuse1         OhmPoint = "fuse-1"
	OhmFuse2         OhmPoint = "fuse-2"
	OhmHeater        OhmPoint = "crankcase-heater"
	OhmCapCase       OhmPoint = "capacitor-case"
	OhmBranchGround  OhmPoint = "branch-ground" // leg 1 to ground, contactor open, unit end lifted
	OhmCableYC       OhmPoint = "outdoor-cable-y-c"
	OhmStatRC        OhmPoint = "thermostat-cable-r-c"
	OhmStatYC        OhmPoint = "thermostat-cable-y-c"
	OhmStatGC        OhmPoint = "thermostat-cable-g-c"
	OhmDoor          OhmPoint = "door-switch"
	OhmFloat         OhmPoint = "float-switch"
	OhmHighSwitch    OhmPoint = "high-pressure-switch"
	OhmLowSwitch     OhmPoint = "low-pressure-switch"
)

// Ohms returns the resistance of an isolated part as it stands once things
// have settled; Open or more means no path. ok is false for an unknown part.
//
// An overload that has opened leaves C-R and C-S open until it has cooled.
// Windings read at 25 °C.
func (st *State) Ohms(part OhmPoint) (r quantity.Resistance, ok bool) {
	v := &st.Params.v
	run, start := v[pRunOhms]*v[pRunTurns], v[pStartOhms]*v[pStartTurns]
	fanMain, fanAux := v[pFanMainOhms]*v[pFanTurns], v[pFanAuxOhms]
	overload := gap(!st.overloadOpen())
	protector := gap(st.Params.sound(pFanProtector))
	x := 0.0
	switch part {
	case OhmCoil:
		x = v[pCoilOhms]
	case OhmCompressorCR:
		x = run + overload + v[pCommonTermOhms] + v[pRunTermOhms]
	case OhmCompressorCS:
		x = start + overload + v[pCommonTermOhms] + v[pStartTermOhms]
	case OhmCompressorRS:
		x = run + start + v[pRunTermOhms] + v[pStartTermOhms]
	case OhmCompressorGnd:
		x = v[pCompGround]
	case OhmFanCR:
		x = fanMain + protector
	case OhmFanCS:
		x = fanAux + protector
	case OhmFanRS:
		x = fanMain + fanAux
	case OhmFanGnd:
		x = v[pFanGround]
	case OhmBlowerCR:
		x = v[pBlowerMainOhms] + gap(st.Params.sound(pBlowerProtector))
	case OhmPrimary:
		x = v[pPrimaryOhms]
	case OhmSecondary:
		x = v[pSecondaryOhms]
	case OhmControlFuse:
		x = v[pControlFuseOhms] + gap(!st.FuseBlown)
	case OhmFuse1:
		x = sectionOhms + gap(!st.lineFuseBlown(seatFuse1))
	case OhmFuse2:
		x = sectionOhms + gap(!st.lineFuseBlown(seatFuse2))
	default:
		p, simple := simpleOhms[part]
		if !simple {
			return 0, false
		}
		x = v[p]
		if part == OhmFloat {
			x += gap(!st.Looks.PanFull)
		}
	}
	return quantity.Resistance(math.Min(x, float64(Open))), true
}

const sectionOhms = 0.003 // ohm; practice: a 30 A cartridge fuse

var simpleOhms = map[OhmPoint]Param{
	OhmHeater:       MustParam("crankcase-heater/resistance"),
	OhmCapCase:      MustParam("run-capacitor/case-resistance"),
	OhmBranchGround: MustParam("line-conductors/ground-fault-resistance"),
	OhmCableYC:      MustParam("outdoor-cable/y-c-resistance"),
	OhmStatRC:       MustParam("thermostat-cable/r-c-resistance"),
	OhmStatYC:       MustParam("thermostat-cable/y-c-resistance"),
	OhmStatGC:       MustParam("thermostat-cable/g-c-resistance"),
	OhmDoor:         MustParam("door-switch/contact-resistance"),
	OhmFloat:        MustParam("float-switch/contact-resistance"),
	OhmHighSwitch:   MustParam("high-pressure-switch/contact-resistance"),
	OhmLowSwitch:    MustParam("low-pressure-switch/contact-resistance"),
}

// gap is the resistance of a contact that is closed or not.
func gap(closed bool) float64 {
	if closed {
		return 0
	}
	return float64(Open)
}

// overloadOpen says whether the compressor's internal overload is open at the
// end.
func (st *State) overloadOpen() bool {
	return !st.Params.sound(pOverload) || st.Trip == CompressorOverloadTrip
}

func (st *State) lineFuseBlown(seat int) bool {
	if !st.solver.p.Has(FusedDisconnect) {
		return false
	}
	return st.solver.seq.Blown(seat)
}

// BenchCapacitance returns what a capacitance meter reads on the two sections
// of the run capacitor, out of circuit; a shorted section reads nothing.
func (st *State) BenchCapacitance() (herm, fan quantity.Capacitance) {
	v := &st.Params.v
	const shorted = 1e5 // ohm; practice: a meter gives no capacitance below about that
	if v[pHermShort] > shorted {
		herm = quantity.Capacitance(v[pHerm])
	}
	if v[pFanShort] > shorted {
		fan = quantity.Capacitance(v[pFanCap])
	}
	return herm, fan
}
