package cycle

import (
	"errors"
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// ErrCoolingOnly says that the machine has no reversing valve.
var ErrCoolingOnly = errors.New("the machine is no heat pump")

// heatSide is what a heat pump has for heating alone: the coils with their
// roles exchanged, the outdoor metering device, and the charge that is not in
// play, because the smaller coil that condenses then holds less of it.
type heatSide struct {
	rHot, rCold resistances // indoor and outdoor coil
	valve       expansion
	buffer      float64    // kg; what the compensator or accumulator keeps at the rating point
	subcool0    float64    // share of the indoor coil that holds liquid there
	z0          [3]float64 // solution there
	Te0, Tc0    float64    // K there
}

// The air at the rating points of heating, K.
// published: AHRI 210/240, test H1: 47/43 °F outdoors, 70 °F (at most 60 °F wet
// bulb) indoors.
const (
	heatingOutdoor  = 281.4833
	heatingHumidity = 0.0049321 // kg/kg; 47/43 °F at the standard atmosphere
	heatingReturn   = 294.2611
	coldOutdoor     = 264.8167  // test H3: 17/15 °F
	coldHumidity    = 0.0012847 // kg/kg at the standard atmosphere
	heatingIndoorW  = 0.0052    // kg/kg; practice: about a third of saturation in the heating season; hardly matters to a dry coil
)

// Defaults of heating.
const (
	heatingSubcooling = 10 * kelvinPerFahrenheit // practice: 10 °F at 47/70 °F, as in cooling
	// heatingSuperheat is that at the outlet of the outdoor coil at 47 °F.
	// practice: 5 to 10 °F with either metering device; the coil is large and has no
	// more to give.
	heatingSuperheat = 8 * kelvinPerFahrenheit
	// heatingSuctionDrop is what coil outlet, pipe and reversing valve take at the
	// density of the cooling rating point. memory: 2 to 4 psi in all.
	heatingSuctionDrop = 20e3 // Pa
	// heatingKappa is added to the liquid-length factor for the indoor coil.
	// Fitted: to the published charge faults in heating, capacity and power of
	// testdata/published/heating.txt; without it power moves too much with charge.
	heatingKappa = 0.4
	// accumulatorShare is what the accumulator before the compressor can hold, over
	// the rated charge. practice: half the charge or more.
	accumulatorShare = 0.5
	// accumulatorWet is the mass share of liquid leaving the coil at which an
	// accumulator stands two thirds full. It gives back through its oil hole
	// what it takes, a few per cent of the flow (practice).
	accumulatorWet = 0.03
)

// accumulated returns the liquid in the accumulator, kg. While the coil's gas
// leaves dry it is empty; when it does not, it fills until the coil is starved
// of charge enough to leave it so.
func (l *loop) accumulated(u *suction) float64 {
	wet := softPlus(1-u.quality, 1e-3)
	return accumulatorShare * l.m.charge0 * (1 - math.Exp(-wet/accumulatorWet))
}

// HeatingRatingCondition is the rating point of heating: 8.3/6.1 °C (47/43 °F)
// outdoors, 21.1 °C (70 °F) indoors, rated flows, sea level.
func (m *Machine) HeatingRatingCondition() Condition {
	return Condition{Mode: Heating, Outdoor: heatingOutdoor, OutdoorHumidity: heatingHumidity,
		ReturnDryBulb: heatingReturn, ReturnHumidity: heatingIndoorW, Ambient: standardAtmosphere,
		IndoorAirflow: 1, OutdoorAirflow: 1, IndoorFanHeat: quantity.Power(m.indoorFan), Speed: 1}
}

// ColdRatingCondition is the low-temperature rating point of heating: -8.3/-9.4 °C
// (17/15 °F) outdoors, else as HeatingRatingCondition.
func (m *Machine) ColdRatingCondition() Condition {
	c := m.HeatingRatingCondition()
	c.Outdoor, c.OutdoorHumidity = coldOutdoor, coldHumidity
	return c
}

// COPFromHSPF returns the efficiency at 47 °F usual for a seasonal one, both
// W/W.
//
// practice: single-speed heat pumps of HSPF 6.8, 7.7 and 8.5 Btu/Wh show a COP of
// about 3.0, 3.25 and 3.5 there.
func COPFromHSPF(hspf quantity.Ratio) quantity.Ratio {
	return 3.0 + 0.29*(hspf*btuPerWattHour-6.8)
}

// fitHeating finds the coils in their other roles, the outdoor metering device
// and the charge not in play. Compressor and coils are those of cooling; where
// the plate gives capacity or efficiency in heating, the outdoor coil's scale
// follows from the first and the indoor coil's from the second. A plate that no
// coil can answer to is called doubtful and its heating figures are left out.
func (m *Machine) fitHeating() error {
	r := &m.rating
	h := &m.heat
	h.rHot, h.rCold = m.rIn, m.rOut
	h.valve = expansion{kind: r.HeatingMetering, size: 1, set: heatingSuperheat, pIn0: m.valve.pIn0}
	if h.valve.kind == FixedOrifice {
		h.valve.delta = m.orificeExponent()
	}
	c, f := m.HeatingRatingCondition(), Healthy()
	l := m.newLoop(&c, &f)
	err := l.fitHeatingTo(float64(r.HeatingCapacity), float64(r.HeatingCOP)*(1+float64(r.Spread.EER)))
	if err != nil && (r.HeatingCapacity != 0 || r.HeatingCOP != 0) {
		m.adjust.Doubtful = true
		l.scaleHot(&m.rIn, 1)
		l.scaleCold(&m.rOut, 1)
		err = l.fitHeatingTo(0, 0)
	}
	return err
}

// fitHeatingTo does so for the given capacity and efficiency, zero for what is
// not given.
func (l *loop) fitHeatingTo(capacity, cop float64) error {
	Te, Tc, err := l.heatingPoint(capacity, cop)
	if err != nil {
		return err
	}
	return l.fitHeatingParts(Te, Tc)
}

// heatingAt sets the point of evaporating Te and condensing Tc, both K, at the
// target superheat and subcooling, and returns the heat given off indoors and
// the power, W.
func (l *loop) heatingAt(Te, Tc float64) (Q, W float64) {
	t, p := l.t, &l.at
	p.pe = t.DewPressure(Te)
	p.pc = 0.5 * (t.DewPressure(Tc) + t.BubblePressure(Tc))
	p.pDis, p.satC, p.satE = p.pc, t.Sat(p.pc), t.Sat(p.pe)
	l.suctionSide(t.VapourPT(p.pe, l.valve.set))
	var hDis float64
	p.m, p.W, hDis = l.compress(&p.u, p.pDis)
	hDis -= l.hotLineLoss(p.m, hDis)
	flow := p.m / l.m.m0
	flow *= flow
	p.pLiq = p.pc - condenserDrop*flow
	hLiq := p.satC.HLiq - t.LiquidPT(p.pc, p.satC.TBub-l.heatingLiquid(flow))
	p.c.hIn, p.c.h = hDis, hLiq
	return p.m * (hDis - hLiq), p.W
}

// heatingLiquid is the temperature at which the liquid must leave the indoor
// coil to show the target subcooling at the outdoor unit, behind the line, K.
func (l *loop) heatingLiquid(flow float64) float64 {
	return l.t.BubbleTemp(l.at.pLiq-liquidLineDrop*flow) - float64(l.m.rating.HeatingSubcooling)
}

// heatingPoint finds the evaporating and condensing temperature at the rating
// point: from capacity and efficiency where they are given (not zero), else
// from the coils as they are in cooling.
func (l *loop) heatingPoint(capacity, cop float64) (Te, Tc float64, err error) {
	r, p := &l.m.rating, &l.at
	fans := float64(r.IndoorFan + r.OutdoorFan)
	condenses := false // at the last Te tried
	condensing := func(Te float64) float64 {
		var Tc float64
		Tc, condenses = crossing(func(Tc float64) float64 {
			Q, W := l.heatingAt(Te, Tc)
			if cop > 0 {
				return cop - (Q+float64(r.IndoorFan))/(W+fans)
			}
			flow := p.m / l.m.m0
			return l.heatingLiquid(flow*flow) - l.condense(p.m, p.pc, p.c.hIn, &p.satC).T
		}, heatingReturn+3, heatingReturn+38)
		return Tc
	}
	Te, err = num.Root("outdoor coil, heating", func(Te float64) float64 {
		Q, _ := l.heatingAt(Te, condensing(Te))
		if capacity > 0 {
			return Q + float64(r.IndoorFan) - capacity
		}
		return l.valve.set - l.evaporate(p.m, p.pe, p.c.h, &p.satE).sh
	}, heatingOutdoor-25, heatingOutdoor-l.valve.set-0.05, 1e-6)
	if err != nil {
		return 0, 0, err
	}
	if Tc = condensing(Te); !condenses {
		return 0, 0, errors.New("no condensing temperature fits the indoor coil")
	}
	return Te, Tc, nil
}

// crossing returns where f changes sign between lo and hi; without a change, the
// end nearer to one and false.
func crossing(f func(float64) float64, lo, hi float64) (float64, bool) {
	x, err := num.Root("indoor coil, heating", f, lo, hi, 1e-6)
	if err == nil {
		return x, true
	}
	if math.Abs(f(lo)) < math.Abs(f(hi)) {
		return lo, false
	}
	return hi, false
}

// fitHeatingParts sizes what heating has of its own at the point.
func (l *loop) fitHeatingParts(Te, Tc float64) error {
	m, p := l.m, &l.at
	h := &m.heat
	l.heatingAt(Te, Tc)
	flow := p.m / m.m0
	flow *= flow
	kHot, err := num.Root("indoor coil, heating", func(ln float64) float64 {
		l.scaleHot(&m.rIn, math.Exp(ln))
		return l.condense(p.m, p.pc, p.c.hIn, &p.satC).T - l.heatingLiquid(flow)
	}, math.Log(0.2), math.Log(5), 1e-9)
	if err != nil {
		return err
	}
	kCold, err := num.Root("outdoor coil, heating", func(ln float64) float64 {
		l.scaleCold(&m.rOut, math.Exp(ln))
		return l.evaporate(p.m, p.pe, p.c.h, &p.satE).sh - l.valve.set
	}, math.Log(0.2), math.Log(5), 1e-9)
	if err != nil {
		return err
	}
	h.rHot, h.rCold = m.rIn.scaled(math.Exp(kHot)), m.rOut.scaled(math.Exp(kCold))
	p.c = l.condense(p.m, p.pc, p.c.hIn, &p.satC)
	p.e = l.evaporate(p.m, p.pe, p.c.h, &p.satE)
	l.liquidSide()
	h.valve.pIn0 = p.in.p
	h.valve.size = p.m / l.meter(p.in, p.pe, 1)
	h.subcool0 = p.c.subcool
	l.subcool0 = h.subcool0
	h.buffer = m.charge0 - l.mass(&p.c, &p.e, &p.in, &p.u)
	h.z0 = [3]float64{math.Log(p.pe), math.Log(p.pc), (p.hSuc - p.satE.HVap) / 1000}
	h.Te0, h.Tc0 = Te, Tc
	return nil
}

// scaleHot sets the indoor coil's resistances in heating to k times those in
// cooling, at the loop's airflow.
func (l *loop) scaleHot(r *resistances, k float64) {
	l.hot.air *= r.air * k / l.hot.r.air
	l.hot.r = r.scaled(k)
}

// scaleCold does so for the outdoor coil.
func (l *loop) scaleCold(r *resistances, k float64) {
	l.cold.air *= r.air * k / l.cold.r.air
	l.cold.r = r.scaled(k)
}

// guessHeating returns a start near the answer in heating, as guess does.
func (l *loop) guessHeating() [3]float64 {
	h := &l.m.heat
	vIn := l.hot.flow / (l.m.capIn0 * ratedIndoorDensity)
	Te := h.Te0 + 0.85*(l.cold.T-heatingOutdoor) + 9*l.leak - 3*l.exchange
	load := math.Exp(0.02 * (l.cold.T - heatingOutdoor)) // of the indoor coil
	Tc := l.hot.T + (h.Tc0-heatingReturn)*load/root34(vIn)*(1-0.7*l.leak)
	Tc += 15 * (l.charge + h.buffer - l.m.charge0) / l.m.charge0
	return [3]float64{
		math.Log(l.t.DewPressure(math.Min(math.Max(Te, 230), 300))),
		math.Log(l.t.DewPressure(math.Min(math.Max(Tc, 245), 338))),
		h.z0[2],
	}
}
