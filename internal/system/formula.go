package system

import (
	"fmt"
	"math"

	"rung/internal/airflow"
	"rung/internal/combustion"
	"rung/internal/moistair"
	"rung/internal/num"
	"rung/internal/quantity"
)

// formulas are how one value follows from others. Arguments and answers are in
// SI units, but temperatures of air and flue gas are in °C.
//
//	product(x,...), sum(x,...)         of all of them
//	ratio(x,y), difference(x,y)        x over y, x less y
//	governed(set,inlet)                pressure behind a regulator: what it is set for, if the inlet has it
//	orifice(flow,rated,pressure)       what an orifice of that flow at the rated pressure passes at another
//	excess(rated,air,gas)              excess air, of the shares of rated air and gas
//	oxygen(excess)                     share of oxygen in the dry flue gas of natural gas
//	monoxide(base,excess)              carbon monoxide, air-free
//	stack(rated,rated excess,excess,gas,air,return)   temperature of the flue gas
//	efficiency(excess,stack,return)    share of the gas's heat that stays
//	rise(watts,airflow,return)         what warms air by so much
//	airflow, static, torque(flow,speed,wheel,return,filter,coil,supply,filter drag,coil drag,duct drag)
//	steady-airflow, steady-static(...) the same of a motor that holds its torque
//	filter-drop(filter,drag,flow,airflow)             over a filter
var formulas map[string]formula

type formula struct {
	args int // -1 for any number
	of   func(x []float64) (float64, error)
}

func init() {
	formulas = map[string]formula{
		"product":        {-1, product},
		"sum":            {-1, sum},
		"ratio":          {2, func(x []float64) (float64, error) { return x[0] / x[1], nil }},
		"difference":     {2, func(x []float64) (float64, error) { return x[0] - x[1], nil }},
		"governed":       {2, func(x []float64) (float64, error) { return math.Max(0, math.Min(x[0], x[1]-valveDrop)), nil }},
		"orifice":        {3, orifice},
		"excess":         {3, func(x []float64) (float64, error) { return excessAir(x[0], x[1], x[2]) }},
		"oxygen":         {1, flueOxygen},
		"monoxide":       {2, func(x []float64) (float64, error) { return x[0] * monoxideRise(x[1]), nil }},
		"stack":          {6, stack},
		"efficiency":     {3, func(x []float64) (float64, error) { return efficiency(x[0], x[1], x[2]) }},
		"rise":           {3, func(x []float64) (float64, error) { return airRise(x[0], x[1], x[2]) }},
		"airflow":        {10, moved(holdsSpeed, func(s airflow.State) float64 { return float64(s.Flow) })},
		"static":         {10, moved(holdsSpeed, func(s airflow.State) float64 { return float64(s.ExternalStatic) })},
		"torque":         {10, blowerTorque},
		"steady-airflow": {10, moved(holdsTorque, func(s airflow.State) float64 { return float64(s.Flow) })},
		"steady-static":  {10, moved(holdsTorque, func(s airflow.State) float64 { return float64(s.ExternalStatic) })},
		"filter-drop":    {4, func(x []float64) (float64, error) { return x[0] * x[1] * (x[3] / x[2]) * (x[3] / x[2]), nil }},
	}
}

func product(x []float64) (float64, error) {
	p := 1.0
	for _, v := range x {
		p *= v
	}
	return p, nil
}

func sum(x []float64) (float64, error) {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s, nil
}

// valveDrop is what a gas valve takes of the inlet pressure at its rated flow, Pa.
// practice: a combination valve wants the inlet about an inch of water above the manifold
const valveDrop = 250

func orifice(x []float64) (float64, error) {
	share, err := combustion.OrificeFlow(quantity.PressureDiff(x[2]), quantity.PressureDiff(x[1]))
	return x[0] * float64(share), err
}

// leanest is the most excess air that is looked at: with more there is no flame.
const leanest = 8.0

// excessAir returns the excess of air when air and gas are shares of the rated.
// Without gas there is no flame, and the answer is that of the leanest one;
// less air than the gas needs counts as no excess, and monoxide tells of it.
func excessAir(rated, air, gas float64) (float64, error) {
	if err := quantity.CheckRange("system.excess", "rated excess air", rated, 0, leanest, ""); err != nil {
		return 0, err
	}
	if gas <= 0 {
		return leanest, nil
	}
	return math.Max(0, math.Min((1+rated)*air/gas-1, leanest)), nil
}

