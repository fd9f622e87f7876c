package plant

import (
	"fmt"
	"math"

	"rung/internal/airflow"
	"rung/internal/circuit"
	"rung/internal/cycle"
	"rung/internal/quantity"
)

// blower finds what the indoor blower does and the air it moves, on the indoor
// network of the running phase.
func (s *Solver) blower() error {
	n := s.nets[Running][indoorSide]
	if s.p.Has(PSCBlower) {
		return s.pscBlower(n)
	}
	return s.ecmBlower(n)
}

// setting translates the air-side parameters, with the wheel at a fraction of
// its design speed.
func (s *Solver) setting(wheel float64) airflow.Setting {
	v := &s.ps.v
	open := 1 - v[pIce]
	at := airflow.AsDesigned()
	at.Tap = quantity.Ratio(v[pSpeedSetting])
	at.Speed = quantity.Ratio(min(wheel, 1.2))
	at.Wheel = quantity.Ratio(1 - v[pWheelFouling])
	at.ReturnFactor = quantity.Ratio(v[pReturnDuct])
	at.FilterFactor = quantity.Ratio(v[pFilter] * v[pFilterClean])
	at.CoilFactor = quantity.Ratio(v[pCoilAir] / (open * open))
	at.SupplyFactor = quantity.Ratio(v[pSupplyDuct])
	at.WetCoil = s.seq.Motion(seatCompressor) == circuit.Turning
	at.Density = s.density()
	return at
}

// density returns that of the return air, taken as dry.
func (s *Solver) density() quantity.Density {
	const gasConstant = 287.042 // J/(kg·K), dry air; published: ASHRAE Fundamentals 2017 ch. 1
	return quantity.Density(float64(s.state.Ambient) / (gasConstant * float64(s.state.Return)))
}

// moveAir solves the ducts and keeps the result.
func (s *Solver) moveAir(wheel float64) error {
	at := s.setting(wheel)
	closed, err := airflow.Closed(quantity.Ratio(s.ps.v[pRegisters]))
	if err != nil {
		return fmt.Errorf("plant: %w", err)
	}
	at.SupplyFactor *= closed
	air, err := s.p.ducts.Solve(at)
	if err != nil {
		return fmt.Errorf("plant: %w", err)
	}
	st := &s.state
	st.Air = air
	st.AirRatio = quantity.Ratio(float64(air.Flow / s.machine.RatedIndoorAirflow()))
	if air.Flow > 0 {
		st.Supply = st.Return + quantity.Temperature(float64(air.Power)/s.airHeat())
	}
	return nil
}

// airHeat returns the heat capacity flow of the indoor air, W/K.
func (s *Solver) airHeat() float64 {
	const heat = 1006.0 // J/(kg·K), dry air; published: ASHRAE Fundamentals 2017 ch. 1
	return float64(s.state.Air.Flow) * float64(s.density()) * heat
}

// pscBlower balances the motor with the wheel: speed sets flow and shaft
// power, shaft power sets speed.
func (s *Solver) pscBlower(n *circuit.Net) error {
	st, v := &s.state, &s.ps.v
	drive := [1]circuit.Drive{{Motor: s.p.frame.place["blower-motor/motor"].branch, Rated: s.p.plate.BlowerVoltage, Motion: s.seq.Motion(seatBlower)}}
	st.Blower = s.motorState(seatBlower)
	if drive[0].Motion != circuit.Turning {
		return s.moveAir(0)
	}
	const rounds = 4
	const enough = 2e-3 // of speed: 0.2 % of flow, a tenth of what an anemometer resolves
	design, motor := s.p.motors.blowerLoad, &s.p.motors.blower
	drag := v[pBlowerFriction] * float64(design.Torque)
	for range rounds {
		speed := float64(motor.Speed(n.Slip(drive[0].Motor), circuit.BaseFrequency))
		if err := s.moveAir(v[pWheelGrip] * speed / float64(design.Speed)); err != nil {
			return err
		}
		torque := math.Max(float64(st.Air.ShaftPower)/speed+drag, 1e-3*float64(design.Torque))
		drive[0].Load = circuit.Load{Torque: quantity.Torque(torque), Speed: quantity.AngularSpeed(speed), Fan: true}
		if err := n.Run(drive[:]); err != nil {
			return fmt.Errorf("plant: blower: %w", err)
		}
		if drive[0].Motion != circuit.Turning {
			st.Blower = MotorHums
			return s.moveAir(0)
		}
		now := float64(motor.Speed(n.Slip(drive[0].Motor), circuit.BaseFrequency))
		if math.Abs(now-speed) < enough*speed {
			break
		}
	}
	st.Speeds.Blower = 1 - n.Slip(drive[0].Motor)
	const slow = 0.85 // practice: heard and seen as slow
	switch ratio := float64(motor.Speed(n.Slip(drive[0].Motor), circuit.BaseFrequency) / design.Speed); {
	case v[pWheelGrip] < 0.3:
		st.Blower = FreeRuns
	case ratio < slow:
		st.Blower = MotorSlow
	}
	return nil
}

// moduleAlive is the part of its voltage below which a module shuts down.
const moduleAlive = 0.8 // practice: about

// ecmBlower runs a module that holds its programmed flow.
func (s *Solver) ecmBlower(n *circuit.Net) error {
	st := &s.state
	volts := s.volts(n, BlowerTap, IndoorBack)
	energised := volts >= moduleAlive*float64(s.p.plate.BlowerVoltage)
	turns := energised && s.ps.sound(pModule) && s.ps.sound(pCommand) && s.ps.v[pBlowerFriction] < 1
	if !turns {
		return s.moveAir(0)
	}
	st.Blower = MotorRuns
	st.Speeds.Blower = 1
	if s.ps.v[pWheelGrip] < 0.3 {
		st.Blower = FreeRuns
	}
	if err := s.moveAir(s.ps.v[pWheelGrip]); err != nil {
		return err
	}
	// A module draws pulses: amps are about 1.6 times watts over volts.
	const pulse = 1.6 // practice: power factor 0.6 without a choke
	n.SetResistance(s.p.frame.place["blower-motor/module"].branch,
		quantity.Resistance(volts*volts/(pulse*max(float64(st.Air.Power), 5))))
	return n.Solve()
}

// refrigerate runs the cycle with the compressor at speed (of nominal) and the
// outdoor coil at its airflow.
func (s *Solver) refrigerate(speed float64) error {
	st := &s.state
	indoor := max(float64(st.AirRatio), float64(cycle.StoppedFan))
	outdoor := max(float64(st.OutdoorRatio), float64(cycle.StoppedFan))
	c := s.condition(indoor, outdoor, speed, st.Air.Power)
	var start *cycle.State
	if s.warm.Outcome == cycle.Steady || s.warm.Outcome == cycle.Icing {
		start = &s.warm
	}
	out, err := s.memo.Solve(s.machine, c, s.fault(), start)
	if err != nil {
		return fmt.Errorf("plant: refrigerant side: %w", err)
	}
	s.warm = out
	st.Cycle = out
	if st.Air.Flow > 0 { // else nothing comes out of the registers
		st.Supply = out.SupplyDryBulb
	}
	return nil
}
