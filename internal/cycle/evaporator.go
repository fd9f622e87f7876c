package cycle

import (
	"math"

	"rung/internal/moistair"
	"rung/internal/refrigerant"
)

// evaporated is what leaves the coil that takes heat.
type evaporated struct {
	twoPhase float64 // share of the face that boils; above 1 liquid leaves
	h, T     float64
	sh       float64 // K; below zero the equivalent of the liquid that leaves
	quality  float64 // entering
	surface  float64 // K, air side of the boiling part
	Te       float64 // K
	rhoLiq   float64
	rhoVap   float64
	hDew     float64
	hfg      float64
}

// surfaceSpan is the span over which the slope of saturated-air enthalpy is
// taken, K: coil surfaces stand some 3 K above the refrigerant.
const surfaceSpan = 6

// evaporate follows the refrigerant through the boiling and the superheating
// part of the coil that takes heat: the indoor coil in cooling, the outdoor coil
// in heating. Frost counts as dew: the heat of freezing, an eighth of that of
// condensing, is left out. The boiling part is all wet or all dry, whichever
// takes more heat.
//
// published: Braun, Klein, Mitchell 1989, ASHRAE Trans. 95(1), the quick rule
// for partly wet coils, as cited in cooling-coil models; the paper not seen.
func (l *loop) evaporate(m, pe, hIn float64, sat *refrigerant.SatRow) evaporated {
	s := &l.cold
	r := &s.r
	flow := root34(m / l.m.m0)
	Ri := r.twoPhase / flow
	o := evaporated{Te: 0.5 * (sat.TDew + sat.TBub), rhoLiq: sat.RhoLiq, rhoVap: sat.RhoVap,
		hDew: sat.HVap, hfg: sat.HVap - sat.HLiq}
	o.quality = (hIn - sat.HLiq) / o.hfg
	drive := softPlus(s.T-o.Te, 0.1)

	C := s.cap
	dry := C * (1 - math.Exp(-1/(C*(s.air+Ri)))) * drive
	hs := moistair.SatEnthalpy(o.Te, l.pAir)
	cs := (moistair.SatEnthalpy(o.Te+surfaceSpan, l.pAir) - hs) / surfaceSpan
	wet := s.flow * (1 - math.Exp(-1/(s.flow*(s.cp*s.air+cs*Ri)))) * (s.h - hs)
	q := dry + softPlus(wet-dry, 0.02*dry)
	o.surface = o.Te + q*Ri

	o.twoPhase = m * (sat.HVap - hIn) / q
	const probe = 5.0 // K; superheat at which the gas's heat capacity is taken
	cp := l.t.VapourPT(pe, probe) / probe
	if rest := 1 - o.twoPhase; rest > 0 {
		K := C * (1 - math.Exp(-1/(C*(s.air+r.vapour/flow))))
		o.sh = drive * (1 - math.Exp(-K*rest/(m*cp)))
		o.h = sat.HVap + l.t.VapourPT(pe, o.sh)
		o.T = sat.TDew + o.sh
		return o
	}
	o.h = hIn + q/m
	o.T = sat.TDew
	o.sh = (o.h - sat.HVap) / cp
	return o
}
