package cycle

import (
	"fmt"
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// btuPerWattHour turns an efficiency ratio printed in Btu/Wh on a plate into
// W/W. It stands here because the published class averages are given so.
const btuPerWattHour = 3.412141633

// kelvinPerFahrenheit is the size of a Fahrenheit degree.
const kelvinPerFahrenheit = 5.0 / 9

// Defaults and class averages at the rating point.
const (
	defaultTarget    = 10 * kelvinPerFahrenheit   // practice: superheat at the coil and subcooling, 10 °F each
	defaultLine      = 7.62                       // m; published: AHRI 210/240, 25 ft of line at rating
	orificeTarget    = 11.5 * kelvinPerFahrenheit // practice: (3·67 - 80 - 95)/2 = 13 °F at the unit, less what the line adds
	leastApproach    = 1.1                        // K of liquid over outdoor air that a coil needs to subcool
	defaultKappa     = 0.82                       // with liquidCurve fitted to chg-c and TN1848 in testdata/published
	zivi             = 1.0 / 3                    // slip exponent, see charge.go
	outdoorFanPerWat = 60 / wattsPerTon           // W/W; published: NISTIR 7350 cases, 157 to 166 W for 2.4 tons, reduced for later motors
	deltaBlend       = 0.3                        // orifice pressure exponent of R-410A, fitted to the superheat rule of the trade
)

// Calibrate finds the machine behind a plate. It takes a few tens of
// microseconds and searches in one dimension at a time: compressor, coils,
// metering device and charge follow directly from the rating point.
//
// The error is a *quantity.RangeError for plate figures outside the model's
// range, or says which coil cannot be sized.
func Calibrate(r Rating) (*Machine, error) {
	if err := r.complete(); err != nil {
		return nil, err
	}
	m := &Machine{rating: r, fluid: r.Refrigerant.Table()}
	T, p := r.Refrigerant.Critical()
	m.TCrit, m.pCrit = float64(T), float64(p)
	_, pMax := m.fluid.PressureRange()
	m.pTop = math.Min(topPressure*m.pCrit, pMax*(1-1e-6))
	m.maxRise = reach(func(dh float64) float64 { T, _, _ := m.fluid.VapourPH(m.pTop, dh); return T })
	m.maxFall = reach(func(dh float64) float64 { T, _ := m.fluid.LiquidPH(m.pTop, dh); return T })
	m.size()
	if err := m.fit(); err != nil {
		return nil, fmt.Errorf("calibrate: %w", err)
	}
	if m.rating.HeatPump {
		if err := m.fitHeating(); err != nil {
			return nil, fmt.Errorf("calibrate: heating: %w", err)
		}
	}
	return m, nil
}

// topPressure is the highest discharge pressure of the model over the critical
// one: 44 bar (625 psig) for R-410A, where its high-pressure switches open, and
// as far from the critical point for the others.
const topPressure = 0.90

// reach returns the largest enthalpy distance, J/kg, at which prop still answers.
func reach(prop func(dh float64) float64) float64 {
	lo, hi := 0.0, 400e3
	for hi-lo > 100 {
		mid := 0.5 * (lo + hi)
		if math.IsNaN(prop(mid)) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo
}

// size sets what follows from capacity and line length alone.
func (m *Machine) size() {
	Q := float64(m.rating.NetCapacity)
	length := float64(m.rating.LineLength)
	m.capIn0 = Q * indoorFlow
	m.vol = volumes{
		outdoor: Q * outdoorVolume, indoor: Q * indoorVolume, shell: shellVolume,
		liquidLine: length * liquidLineArea, suctionLine: length * suctionLineArea,
		oil: oilPerRootTon * math.Sqrt(Q/wattsPerTon),
	}
	m.lineGain0 = insulatedGain * length
	m.indoorFan = float64(m.rating.IndoorFan)
	m.kappa = defaultKappa + float64(m.rating.Spread.ChargeSensitivity)
	m.slip = zivi + float64(m.rating.Spread.SlipExponent)
	m.comp = scroll
	if m.rating.Compressor == Reciprocating {
		m.comp = reciprocating
	}
	m.rOut, m.rIn = patternOut, patternIn
}

// target is the rating point the machine is made to pass through.
type target struct {
	overAmbient, Te, sh, sc float64
	Q, W                    float64 // gross capacity and compressor power
}

// fit finds compressor, coils, metering device and charge. When the plate asks
// for a compressor too good or too bad to be true, condensing over ambient
// gives way by up to 4 °F, then the evaporating temperature by up to 2 °F.
func (m *Machine) fit() error {
	r := &m.rating
	s := &r.Spread
	W := float64(r.NetCapacity)/(float64(r.EER)*(1+float64(s.EER))) - float64(r.IndoorFan) - float64(r.OutdoorFan)
	t := target{
		Te: evaporating(float64(r.SEER)) + float64(s.Evaporating),
		sh: float64(r.TargetSuperheat) + float64(s.Superheat),
		sc: float64(r.TargetSubcooling),
		Q:  float64(r.NetCapacity + r.IndoorFan), W: W,
	}
	t.overAmbient = math.Max(condensingOverAmbient(float64(r.SEER))+float64(s.CondensingOverAmbient), t.sc+leastApproach)
	lo, hi := r.credible()
	const step = 0.25 // K
	moveC, moveE := 4*kelvinPerFahrenheit, 2*kelvinPerFahrenheit
	for {
		l := m.rate(t)
		dir := 0.0
		switch {
		case m.eta0 > hi:
			dir = -1 // a better coil excuses a worse compressor
		case m.eta0 < lo:
			dir = 1
		}
		a := &m.adjust
		switch {
		case dir == 0:
			return m.fitParts(&l, t)
		case math.Abs(float64(a.CondensingOverAmbient)) < moveC && t.overAmbient+dir*step > t.sc+leastApproach:
			t.overAmbient += dir * step
			a.CondensingOverAmbient += quantity.TempDiff(dir * step)
		case math.Abs(float64(a.Evaporating)) < moveE:
			t.Te -= dir * step
			a.Evaporating -= quantity.TempDiff(dir * step)
		default:
			a.Doubtful = true
			return m.fitParts(&l, t)
		}
	}
}

// rate sets flow and compressor from the rating point and returns the loop
// standing at it.
func (m *Machine) rate(t target) loop {
	m.overAmbient0, m.Te0 = t.overAmbient, t.Te
	m.capOut0 = float64(m.rating.NetCapacity) * outdoorFlow * math.Max(1, fullRise/t.overAmbient)
	c, f := m.RatingCondition(), Healthy()
	l := m.newLoop(&c, &f)
	tab, p := m.fluid, &l.at
	p.pe = tab.DewPressure(t.Te)
	Tc := ratedOutdoor + t.overAmbient
	p.pc = 0.5 * (tab.DewPressure(Tc) + tab.BubblePressure(Tc))
	p.pDis, p.pPort = p.pc, p.pc-condenserDrop
	p.satC = tab.Sat(p.pc)
	hLiq := p.satC.HLiq - tab.LiquidPT(p.pc, p.satC.TBub-tab.BubbleTemp(p.pPort)+t.sc)
	hDew := tab.Sat(p.pe).HVap
	hOut := hDew + tab.VapourPT(p.pe, t.sh)
	m.m0 = t.Q / (hOut - hLiq)
	h := hOut + l.lineHeat(m.m0, t.Te+t.sh)
	m.rhoEvap0 = tab.Sat(p.pe).RhoVap
	l.suctionSide(h - hDew)

	m.swept, m.eta0 = 1, 1
	flow, W, _ := l.compress(&p.u, p.pDis)
	m.swept = m.m0 / flow
	m.eta0 = W * m.swept / t.W
	p.m, p.W = m.m0, t.W
	m.pc0 = p.pc
	m.z0 = [3]float64{math.Log(p.pe), math.Log(p.pc), (h - hDew) / 1000}
	return l
}

// fitParts sizes the coils, the metering device and the charge at the point l.
func (m *Machine) fitParts(l *loop, t target) error {
	p := &l.at
	_, _, hDis := l.compress(&p.u, p.pDis)
	Tliq := m.fluid.BubbleTemp(p.pPort) - t.sc
	kOut, err := num.Root("outdoor coil", func(ln float64) float64 {
		l.scaleOutdoor(math.Exp(ln))
		return l.condense(m.m0, p.pc, hDis, &p.satC).T - Tliq
	}, math.Log(1e-5), math.Log(0.02), 1e-9)
	if err != nil {
		return err
	}
	m.rOut = patternOut.scaled(math.Exp(kOut))
	l.scaleOutdoor(math.Exp(kOut))
	p.c = l.condense(m.m0, p.pc, hDis, &p.satC)
	l.liquidSide()

	kIn, err := num.Root("indoor coil", func(ln float64) float64 {
		l.scaleIndoor(math.Exp(ln))
		return l.evaporate(m.m0, p.pe, p.c.h, &p.satE).sh - t.sh
	}, math.Log(1e-5), math.Log(0.05), 1e-9)
	if err != nil {
		return err
	}
	m.rIn = patternIn.scaled(math.Exp(kIn))
	l.scaleIndoor(math.Exp(kIn))
	p.e = l.evaporate(m.m0, p.pe, p.c.h, &p.satE)

	m.valve = expansion{kind: m.rating.Metering, size: 1, set: t.sh, delta: m.orificeExponent(), pIn0: p.in.p}
	m.valve.size = m.m0 / l.meter(p.in, p.pe, 1)
	m.subcool0 = p.c.subcool
	l.subcool0 = m.subcool0
	m.charge0 = l.mass(&p.c, &p.e, &p.in, &p.u)
	return nil
}

// scaleOutdoor sets the outdoor coil's resistances to k times the pattern at
// rated airflow.
func (l *loop) scaleOutdoor(k float64) {
	l.m.rOut = patternOut.scaled(k)
	l.hot.r, l.hot.air = l.m.rOut, l.m.rOut.air
}

// scaleIndoor does so for the indoor coil.
func (l *loop) scaleIndoor(k float64) {
	l.m.rIn = patternIn.scaled(k)
	l.cold.r, l.cold.air = l.m.rIn, l.m.rIn.air
}

// orificeExponent returns the exponent on inlet pressure that the fixed
// orifice needs beside its correlation: none for R-22, 0.3 for R-410A. The
// others are left without: their superheat falls 11 to 15 °F from 65 to 115 °F
// outdoors, R-22's by the rule 25 °F, and nothing is published for them.
//
// practice: with it superheat follows (3 WB - 80 - outdoor)/2 in °F, the
// standing rule of the trade, from 65 to 115 °F outdoors.
func (m *Machine) orificeExponent() float64 {
	d := float64(m.rating.Spread.OrificeExponent)
	if m.rating.Refrigerant.Name() == "R-410A" {
		d += deltaBlend
	}
	return d
}

// RatingCondition is the rating point: 35 °C (95 °F) outdoors, 26.7/19.4 °C
// (80/67 °F) indoors, rated flows, sea level.
func (m *Machine) RatingCondition() Condition {
	return Condition{Outdoor: ratedOutdoor, ReturnDryBulb: ratedReturn, ReturnHumidity: ratedHumidity,
		Ambient: standardAtmosphere, IndoorAirflow: 1, OutdoorAirflow: 1,
		IndoorFanHeat: quantity.Power(m.indoorFan), Speed: 1}
}
