package cycle

import (
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// notPumping is the leak from which the compressor counts as dead: what it
// still moves cannot hold a pressure difference against a fixed orifice.
const notPumping = 0.97

// maxLeak is the largest leak the loop is solved for. Beyond it hardly any
// flow is left to carry the balances, and readings run straight to those of a
// compressor that does not pump.
const maxLeak = 0.6

// idlePower is the electrical power of a compressor that turns against nothing
// or pumps thin gas, over that at the rating point. practice: well under half
// of normal.
const idlePower = 0.35

// Stand returns the state of the machine at rest, after pressures have
// equalised and both coils have taken the temperature of their air. The
// compressor's speed and every fault but charge and foreign gas play no part.
//
// While liquid remains, the pressure is the saturation pressure at the colder
// coil, where the liquid gathers. With too little left the circuit holds
// superheated gas, whose pressure follows from mass and volume; a leak to the
// outside stops at ambient pressure, so it reads no less. Foreign gas adds its
// partial pressure.
func (m *Machine) Stand(c Condition, f Fault) (State, error) {
	if err := m.check(&c, &f); err != nil {
		return State{}, err
	}
	return m.stand(&c, &f)
}

func (m *Machine) stand(c *Condition, f *Fault) (State, error) {
	cold := math.Min(float64(c.Outdoor), float64(c.ReturnDryBulb))
	t := m.fluid
	mass := float64(f.Charge) * m.charge0
	pSat := t.BubblePressure(cold)
	gas := m.gasMass(pSat, c)
	p, gasVolume := pSat, m.vol.total()
	if mass > gas {
		sat := t.Sat(pSat)
		gasVolume -= (mass - gas) / (sat.RhoLiq - sat.RhoVap)
	} else {
		var err error
		if p, err = m.gasPressure(mass, pSat, c); err != nil {
			return State{}, err
		}
		p = math.Max(p, float64(c.Ambient))
	}
	// A circuit filled solid with liquid has no gas volume to speak of.
	gasVolume = math.Max(gasVolume, 0.02*m.vol.total())
	p += float64(f.NonCondensables) * standardAtmosphere * m.vol.total() / gasVolume * cold / fillTemp
	return m.standingReadings(c, p), nil
}

// gasMass returns what the whole circuit holds as gas at p, kg: the outdoor
// coil, shell and half the lines at outdoor, the rest at indoor temperature.
func (m *Machine) gasMass(p float64, c *Condition) float64 {
	v := &m.vol
	out := v.outdoor + v.shell + 0.5*(v.liquidLine+v.suctionLine)
	return out*m.gasDensity(p, float64(c.Outdoor)) + (v.total()-out)*m.gasDensity(p, float64(c.ReturnDryBulb)) + v.oil
}

// gasDensity returns the density of gas at p and T, T at or above the dew
// point. Below the tables density goes with pressure, as in an ideal gas.
func (m *Machine) gasDensity(p, T float64) float64 {
	least, _ := m.fluid.PressureRange()
	scale := 1.0
	if p < least {
		p, scale = least, p/least
	}
	superheat := math.Min(math.Max(T-m.fluid.DewTemp(p), 0), maxStandingSuperheat)
	_, rho, _ := m.fluid.VapourPH(p, m.fluid.VapourPT(p, superheat))
	return scale * rho
}

// maxStandingSuperheat keeps the thinnest gas inside the property tables, K;
// beyond it density is a little high.
const maxStandingSuperheat = 90

// gasPressure returns the pressure at which the circuit holds mass as gas.
func (m *Machine) gasPressure(mass, pSat float64, c *Condition) (float64, error) {
	const none = 1.0 // Pa
	if mass <= m.gasMass(none, c) {
		return 0, nil
	}
	return num.Root("standing pressure", func(p float64) float64 { return m.gasMass(p, c) - mass }, none, pSat, 1)
}

// standingReadings fills in the readings of a machine at rest at p.
func (m *Machine) standingReadings(c *Condition, p float64) State {
	s := State{
		Outcome:         Standing,
		SuctionPressure: quantity.Pressure(p), LiquidPressure: quantity.Pressure(p), DischargePressure: quantity.Pressure(p),
		SuctionLineTemp: c.Outdoor, LiquidLineTemp: c.Outdoor, DischargeTemp: c.Outdoor,
		CoilOutletTemp: c.ReturnDryBulb, EvaporatingTemp: c.ReturnDryBulb, CoilSurfaceTemp: c.ReturnDryBulb,
		CondensingTemp: c.Outdoor, LeavingCondenser: c.Outdoor,
		SupplyHumidity: c.ReturnHumidity,
		VapourPressure: quantity.Pressure(p), CompressorInlet: c.Outdoor, VapourLineTemp: c.Outdoor,
		IndoorVapourTemp: c.ReturnDryBulb, IndoorLiquidTemp: c.ReturnDryBulb,
	}
	sat := m.satNear(p)
	s.SatSuctionTemp, s.SatLiquidTemp = quantity.Temperature(sat.TDew), quantity.Temperature(sat.TBub)
	s.Superheat = s.SuctionLineTemp.Sub(s.SatSuctionTemp)
	s.Subcooling = s.SatLiquidTemp.Sub(s.LiquidLineTemp)
	ma := float64(c.IndoorAirflow) * m.capIn0 * float64(c.Ambient) / (gasConstantAir * float64(c.ReturnDryBulb))
	s.SupplyDryBulb = c.ReturnDryBulb.Add(quantity.TempDiff(float64(c.IndoorFanHeat) / (ma * cpDryAir)))
	return s
}

// onlyGas says whether the machine at rest holds no liquid.
func (m *Machine) onlyGas(c *Condition, f *Fault) bool {
	cold := math.Min(float64(c.Outdoor), float64(c.ReturnDryBulb))
	return float64(f.Charge)*m.charge0 <= m.gasMass(m.fluid.BubblePressure(cold), c)
}

// What a compressor does to a circuit that holds gas alone.
const (
	// practice: it pulls the low side toward a vacuum and pumps the high side a
	// little up; the ratio of the pressures is judgement.
	thinGasRatio = 4.0
	thinGasFlow  = 0.05 // of rated flow; judgement
)

// thinGas returns the state of a circuit that holds gas alone while the
// compressor runs, where the loop has no balance to offer: nothing is cooled,
// and the gas at rest, shared between two sides of about the same volume, is
// moved from one to the other. The outcome is LowPressureLimit. Below the
// property tables saturation temperatures stay at their end.
func (m *Machine) thinGas(c *Condition, f *Fault) (State, error) {
	s, err := m.stand(c, f)
	if err != nil {
		return State{}, err
	}
	s.Outcome = LowPressureLimit
	low := s.SuctionPressure * 2 / (1 + thinGasRatio)
	s.SuctionPressure, s.LiquidPressure, s.DischargePressure = low, low*thinGasRatio, low*thinGasRatio
	s.VapourPressure = low
	if c.Mode == Heating {
		s.VapourPressure = s.DischargePressure
	}
	s.SatSuctionTemp = quantity.Temperature(m.satNear(float64(s.SuctionPressure)).TDew)
	s.SatLiquidTemp = quantity.Temperature(m.satNear(float64(s.LiquidPressure)).TBub)
	s.Superheat = s.SuctionLineTemp.Sub(s.SatSuctionTemp)
	s.Subcooling = s.SatLiquidTemp.Sub(s.LiquidLineTemp)
	s.CompressorPower = quantity.Power(idlePower * m.ratedPower())
	s.ShaftPower = s.CompressorPower * motorEff
	s.MassFlow = quantity.MassFlow(thinGasFlow * m.m0)
	return s, nil
}

// satNear returns the saturation row at p, or at the end of the tables next to
// it.
func (m *Machine) satNear(p float64) refrigerant.SatRow {
	min, max := m.fluid.PressureRange()
	return m.fluid.Sat(math.Min(math.Max(p, min), max))
}

// notPumping returns the state of a machine whose compressor turns and moves
// nothing: suction equals discharge, and both stand where the machine at rest
// would stand.
func (m *Machine) notPumping(c *Condition, f *Fault) (State, error) {
	s, err := m.stand(c, f)
	if err != nil {
		return State{}, err
	}
	s.Outcome = NotPumping
	s.CompressorPower = quantity.Power(idlePower * m.ratedPower())
	s.ShaftPower = s.CompressorPower * motorEff
	return s, nil
}

// ratedPower returns the compressor power at the rating point, W.
func (m *Machine) ratedPower() float64 {
	r := &m.rating
	return float64(r.NetCapacity)/(float64(r.EER)*(1+float64(r.Spread.EER))) - float64(r.IndoorFan) - float64(r.OutdoorFan)
}

// towards returns s moved by the share x of the way to the state t. Superheat
// and subcooling follow from the moved temperatures.
func (s State) towards(t *State, x float64) State {
	k := quantity.Ratio(x)
	mix := func(a *quantity.Temperature, b quantity.Temperature) { *a += (b - *a) * quantity.Temperature(k) }
	press := func(a *quantity.Pressure, b quantity.Pressure) { *a += (b - *a) * quantity.Pressure(k) }
	power := func(a *quantity.Power, b quantity.Power) { *a += (b - *a) * quantity.Power(k) }
	press(&s.SuctionPressure, t.SuctionPressure)
	press(&s.LiquidPressure, t.LiquidPressure)
	press(&s.DischargePressure, t.DischargePressure)
	press(&s.VapourPressure, t.VapourPressure)
	mix(&s.CompressorInlet, t.CompressorInlet)
	mix(&s.VapourLineTemp, t.VapourLineTemp)
	mix(&s.IndoorVapourTemp, t.IndoorVapourTemp)
	mix(&s.IndoorLiquidTemp, t.IndoorLiquidTemp)
	mix(&s.SuctionLineTemp, t.SuctionLineTemp)
	mix(&s.LiquidLineTemp, t.LiquidLineTemp)
	mix(&s.DischargeTemp, t.DischargeTemp)
	mix(&s.SatSuctionTemp, t.SatSuctionTemp)
	mix(&s.SatLiquidTemp, t.SatLiquidTemp)
	mix(&s.CoilOutletTemp, t.CoilOutletTemp)
	mix(&s.EvaporatingTemp, t.EvaporatingTemp)
	mix(&s.CondensingTemp, t.CondensingTemp)
	mix(&s.CoilSurfaceTemp, t.CoilSurfaceTemp)
	mix(&s.SupplyDryBulb, t.SupplyDryBulb)
	mix(&s.LeavingCondenser, t.LeavingCondenser)
	power(&s.Capacity, t.Capacity)
	power(&s.SensibleCapacity, t.SensibleCapacity)
	power(&s.EvaporatorHeat, t.EvaporatorHeat)
	power(&s.CondenserHeat, t.CondenserHeat)
	power(&s.CompressorPower, t.CompressorPower)
	power(&s.ShaftPower, t.ShaftPower)
	s.MassFlow *= quantity.MassFlow(1 - k)
	s.FrostRate *= quantity.MassFlow(1 - k)
	s.SuctionLiquid *= 1 - k
	s.RestrictionDrop *= quantity.PressureDiff(1 - k)
	s.RestrictionCool *= quantity.TempDiff(1 - k)
	s.SupplyHumidity += (t.SupplyHumidity - s.SupplyHumidity) * quantity.HumidityRatio(k)
	s.CoilSuperheat *= quantity.TempDiff(1 - k)
	s.Superheat = s.SuctionLineTemp.Sub(s.SatSuctionTemp)
	s.Subcooling = s.SatLiquidTemp.Sub(s.LiquidLineTemp)
	return s
}
