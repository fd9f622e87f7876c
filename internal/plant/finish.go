package plant

import (
	"fmt"
	"time"

	"rung/internal/circuit"
	"rung/internal/cycle"
	"rung/internal/quantity"
	"rung/internal/relay"
)

// Times after which a running system reaches its limits.
// practice: typical, not measured; stated with each trip as about.
const (
	timePumpedDown = 1 * time.Minute
	timeHighHead   = 3 * time.Minute
	timeOverheated = 10 * time.Minute // at the highest head, where no steady state tells
)

// finish tells the pressure switches and the overload what they feel, and lets
// the sequence run on until it has settled.
func (s *Solver) finish() error {
	before := len(s.seq.Trace())
	if st := &s.state; st.Cycle.Outcome != cycle.Standing {
		if err := s.sense(); err != nil {
			return err
		}
	}
	if err := s.seq.Run(timeSettled); err != nil {
		return fmt.Errorf("plant: settling: %w", err)
	}
	s.moved = len(s.seq.Trace()) > before
	s.judgeTrip()
	s.settle()
	return nil
}

// settle names what the parts do at the end: as while running, unless the
// sequence has gone on.
func (s *Solver) settle() {
	st := &s.state
	st.end = end{st.Contactor, st.Compressor, st.OutdoorFan, st.Blower}
	if !s.moved {
		return
	}
	st.end.contactor = s.position(Settled)
	stays := func(seat int, now MotorState) MotorState {
		switch s.seq.Motion(seat) {
		case circuit.AtRest:
			return Silent
		case circuit.Stalled:
			return MotorHums
		}
		if now == Silent || now == MotorHums {
			return MotorRuns
		}
		return now
	}
	st.end.compressor = stays(seatCompressor, st.Compressor)
	st.end.outdoor = stays(seatFan, st.OutdoorFan)
	if s.p.Has(PSCBlower) {
		st.end.blower = stays(seatBlower, st.Blower)
	} else if s.volts(s.nets[Settled][indoorSide], BlowerTap, IndoorBack) < moduleAlive*float64(s.p.plate.BlowerVoltage) {
		st.end.blower = Silent
	}
}

// sense passes pressures and winding temperature of the running state to the
// devices that feel them, in the order in which they would act. Only the first
// that acts matters: it stops the compressor.
func (s *Solver) sense() error {
	st := &s.state
	c := &st.Cycle
	head, suction := float64(c.DischargePressure-st.Ambient), float64(c.SuctionPressure-st.Ambient)
	s.noteOutcome(head, suction)
	heat := s.windingTemp()
	overheats := c.Outcome != cycle.NotPumping && heat >= s.seq.Wiring.Limits[s.seats.heat].Opens
	// Beyond the tables' pressures no steady state exists: without a switch
	// the motor's own protection is what ends it.
	if c.Outcome == cycle.HighPressureLimit {
		overheats = true
		if i := s.seats.high; i >= 0 {
			head = max(head, s.seq.Wiring.Limits[i].Opens)
		}
	}
	for _, limit := range [...]struct {
		seat  int
		at    time.Duration
		value float64
		acts  bool
	}{
		{s.seats.low, timePumpedDown, suction, s.seats.low >= 0 && suction <= s.seq.Wiring.Limits[max(s.seats.low, 0)].Opens},
		{s.seats.high, timeHighHead, head, s.seats.high >= 0 && head >= s.seq.Wiring.Limits[max(s.seats.high, 0)].Opens},
		{s.seats.heat, s.overheatTime(heat, s.seq.Wiring.Limits[s.seats.heat].Opens), max(heat, s.seq.Wiring.Limits[s.seats.heat].Opens), overheats},
	} {
		if !limit.acts {
			continue
		}
		if err := s.seq.Run(limit.at); err != nil {
			return fmt.Errorf("plant: before a limit: %w", err)
		}
		if limit.seat == s.seats.heat {
			s.note(limit.at, WindingOverheat, "compressor/overload", quantity.DimTemperature, heat)
		}
		if err := s.seq.Sense(limit.seat, limit.value); err != nil {
			return fmt.Errorf("plant: at a limit: %w", err)
		}
		return nil
	}
	return nil
}

// noteOutcome puts the refrigerant side into the trace.
func (s *Solver) noteOutcome(head, suction float64) {
	c := &s.state.Cycle
	switch c.Outcome {
	case cycle.HighPressureLimit:
		s.note(timeHighHead, PressureClimbs, "", quantity.DimPressureDiff, head)
	case cycle.LowPressureLimit:
		s.note(timePumpedDown, PumpedDown, "", quantity.DimPressureDiff, suction)
	case cycle.NoBalance:
		s.note(timeSettled, Unsteady, "", quantity.DimPressureDiff, suction)
	case cycle.NotPumping:
		s.note(timeRunning, NoCirculation, "compressor/motor", quantity.DimPressureDiff, suction)
	case cycle.Icing:
		if s.heats() { // frost outdoors is the season's work, and defrost's
			s.note(timeSettled, Steady, "", quantity.DimPressureDiff, suction)
			return
		}
		s.note(timeSettled, CoilFreezes, "", quantity.DimTemperature, float64(c.CoilSurfaceTemp))
	case cycle.Slugging:
		s.note(timeSettled, LiquidReturns, "", quantity.DimRatio, float64(c.SuctionLiquid))
	default:
		s.note(timeSettled, Steady, "", quantity.DimPressureDiff, suction)
	}
}

// judgeTrip finds in the trace what ended the run, if anything did.
func (s *Solver) judgeTrip() {
	st := &s.state
	st.FuseBlown = s.seq.Blown(seatControlFuse)
	var started time.Duration
	for _, step := range s.seq.Trace() {
		for _, c := range step.Changes {
			if c.Event == relay.Started && c.Device == (relay.Device{Kind: relay.DriveKind, Index: seatCompressor}) {
				started = step.At
			}
			if trip := s.tripOf(step.Cause, c); trip != NoTrip && st.Trip == NoTrip {
				st.Trip, st.TripAfter = trip, max(step.At-started, 0)
			}
		}
	}
}

func (s *Solver) tripOf(cause relay.Cause, c relay.Change) Trip {
	switch {
	case c.Event == relay.Blown && c.Device.Index == seatControlFuse:
		return ControlFuseTrip
	case c.Event == relay.Blown && c.Device.Index == seatBreaker:
		return BreakerTrip
	case c.Event == relay.Blown:
		return LineFuseTrip
	case c.Event == relay.Tripped && c.Device.Index == seatCompressor:
		return CompressorOverloadTrip
	case c.Event == relay.Opened && cause.By == relay.Sensed && cause.Device.Kind == relay.LimitKind && cause.Device == c.Device:
		switch cause.Device.Index {
		case s.seats.high:
			return HighPressureTrip
		case s.seats.low:
			return LowPressureTrip
		}
		return CompressorOverloadTrip
	}
	return NoTrip
}
