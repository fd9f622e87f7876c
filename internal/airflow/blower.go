package airflow

import (
	"math"

	"rung/internal/num"
)

// The shape of a forward-curved wheel between flow and pressure, both over
// their design values, and of its shaft power.
//
// practice: usual blower tables of 3-ton air handlers lose about a sixth of
// their flow when external static rises from 0.5 to 0.8 in. w.c.; the free
// delivery below gives that. No citable table.
const (
	freeDelivery = 1.45 // flow without any resistance, over design flow
	idleShaft    = 0.35 // shaft power of the shut-off wheel, over that at design flow
	wheelEff     = 0.45 // total efficiency of wheel and housing at design
	motorEffPSC  = 0.60 // practice: six-pole PSC blower motors at load
	motorEffECM  = 0.78 // practice: electronically commutated blower motors at load
	maxSpeed     = 1.45 // of a constant-airflow wheel over its design speed; practice
	maxShaft     = 1.90 // of a constant-airflow motor over its design shaft power; practice
)

// shutOff is the pressure of the closed wheel over the design pressure.
const shutOff = 1 / (1 - 1/(freeDelivery*freeDelivery))

// pressure returns the rise of the wheel over the design rise, at flow q and
// speed s, both over design, by the fan laws. w is the wheel's cleanliness.
func pressure(q, s, w float64) float64 {
	return shutOff * (w*s*s - q*q/(w*freeDelivery*freeDelivery))
}

// shaft returns shaft power over that at design, for flow q and speed s.
// Power goes with the cube of speed along one system curve; the dirty wheel
// moves less air and so takes less.
func shaft(q, s float64) float64 {
	return s * s * (idleShaft*s + (1-idleShaft)*q)
}

// flowAt returns the flow over design at which the wheel at speed s balances
// the resistance r = drop/(design drop · q²).
func flowAt(r, s, w float64) float64 {
	return s * math.Sqrt(shutOff*w/(r+shutOff/(w*freeDelivery*freeDelivery)))
}

// speedFor returns the speed over design at which the wheel moves q against r.
func speedFor(q, r, w float64) float64 {
	return q * math.Sqrt((r/shutOff+1/(w*freeDelivery*freeDelivery))/w)
}

// limitSpeed returns the highest speed a constant-airflow motor reaches
// against r: that of its speed limit or of its power limit, whichever is lower.
func limitSpeed(r, w, density float64) (float64, error) {
	over := func(s float64) float64 { return density*shaft(flowAt(r, s, w), s) - maxShaft }
	if over(maxSpeed) <= 0 {
		return maxSpeed, nil
	}
	return num.Root("airflow: power limit", over, 0, maxSpeed, 1e-10)
}
