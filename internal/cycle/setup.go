package cycle

import (
	"fmt"
	"math"

	"rung/internal/moistair"
	"rung/internal/quantity"
)

// Properties of dry air and steam used for air streams.
const (
	gasConstantAir = 287.042   // J/(kg·K); published: ASHRAE Fundamentals 2017 ch. 1 eq. 1
	molarRatio     = 1.607858  // air over water; same chapter
	cpDryAir       = 1006.0    // J/(kg·K); published: same chapter, eq. 30
	cpSteam        = 1860.0    // J/(kg·K); same
	steamEnthalpy  = 2501000.0 // J/kg at 0 °C; same
	zeroCelsius    = 273.15    // K
)

// ratingAir is the air at the rating point.
// published: AHRI 210/240, test A: 95 °F outdoors, 80/67 °F indoors.
const (
	ratedOutdoor  = 308.15
	ratedReturn   = 299.8167
	ratedHumidity = 0.0111795 // kg/kg; 80/67 °F at the standard atmosphere
)

// airResistance returns the air-side resistance at the flow ratio v over that
// at rated flow. memory: film coefficients of plain and louvred fins go with
// flow to the power 0.5 to 0.7.
func airResistance(v float64) float64 { return math.Pow(v, -0.6) }

// newLoop fixes everything that does not change during the solve. The caller
// has checked the ranges.
func (m *Machine) newLoop(c *Condition, f *Fault) loop {
	l := loop{m: m, t: m.fluid, heating: c.Mode == Heating, speed: float64(c.Speed),
		leak: float64(f.CompressorLeak), exchange: float64(f.ReversingValveLeak),
		Ta: float64(c.Outdoor), pAir: float64(c.Ambient), fanHeat: float64(c.IndoorFanHeat),
		stuck: float64(f.ValveStuckAt), shift: float64(f.ValveSuperheat), bulb: float64(f.BulbContact),
		scale: float64(f.OrificeScale), bypass: float64(f.CheckValveLeak), restriction: float64(f.LiquidRestriction),
		lineGain: m.lineGain0 * float64(f.SuctionLineGain), charge: float64(f.Charge) * m.charge0,
		subcooling: math.NaN(), fine: 1}
	if l.heating {
		l.hot = l.indoorAir(c, f, &m.heat.rHot)
		l.cold = l.outdoorAir(c, f, &m.heat.rCold, float64(c.OutdoorHumidity))
		l.volHot, l.volCold, l.subcool0, l.kappa = m.vol.indoor, m.vol.outdoor, m.heat.subcool0, m.kappa+heatingKappa
		l.suctionDrop, l.valve = heatingSuctionDrop, &m.heat.valve
		l.charge -= m.heat.buffer
	} else {
		l.hot = l.outdoorAir(c, f, &m.rOut, 0)
		l.cold = l.indoorAir(c, f, &m.rIn)
		l.volHot, l.volCold, l.subcool0, l.kappa = m.vol.outdoor, m.vol.indoor, m.subcool0, m.kappa
		l.suctionDrop, l.valve = suctionLineDrop, &m.valve
	}
	l.pnc = float64(f.NonCondensables) * standardAtmosphere * m.vol.total() / (gasShare * l.volHot) * l.hot.T / fillTemp
	l.bounds()
	return l
}

// outdoorAir returns the outdoor stream, of the humidity W. In cooling it is
// taken as dry: its moisture changes density and heat capacity by under 1 %.
func (l *loop) outdoorAir(c *Condition, f *Fault, r *resistances, W float64) stream {
	rho := l.pAir / (gasConstantAir * l.Ta * (1 + molarRatio*W)) // of dry air in the mixture
	v := float64(c.OutdoorAirflow)
	s := stream{T: l.Ta, W: W, flow: v * l.m.capOut0 * rho, cp: cpDryAir + cpSteam*W,
		air: r.air * airResistance(v*rho/ratedOutdoorDensity) * (1 + float64(f.OutdoorFouling)), r: *r}
	s.cap = s.flow * s.cp
	if l.heating {
		s.h = moistair.Enthalpy(s.T, W)
	}
	return s
}

// indoorAir returns the indoor stream.
func (l *loop) indoorAir(c *Condition, f *Fault, r *resistances) stream {
	T, W, v := float64(c.ReturnDryBulb), float64(c.ReturnHumidity), float64(c.IndoorAirflow)
	rho := l.pAir / (gasConstantAir * T * (1 + molarRatio*W)) // of dry air in the mixture
	s := stream{T: T, W: W, flow: v * l.m.capIn0 * rho, cp: cpDryAir + cpSteam*W, h: moistair.Enthalpy(T, W),
		air: r.air * airResistance(v*rho/ratedIndoorDensity) * (1 + float64(f.IndoorFouling)), r: *r}
	s.cap = s.flow * s.cp
	return s
}

