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
	case p.e.surface < zeroCelsius && moistair.SatHumidityRatio(p.e.surface, l.pAir) < l.cold.W:
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
		LiquidLineTemp:    quantity.Temperature(l.liquidTemp()),
		DischargeTemp:     quantity.Temperature(p.c.TDis),
		SatSuctionTemp:    quantity.Temperature(satSuc.TDew),
		SatLiquidTemp:     quantity.Temperature(satLiq.TBub),
		Superheat:         quantity.TempDiff(p.u.T - satSuc.TDew),
		Subcooling:        quantity.TempDiff(satLiq.TBub - l.liquidTemp()),
		CoilOutletTemp:    quantity.Temperature(p.e.T),
		CoilSuperheat:     quantity.TempDiff(math.Max(p.e.sh, 0)),
		EvaporatingTemp:   quantity.Temperature(p.e.Te),
		CondensingTemp:    quantity.Temperature(p.c.Tc),
		CoilSurfaceTemp:   quantity.Temperature(p.e.surface),
		CompressorInlet:   quantity.Temperature(p.inlet),
		VapourPressure:    quantity.Pressure(p.pSuc),
		VapourLineTemp:    quantity.Temperature(p.u.T),
		IndoorVapourTemp:  quantity.Temperature(p.e.T),
		IndoorLiquidTemp:  quantity.Temperature(p.in.T),
		Capacity:          quantity.Power(p.m * (p.e.h - p.c.h)),
		EvaporatorHeat:    quantity.Power(p.m * (p.e.h - p.c.h)),
		CondenserHeat:     quantity.Power(p.m * (p.c.hIn - p.c.h)),
		CompressorPower:   quantity.Power(p.W),
		ShaftPower:        quantity.Power(p.W * motorEff),
		MassFlow:          quantity.MassFlow(p.m),
		SuctionLiquid:     quantity.Ratio(1 - p.u.quality),
		Residual:          res,
		Passes:            l.passes,
		z:                 z,
	}
	if l.valve.kind == TXV {
		s.ValveOpening = quantity.Ratio(p.opening)
	}
	l.restrictionReadings(&s)
	if l.heating {
		l.heatingReadings(&s)
	} else {
		l.coolingReadings(&s)
	}
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
	s.RestrictionDrop = quantity.PressureDiff(math.Min(l.restriction*flow*flow, math.Max(p.pLiq-p.in.p, 0)))
	s.RestrictionCool = quantity.TempDiff(math.Max(p.c.T-p.in.T, 0))
}

// coolingReadings fills in the air leaving both coils in cooling.
func (l *loop) coolingReadings(s *State) {
	T, W := l.chilled(float64(s.EvaporatorHeat))
	s.SensibleCapacity = quantity.Power(l.cold.cap * (l.cold.T - T))
	s.SupplyDryBulb = quantity.Temperature(T + l.fanHeat/l.cold.cap)
	s.SupplyHumidity = quantity.HumidityRatio(W)
	s.FrostRate = l.frost(W)
	s.LeavingCondenser = quantity.Temperature(l.Ta + float64(s.CondenserHeat)/l.hot.cap)
}

// heatingReadings fills in what stands elsewhere in heating, and the air.
func (l *loop) heatingReadings(s *State) {
	p := &l.at
	T, W := l.chilled(float64(s.EvaporatorHeat))
	s.FrostRate = l.frost(W)
	s.LeavingCondenser = quantity.Temperature(T)
	s.Capacity, s.SensibleCapacity = s.CondenserHeat, s.CondenserHeat
	s.SupplyDryBulb = quantity.Temperature(l.hot.T + (float64(s.CondenserHeat)+l.fanHeat)/l.hot.cap)
	s.SupplyHumidity = quantity.HumidityRatio(l.hot.W)
	s.VapourPressure, s.IndoorVapourTemp = s.DischargePressure, s.DischargeTemp
	s.IndoorLiquidTemp = quantity.Temperature(p.c.T)
	// The discharge pipe and the large valve stand before the line.
	hot := p.u.h + p.W*(1-shellLoss)/p.m
	if rise := hot - p.satC.HVap; rise > 0 {
		T, _, _ := l.t.VapourPH(p.pc, math.Min(rise, l.m.maxRise))
		s.DischargeTemp = quantity.Temperature(T)
	}
	s.VapourLineTemp = s.DischargeTemp
}

// chilled returns dry bulb and humidity of the air behind the coil that takes
// the heat Q from it. The bypass-factor form splits sensible and latent heat:
//
//	h_surface = h_in - q/(1 - BF),  T_out = T_surface + (T_in - T_surface)·BF,
//	BF = exp(-1/(m_a·c_p·R_o))
//
// published: bypass-factor form of coil theory, as in any handbook of air
// conditioning.
func (l *loop) chilled(Q float64) (T, W float64) {
	s := &l.cold
	q := Q / s.flow
	bf := math.Exp(-1 / (s.cap * s.air))
	dry := s.T - q/s.cp
	surface := moistair.SatTemp(s.h-q/(1-bf), l.pAir)
	if wet := surface + (s.T-surface)*bf; wet > dry {
		return wet, (s.h - q - cpDryAir*(wet-zeroCelsius)) / (steamEnthalpy + cpSteam*(wet-zeroCelsius))
	}
	return dry, s.W
}

// frost returns the water that freezes onto a coil whose surface is below
// freezing, all that the air leaving with the humidity W has lost. Where only a
// part of the coil is so cold it is too much.
func (l *loop) frost(W float64) quantity.MassFlow {
	if l.at.e.surface >= zeroCelsius {
		return 0
	}
	return quantity.MassFlow(l.cold.flow * math.Max(l.cold.W-W, 0))
}
