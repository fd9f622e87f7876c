package plant

import (
	"rung/internal/circuit"
	"rung/internal/quantity"
)

// setValues puts the parameters into the networks on which the sequence works,
// every switch that the sequence does not move as it stands.
func (s *Solver) setValues() {
	for side := range s.nets[Settled] {
		n := s.nets[Settled][side]
		for _, b := range s.p.frame.bound {
			if int(b.place.side) == side {
				n.SetResistance(b.place.branch, quantity.Resistance(s.ps.v[b.param]))
			}
		}
	}
	s.setSources()
	s.setOutdoor(s.nets[Settled][outdoorSide])
	s.setIndoor(s.nets[Settled][indoorSide])
}

func (s *Solver) setSources() {
	v := &s.ps.v
	leg := complex(float64(s.state.Surroundings.Line)*v[pVoltageRatio]/2, 0)
	z := complex(v[pLegOhms], v[pLegOhms]) // practice: service transformer and drop are about as much reactance as resistance
	out, in := s.nets[Settled][outdoorSide], s.nets[Settled][indoorSide]
	place := s.p.frame.place
	set := func(n *circuit.Net, id string, volts complex128) {
		n.SetSource(place[id].branch, volts)
		n.SetImpedance(place[id].branch, z)
	}
	set(out, sourceLeg1, leg)
	set(out, sourceLeg2, -leg)
	set(in, sourceIndoor1, leg)
	if s.p.plate.BlowerVoltage > 150 {
		set(in, sourceIndoor2, -leg)
	} else {
		set(in, sourceIndoor2, 0)
	}
}

// setOutdoor sets what is not one resistance.
func (s *Solver) setOutdoor(n *circuit.Net) {
	v, place := &s.ps.v, s.p.frame.place
	pulled := !s.ps.sound(pDisconnect)
	for _, id := range [...]string{"disconnect/leg-1", "disconnect/leg-2"} {
		s.close(n, id, !pulled)
	}
	if !s.p.Has(TwoPoleContactor) {
		s.close(n, "contactor/pole-2", true) // a bus bar
	}
	n.SetResistance(place["compressor/start-terminal"].branch, quantity.Resistance(v[pStartTermOhms]+v[pHermLeadOhms]))
	n.SetCapacitance(place["run-capacitor/herm"].branch, quantity.Capacitance(v[pHerm]))
	n.SetCapacitance(place["run-capacitor/fan"].branch, quantity.Capacitance(v[pFanCap]))
	if at, ok := place["start-assist/capacitor"]; ok {
		n.SetCapacitance(at.branch, quantity.Capacitance(v[pStartCap]))
	}
	m := s.p.motors
	s.setMotor(n, "compressor/motor", wound(m.compressor, v[pRunOhms], v[pStartOhms], v[pRunTurns], v[pStartTurns]))
	s.setMotor(n, "condenser-fan/motor", wound(m.fan, v[pFanMainOhms], v[pFanAuxOhms], v[pFanTurns], 1))
}

// setMotor gives a motor its constants and puts it at rest.
func (s *Solver) setMotor(n *circuit.Net, id string, m circuit.Motor) {
	b := s.p.frame.place[id].branch
	if n.Motor(b) != m {
		n.SetMotor(b, m)
	}
	n.SetSlip(b, 1)
}

// wound returns m with the winding resistances main and aux (ohm at 25 °C) and
// with shorted turns: the part of the turns that is left, main and aux, takes
// its part of the resistance and its square of the reactances.
//
// The heat and the drag of the current that circulates in the shorted turns
// are left out, so a short shows milder here than in life.
func wound(m circuit.Motor, main, aux, mainTurns, auxTurns float64) circuit.Motor {
	m.MainOhms, m.AuxOhms = quantity.Resistance(main*mainTurns), quantity.Resistance(aux*auxTurns)
	k := quantity.Resistance(mainTurns * mainTurns)
	m.MainX, m.RotorR, m.RotorX, m.MagnetisingX, m.CoreOhms = m.MainX*k, m.RotorR*k, m.RotorX*k, m.MagnetisingX*k, m.CoreOhms*k
	m.AuxX *= quantity.Resistance(auxTurns * auxTurns)
	m.Turns *= quantity.Ratio(auxTurns / mainTurns)
	return m
}

