package cycle

import (
	"math"

	"rung/internal/refrigerant"
)

// compressorKind holds the shape of a compressor's efficiencies.
//
//	volumetric: e0 - e1·(PR - 1)
//	overall:    eta0/(1 + a·ln²(PR/best))
type compressorKind struct{ e0, e1, best, a float64 }

// The scroll's are fitted to a measured one.
//
// published: ten-coefficient map of a 3-ton R-410A compressor, sample data of an
// open heat-pump simulation, at 20 °F of suction superheat (judgement; the map
// states none), 35 to 50 °F suction and 90 to 130 °F discharge saturation: pressure
// ratios 1.6 to 4.6, which both fits follow with a standard deviation of 0.4 %. The
// NISTIR 7350 compressor follows the same map to 2 % with one constant factor.
//
// memory: the reciprocating kind's, usual textbook magnitudes (4 to 5 % clearance),
// adjusted to the power against outdoor temperature of Cutler et al. 2013.
var (
	scroll        = compressorKind{e0: 0.985, e1: 0.0345, best: 2.55, a: 0.80}
	reciprocating = compressorKind{e0: 0.98, e1: 0.055, best: 2.4, a: 0.30}
)

const (
	shellLoss = 0.07 // share of the power lost to the outdoor air; memory: 0.03 to 0.12
	// motorEff turns nominal electrical into shaft power.
	// practice: run-capacitor compressor motors at load, 0.85 to 0.90.
	motorEff = 0.88
	// wetFloor is the least quality at which suction density is still computed.
	wetFloor = 0.6
	// maxEntropyRise caps s - s_dew of loss-free compression inside the property
	// tables, J/(kg·K); only wild iterates reach it.
	maxEntropyRise = 300
	// wetWork bounds the work on wet suction from below, over p·v·ln(PR).
	wetWork = 0.8
)

// suction is the state of the gas the compressor draws in.
type suction struct {
	h, T, rho, s float64
	p            float64
	quality      float64 // 1 when dry
}

// suctionAt returns the suction state of enthalpy h at p. Wet gas is taken as
// homogeneous.
func suctionAt(t *refrigerant.Table, p, h float64) suction {
	sat := t.Sat(p)
	u := suction{h: h, p: p, quality: 1}
	if dh := h - sat.HVap; dh >= 0 {
		u.T, u.rho, u.s = t.VapourPH(p, math.Min(dh, maxSuctionRise*1000))
		return u
	}
	hfg := sat.HVap - sat.HLiq
	u.quality = 1 + (h-sat.HVap)/hfg
	x := wetFloor + softPlus(u.quality-wetFloor, 0.02)
	u.T = sat.TDew
	u.rho = 1 / (x/sat.RhoVap + (1-x)/sat.RhoLiq)
	u.s = sat.SVap + (h-sat.HVap)/sat.TDew
	return u
}

// compress returns the flow leaving the compressor, its electrical power and
// the enthalpy of the discharge.
//
// What the reversing valve lets through from the delivery x of it mixes with
// the gas of the coil before the compressor: with the work w per mass drawn in,
// h_in = h + x/(1-x)·w. w is taken at the gas unmixed, then once more at the
// mixed gas; the balance h_dis = h + W/m holds whatever w is.
func (l *loop) compress(u *suction, pDis float64) (m, W, hDis float64) {
	m, W = l.draw(u, pDis)
	l.at.inlet = u.T
	if x := l.exchange; x > 0 {
		mixed := suctionAt(l.t, u.p, u.h+x/(1-x)*W*(1-shellLoss)/m)
		l.at.inlet = mixed.T
		m, W = l.draw(&mixed, pDis)
		m *= 1 - x
	}
	return m, W, u.h + W*(1-shellLoss)/m
}

// draw returns the flow leaving a compressor that draws in u, and its power.
func (l *loop) draw(u *suction, pDis float64) (m, W float64) {
	mc := l.m
	pr := pDis / u.p
	x := pr - 1
	pr = 1 + softPlus(x, 0.01)
	displaced := l.speed * mc.swept * u.rho * softPlus(mc.comp.e0-mc.comp.e1*(pr-1), 0.01)
	m = displaced * (1 - l.leak)
	work := l.isentropicWork(u, pDis, pr)
	W = displaced * work / mc.comp.efficiency(mc.eta0, pr)
	return m, W
}

// isentropicWork returns the work per mass of loss-free compression to pDis.
func (l *loop) isentropicWork(u *suction, pDis, pr float64) float64 {
	sat := l.at.satC
	if l.pnc > 0 {
		sat = l.t.Sat(pDis)
	}
	ds := u.s - sat.SVap
	var h2 float64
	if ds >= 0 {
		h2 = sat.HVap + l.t.VapourPS(pDis, math.Min(ds, maxEntropyRise))
	} else {
		h2 = sat.HVap + sat.TDew*ds
	}
	floor := wetWork * u.p / u.rho * math.Log(pr)
	return floor + softPlus(h2-u.h-floor, 100)
}

// efficiency returns the overall efficiency at the pressure ratio pr. The form
// falls off like a parabola near the peak and stays above zero far from it, where
// a stalling motor stands.
func (k compressorKind) efficiency(eta0, pr float64) float64 {
	ln := math.Log(pr / k.best)
	return eta0 / (1 + k.a*ln*ln)
}