// The air of the house, for its heat capacity: half an atmosphere more or less
// of vapour moves it by a hundredth.
const (
	roomHumidity = 0.4      // practice: a heated house
	seaLevel     = 101325.0 // Pa; published: ICAO standard atmosphere
	iceWater     = 273.15   // published: BIPM SI Brochure 9th ed., 2.3.1
)

// room returns the air of the house at a temperature in °C.
func room(celsius float64) (moistair.State, error) {
	return moistair.FromRelativeHumidity(quantity.Temperature(celsius+iceWater), roomHumidity, seaLevel)
}

// airRise returns the warming, K, of an air flow of the house, m³/s as it is
// drawn in, by a heat flow in W. Without air it is without bound and refused.
func airRise(watts, flow, back float64) (float64, error) {
	if err := quantity.CheckRange("system.rise", "airflow", flow, 1e-3, 10, "m³/s"); err != nil {
		return 0, err
	}
	s, err := room(back)
	if err != nil {
		return 0, err
	}
	T := back + iceWater
	heat := moistair.Enthalpy(T+1, float64(s.HumidityRatio)) - moistair.Enthalpy(T, float64(s.HumidityRatio)) // J/(kg·K) of dry air
	return watts * float64(s.SpecificVolume) / (flow * heat), nil
}

func flue(excess, back float64) (combustion.Flue, error) {
	gas, err := combustion.Lookup("natural-gas")
	if err != nil {
		return combustion.Flue{}, err
	}
	s, err := room(back)
	if err != nil {
		return combustion.Flue{}, err
	}
	return combustion.FlueAt(gas, quantity.Ratio(excess), s.HumidityRatio)
}

// flueOxygen returns the share of oxygen in the dry flue gas.
func flueOxygen(x []float64) (float64, error) {
	fl, err := flue(x[0], returnAir)
	return float64(fl.Oxygen), err
}

// returnAir is the air of the house, °C.
// practice: 70 °F
const returnAir = 21.0

// monoxideRise returns by how much less air raises the carbon monoxide of a
// burner: it cannot be computed from first principles.
//
// practice: an atmospheric or in-shot burner makes little until its excess air
// falls under about a third, and then several times more for each tenth; a typical course,
// no source.
func monoxideRise(excess float64) float64 {
	const (
		enough = 0.35 // excess air
		fold   = 0.07 // of excess air for e times the monoxide
	)
	return math.Exp(math.Max(0, enough-excess) / fold)
}

// lost returns the share of the gas's heat that leaves with flue gas of a
// temperature in °C.
func lost(fl combustion.Flue, celsius, back float64) (float64, error) {
	most := 1.0 // share of vapour that the flue gas can hold
	if T := quantity.Temperature(celsius + iceWater); T < 373 {
		p, err := moistair.SatPressure(T)
		if err != nil {
			return 0, err
		}
		most = float64(p) / seaLevel
	}
	l, err := fl.Loss(quantity.Temperature(celsius+iceWater), quantity.Temperature(back+iceWater), quantity.Ratio(most))
	return 1 - float64(l.Efficiency), err
}

func efficiency(excess, stack, back float64) (float64, error) {
	fl, err := flue(excess, back)
	if err != nil {
		return 0, err
	}
	share, err := lost(fl, stack, back)
	return 1 - share, err
}

// airSide is the share of the resistance to heat of an exchanger that lies on
// the side of the house's air.
// practice: gas side and wall hold back most of it; a typical share
const airSide = 0.1

// stack returns the temperature in °C with which flue gas leaves an exchanger.
//
// The gas cools towards the air along an exponential law, in proportion to
// surface over capacity flow of the gas; the air's own warming is small beside
// it. Rated is the temperature at the rated excess air, gas and air flow; gas
// and air are the shares of these that flow. On the gas side the conductance is
// taken as constant, on the side of the air it goes with the flow to 0.8.
//
// published: the law of an exchanger with one stream of nearly constant
// temperature, 1 − exp(−NTU), in any textbook of heat transfer; 0.8 is the
// exponent of turbulent flow there (Dittus, Boelter 1930)
func stack(x []float64) (float64, error) {
	rated, ratedExcess, excess, gas, air, back := x[0], x[1], x[2], x[3], x[4], x[5]
	if gas <= 0 {
		return back, nil
	}
	if err := quantity.CheckRange("system.stack", "rated temperature", rated, back+5, 600, "°C"); err != nil {
		return 0, err
	}
	if err := quantity.CheckRange("system.stack", "share of airflow", air, 0.01, 3, ""); err != nil {
		return 0, err
	}
	hot, capacity, err := burnt(ratedExcess, back)
	if err != nil {
		return 0, err
	}
	units := math.Log((hot - back) / (rated - back))
	now, capacityNow, err := burnt(excess, back)
	if err != nil {
		return 0, err
	}
	units *= capacity / (capacityNow * gas) / (1 - airSide + airSide*math.Pow(air, -0.8))
	return back + (now-back)*math.Exp(-units), nil
}