// Impedances of control coils.
//
// practice: contactor coil 45 VA inrush and 9 VA sealed; relay coils 2 to 5 VA.
const (
	coilInrush = 9 + 9i   // ohm, armature open
	coilSealed = 18 + 62i // ohm, armature closed
	relayCoil  = 75 + 120i
	coilOhms   = 14.0 // direct-current resistance that goes with them
)

// coil returns the impedance of the contactor's coil. Shorted turns lower
// direct-current resistance and impedance alike, since the short is the
// secondary of a transformer; more resistance than usual stands in series.
func (s *Solver) coil(sealed bool) complex128 {
	z := complex128(coilInrush)
	if sealed {
		z = coilSealed
	}
	// A coil of other make has another resistance at the same rating.
	r := s.ps.v[pCoilOhms]
	switch {
	case r < 0.6*coilOhms:
		return z * complex(r/(0.6*coilOhms), 0)
	case r > 2*coilOhms:
		return z + complex(r-2*coilOhms, 0)
	}
	return z
}

// setIndoor sets what is not one resistance.
func (s *Solver) setIndoor(n *circuit.Net) {
	v, place := &s.ps.v, s.p.frame.place
	s.close(n, "indoor-breaker/pole", s.ps.sound(pIndoorBreaker))
	s.close(n, "door-switch/contact", true)
	s.close(n, "float-switch/contact", !s.panFull())
	for _, id := range [...]string{"air-handler-board/y", "time-delay/contact", "outdoor-board/contact"} {
		s.close(n, id, true) // the off time of the delay has passed
	}
	n.SetTransformer(place["transformer/primary"].branch, s.transformer())
	extra := float64(Open)
	if v[pExtraLoad] > 0 {
		extra = nominalControl * nominalControl / v[pExtraLoad]
	}
	n.SetResistance(place["transformer/extra-load"].branch, quantity.Resistance(extra))
	display := float64(Open)
	if s.ps.is(pStatSupply, 0) {
		display = displayOhms
	}
	n.SetResistance(place["thermostat/display"].branch, quantity.Resistance(display))
	if s.p.Has(PSCBlower) {
		s.setMotor(n, "blower-motor/motor", wound(s.p.motors.blower, v[pBlowerMainOhms], v[pBlowerAuxOhms], 1, 1))
		n.SetCapacitance(place["blower-capacitor/capacitor"].branch, quantity.Capacitance(v[pBlowerCap]))
	} else {
		n.SetResistance(place["blower-motor/module"].branch, moduleIdle)
	}
}

const (
	nominalControl = 24.0    // V; nominal secondary
	displayOhms    = 288.0   // ohm; practice: 2 VA of electronics, taken as a resistance
	moduleIdle     = 20000.0 // ohm; practice: a module without command draws a few watts
)

// transformer returns the control transformer with its windings and tap. The
// tap in use is made for the supply over tap-ratio.
func (s *Solver) transformer() circuit.Transformer {
	v := &s.ps.v
	t := transformerFor(&s.p.plate)
	turns := 1 / v[pTapRatio]
	t.Ratio *= quantity.Ratio(turns)
	k := complex(turns*turns, 0)
	t.Magnetising *= k
	t.Primary = complex(v[pPrimaryOhms], imag(t.Primary)) * k
	t.Secondary = complex(v[pSecondaryOhms], imag(t.Secondary))
	return t
}

// panFull says whether water stands in the pan: behind a blocked drain or a
// dead condensate pump.
func (s *Solver) panFull() bool {
	return s.ps.v[pDrain] >= drainBlocked || s.p.Has(CondensatePump) && !s.ps.sound(pPump)
}

// drainBlocked is the blockage from which the drain cannot keep up.
const drainBlocked = 0.9 // practice: judgement
