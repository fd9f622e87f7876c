package plant

import (
	"fmt"
	"time"

	"rung/internal/circuit"
	"rung/internal/cycle"
	"rung/internal/moistair"
	"rung/internal/quantity"
	"rung/internal/relay"
)

// Solver solves one plant again and again with the memory of one goroutine. It
// keeps nothing from one solution to the next, or only what is the same in both
// (see Remember): a used solver answers bit for bit as a fresh one.
type Solver struct {
	p     *Plant
	nets  [numPhases][numSides]*circuit.Net
	state State
	ps    *Params        // of the present solve, = &state.Params
	air   moistair.State // of the rooms

	humidity        quantity.HumidityRatio // of the return air, duct leaks mixed in
	outdoorHumidity quantity.HumidityRatio // of the air that a heating coil meets
	warm            cycle.State            // last running state of the present solve
	memo            *cycle.Memo            // nil if it remembers nothing

	seq      *relay.Machine // works on the networks of the settled phase
	supply   relay.Supply   // of the thermostat's electronics
	seats    seats
	settings []relay.Setting

	// of the present solve
	machine *cycle.Machine
	torque  float64          // N·m that the sequence takes for the compressor's
	drives  [2]circuit.Drive // compressor, outdoor fan
	moved   bool             // something changed after the running phase
	notes   []Event          // what the sequence itself does not know
}

// NewSolver returns a solver for p.
func (p *Plant) NewSolver() (*Solver, error) {
	s := &Solver{p: p}
	for ph := range s.nets {
		for side := range s.nets[ph] {
			s.nets[ph][side] = p.frame.nets[side].Clone()
		}
	}
	var err error
	s.seq, err = relay.New(s.sequenceWiring())
	if err != nil {
		return nil, fmt.Errorf("plant: %w", err)
	}
	return s, nil
}

// Remember makes the solver keep the last solutions of the refrigerant side, at
// most so many. Where plants differ in other parts only, that saves most of the
// work and changes no answer.
func (s *Solver) Remember(most int) { s.memo = cycle.NewMemo(most) }

// Solve is Solver.Solve with memory of its own.
func (p *Plant) Solve(ps *Params, at Surroundings, d Demand) (*State, error) {
	s, err := p.NewSolver()
	if err != nil {
		return nil, err
	}
	return s.Solve(ps, at, d)
}

// Solve returns how the plant with the parameters ps stands under a demand.
//
// Limits, trips and stalled motors are results. Surroundings that no house has
// give a *quantity.RangeError.
func (s *Solver) Solve(ps *Params, at Surroundings, d Demand) (*State, error) {
	if err := at.Check(); err != nil {
		return nil, err
	}
	if d >= numDemands {
		return nil, fmt.Errorf("plant: no demand %d", d)
	}
	st := &s.state
	*st = State{Demand: d, Surroundings: at, Params: *ps, solver: s}
	s.ps = &st.Params
	s.notes, s.moved = s.notes[:0], false
	s.warm, s.outdoorHumidity = cycle.State{}, 0
	s.machine = s.p.machines[int(s.ps.v[pVariant])]
	s.torque = float64(s.p.motors.compressorLoad.Torque)
	for _, step := range [...]func() error{s.standing, s.run, s.finish} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	s.look()
	return st, nil
}

// run brings the system from standby to running and balances it there. The
// sequence works with the compressor's rated torque; should the true one make
// the breaker think otherwise, the sequence is run again with that.
func (s *Solver) run() error {
	const tries = 2
	for try := range tries {
		s.notes = s.notes[:0]
		for _, step := range [...]func() error{s.begin, s.blower, s.outdoors} {
			if err := step(); err != nil {
				return err
			}
		}
		carries := func(ph PhaseID) bool {
			fuse := &s.seq.Wiring.Fuses[seatBreaker]
			return s.amps(s.nets[ph][outdoorSide], fuse.ID) <= float64(fuse.Curve.Holds)*float64(fuse.Rating)
		}
		if try > 0 || s.drives[0].Motion != circuit.Turning || carries(Settled) == carries(Running) {
			break
		}
		s.torque = float64(s.drives[0].Load.Torque)
	}
	return nil
}

// note records a step that the sequence itself does not know.
func (s *Solver) note(at time.Duration, kind EventKind, device string, dim quantity.Dimension, value float64) {
	s.notes = append(s.notes, Event{At: at, Kind: kind, Device: device, Dim: dim, Value: value})
}