// burnt returns the temperature in °C of the flue gas before it has given off
// any heat, without dissociation, and what it loses of the gas's heat with each kelvin.
func burnt(excess, back float64) (celsius, capacity float64, err error) {
	const low, high = 200.0, 700.0 // °C, between which the capacity is taken
	fl, err := flue(excess, back)
	if err != nil {
		return 0, 0, err
	}
	a, err := lost(fl, low, back)
	if err != nil {
		return 0, 0, err
	}
	b, err := lost(fl, high, back)
	if err != nil {
		return 0, 0, err
	}
	capacity = (b - a) / (high - low)
	return low + (1-a)/capacity, capacity, nil
}

// blowing returns the air side of ten arguments: flow, speed, wheel; the drops of
// return, filter, coil and supply at that flow when clean; and how many times
// those of filter, coil and ducts are now.
func blowing(x []float64) (*airflow.System, airflow.Setting, error) {
	s, err := airflow.New(airflow.Design{Blower: airflow.PSC, Flow: quantity.VolumeFlow(x[0]), Return: quantity.PressureDiff(x[3]),
		Filter: quantity.PressureDiff(x[4]), Coil: quantity.PressureDiff(x[5]), Supply: quantity.PressureDiff(x[6]), CoilOutside: true})
	at := airflow.AsDesigned()
	at.Speed, at.Wheel = quantity.Ratio(x[1]), quantity.Ratio(x[2])
	at.FilterFactor, at.CoilFactor = quantity.Ratio(x[7]), quantity.Ratio(x[8])
	at.ReturnFactor, at.SupplyFactor = quantity.Ratio(x[9]), quantity.Ratio(x[9])
	return s, at, err
}

// holdsSpeed is a motor on a tap: its speed hardly moves with its load.
func holdsSpeed(s *airflow.System, at airflow.Setting) (airflow.State, error) { return s.Solve(at) }

// holdsTorque is an electronic motor that holds its torque: it turns faster
// when the wheel moves less air, up to the greatest speed.
func holdsTorque(s *airflow.System, at airflow.Setting) (airflow.State, error) {
	const fastest = 1.2 // of the design speed; practice: such motors are limited in speed
	designed, err := s.Solve(airflow.AsDesigned())
	if err != nil || at.Speed == 0 {
		return designed, err
	}
	torque := float64(at.Speed) * float64(designed.ShaftPower) // of which the tap, or a weak module, gives a part
	over := func(speed float64) float64 {
		at.Speed = quantity.Ratio(speed)
		now, bad := s.Solve(at)
		if bad != nil {
			err = bad
			return 0
		}
		return float64(now.ShaftPower)/speed - torque
	}
	if over(fastest) > 0 && err == nil {
		var speed float64
		if speed, err = num.Root("system: torque of the blower", over, 0.05, fastest, 1e-6); err == nil {
			at.Speed = quantity.Ratio(speed)
		}
	}
	if err != nil {
		return airflow.State{}, err
	}
	return s.Solve(at)
}

// moved makes a formula of something that the air side shows.
func moved(turns func(*airflow.System, airflow.Setting) (airflow.State, error), shows func(airflow.State) float64) func([]float64) (float64, error) {
	return func(x []float64) (float64, error) {
		s, at, err := blowing(x)
		if err != nil {
			return 0, err
		}
		now, err := turns(s, at)
		return shows(now), err
	}
}

// blowerTorque returns the torque of a wheel over that at the design point, at
// the same speed: what a motor on a tap has to give.
func blowerTorque(x []float64) (float64, error) {
	s, at, err := blowing(x)
	if err != nil {
		return 0, err
	}
	now, err := s.Solve(at)
	if err != nil {
		return 0, err
	}
	designed, err := s.Solve(airflow.AsDesigned())
	if err != nil {
		return 0, err
	}
	if at.Speed <= 0 {
		return 0, fmt.Errorf("a wheel that stands takes no torque")
	}
	speed := float64(at.Speed)
	return float64(now.ShaftPower/designed.ShaftPower) / (speed * speed * speed), nil
}
