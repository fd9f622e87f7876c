package cycle

import "rung/internal/quantity"

// Outcome says where a running machine ends up. A limit is a result, not an
// error: the machine would trip, freeze or flood there.
type Outcome uint8

// The outcomes. The state of the three limits stands at the limit and that of
// NoBalance at the jump, off balance; every other is a balanced state.
const (
	Steady            Outcome = iota + 1
	HighPressureLimit         // no balance below 0.9 of the critical pressure; a high-pressure switch opens there or before
	LowPressureLimit          // pumped down: no balance above the lowest pressure of the property tables
	LiquidLimit               // so much liquid returns that no balance is left
	NoBalance                 // no state holds: the machine jumps between a starved and a fed coil
	Slugging                  // balanced, but a large share of the suction is liquid
	Icing                     // the wet coil's surface is below freezing: not steady, readings drift at State.FrostRate
	NotPumping                // the compressor turns and moves nothing
	Standing                  // off and equalised
)

// OffBalance reports whether the state of o stands at a limit or a jump, where
// the balances do not close.
func (o Outcome) OffBalance() bool {
	return o == HighPressureLimit || o == LowPressureLimit || o == LiquidLimit || o == NoBalance
}

// State is one steady state, with a reading for every place where a mechanic
// measures. Pressures are absolute; a gauge shows them less Condition.Ambient.
type State struct {
	Outcome Outcome
	Doubt   Doubt // reasons to trust the readings less; empty at rest

	// In heating the large service port and pipe carry hot gas, and suction is read
	// at the port between reversing valve and compressor.
	SuctionPressure   quantity.Pressure    // at the outdoor unit's suction port
	LiquidPressure    quantity.Pressure    // at the outdoor unit's liquid port
	DischargePressure quantity.Pressure    // at the compressor
	VapourPressure    quantity.Pressure    // at the large port of the outdoor unit: suction in cooling, discharge in heating
	SuctionLineTemp   quantity.Temperature // pipe at the suction service valve; in heating before the reversing valve
	CompressorInlet   quantity.Temperature // pipe at the compressor: with what a reversing valve leaks
	VapourLineTemp    quantity.Temperature // large pipe at the outdoor unit
	IndoorVapourTemp  quantity.Temperature // large pipe at the indoor unit
	IndoorLiquidTemp  quantity.Temperature // small pipe at the indoor unit
	LiquidLineTemp    quantity.Temperature // pipe at the liquid service valve
	DischargeTemp     quantity.Temperature // discharge pipe
	SatSuctionTemp    quantity.Temperature // dew point at the suction port
	SatLiquidTemp     quantity.Temperature // bubble point at the liquid port, as a gauge shows it
	Superheat         quantity.TempDiff    // at the outdoor unit, as measured there
	Subcooling        quantity.TempDiff    // at the outdoor unit, as measured there

	// The coil that takes heat is the indoor one in cooling, the outdoor one in
	// heating; condensing goes the other way round.
	CoilOutletTemp   quantity.Temperature  // suction pipe at the coil that takes heat
	CoilSuperheat    quantity.TempDiff     // there
	EvaporatingTemp  quantity.Temperature  // dew point in it
	CondensingTemp   quantity.Temperature  // in the other coil, without the share of foreign gas in the pressure
	CoilSurfaceTemp  quantity.Temperature  // air-side surface of the coil that takes heat, where it is coldest
	RestrictionDrop  quantity.PressureDiff // across drier, kink or valve in the liquid line
	RestrictionCool  quantity.TempDiff     // what the pipe loses across it
	SupplyDryBulb    quantity.Temperature  // after coil and blower
	SupplyHumidity   quantity.HumidityRatio
	LeavingCondenser quantity.Temperature // air leaving the outdoor coil

	Capacity         quantity.Power    // gross, of the indoor coil
	SensibleCapacity quantity.Power    // gross, of the indoor coil
	EvaporatorHeat   quantity.Power    // taken from the air
	CondenserHeat    quantity.Power    // given to the air
	FrostRate        quantity.MassFlow // water freezing onto the coil that takes heat; 0 above freezing
	CompressorPower  quantity.Power    // electrical, at nominal motor efficiency
	ShaftPower       quantity.Power    // from the motor
	MassFlow         quantity.MassFlow
	ValveOpening     quantity.Ratio // of a TXV, over its rated opening
	SuctionLiquid    quantity.Ratio // mass share of liquid in the suction gas
	Residual         float64        // largest scaled residual of the solve
	Passes           int            // passes through the loop

	z [3]float64 // ln p_evap, ln p_sat,cond, h_suction - h_dew: start of a warm solve
}

// Split returns the drop of the dry bulb from return to supply.
func (s *State) Split(c Condition) quantity.TempDiff { return c.ReturnDryBulb.Sub(s.SupplyDryBulb) }