// Densities of the air at the rating point, kg/m³.
const (
	ratedOutdoorDensity = standardAtmosphere / (gasConstantAir * ratedOutdoor)
	ratedIndoorDensity  = standardAtmosphere / (gasConstantAir * ratedReturn * (1 + molarRatio*ratedHumidity))
)

// bounds sets where the unknowns may go: inside the property tables, with room
// for the suction line's drop below and for foreign gas above.
func (l *loop) bounds() {
	pMin, _ := l.t.PressureRange()
	const inside = 1e-6
	l.lo[0] = math.Log(pMin*(1+inside) + 1.2*l.suctionDrop)
	l.hi[0] = math.Log(l.t.DewPressure(math.Max(l.cold.T, l.hot.T) + 10))
	l.lo[1] = math.Log(l.t.BubblePressure(math.Min(l.cold.T, l.hot.T) - 5))
	l.hi[1] = math.Log(l.m.pTop - l.pnc)
	l.lo[2], l.hi[2] = maxLiquidReturn, maxSuctionRise
}

// Range of h_suction - h_dew, kJ/kg: from 0.7 of the heat of evaporation in
// liquid to some 90 K of superheat.
const (
	maxLiquidReturn = -120.0
	maxSuctionRise  = 90.0
)

// check refuses conditions and faults outside the model's range.
func (m *Machine) check(c *Condition, f *Fault) error {
	const op = "cycle.Solve"
	if c.Mode == Heating && !m.rating.HeatPump {
		return fmt.Errorf("%s: %w", op, ErrCoolingOnly)
	}
	if c.Mode > Heating {
		return fmt.Errorf("%s: unknown mode %d", op, c.Mode)
	}
	for _, v := range [...]struct {
		name     string
		x        float64
		min, max float64
		unit     string
	}{
		{"outdoor temperature", float64(c.Outdoor), 243.15, 325.15, "K"},
		{"return dry bulb", float64(c.ReturnDryBulb), 263.15, 327.15, "K"},
		{"return humidity", float64(c.ReturnHumidity), 0, 0.06, "kg/kg"},
		{"outdoor humidity", float64(c.OutdoorHumidity), 0, 0.06, "kg/kg"},
		{"ambient pressure", float64(c.Ambient), 65e3, 108e3, "Pa"},
		{"indoor airflow", float64(c.IndoorAirflow), StoppedFan, 1.6, "of rated"},
		{"outdoor airflow", float64(c.OutdoorAirflow), StoppedFan, 1.6, "of rated"},
		{"indoor fan heat", float64(c.IndoorFanHeat), 0, 3000, "W"},
		{"compressor speed", float64(c.Speed), 0.5, 1.2, "of nominal"},
		{"charge", float64(f.Charge), 0, 2, "of rated"},
		{"outdoor fouling", float64(f.OutdoorFouling), 0, 5, "of clean resistance"},
		{"indoor fouling", float64(f.IndoorFouling), 0, 5, "of clean resistance"},
		{"liquid restriction", float64(f.LiquidRestriction), 0, 1e8, "Pa at rated flow"},
		{"non-condensables", float64(f.NonCondensables), 0, 1.5, "circuit volumes"},
		{"compressor leak", float64(f.CompressorLeak), 0, 1, "of displaced flow"},
		{"reversing valve leak", float64(f.ReversingValveLeak), 0, 0.5, "of the delivery"},
		{"check valve leak", float64(f.CheckValveLeak), 0, 3, "of rated opening"},
		{"valve stuck at", float64(f.ValveStuckAt), 0, 5, "of rated opening"},
		{"valve superheat", float64(f.ValveSuperheat), -10, 40, "K"},
		{"bulb contact", float64(f.BulbContact), 0, 1, "of good contact"},
		{"orifice scale", float64(f.OrificeScale), 0.02, 5, "of right area"},
		{"suction line gain", float64(f.SuctionLineGain), 0, 10, "of insulated"},
	} {
		if !(v.min <= v.x && v.x <= v.max) {
			return &quantity.RangeError{Op: op, Name: v.name, Value: v.x, Min: v.min, Max: v.max, Unit: v.unit}
		}
	}
	return nil
}

// StoppedFan is the airflow ratio that remains through a coil whose fan does
// not turn, by its own draught. practice: a few per cent.
const StoppedFan = 0.05
