package cycle

import "math"

// meanDensity returns the mean density of two-phase flow whose quality runs
// linearly from x1 to x2 along its way, at the constant slip S = (ρl/ρv)^a.
//
// With k = S·ρv/ρl and b = 1 - k the mean void fraction is
//
//	1/b - k/b² · ln((k + b·x2)/(k + b·x1))/(x2 - x1)
//
// published: a = 1/3 is the slip of Zivi 1964, as quoted in charge-inventory
// papers. Rice (ASHRAE paper 3035, abstract) finds a factor of 1.7 to 4
// between void-fraction models, which is why only relative charge is used.
func meanDensity(rhoLiq, rhoVap, x1, x2, slip float64) float64 {
	k := math.Exp((slip - 1) * math.Log(rhoLiq/rhoVap))
	b := 1 - k
	void := 0.0
	if d := x2 - x1; math.Abs(d) > 1e-4 {
		void = 1/b - k/(b*b)*math.Log((k+b*x2)/(k+b*x1))/d
	} else {
		x := 0.5 * (x1 + x2)
		void = x / (k + b*x)
	}
	return void*rhoVap + (1-void)*rhoLiq
}

// mass returns the refrigerant in the circuit, kg.
func (l *loop) mass(c *condensed, e *evaporated, in *inlet, u *suction) float64 {
	v := &l.m.vol
	out := 0.0
	if c.desuperheat > 0 {
		out += c.desuperheat * 0.5 * (c.rhoDis + c.rhoVap)
	}
	out += c.condense * meanDensity(c.rhoLiq, c.rhoVap, c.quality, c.inQuality, l.m.slip)
	out += c.subcool * l.liquidFactor(c.subcool) * c.rhoLiq

	leaving := 1.0
	boiling := math.Min(e.twoPhase, 1)
	if e.twoPhase > 1 {
		leaving = 1 + (e.h-e.hDew)/e.hfg
	}
	ind := boiling*meanDensity(e.rhoLiq, e.rhoVap, math.Max(e.quality, 0), math.Max(leaving, 0.02), l.m.slip) +
		(1-boiling)*0.5*(e.rhoVap+u.rho)
	rest := v.liquidLine*in.rho + v.shell*u.rho + v.oil
	if l.heating {
		rest += v.suctionLine*c.rhoDis + l.accumulated(u)
	} else {
		rest += v.suctionLine * u.rho
	}
	return l.volHot*out + l.volCold*ind + rest
}

// liquidCurve is how much the liquid-length factor grows per share of the
// hot coil beyond that at rating, and leastFactor where it ends below.
const (
	liquidCurve = 3
	leastFactor = 0.4
)

// liquidFactor corrects the mass in the liquid zone, of the given share of the
// face: below 1 where a short zone still carries bubbles, above it where a long
// one fills outlet tubes and headers as well.
//
// Fitted: kappa and liquidCurve together bring capacity and power of a TXV
// machine from 75 to 130 % charge within 0.04 of the laboratory correlation; one
// factor alone cannot serve both sides (published: Shen, Braun, Groll 2006,
// abstract: charge comes right off design only after a correction in
// proportion to the subcooled length, tuned on two points).
func (l *loop) liquidFactor(share float64) float64 {
	return leastFactor + softPlus(l.kappa-leastFactor+liquidCurve*(share-l.subcool0), 0.05)
}
