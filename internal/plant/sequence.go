package plant

import (
	"fmt"
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
	"rung/internal/relay"
)

// Positions in the lists of a relay.Wiring; those of equipment that is not
// fitted are -1 in seats.
const (
	seatY = iota // switches
	seatG
	seatW
)

const (
	seatContactor = iota // coils
	seatBlowerRelay
	seatHeatRelay
	seatStartRelay
)

const (
	seatControlFuse = iota // fuses
	seatBreaker
	seatFuse1
	seatFuse2
)

const (
	seatCompressor = iota // drives and overloads
	seatFan
	seatBlower
)

// seats are the limits, whose number depends on the equipment.
type seats struct{ high, low, heat int }

// sequenceWiring ties the moving devices to the networks that the sequence
// works on.
func (s *Solver) sequenceWiring() relay.Wiring {
	place := func(id string) relay.Place {
		at := s.p.frame.place[id]
		return relay.Place{Net: int(at.side), Branch: at.branch}
	}
	probe := func(a, b Node) relay.Probe {
		at, to := s.p.frame.spot[a], s.p.frame.spot[b]
		return relay.Probe{Net: int(at.side), A: at.node, B: to.node}
	}
	w := relay.Wiring{Nets: s.nets[Settled][:]}
	s.supply = relay.Supply{Probe: probe(StatR, StatC), Least: statAlive, Loses: statRides, Returns: statWakes}
	for _, id := range [...]string{"thermostat/r-y", "thermostat/r-g", "thermostat/r-w"} {
		w.Switches = append(w.Switches, relay.Switch{ID: id, Contact: place(id)})
	}
	contactor := relay.Coil{ID: "contactor/coil", Place: place("contactor/coil"), Contacts: []relay.Contact{{Place: place("contactor/pole-1")}}}
	if s.p.Has(TwoPoleContactor) {
		contactor.Contacts = append(contactor.Contacts, relay.Contact{Place: place("contactor/pole-2")})
	}
	small := func(id, contact string) relay.Coil {
		return relay.Coil{ID: id, Place: place(id), Inrush: relayCoil, Sealed: relayCoil, PullIn: relayPullIn, DropOut: relayDropOut,
			Contacts: []relay.Contact{{Place: place(contact)}}}
	}
	w.Coils = []relay.Coil{contactor,
		small("air-handler-board/blower-coil", "air-handler-board/blower-relay"),
		small("air-handler-board/heat-coil", "air-handler-board/heat-relay")}
	if s.p.Has(StartAssist) {
		w.Coils = append(w.Coils, relay.Coil{ID: "start-assist/relay", SenseOnly: true, Probe: probe(CompS, CompIn),
			PullIn: startPullIn, DropOut: startDropOut,
			Contacts: []relay.Contact{{Place: place("start-assist/relay"), NormallyClosed: true}}})
	}
	w.Fuses = []relay.Fuse{
		{ID: "control-fuse/fuse", Contacts: []relay.Place{place("control-fuse/fuse")}, Rating: s.p.plate.ControlFuse, Curve: relay.BladeFuse},
		{ID: "outdoor-breaker/pole-1", Contacts: []relay.Place{place("outdoor-breaker/pole-1"), place("outdoor-breaker/pole-2")},
			Rating: s.p.plate.MaxProtection, Curve: relay.InverseTimeBreaker},
	}
	if s.p.Has(FusedDisconnect) {
		for _, id := range [...]string{"disconnect/fuse-1", "disconnect/fuse-2"} {
			w.Fuses = append(w.Fuses, relay.Fuse{ID: id, Contacts: []relay.Place{place(id)}, Rating: s.p.plate.MaxProtection, Curve: relay.TimeDelayFuse})
		}
	}
	s.motorWiring(&w, place)
	s.limitWiring(&w, place)
	return w
}

