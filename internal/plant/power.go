package plant

import (
	"fmt"
	"math"

	"rung/internal/circuit"
	"rung/internal/cycle"
	"rung/internal/quantity"
)

// loads gives the sequence's motors what they are expected to turn: the exact
// load follows from air and refrigerant once they move.
func (s *Solver) loads() {
	v, w, m := &s.ps.v, &s.seq.Wiring, &s.p.motors
	comp := m.compressorLoad
	comp.Starting = quantity.Ratio(v[pStartingTorque] * float64(comp.Torque) / s.torque)
	comp.Torque = quantity.Torque(s.torque)
	if !s.ps.sound(pRotor) {
		comp.Starting = seized
	}
	w.Drives[seatCompressor].Load = comp
	w.Drives[seatFan].Load = fanLoad(m.fanLoad, float64(m.fanLoad.Speed), v[pBladeGrip], v[pFanFriction])
	if s.p.Has(PSCBlower) {
		w.Drives[seatBlower].Load = fanLoad(m.blowerLoad, float64(m.blowerLoad.Speed), v[pWheelGrip], v[pBlowerFriction])
	}
}

// seized is a breakaway torque that no motor has, over running torque.
const seized = 1e6

// fanLoad returns the load of a fan whose blades take design torque at design
// speed by the square law, less what slips on the shaft, and whose bearings
// add a constant drag; exact at speed.
func fanLoad(design circuit.Load, speed, grip, drag float64) circuit.Load {
	rated := float64(design.Torque)
	x := speed / float64(design.Speed)
	torque := rated * (grip*grip*x*x + drag)
	torque = math.Max(torque, 1e-3*rated)
	return circuit.Load{Torque: quantity.Torque(torque), Speed: quantity.AngularSpeed(speed), Fan: true,
		Starting: quantity.Ratio((float64(circuit.FanStarting) + drag) * rated / torque)}
}

// outdoors balances compressor and outdoor fan with the refrigerant: fan speed
// sets condenser air, compressor speed sets flow, flow and pressures set
// torque, torque sets slip. It works on the running networks.
func (s *Solver) outdoors() error {
	st, n := &s.state, s.nets[Running][outdoorSide]
	place := s.p.frame.place
	comp, fan := place["compressor/motor"].branch, place["condenser-fan/motor"].branch
	s.drives = [2]circuit.Drive{
		{Motor: comp, Load: s.seq.Wiring.Drives[seatCompressor].Load, Rated: s.p.plate.RatedVoltage, Motion: s.seq.Motion(seatCompressor)},
		{Motor: fan, Load: s.seq.Wiring.Drives[seatFan].Load, Rated: s.p.plate.RatedVoltage, Motion: s.seq.Motion(seatFan)},
	}
	st.Compressor, st.OutdoorFan = s.motorState(seatCompressor), s.motorState(seatFan)
	if s.drives[0].Motion != circuit.Turning && s.drives[1].Motion != circuit.Turning {
		s.condenserAir(n, fan)
		return nil
	}
	const rounds = 3
	const enough = 2e-4  // of synchronous speed: 0.02 % of flow, far below what any gauge shows
	const settled = 1e-3 // of torque: at a slip of a few per cent a fifth of that in speed
	speed := math.Inf(1)
	for range rounds {
		s.condenserAir(n, fan)
		now := 1 - n.Slip(comp)
		if math.Abs(now-speed) < enough {
			break
		}
		speed = now
		if s.drives[0].Motion == circuit.Turning {
			if err := s.refrigerate(speed / s.ratedSpeed()); err != nil {
				return err
			}
			before := float64(s.drives[0].Load.Torque)
			torque := float64(st.Cycle.ShaftPower) / (speed * float64(s.p.motors.compressor.SynchronousSpeed(circuit.BaseFrequency)))
			s.drives[0].Load.Torque = quantity.Torque(torque)
			if math.Abs(torque-before) < settled*torque {
				break
			}
		}
		s.drives[1].Load = fanLoad(s.p.motors.fanLoad, math.Max(st.Speeds.OutdoorFan, 0.05)*float64(s.p.motors.fan.SynchronousSpeed(circuit.BaseFrequency)),
			s.ps.v[pBladeGrip], s.ps.v[pFanFriction])
		if err := n.Run(s.drives[:]); err != nil {
			return fmt.Errorf("plant: outdoor motors: %w", err)
		}
	}
	s.condenserAir(n, fan)
	if s.drives[0].Motion == circuit.Turning {
		st.Speeds.Compressor = 1 - n.Slip(comp)
	} else if st.Compressor == MotorRuns { // pulled out under its load
		st.Compressor, st.Cycle = MotorHums, st.Standing
	}
	return nil
}

// ratedSpeed is the compressor's speed at rating over synchronous.
func (s *Solver) ratedSpeed() float64 {
	m := &s.p.motors
	return float64(m.compressorLoad.Speed / m.compressor.SynchronousSpeed(circuit.BaseFrequency))
}

// motorState names what a motor of the sequence does before loads are exact.
func (s *Solver) motorState(seat int) MotorState {
	switch s.seq.Motion(seat) {
	case circuit.Turning:
		return MotorRuns
	case circuit.Stalled:
		return MotorHums
	}
	return Silent
}

// reversedAir is the part of its flow that a propeller fan moves when it turns
// backward. practice: clearly less than half; judgement.
const reversedAir = 0.4

// slowFan is the part of its speed below which a fan is seen to be slow.
const slowFan = 0.93 // practice: some 70 rpm of 1075

// condenserAir sets fan state and outdoor airflow from the fan's slip.
func (s *Solver) condenserAir(n *circuit.Net, fan circuit.Branch) {
	st, v := &s.state, &s.ps.v
	st.OutdoorRatio = cycle.StoppedFan
	st.Speeds.OutdoorFan = 0
	if s.drives[1].Motion != circuit.Turning {
		if s.drives[1].Motion == circuit.Stalled {
			st.OutdoorFan = MotorHums
		}
		return
	}
	speed := 1 - n.Slip(fan)
	st.Speeds.OutdoorFan = speed
	m := &s.p.motors
	x := speed * float64(m.fan.SynchronousSpeed(circuit.BaseFrequency)/m.fanLoad.Speed)
	st.OutdoorFan = MotorRuns
	if x < slowFan {
		st.OutdoorFan = MotorSlow
	}
	air := x * v[pBladeGrip] * v[pOutdoorAirflow]
	if v[pBladeGrip] < 0.3 {
		st.OutdoorFan = FreeRuns
	}
	if !s.ps.sound(pFanRotation) {
		air *= reversedAir
	}
	st.OutdoorRatio = quantity.Ratio(math.Min(math.Max(air, cycle.StoppedFan), 1.6))
}
