package cycle

import (
	"math"
)

// expansion is the calibrated metering device.
type expansion struct {
	kind  MeteringDevice
	size  float64 // fixed orifice: area, m²; TXV: flow per √(kg/m³·Pa) at rated opening
	set   float64 // K, superheat the TXV opens to its rated opening at
	delta float64 // exponent on inlet pressure of the fixed orifice
	pIn0  float64 // Pa at the rating point
}

// TXV stroke. published: linear opening and reserve limit from an
// adjustable-throat-area valve model (thesis pages read); the figures are
// practice: static superheat a little under half the rated one, reserve
// capacity 15 to 50 %.
const (
	staticShare = 0.45 // static over rated superheat
	bleed       = 0.05 // opening below which the tail flattens
	reserve     = 1.35 // widest opening over the rated one
)

// opening returns the opening of a free TXV over its rated one at superheat sh.
// Both ends are rounded so that the flow stays smooth in the superheat.
func (e *expansion) opening(sh, shift float64) float64 {
	static := staticShare * e.set
	y := (sh - shift - static) / (e.set - static)
	const low, high = 0.2, 1.2
	switch {
	case y < low:
		return bleed + (low-bleed)*math.Exp((y-low)/(low-bleed))
	case y > high:
		return reserve - (reserve-high)*math.Exp(-(y-high)/(reserve-high))
	}
	return y
}

// inlet is the refrigerant before the metering device.
type inlet struct {
	p, T    float64
	quality float64 // 0 when liquid
	sc      float64 // K of subcooling left
	rhoLiq  float64 // of the liquid there
	rhoSat  float64 // of saturated liquid at p
	rhoVap  float64
	rho     float64 // homogeneous
}

// inletAt returns the state before the metering device of refrigerant of
// enthalpy h at p.
func (l *loop) inletAt(p, h float64) inlet {
	sat := l.t.Sat(p)
	in := inlet{p: p, rhoSat: sat.RhoLiq, rhoVap: sat.RhoVap}
	if under := sat.HLiq - h; under > 0 {
		in.T, in.rhoLiq = l.t.LiquidPH(p, math.Min(under, l.m.maxFall))
		in.sc = sat.TBub - in.T
		in.rho = in.rhoLiq
		return in
	}
	in.quality = math.Min((h-sat.HLiq)/(sat.HVap-sat.HLiq), 1)
	in.T, in.rhoLiq = sat.TBub, sat.RhoLiq
	in.rho = 1 / (in.quality/sat.RhoVap + (1-in.quality)/sat.RhoLiq)
	return in
}

// meter returns the flow through the metering device from in to pe, kg/s.
func (l *loop) meter(in inlet, pe, opening float64) float64 {
	e := l.valve
	if e.kind == TXV {
		return e.size * (l.scale*opening + l.bypass) * math.Sqrt(in.rho*softPlus(in.p-pe, 2e3))
	}
	return e.size * (l.scale + l.bypass) * l.orificeFlux(in, pe)
}

// lengthOverBore of the fixed orifice. practice: pistons half an inch long
// with bores around 0.07 in.; only its logarithm enters.
const lengthOverBore = 7

// orificeFlux returns flow per area through the fixed orifice, kg/(s·m²).
//
// published: Payne, O'Neal 2004, dimensionless short-tube correlation,
// coefficients as read in an open heat-pump simulation that cites it; the
// paper's abstract seen. p3 = (p - p_sat(T))/p_crit, p9 = subcooling/T_crit,
// p6 = ρ_vapour/ρ_liquid. Scatter of such correlations: 6 % (Choi, Chung, Kim
// 2004, abstract); the area is calibrated, so only its slopes matter here.
func (l *loop) orificeFlux(in inlet, pe float64) float64 {
	e := l.valve
	pSat := in.p
	if in.sc > 0 {
		pSat = l.t.BubblePressure(in.T)
	}
	p3, p9 := (in.p-pSat)/l.m.pCrit, in.sc/l.m.TCrit
	p6 := in.rhoVap / in.rhoLiq
	saturated := 0.38811 + 1.0703*p6 - 0.091928*lnLength
	num := saturated + 11.427*p3 - 14.194*p9
	den := 1 + 21.425*p3 - 581.95*p9*p9
	g := math.Max(num, 0.02) / math.Max(den, 0.3)
	if w := correlated(in.p / l.m.pCrit); w < 1 {
		plain := saturated * math.Sqrt(1+subcoolingGain*(in.p-pSat)/in.p)
		g = plain + w*(g-plain)
	}
	g *= math.Sqrt(in.rhoLiq * l.m.pCrit)
	if in.quality > 0 {
		g *= flashFactor(in, in.p/l.m.pCrit)
	}
	if e.delta != 0 {
		g *= math.Exp(e.delta * math.Log(in.p/e.pIn0))
	}
	// Choked until the drop is under a fifth of the inlet pressure, then
	// fading to zero with the root of the drop.
	if t := softPlus((in.p-pe)/(0.2*in.p), 1e-3); t < 1 {
		g *= math.Sqrt(t * (2 - t))
	}
	return g
}

var lnLength = math.Log(lengthOverBore)

// subcoolingGain is how the square of the flow through a plain orifice grows
// with the share of the inlet pressure above saturation. Fitted: to the
// correlation from 1.5 to 2 MPa at 3 to 9 K of subcooling, where it is 2.1 to 3.2.
const subcoolingGain = 2.5

// Inlet pressures over the critical one between which the effect of subcooling
// and of flash gas goes from that of a plain orifice to that of the
// correlation. Below 0.2, condensing under 10 °C (R-410A) or 25 °C, where
// nobody measured, the correlation falls with subcooling and runs into poles.
const (
	plainBelow     = 0.2
	correlateAbove = 0.3
)

// correlated is the weight of the correlation at p28, the inlet pressure over
// the critical one.
func correlated(p28 float64) float64 {
	x := math.Min(math.Max((p28-plainBelow)/(correlateAbove-plainBelow), 0), 1)
	return x * x * (3 - 2*x)
}

// flashFactor is the flow with flash gas at the inlet over that of liquid: by
// the correlation, or at low pressure by the density of the mixture, whose root
// the flow of a plain orifice goes with. At p28 = 0.35 the two agree within
// 0.06 up to a quality of 0.2.
func flashFactor(in inlet, p28 float64) float64 {
	w := correlated(p28)
	if w == 1 {
		return twoPhaseFactor(in, p28)
	}
	f := math.Sqrt(in.rho / in.rhoSat)
	if w > 0 {
		f += w * (twoPhaseFactor(in, p28) - f)
	}
	return f
}

// twoPhaseFactor is the flow with flash gas at the inlet over that of liquid,
// 1 at quality 0, bounded below by 0.1.
//
// published: the same correlation, two-phase part.
func twoPhaseFactor(in inlet, p28 float64) float64 {
	ln32 := math.Log(1 - p28)
	c := -14.639*ln32*ln32 + 9.8401*ln32*ln32 - 0.019798*lnLength*lnLength
	at := func(t6, t34 float64) float64 {
		lt := math.Log(t6)
		return (1.1831*t6 - 1.4680*t6*t6 - 0.15285*lt*lt + c) /
			(1 - 1.5348*t6 - 2.0533*t34 - 17.195*p28*p28*p28)
	}
	x := math.Min(in.quality, 0.95)
	f := at(in.rho/in.rhoSat, x/(1-x)*math.Sqrt(in.rhoSat/in.rhoVap)) / at(1, 0)
	return 0.1 + softPlus(f-0.1, 0.02)
}