// motorWiring adds motors and their protectors, in the order of the seats.
func (s *Solver) motorWiring(w *relay.Wiring, place func(string) relay.Place) {
	n := &s.p.plate
	add := func(id, protector string, amps quantity.Current, volts quantity.Voltage) {
		w.Drives = append(w.Drives, relay.Drive{ID: id, Motor: place(id), Rated: volts})
		w.Overloads = append(w.Overloads, relay.Overload{ID: protector, Contact: place(protector), Rating: amps, Thermal: relay.MotorOverload})
	}
	add("compressor/motor", "compressor/overload", s.p.overloadAmps(), n.RatedVoltage)
	add("condenser-fan/motor", "condenser-fan/protector", n.FanAmps, n.RatedVoltage)
	if s.p.Has(PSCBlower) {
		amps := quantity.Current(2.1 * float64(n.BlowerPower) / float64(n.BlowerVoltage)) // practice: full-load amps of PSC blowers, 7.2 A at 115 V and 1/2 hp
		add("blower-motor/motor", "blower-motor/protector", amps, n.BlowerVoltage)
	}
}

// overloadAmps are the amps for which the compressor's overload is made: its
// rated load, or more where an assumed plate says less than its motor draws.
func (p *Plant) overloadAmps() quantity.Current {
	const most = 0.85 // practice: running amps at rating over rated load amps
	return max(p.plate.RatedLoadAmps, quantity.Current(p.motors.ratedAmps/most))
}

// limitWiring adds the pressure switches, and the compressor's overload as a
// limit on the temperature of its windings.
func (s *Solver) limitWiring(w *relay.Wiring, place func(string) relay.Place) {
	s.seats = seats{high: -1, low: -1}
	add := func(id string, opens, closes float64) int {
		w.Limits = append(w.Limits, relay.Limit{ID: id, Contact: place(id), Opens: opens, Closes: closes})
		return len(w.Limits) - 1
	}
	if s.p.Has(HighPressureSwitch) {
		s.seats.high = add("high-pressure-switch/contact", 2, 1)
	}
	if s.p.Has(LowPressureSwitch) {
		s.seats.low = add("low-pressure-switch/contact", 1, 2)
	}
	s.seats.heat = add("compressor/overload", windingCloses+1, windingCloses) // opening follows with each solve
}

// Limits of the control side.
const (
	// practice: thermostats reset somewhere below 18 V.
	statAlive = 18.0 // V
	// practice: their electronics ride through some seconds without supply and wake in less than a minute.
	statRides = 3 * time.Second
	statWakes = 20 * time.Second
	// practice: a power-stealing thermostat needs some 12 V across its open contact.
	stealAlive = 12.0 // V
	stealLoad  = 2000 // ohm; practice: a few milliamps while idle
	// practice: 24 V relays are rated to pull in at three quarters of nominal; many do earlier.
	relayPullIn  = 15.0 // V
	relayDropOut = 5.0  // V
	// practice: potential relays pick up between the start winding's locked and running volts.
	startPullIn  = 260.0 // V
	startDropOut = 100.0 // V
	// practice: what a mechanic calls no voltage.
	deadControl = 5.0 // V
)

// Times of the sequence, from the call.
const (
	timeStarting = 200 * time.Millisecond // motors draw their starting current
	timeRunning  = 2 * time.Second        // all have come up to speed or not; before any overload
	timeSettled  = 15 * time.Minute       // practice: a system is judged after 15 minutes
)

