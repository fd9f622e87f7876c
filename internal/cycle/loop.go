package cycle

import (
	"math"

	"rung/internal/refrigerant"
)

// loop is one machine under one condition with one fault: everything that
// stays fixed while the three unknowns are sought, and the last pass.
//
// The unknowns are z = (ln p_evap, ln p_sat in the outdoor coil, (h_suction -
// h_dew(p_evap))/1000), pressures in Pa, enthalpies in J/kg. Given z every
// component is explicit, so one pass costs well under a microsecond and no
// component iterates inside.
type loop struct {
	m *Machine
	t *refrigerant.Table

	speed, leak float64
	// Outdoor air: temperature K, capacity rate W/K, air-side resistance K/W.
	Ta, capOut, airOut float64
	pnc                float64 // partial pressure of foreign gas, Pa
	// Indoor air: temperature K, enthalpy J/kg and flow kg/s of dry air, heat
	// capacity J/(kg·K), pressure Pa, air-side resistance K/W, humidity.
	Tai, hai, ma, cpa, pAir, airIn, Wai float64
	fanHeat                             float64

	stuck, shift, bulb, scale float64
	restriction               float64 // Pa at rated flow
	lineGain                  float64 // W/K
	charge                    float64 // kg
	subcooling                float64 // K asked for instead of a charge; NaN: charge is given

	lo, hi [3]float64 // where z may go
	fine   float64    // tolerance of the inner brackets, over the usual one

	passes int
	at     point
}

// point is the last pass.
type point struct {
	pe, pc, pPort, pDis, pSuc float64
	m, W                      float64
	u                         suction
	c                         condensed
	e                         evaporated
	in                        inlet
	opening                   float64
	hSuc                      float64
	satE, satC                refrigerant.SatRow // at pe and pc
	charge                    float64
}

// pass goes once around the loop from z and returns the three residuals:
// enthalpy mismatch at the compressor over the heat of evaporation, logarithm
// of metered over pumped flow, and charge found less charge present over the
// rated charge.
func (l *loop) pass(z *[3]float64) [3]float64 {
	l.passes++
	p := &l.at
	p.pe, p.pc = math.Exp(z[0]), math.Exp(z[1])
	p.pDis = p.pc + l.pnc
	p.satC = l.t.Sat(p.pc)
	l.suctionSide(z[2] * 1000)
	var hDis float64
	p.m, p.W, hDis = l.compress(p.u, p.pDis)
	p.c = l.condense(p.m, p.pc, hDis, &p.satC)
	l.liquidSide()
	p.e = l.evaporate(p.m, p.pe, p.c.h, &p.satE)
	p.opening = l.opening()
	metered := l.meter(p.in, p.pe, p.opening)

	gain := l.lineHeat(p.m, p.e.T)
	f := [3]float64{
		(p.e.h + gain - p.hSuc) / p.e.hfg,
		math.Log(metered / p.m),
		0,
	}
	p.charge = l.mass(&p.c, &p.e, &p.in, &p.u)
	if math.IsNaN(l.subcooling) {
		f[2] = (p.charge - l.charge) / l.m.charge0
	} else {
		f[2] = (l.t.BubbleTemp(p.pPort) - p.c.T - l.subcooling) / subcoolingScale
	}
	return f
}

// lineHeat returns what the suction line adds per mass to gas entering it at T:
// it cannot warm the gas past the outdoor air.
func (l *loop) lineHeat(m, T float64) float64 {
	const cp = 1000 // J/(kg·K); practice: suction gas of both refrigerants, 0.8 to 1.2 kJ/(kg·K)
	return cp * (l.Ta - T) * (1 - math.Exp(-l.lineGain/(cp*m)))
}

// subcoolingScale makes a residual of a subcooling comparable to the others, K.
const subcoolingScale = 20

// suctionSide sets the compressor's inlet from w = h_suction - h_dew(p_evap).
// The line drop goes with flow²/density; with the flow itself in proportion to
// the density it goes with the density.
func (l *loop) suctionSide(w float64) {
	p := &l.at
	p.satE = l.t.Sat(p.pe)
	h := p.satE.HVap + w
	p.hSuc = h
	thin := l.speed * (1 - l.leak)
	p.pSuc = p.pe - suctionLineDrop*thin*thin*p.satE.RhoVap/l.m.rhoEvap0
	p.u = suctionAt(l.t, p.pSuc, h)
}

// liquidSide sets the pressures at the liquid port and before the metering device.
func (l *loop) liquidSide() {
	p := &l.at
	flow := p.m / l.m.m0
	flow *= flow
	p.pPort = p.pe + softPlus(p.pDis-condenserDrop*flow-p.pe, 2e3)
	before := p.pe + softPlus(p.pPort-(liquidLineDrop+l.restriction)*flow-p.pe, 2e3)
	p.in = l.inletAt(before, p.c.h)
	// With the drop over the coil the last of the liquid zone still boils.
	p.c.T = math.Min(p.c.T, l.t.BubbleTemp(p.pPort-l.pnc))
}

// opening returns the opening of the TXV; 1 for a fixed orifice.
func (l *loop) opening() float64 {
	if l.m.valve.kind != TXV {
		return 1
	}
	if l.stuck > 0 {
		return l.stuck
	}
	e := &l.at.e
	felt := l.bulb*e.sh + (1-l.bulb)*(l.Tai-e.Te)
	return l.m.valve.opening(felt, l.shift)
}
