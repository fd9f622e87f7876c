package plant

import (
	"errors"
	"fmt"
	"math"
	"time"

	"rung/internal/circuit"
	"rung/internal/cycle"
	"rung/internal/quantity"
)

// duty is how warm the windings of a sound compressor run on the hottest day
// that it must get through: the measure for one with a fault, and what its
// overload is matched to.
type duty struct {
	power     float64 // W, electrical at rating
	main, aux float64 // copper loss of each winding on that day, W
	lowMain   float64 // of the main winding on the lowest service
	temp      float64 // K, of the windings on that day
}

// The hottest duty of a sound machine.
const (
	// memory: AHRI 210/240, maximum operating conditions, 115 °F outdoors, and
	// voltage tolerance of 10 %: the machine must run through both. practice: 2 %
	// more are lost behind the panel.
	hotDay     quantity.Temperature = 319.261
	lowService float64              = 0.88 // of plate volts
	// practice: 240 V service on a plate of 230 V.
	nominalService float64 = 240.0 / 230
)

// dutyOf runs the sound compressor of one machine of a plate through its
// hottest day.
func dutyOf(m *cycle.Machine, ms *motors, n *Nameplate) (duty, error) {
	var d duty
	rated, err := m.Solve(m.RatingCondition(), cycle.Healthy(), nil)
	if err != nil {
		return d, fmt.Errorf("plant: rating point: %w", err)
	}
	c := m.RatingCondition()
	c.Outdoor = hotDay
	hot, err := m.Solve(c, cycle.Healthy(), &rated)
	if err != nil {
		return d, fmt.Errorf("plant: hottest day: %w", err)
	}
	net, supply, motor, err := testBench(ms.compressor, n.HermCapacitance, n.RatedVoltage)
	if err != nil {
		return d, err
	}
	drives := []circuit.Drive{{Motor: motor, Load: ms.compressorLoad, Rated: n.RatedVoltage}}
	run := func(volts float64, shaft quantity.Power) (main, aux float64) {
		net.SetSource(supply, complex(volts*float64(n.RatedVoltage), 0))
		drives[0].Load.Torque = quantity.Torque(float64(shaft) / float64(drives[0].Load.Speed))
		err = errors.Join(err, net.Run(drives))
		return copperLoss(net, motor)
	}
	run(nominalService, rated.ShaftPower)
	d.power = float64(net.Power(motor))
	d.main, d.aux = run(nominalService, hot.ShaftPower)
	power := float64(net.Power(motor)) / d.power
	d.lowMain, _ = run(lowService, hot.ShaftPower)
	if err != nil {
		return d, fmt.Errorf("plant: compressor on the hottest day: %w", err)
	}
	d.temp = warmth(&hot, hotDay, power, 1, float64(hot.MassFlow/m.RatedMassFlow()))
	return d, nil
}

// The compressor's internal overload sits on the windings inside the shell and
// feels line current, which package relay follows, and their temperature:
//
//	T = T_g + (steady·P + copper·max(L_main, 0.85·L_aux))·√(1.25/(m + 0.25))
//	T_g = T_suction + 0.15·(T_discharge - T_suction) + 0.2·(T_outdoor - T_suction)
//
//	P  electrical power over that at rating
//	L  copper loss of a winding over that of its hottest duty
//	m  gas flow over that at rating
//
// practice: a shell opens at 225 to 250 °F and closes at 150 to 160 °F, the
// windings inside are 10 to 30 °C hotter than their shell. Suction gas cools
// them, the discharge warms the shell. The split is judgement: a main winding
// with half the capacitor left does not hold on a hot day, nor one with half
// its gas.
//
// Each winding counts as wound for its own hottest duty: with a weak capacitor
// the copper loss of both together hardly changes, it moves from the start
// winding to the main one.
const (
	windingSpare  = 25.0  // K over the hottest day of a sound machine, at which the overload opens
	windingCloses = 345.0 // K
	windingCool   = 300.0 // K, at which an aged overload would still be closed
	steadyRise    = 10.0  // K
	copperRise    = 70.0  // K
	fromDischarge = 0.15
	fromOutdoors  = 0.2
	fromShell     = 0.25 // of the cooling by gas at rating, without any gas
	startSpare    = 0.85 // of its hottest duty that a start winding counts as doing: it runs cooler than the main one
)

// warmth is the formula above, K.
func warmth(c *cycle.State, outdoor quantity.Temperature, power, loss, flow float64) float64 {
	suction := float64(c.SuctionLineTemp)
	gas := suction + fromDischarge*(float64(c.DischargeTemp)-suction) + fromOutdoors*(float64(outdoor)-suction)
	return gas + (steadyRise*power+copperRise*loss)*math.Sqrt((1+fromShell)/(flow+fromShell))
}

// duty returns that of the machine in use.
func (s *Solver) duty() *duty { return &s.p.duties[int(s.ps.v[pVariant])] }

// windingTemp returns the temperature of the hotter winding while running.
func (s *Solver) windingTemp() float64 {
	st, d := &s.state, s.duty()
	n, motor := s.nets[Running][outdoorSide], s.p.frame.place["compressor/motor"].branch
	main, aux := copperLoss(n, motor)
	// Gas that leaks back inside has passed the motor too.
	flow := float64(st.Cycle.MassFlow/s.machine.RatedMassFlow()) / math.Max(1-s.ps.v[pValveLeak], 0.05)
	return warmth(&st.Cycle, st.Surroundings.Outdoor, math.Max(float64(n.Power(motor))/d.power, 0), math.Max(main/d.main, startSpare*aux/d.aux), flow)
}

// windingLimit returns the winding temperature at which the overload opens. An
// aged one opens earlier.
//
// On a low service the main winding of a sound motor runs hotter on a hot day,
// and the protector is matched to that: here by as much as the service, as read
// at the panel, is low, down to an eighth under the plate. A sag behind the panel
// gets no such allowance.
func (s *Solver) windingLimit() float64 {
	d, plate := s.duty(), float64(s.p.plate.RatedVoltage)
	low := (nominalService - float64(s.state.Surroundings.Line)/plate) / (nominalService - lowService)
	opens := d.temp + windingSpare + copperRise*math.Min(math.Max(low, 0), 1)*(d.lowMain/d.main-1)
	ratio := s.ps.v[pOverloadTrip]
	return windingCool + (opens-windingCool)*ratio*ratio
}

// overheatTime returns how long after its start a compressor opens its overload
// whose windings would settle at a temperature above the limit, both in K: by
// an exponential from outdoor temperature, as the shell is when the visit
// begins.
//
// practice: a hermetic compressor takes a quarter of an hour to come to its
// temperature. What would take longer than the look at a settled system is
// taken to happen at its end.
func (s *Solver) overheatTime(settles, limit float64) time.Duration {
	const heats = 5 * time.Minute
	const latest = timeSettled - time.Minute
	cold := float64(s.state.Surroundings.Outdoor)
	if !(settles > limit) || limit <= cold {
		return timeOverheated
	}
	after := time.Duration(math.Log((settles-cold)/(settles-limit)) * float64(heats))
	return min(max(after, timePumpedDown), latest)
}
