package plant

import (
	"time"

	"rung/internal/airflow"
	"rung/internal/cycle"
	"rung/internal/quantity"
)

// PhaseID names one of the three looks at a state.
type PhaseID uint8

// The phases of a demand. AtStart is the half second in which the contactor's
// coil has just been energised, draws its inrush and the motors stand still.
// Running is how the system runs, steady or just before something trips.
// Settled is how it stays: the same as Running when nothing trips.
const (
	AtStart PhaseID = iota
	Running
	Settled
	numPhases
)

// MotorState is what a motor does, as seen and heard.
type MotorState uint8

// The motor states.
const (
	Silent    MotorState = iota // no voltage, or an open circuit
	MotorRuns                   // at its speed
	MotorSlow                   // turns clearly below its speed
	MotorHums                   // energised and not turning
	FreeRuns                    // turns without moving what it should
)

// ContactorState is the position of the contactor.
type ContactorState uint8

// The positions of a contactor. A chattering one makes and breaks many times a
// second: the outdoor unit does not run and nothing on its load side can be
// read; the networks then hold it open.
const (
	ContactorOpen ContactorState = iota
	ContactorClosed
	ContactorChatters
)

// Trip is the protection that ended a run.
type Trip uint8

// The protections.
const (
	NoTrip Trip = iota
	CompressorOverloadTrip
	HighPressureTrip
	LowPressureTrip
	BreakerTrip
	LineFuseTrip
	ControlFuseTrip
)

// Look is how clean something is to the eye.
type Look uint8

// The looks.
const (
	Clean Look = iota
	Dirty
	Blocked
	Iced
)

// Looks are the observations that need no instrument.
type Looks struct {
	Filter, IndoorCoil, OutdoorCoil, BlowerWheel Look

	SuctionLineIce   bool // on the line or at the coil's outlet
	PanFull          bool
	DisplayLit       bool
	FanBackward      bool // outdoor fan blows down
	BurntConductor   bool // a line conductor, jaw or spade drops enough to show heat
	BreakerTripped   bool
	DisconnectPulled bool
}

// State is how a plant stands under one demand in one set of surroundings.
//
// It belongs to the Solver that made it and holds until that solver's next
// Solve.
type State struct {
	Demand       Demand
	Surroundings Surroundings
	Params       Params
	Ambient      quantity.Pressure // of the site

	Contactor  ContactorState
	Compressor MotorState // while running; see Trip for how it ended
	OutdoorFan MotorState
	Blower     MotorState
	Trip       Trip
	TripAfter  time.Duration // from the start of the compressor; 0 without a trip

	Calling     bool // the thermostat asks, as far as its own contacts go
	FuseBlown   bool // control fuse, after the demand
	DisplayTemp quantity.Temperature
	Looks       Looks

	Cycle    cycle.State // while running; Outcome Standing if the compressor does not turn
	Standing cycle.State // at rest, pressures equal, both coils at the temperature of their air
	Air      airflow.State
	Return   quantity.Temperature // air at the unit, duct leaks mixed in
	Supply   quantity.Temperature // air leaving the unit
	// AirRatio is the indoor flow over 400 CFM per ton, OutdoorRatio the
	// outdoor flow over rated.
	AirRatio, OutdoorRatio quantity.Ratio
	Speeds                 Speeds

	end    end
	solver *Solver
}

// Plant returns the plant of the state.
func (s *State) Plant() *Plant { return s.solver.p }

// Speeds are shaft speeds while running, as a fraction of synchronous.
type Speeds struct{ Compressor, OutdoorFan, Blower float64 }

// Pumping says whether the compressor moves refrigerant while running.
func (s *State) Pumping() bool {
	switch s.Cycle.Outcome {
	case cycle.Standing, cycle.NotPumping, 0:
		return false
	}
	return true
}

// CycleAt returns the refrigerant side in a phase: at rest at the start and
// after a trip, running in between.
func (s *State) CycleAt(ph PhaseID) *cycle.State {
	if ph == AtStart || ph == Settled && s.stopped() {
		return &s.Standing
	}
	return &s.Cycle
}

// end is what the parts do once things have settled.
type end struct {
	contactor                   ContactorState
	compressor, outdoor, blower MotorState
}

// stopped says whether the compressor has stopped by the time things settle.
func (s *State) stopped() bool { m := s.end.compressor; return m == Silent || m == MotorHums }

// CompressorAt returns what the compressor does in a phase.
func (s *State) CompressorAt(ph PhaseID) MotorState {
	if ph == Settled {
		return s.end.compressor
	}
	return s.Compressor
}

// OutdoorFanAt returns what the outdoor fan does in a phase.
func (s *State) OutdoorFanAt(ph PhaseID) MotorState {
	if ph == Settled {
		return s.end.outdoor
	}
	return s.OutdoorFan
}

// BlowerAt returns what the indoor blower does in a phase.
func (s *State) BlowerAt(ph PhaseID) MotorState {
	if ph == Settled {
		return s.end.blower
	}
	return s.Blower
}

// ContactorAt returns the position of the contactor in a phase.
func (s *State) ContactorAt(ph PhaseID) ContactorState {
	if ph == Settled {
		return s.end.contactor
	}
	return s.Contactor
}