// standing finds the air at the unit and the refrigerant at rest.
func (s *Solver) standing() error {
	st, v := &s.state, &s.ps.v
	at := st.Surroundings
	var err error
	if st.Ambient, err = moistair.PressureAtElevation(at.Elevation); err != nil {
		return err
	}
	if s.air, err = moistair.FromWetBulb(at.ReturnDryBulb, at.ReturnWetBulb, st.Ambient); err != nil {
		return fmt.Errorf("plant: return air: %w", err)
	}
	attic := float64(at.Outdoor) + v[pAtticRise]
	st.Return = at.ReturnDryBulb + quantity.Temperature(v[pReturnLeak]*(attic-float64(at.ReturnDryBulb)))
	st.Supply = st.Return
	most := moistair.SatHumidityRatio(float64(st.Return), float64(st.Ambient))
	if s.heats() {
		if s.outdoorHumidity, err = outdoorHumidity(at, st.Ambient); err != nil {
			return err
		}
	}
	s.humidity = min(s.air.HumidityRatio, quantity.HumidityRatio(most))
	st.DisplayTemp = at.ReturnDryBulb + quantity.Temperature(v[pStatSensor])
	c := s.condition(cycle.StoppedFan, cycle.StoppedFan, 1, 0)
	if st.Standing, err = s.machine.Stand(c, s.fault()); err != nil {
		return fmt.Errorf("plant: at rest: %w", err)
	}
	st.Cycle = st.Standing
	return nil
}

// outdoorHumidity returns that of the air that a heating coil meets.
func outdoorHumidity(at Surroundings, ambient quantity.Pressure) (quantity.HumidityRatio, error) {
	const damp = 0.8 // practice: see Surroundings.OutdoorWetBulb
	var air moistair.State
	var err error
	if at.OutdoorWetBulb == 0 {
		air, err = moistair.FromRelativeHumidity(at.Outdoor, damp, ambient)
	} else {
		air, err = moistair.FromWetBulb(at.Outdoor, at.OutdoorWetBulb, ambient)
	}
	if err != nil {
		return 0, fmt.Errorf("plant: outdoor air: %w", err)
	}
	return air.HumidityRatio, nil
}

// condition gives the surroundings of the refrigerant side. The air of a leaky
// return keeps the moisture of the rooms, as far as it can hold it: that of the
// attic is not known.
func (s *Solver) condition(indoor, outdoor, speed float64, fanHeat quantity.Power) cycle.Condition {
	mode := cycle.Cooling
	if s.heats() {
		mode = cycle.Heating
	}
	return cycle.Condition{
		Mode: mode, OutdoorHumidity: s.outdoorHumidity,
		Outdoor: s.state.Surroundings.Outdoor, ReturnDryBulb: s.state.Return,
		ReturnHumidity: s.humidity, Ambient: s.state.Ambient,
		IndoorAirflow: quantity.Ratio(indoor), OutdoorAirflow: quantity.Ratio(outdoor),
		IndoorFanHeat: fanHeat, Speed: quantity.Ratio(speed),
	}
}

// fault translates the refrigerant parameters.
func (s *Solver) fault() cycle.Fault {
	v := &s.ps.v
	f := cycle.Fault{
		Charge:            quantity.Ratio(v[pCharge]),
		OutdoorFouling:    quantity.Ratio(v[pOutdoorFouling]),
		IndoorFouling:     quantity.Ratio(v[pCoilFouling]),
		LiquidRestriction: quantity.PressureDiff(v[pDrier] + v[pLiquidLine]),
		NonCondensables:   quantity.Ratio(v[pNonCondensables]),
		CompressorLeak:    quantity.Ratio(v[pValveLeak]),
		ValveSuperheat:    quantity.TempDiff(v[pValveSetting]),
		BulbContact:       quantity.Ratio(v[pBulbContact]),
		OrificeScale:      1,
		SuctionLineGain:   quantity.Ratio(v[pSuctionGain]),
	}
	if s.p.Has(HasFixedOrifice) {
		f.OrificeScale = quantity.Ratio(v[pOrifice])
	} else if !s.ps.sound(pValveAction) {
		f.ValveStuckAt = quantity.Ratio(v[pForcedOpening])
	}
	if s.p.Has(HeatPump) {
		f.ReversingValveLeak = quantity.Ratio(v[pReversingLeak])
		if s.heats() {
			// The indoor metering device is passed by, whatever is wrong with it.
			f.ValveSuperheat, f.BulbContact, f.OrificeScale, f.ValveStuckAt = 0, 1, 1, 0
			f.CheckValveLeak = quantity.Ratio(v[pCheckLeak])
			f.LiquidRestriction += quantity.PressureDiff(v[pCheckStuck])
		}
	}
	if !s.ps.sound(pCompRotation) {
		f.CompressorLeak = 1 // a scroll that turns backward pumps nothing
	}
	return f
}

// close opens or closes a switch in a network, if the plant has it.
func (s *Solver) close(n *circuit.Net, id string, closed bool) {
	if at, ok := s.p.frame.place[id]; ok {
		n.SetClosed(at.branch, closed)
	}
}

// volts returns the voltage between two nodes of one network, nothing loading
// it.
func (s *Solver) volts(n *circuit.Net, a, b Node) float64 {
	return float64(circuit.Volts(n.Voltage(s.p.frame.spot[a].node, s.p.frame.spot[b].node)))
}

// amps returns the current through a device of one network.
func (s *Solver) amps(n *circuit.Net, id string) float64 {
	return float64(circuit.Amps(n.Current(s.p.frame.place[id].branch)))
}