// prepare gives the sequence the present parameters.
func (s *Solver) prepare() {
	v, w := &s.ps.v, &s.seq.Wiring
	fault := func(welded, burnt bool) relay.ContactFault {
		switch {
		case welded:
			return relay.Welded
		case burnt:
			return relay.Burnt
		}
		return relay.Sound
	}
	for i := range w.Switches {
		w.Switches[i].Supply = nil
		if s.ps.is(pStatSupply, 0) {
			w.Switches[i].Supply = &s.supply
		}
	}
	c := &w.Coils[seatContactor]
	c.Inrush, c.Sealed = s.coil(false), s.coil(true)
	c.PullIn, c.DropOut = quantity.Voltage(v[pPullIn]), quantity.Voltage(min(v[pDropOut], v[pPullIn]))
	c.Jammed = !s.ps.sound(pArmature) || v[pCoilOhms] >= coilDead
	c.Contacts[0].Fault = fault(!s.ps.sound(pPole1), false)
	if len(c.Contacts) > 1 {
		c.Contacts[1].Fault = fault(!s.ps.sound(pPole2), false)
	}
	w.Coils[seatBlowerRelay].Contacts[0].Fault = fault(s.ps.is(pBlowerRelay, 2), s.ps.is(pBlowerRelay, 1))
	w.Coils[seatHeatRelay].Contacts[0].Fault = fault(false, s.ps.is(pBlowerRelay, 1))
	if s.p.Has(StartAssist) {
		w.Coils[seatStartRelay].Contacts[0].Fault = fault(s.ps.is(pStartRelay, 1), s.ps.is(pStartRelay, 2))
	}
	w.Fuses[seatControlFuse].Blown = !s.ps.sound(pControlFuse)
	w.Fuses[seatBreaker].Blown = !s.ps.sound(pOutdoorBreaker)
	w.Fuses[seatBreaker].Rating = s.p.plate.MaxProtection * quantity.Current(v[pBreakerTrip])
	if s.p.Has(FusedDisconnect) {
		w.Fuses[seatFuse1].Blown, w.Fuses[seatFuse2].Blown = !s.ps.sound(pFuse1), !s.ps.sound(pFuse2)
	}
	w.Overloads[seatCompressor].Fault = fault(false, !s.ps.sound(pOverload))
	w.Overloads[seatCompressor].Rating = s.p.overloadAmps() * quantity.Current(v[pOverloadTrip])
	w.Overloads[seatFan].Fault = fault(false, !s.ps.sound(pFanProtector))
	if s.p.Has(PSCBlower) {
		w.Overloads[seatBlower].Fault = fault(false, !s.ps.sound(pBlowerProtector))
	}
	s.prepareLimits()
}

// prepareLimits sets the pressures. A switch set to open below its closing
// pressure closes just below.
func (s *Solver) prepareLimits() {
	v, w := &s.ps.v, &s.seq.Wiring
	const apart = 5e4 // Pa; practice: least differential of a snap switch
	if i := s.seats.high; i >= 0 {
		w.Limits[i].Opens, w.Limits[i].Closes = v[pHPSOpen], min(v[pHPSClose], v[pHPSOpen]-apart)
	}
	if i := s.seats.low; i >= 0 {
		w.Limits[i].Opens, w.Limits[i].Closes = v[pLPSOpen], max(v[pLPSClose], v[pLPSOpen]+apart)
	}
	w.Limits[s.seats.heat].Opens = s.windingLimit()
	w.Limits[s.seats.heat].Closes = windingCloses
	if !s.ps.sound(pOverload) { // already open: stays so, whatever the temperature
		w.Limits[s.seats.heat].Fault = relay.Burnt
	} else {
		w.Limits[s.seats.heat].Fault = relay.Sound
	}
}

// begin runs the sequence from standby through the call to the point where all
// motors have come up to speed or failed to, keeping the networks of the
// starting and of the running phase on the way.
func (s *Solver) begin() error {
	s.setValues()
	s.loads()
	s.prepare()
	if err := s.seq.Reset(); err != nil {
		return err
	}
	if i := s.seats.low; i >= 0 {
		if err := s.seq.Sense(i, float64(s.state.Standing.SuctionPressure-s.state.Ambient)); err != nil {
			return err
		}
	}
	if err := s.call(); err != nil {
		return err
	}
	for _, stop := range [...]struct {
		at time.Duration
		ph PhaseID
	}{{timeStarting, AtStart}, {timeRunning, Running}} {
		if err := s.seq.Run(stop.at); err != nil {
			return fmt.Errorf("plant: sequence: %w", err)
		}
		if err := s.keep(stop.ph); err != nil {
			return err
		}
	}
	s.contactor()
	return nil
}

// contactor names its position while running, and what keeps it open.
func (s *Solver) contactor() {
	st := &s.state
	st.Contactor = s.position(Running)
	volts := s.seq.CoilVolts(seatContactor)
	switch {
	case s.seq.PulledIn(seatContactor) || !st.Calling || !s.callsCompressor():
	case volts < deadControl, s.ps.v[pCoilOhms] >= coilDead:
		s.openCircuit(s.nets[Running][indoorSide])
	case !s.seq.Wiring.Coils[seatContactor].Jammed:
		s.note(timeRunning, CoilWeak, "contactor/coil", quantity.DimVoltage, float64(volts))
	}
}

