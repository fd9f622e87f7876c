package cycle

import (
	"math"

	"rung/internal/moistair"
	"rung/internal/quantity"
)

// slugging is the mass share of liquid in the suction from which the outcome
// is Slugging. practice: no citable limit; every scroll and piston suffers there.
const slugging = 0.30

// outcome judges the converged point.
func (l *loop) outcome() Outcome {
	p := &l.at
	switch {
	case 1-p.u.quality > slugging:
		return Slugging
	case p.e.surface < zeroCelsius && moistair.SatHumidityRatio(p.e.surface, l.pAir) < l.Wai:
		return Icing
	}
	return Steady
}

// state turns the point at z into readings.
func (l *loop) state(out Outcome, z [3]float64) State {
	res := l.residual(&z)
	p := &l.at
	satLiq, satSuc := l.t.Sat(p.pPort), l.t.Sat(p.pSuc)
	s := State{
		Outcome:           out,
		SuctionPressure:   quantity.Pressure(p.pSuc),
		LiquidPressure:    quantity.Pressure(p.pPort),
		DischargePressure: quantity.Pressure(p.pDis),
		SuctionLineTemp:   quantity.Temperature(p.u.T),
		LiquidLineTemp:    quantity.Temperature(p.c.T),
		DischargeTemp:     quantity.Temperature(p.c.TDis),
		SatSuctionTemp:    quantity.Temperature(satSuc.TDew),
		SatLiquidTemp:     quantity.Temperature(satLiq.TBub),
		Superheat:         quantity.TempDiff(p.u.T - satSuc.TDew),
		Subcooling:        quantity.TempDiff(satLiq.TBub - p.c.T),
		CoilOutletTemp:    quantity.Temperature(p.e.T),
		CoilSuperheat:     quantity.TempDiff(math.Max(p.e.sh, 0)),
		EvaporatingTemp:   quantity.Temperature(p.e.Te),
		CondensingTemp:    quantity.Temperature(p.c.Tc),
		CoilSurfaceTemp:   quantity.Temperature(p.e.surface),
		Capacity:          quantity.Power(p.m * (p.e.h - p.c.h)),
		CondenserHeat:     quantity.Power(p.m * (p.u.h + p.W*(1-shellLoss)/p.m - p.c.h)),
		CompressorPower:   quantity.Power(p.W),
		ShaftPower:        quantity.Power(p.W * motorEff),
		MassFlow:          quantity.MassFlow(p.m),
		SuctionLiquid:     quantity.Ratio(1 - p.u.quality),
		Residual:          res,
		Passes:            l.passes,
		z:                 z,
	}
	if l.m.valve.kind == TXV {
		s.ValveOpening = quantity.Ratio(p.opening)
	}
	l.restrictionReadings(&s)
	l.airReadings(&s)
	return s
}

// restrictionReadings fills in what is felt across drier or kink: once flash
// gas forms the pipe behind it stands at the lower saturation temperature.
func (l *loop) restrictionReadings(s *State) {
	if l.restriction == 0 {
		return
	}
	p := &l.at
	flow := p.m / l.m.m0
	s.RestrictionDrop = quantity.PressureDiff(math.Min(l.restriction*flow*flow, math.Max(p.pPort-p.in.p, 0)))
	s.RestrictionCool = quantity.TempDiff(math.Max(p.c.T-p.in.T, 0))
}

// airReadings fills in the air leaving both coils. Behind the indoor coil the
// bypass-factor form splits sensible and latent heat:
//
//	h_surface = h_in - q/(1 - BF),  T_out = T_surface + (T_in - T_surface)·BF,
//	BF = exp(-1/(m_a·c_p·R_o))
//
// published: bypass-factor form of coil theory, as in any handbook of air
// conditioning.
func (l *loop) airReadings(s *State) {
	q := float64(s.Capacity) / l.ma
	bf := math.Exp(-1 / (l.ma * l.cpa * l.airIn))
	dry := l.Tai - q/l.cpa
	T, W := dry, l.Wai
	surface := moistair.SatTemp(l.hai-q/(1-bf), l.pAir)
	if wet := surface + (l.Tai-surface)*bf; wet > dry {
		T = wet
		W = (l.hai - q - cpDryAir*(T-zeroCelsius)) / (steamEnthalpy + cpSteam*(T-zeroCelsius))
	}
	s.SensibleCapacity = quantity.Power(l.ma * l.cpa * (l.Tai - T))
	s.SupplyDryBulb = quantity.Temperature(T + l.fanHeat/(l.ma*l.cpa))
	s.SupplyHumidity = quantity.HumidityRatio(W)
	s.LeavingCondenser = quantity.Temperature(l.Ta + float64(s.CondenserHeat)/l.capOut)
}
