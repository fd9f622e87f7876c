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

	heating     bool // the reversing valve is over: the indoor coil gives heat, the outdoor coil takes it
	hot         stream
	cold        stream
	speed, leak float64
	exchange    float64 // share of the compressor's delivery that the reversing valve lets back to suction
	Ta          float64 // outdoor air, K
	pAir        float64 // Pa
	pnc         float64 // partial pressure of foreign gas, Pa
	fanHeat     float64
	volHot      float64 // m³ of the coil that gives heat
	volCold     float64 // m³ of the other
	subcool0    float64 // share of the hot coil that holds liquid at the mode's rating point
	kappa       float64 // liquid-length factor of the charge balance there
	suctionDrop float64 // Pa from coil to compressor at rated density
	valve       *expansion

	stuck, shift, bulb, scale float64
	bypass                    float64 // open area beside the metering device, over its rated one
	restriction               float64 // Pa at rated flow
	lineGain                  float64 // W/K
	charge                    float64 // kg in play
	subcooling                float64 // K asked for instead of a charge; NaN: charge is given

	lo, hi [3]float64 // where z may go
	fine   float64    // tolerance of the inner brackets, over the usual one

	folded bool // see bracket

	passes int
	at     point
}

// stream is the air through one coil and what it meets there.
type stream struct {
	T, W, h  float64 // K, kg/kg, J/kg of dry air entering
	flow, cp float64 // kg/s of dry air, J/(kg·K)
	cap      float64 // flow·cp, W/K
	air      float64 // air-side resistance, K/W
	r        resistances
}

// point is the last pass.
type point struct {
	pe, pc, pLiq, pPort, pDis, pSuc float64
	m, W                            float64
	u                               suction // from the coil
	inlet                           float64 // K of what the compressor draws in, with what the reversing valve leaks
	c                               condensed
	e                               evaporated
	in                              inlet
	opening                         float64
	hSuc                            float64
	satE, satC                      refrigerant.SatRow // at pe and pc
	charge                          float64
}

// pass goes once around the loop from z and returns the three residuals:
// enthalpy mismatch at the compressor over the heat of evaporation, logarithm
// of metered over pumped flow, and charge found less charge present over the
// rated charge.
func (l *loop) pass(z *[3]float64) [3]float64 {
	p := &l.at
	f := [3]float64{l.mismatch(z), 0, 0}
	p.opening = l.opening()
	f[1] = math.Log(l.meter(p.in, p.pe, p.opening) / p.m)
	p.charge = l.mass(&p.c, &p.e, &p.in, &p.u)
	if math.IsNaN(l.subcooling) {
		f[2] = (p.charge - l.charge) / l.m.charge0
	} else {
		f[2] = (l.t.BubbleTemp(p.pPort) - l.liquidTemp() - l.subcooling) / subcoolingScale
	}
	return f
}

// mismatch is the first half of a pass, which the first residual needs: it leaves
// metering device and charge as they were.
func (l *loop) mismatch(z *[3]float64) float64 {
	l.passes++
	p := &l.at
	p.pe, p.pc = math.Exp(z[0]), math.Exp(z[1])
	p.pDis = p.pc + l.pnc
	p.satC = l.t.Sat(p.pc)
	l.suctionSide(z[2] * 1000)
	var hDis float64
	p.m, p.W, hDis = l.compress(&p.u, p.pDis)
	if l.heating {
		hDis -= l.hotLineLoss(p.m, hDis)
	}
	p.c = l.condense(p.m, p.pc, hDis, &p.satC)
	l.liquidSide()
	p.e = l.evaporate(p.m, p.pe, p.c.h, &p.satE)
	return (p.e.h + l.lineHeat(p.m, p.e.T) - p.hSuc) / p.e.hfg
}

// lineHeat returns what the suction line adds per mass to gas entering it at T:
// it cannot warm the gas past the outdoor air.
func (l *loop) lineHeat(m, T float64) float64 {
	if l.heating {
		return 0 // the cold pipe runs inside the outdoor unit
	}
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
	p.pSuc = p.pe - l.suctionDrop*thin*thin*p.satE.RhoVap/l.m.rhoEvap0
	p.u = suctionAt(l.t, p.pSuc, h)
}

// liquidSide sets the pressures at the coil's outlet, at the liquid port and
// before the metering device.
func (l *loop) liquidSide() {
	p := &l.at
	flow := p.m / l.m.m0
	flow *= flow
	p.pLiq = p.pe + softPlus(p.pDis-condenserDrop*flow-p.pe, 2e3)
	before := p.pe + softPlus(p.pLiq-(liquidLineDrop+l.restriction)*flow-p.pe, 2e3)
	p.in = l.inletAt(before, p.c.h)
	p.pPort = p.pLiq
	if l.heating {
		p.pPort = before // the port stands between the line and the metering device outdoors
	}
	// With the drop over the coil the last of the liquid zone still boils.
	p.c.T = math.Min(p.c.T, l.t.BubbleTemp(p.pLiq-l.pnc))
}

// liquidTemp is that of the pipe at the outdoor unit's liquid port, K.
func (l *loop) liquidTemp() float64 {
	if l.heating {
		return l.at.in.T
	}
	return l.at.c.T
}

// hotLineLoss returns what the hot gas line of a heat pump in heating loses per
// mass to the outdoor air, J/kg.
func (l *loop) hotLineLoss(m, hDis float64) float64 {
	const cp = 1200 // J/(kg·K); practice: hot gas of both refrigerants, 1.0 to 1.4 kJ/(kg·K)
	T := l.at.satC.TDew
	if rise := hDis - l.at.satC.HVap; rise > 0 {
		T, _, _ = l.t.VapourPH(l.at.pc, math.Min(rise, l.m.maxRise))
	}
	return cp * (T - l.Ta) * (1 - math.Exp(-l.lineGain/(cp*m)))
}

// opening returns the opening of the TXV; 1 for a fixed orifice.
func (l *loop) opening() float64 {
	if l.valve.kind != TXV {
		return 1
	}
	if l.stuck > 0 {
		return l.stuck
	}
	e := &l.at.e
	felt := l.bulb*e.sh + (1-l.bulb)*(l.cold.T-e.Te)
	return l.valve.opening(felt, l.shift)
}
