package cycle

import (
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
	l := loop{m: m, t: m.fluid, speed: float64(c.Speed), leak: float64(f.CompressorLeak),
		Ta: float64(c.Outdoor), Tai: float64(c.ReturnDryBulb), Wai: float64(c.ReturnHumidity),
		pAir: float64(c.Ambient), fanHeat: float64(c.IndoorFanHeat),
		stuck: float64(f.ValveStuckAt), shift: float64(f.ValveSuperheat), bulb: float64(f.BulbContact),
		scale: float64(f.OrificeScale), restriction: float64(f.LiquidRestriction),
		lineGain: m.lineGain0 * float64(f.SuctionLineGain), charge: float64(f.Charge) * m.charge0,
		subcooling: math.NaN(), fine: 1}
	l.outdoorAir(float64(c.OutdoorAirflow), 1+float64(f.OutdoorFouling))
	l.indoorAir(float64(c.IndoorAirflow), 1+float64(f.IndoorFouling))
	l.pnc = float64(f.NonCondensables) * standardAtmosphere * m.vol.total() / (gasShare * m.vol.outdoor) * l.Ta / fillTemp
	l.bounds()
	return l
}

// outdoorAir sets the outdoor stream at the flow ratio v. Outdoor air is taken
// as dry: its moisture changes density and heat capacity by under 1 %.
func (l *loop) outdoorAir(v, fouling float64) {
	rho := l.pAir / (gasConstantAir * l.Ta)
	l.capOut = v * l.m.capOut0 * rho * cpDryAir
	l.airOut = l.m.rOut.air * airResistance(v*rho/ratedOutdoorDensity) * fouling
}

// indoorAir sets the indoor stream at the flow ratio v.
func (l *loop) indoorAir(v, fouling float64) {
	rho := l.pAir / (gasConstantAir * l.Tai * (1 + molarRatio*l.Wai)) // of dry air in the mixture
	l.ma = v * l.m.capIn0 * rho
	l.cpa = cpDryAir + cpSteam*l.Wai
	l.hai = moistair.Enthalpy(l.Tai, l.Wai)
	l.airIn = l.m.rIn.air * airResistance(v*rho/ratedIndoorDensity) * fouling
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
	l.lo[0] = math.Log(pMin*(1+inside) + 1.2*suctionLineDrop)
	l.hi[0] = math.Log(l.t.DewPressure(math.Max(l.Tai, l.Ta) + 10))
	l.lo[1] = math.Log(l.t.BubblePressure(math.Min(l.Ta, l.Tai) - 5))
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
func check(c *Condition, f *Fault) error {
	const op = "cycle.Solve"
	for _, v := range [...]struct {
		name     string
		x        float64
		min, max float64
		unit     string
	}{
		{"outdoor temperature", float64(c.Outdoor), 243.15, 325.15, "K"},
		{"return dry bulb", float64(c.ReturnDryBulb), 263.15, 327.15, "K"},
		{"return humidity", float64(c.ReturnHumidity), 0, 0.06, "kg/kg"},
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
