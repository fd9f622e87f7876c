package system

import (
	"maps"
	"math"

	"rung/internal/hydronic"
	"rung/internal/quantity"
)

// The formulas of the water side, in SI units with temperatures in °C and
// pressures absolute:
//
//	loop(shutoff,runout,loss,flow,drag)         flow of a pump through a loop that loses so much head at a flow, times drag
//	spread(watts,flow,mean)                     what water of that mean temperature is warmer in supply than in return
//	emitter(watts,rated,over,room)              mean water of radiators that give off so much
//	tank(fill,charge,volume,air,system,cold,hot,relief)   pressure of a system of that volume, filled cold and now hot; air is the
//	                                            share of its air that the tank still has; at most what the relief valve holds
//	tank-air(charge,air)                        what a tyre gauge finds in the tank, its water side empty
func init() {
	maps.Copy(formulas, map[string]formula{
		"loop":     {5, loopFlow},
		"spread":   {3, spread},
		"emitter":  {4, emitter},
		"tank":     {8, tankPressure},
		"tank-air": {2, func(x []float64) (float64, error) { return math.Max(seaLevel, x[0]*x[1]), nil }},
	})
}

func loopFlow(x []float64) (float64, error) {
	p := hydronic.Pump{Shutoff: quantity.Length(x[0]), Runout: quantity.VolumeFlow(x[1])}
	q, err := p.Flow(quantity.Length(x[2]*x[4]), quantity.VolumeFlow(x[3]))
	return float64(q), err
}

// water returns water as it is in a heating system, at °C.
func water(celsius float64) (hydronic.Liquid, error) {
	const usual = 2e5 // Pa; practice: 15 psi gauge; its density changes by a hundred-thousandth for each 20 kPa
	return hydronic.WaterAt(quantity.Temperature(celsius+iceWater), usual)
}

func spread(x []float64) (float64, error) {
	if err := quantity.CheckRange("system.spread", "flow", x[1], 1e-6, 1, "m³/s"); err != nil {
		return 0, err
	}
	w, err := water(x[2])
	return x[0] / float64(hydronic.HeatCarried(w, quantity.VolumeFlow(x[1]), 1)), err
}

func emitter(x []float64) (float64, error) {
	T, err := hydronic.MeanWater(quantity.Power(x[0]), quantity.Power(x[1]), quantity.TempDiff(x[2]), quantity.Temperature(x[3]+iceWater))
	return float64(T) - iceWater, err
}

// tankPressure returns the pressure of a hot system. Where its water needs more
// room than the tank has, the relief valve opens: that is the answer, no error.
func tankPressure(x []float64) (float64, error) {
	fill, charge, volume, air, system, cold, hot, relief := x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7]
	a, err := water(cold)
	if err != nil {
		return 0, err
	}
	b, err := water(hot)
	if err != nil {
		return 0, err
	}
	grown := float64(hydronic.Expansion(a, b, hydronic.Copper, quantity.TempDiff(hot-cold))) * system
	room := volume * air * math.Min(1, charge/fill)
	if grown >= room {
		return relief, nil
	}
	p, err := hydronic.Tank{Volume: quantity.Volume(volume * air), Charge: quantity.Pressure(charge)}.Pressure(quantity.Pressure(fill), quantity.Volume(math.Max(0, grown)))
	return math.Min(float64(p), relief), err
}