// position returns that of the contactor as the sequence has it now, with the
// contacts as they are in a phase.
func (s *Solver) position(ph PhaseID) ContactorState {
	coil := &s.seq.Wiring.Coils[seatContactor]
	switch {
	case s.nets[ph][outdoorSide].Closed(s.p.frame.place["contactor/pole-1"].branch):
		return ContactorClosed
	case s.seq.Chattering(seatContactor),
		!s.seq.PulledIn(seatContactor) && !coil.Jammed && s.seq.CoilVolts(seatContactor) >= coilBuzz*coil.PullIn:
		return ContactorChatters
	}
	return ContactorOpen
}

// coilDead is a coil resistance with which no current is left to pull.
const coilDead = 500.0 // ohm; practice: a sound coil has 8 to 20

// coilBuzz is the part of its pull-in voltage from which a coil moves its
// armature without seating it: the contactor buzzes and chatters.
const coilBuzz = 0.6 // practice: 12 to 18 V at the coil is the usual finding

// openCircuit names the device of the cooling call that holds most of the
// voltage back.
func (s *Solver) openCircuit(n *circuit.Net) {
	worst, most := "", deadControl
	for _, id := range s.p.cooling {
		if volts := float64(circuit.Volts(n.Voltage(n.Terminals(s.p.frame.place[id].branch)))); volts > most {
			worst, most = id, volts
		}
	}
	if worst != "" {
		s.note(timeRunning, CircuitOpen, worst, quantity.DimVoltage, most)
	}
}

// keep copies the networks of the sequence to a phase and solves them.
func (s *Solver) keep(ph PhaseID) error {
	for side, n := range s.nets[ph] {
		n.CopyValues(s.nets[Settled][side])
		if err := n.Solve(); err != nil {
			return err
		}
	}
	return nil
}

// heats says whether the demand is for the refrigerant circuit to heat.
func (s *Solver) heats() bool { return s.state.Demand == Heat && s.p.Has(HeatPump) }

// callsCompressor says whether the demand is one for the compressor.
func (s *Solver) callsCompressor() bool { return s.state.Demand == Cool || s.heats() }

// call closes what the thermostat closes for the demand.
func (s *Solver) call() error {
	st := &s.state
	if err := s.seq.Run(10 * time.Millisecond); err != nil {
		return err
	}
	n := s.nets[Settled][indoorSide]
	alive := s.thermostatAlive(n)
	st.Looks.DisplayLit = alive
	d := st.Demand
	if d == Off {
		return nil
	}
	if !alive || !s.ps.sound(pStatOutput) || d != Fan && !s.ps.sound(pStatSetting) {
		return nil
	}
	y := s.callsCompressor()
	g, w := y || d == Fan, d == Heat && !y
	switch s.ps.Word(pStatWiring) {
	case "y-w-swapped":
		y, w = w, y
	case "y-g-swapped":
		y, g = g, y
	case "g-w-swapped":
		g, w = w, g
	}
	st.Calling = true
	list := s.settings[:0]
	for i, on := range [...]bool{seatY: y, seatG: g, seatW: w} {
		if on {
			list = append(list, relay.Setting{Switch: i, Closed: true})
		}
	}
	s.settings = list
	if err := s.seq.Set(list...); err != nil {
		return fmt.Errorf("plant: call: %w", err)
	}
	return nil
}

// thermostatAlive says whether the thermostat's electronics have power.
func (s *Solver) thermostatAlive(n *circuit.Net) bool {
	switch s.ps.Word(pStatSupply) {
	case "battery":
		return s.ps.sound(pStatBattery)
	case "stealing":
		spot := s.p.frame.spot
		return float64(n.Meter(spot[StatRC].node, spot[StatY].node, stealLoad)) >= stealAlive
	}
	return s.volts(n, StatR, StatC) >= statAlive
}
