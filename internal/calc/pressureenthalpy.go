package calc

import (
	"errors"
	"math"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// mostSlip is how far, in K, a pipe may read on the wrong side of saturation
// and still be taken for saturated, with a warning: more than a gauge and a
// clamp are wrong by together.
//
// practice: a clamp reads within 2 °F, a gauge within 1 % of its scale; 10 °F
// leaves room for both and for the drop between port and clamp.
const mostSlip = 50.0 / 9

// hotDischarge is the temperature of the discharge line above which oil and
// valves suffer.
//
// practice: 225 °F on the line, some 6 inches from the compressor.
const hotDischarge = 225.0 // °F

func pressureEnthalpy() Calculator {
	return Calculator{
		Name:    "pressure-enthalpy",
		Title:   "Pressure-enthalpy chart",
		About:   "The measured cycle on the chart of its refrigerant: state at each point, what the evaporator takes up, what the compressor adds.",
		Source:  "published: the equation of state of each refrigerant, see package refrigerant; practice: no pressure drop in coils and lines",
		Example: `{"refrigerant":"R-410A","suction_pressure":"118 psig","suction_line":"54 F","liquid_pressure":"340 psig","liquid_line":"96 F","discharge_temperature":"165 F"}`,
		Drawn:   true,
		Fields: []Field{
			refrigerantField(),
			{Name: "suction_pressure", Dim: quantity.DimPressure, About: "at the suction port"},
			{Name: "suction_line", Dim: quantity.DimTemperature, About: "pipe temperature next to the suction port"},
			{Name: "liquid_pressure", Dim: quantity.DimPressure, About: "at the liquid port; taken for the discharge too"},
			{Name: "liquid_line", Dim: quantity.DimTemperature, About: "pipe temperature next to the liquid port"},
			{Name: "discharge_temperature", Dim: quantity.DimTemperature, Optional: true,
				About: "of the discharge line; without it the compressor is taken as free of losses"},
			elevationField,
			ambientField,
		},
		Results: []Field{
			{Name: "evaporating_temperature", Dim: quantity.DimTemperature, About: "dew temperature at the suction pressure"},
			{Name: "condensing_temperature", Dim: quantity.DimTemperature, About: "bubble temperature at the liquid pressure"},
			{Name: "superheat", Dim: quantity.DimTempDiff},
			{Name: "subcooling", Dim: quantity.DimTempDiff},
			{Name: "discharge_superheat", Dim: quantity.DimTempDiff},
			{Name: "compression_ratio", Dim: quantity.DimRatio, USUnit: "1", About: "of absolute pressures"},
			{Name: "refrigerating_effect", Dim: quantity.DimSpecificEnthalpy, About: "taken up between metering device and suction port"},
			{Name: "heat_of_compression", Dim: quantity.DimSpecificEnthalpy},
			{Name: "heat_of_rejection", Dim: quantity.DimSpecificEnthalpy, About: "given off by the condenser"},
			{Name: "coefficient_of_performance", Dim: quantity.DimRatio, USUnit: "1", About: "of the refrigerant cycle: effect over heat of compression; fans and losses of the motor outside"},
			{Name: "isentropic_efficiency", Dim: quantity.DimRatio, About: "of the compression, from the discharge temperature"},
			{Name: "flash_gas", Dim: quantity.DimRatio, About: "vapour in the mixture behind the metering device, by mass"},
			{Name: "warnings", Text: true},
			{Name: "states", Columns: []Field{
				{Name: "point", Text: true},
				{Name: "at", Text: true},
				{Name: "phase", Text: true},
				{Name: "pressure", Dim: quantity.DimPressure},
				{Name: "temperature", Dim: quantity.DimTemperature},
				{Name: "enthalpy", Dim: quantity.DimSpecificEnthalpy, About: "counted from 200 kJ/kg (86 Btu/lb) for liquid at 0 °C (32 °F)"},
				{Name: "entropy", Dim: quantity.DimSpecificEntropy, About: "counted from 1 kJ/(kg·K) for the same"},
				{Name: "density", Dim: quantity.DimDensity},
				{Name: "quality", Dim: quantity.DimRatio},
				{Name: "superheat", Dim: quantity.DimTempDiff},
				{Name: "subcooling", Dim: quantity.DimTempDiff},
			}},
			{Name: "dome", Quiet: true, About: "bubble and dew line by rising pressure, to draw", Columns: []Field{
				{Name: "pressure", Dim: quantity.DimPressure},
				{Name: "bubble_temperature", Dim: quantity.DimTemperature},
				{Name: "dew_temperature", Dim: quantity.DimTemperature},
				{Name: "bubble_enthalpy", Dim: quantity.DimSpecificEnthalpy},
				{Name: "dew_enthalpy", Dim: quantity.DimSpecificEnthalpy},
			}},
		},
		run: runPressureEnthalpy,
	}
}

// loop is a measured cycle while it is worked out.
type loop struct {
	f         *refrigerant.Fluid
	in        Values
	low, high refrigerant.Saturation
	warnings  []string
}

// A loopState is one point of a loop, in SI.
type loopState struct {
	phase         string
	p, t, h, s, d float64 // Pa, K, J/kg, J/(kg·K), kg/m³
}

func (x loopState) values(point, at string) Values {
	return Values{"point": point, "at": at, "phase": x.phase, "pressure": x.p, "temperature": x.t, "enthalpy": x.h, "entropy": x.s, "density": x.d}
}

func runPressureEnthalpy(in Values) (Values, error) {
	f, err := refrigerant.Lookup(in.word("refrigerant"))
	if err != nil {
		return nil, err
	}
	c := loop{f: f, in: in}
	for _, w := range doubtOf(f) {
		c.warn(w)
	}
	if err := c.pressures(); err != nil {
		return nil, err
	}
	suction, err := c.vapour("suction_line", c.low)
	if err != nil {
		return nil, err
	}
	discharge, ideal, err := c.discharge(suction)
	if err != nil {
		return nil, err
	}
	liquid, err := c.liquid()
	if err != nil {
		return nil, err
	}
	inlet, quality, err := c.inlet(liquid)
	if err != nil {
		return nil, err
	}
	m, err := MapOf(f)
	if err != nil {
		return nil, err
	}
	out := c.result(suction, discharge, ideal, liquid, inlet, quality)
	out["dome"] = domeRowsOf(m)
	return out, nil
}

// domeRowsOf lists the bubble and the dew line of a map.
func domeRowsOf(m FluidMap) []Values {
	var rows []Values
	for _, s := range m.Dome {
		rows = append(rows, Values{"pressure": float64(s.DewPressure), "bubble_temperature": float64(s.BubbleTemp), "dew_temperature": float64(s.DewTemp),
			"bubble_enthalpy": float64(s.LiquidEnthalpy), "dew_enthalpy": float64(s.VapourEnthalpy)})
	}
	return rows
}

// pressures finds saturation at both pressures.
func (c *loop) pressures() error {
	var err error
	if c.low, err = c.f.SaturationAtPressure(c.in.pressure("suction_pressure")); err != nil {
		return inField(err, "suction_pressure")
	}
	if c.high, err = c.f.SaturationAtPressure(c.in.pressure("liquid_pressure")); err != nil {
		return inField(err, "liquid_pressure")
	}
	if c.high.DewPressure <= c.low.DewPressure {
		return invalid("liquid_pressure", "not above the suction pressure: the compressor is not pumping, or the hoses are crossed; there is no cycle to draw")
	}
	return nil
}

// warn adds a warning.
func (c *loop) warn(text string) { c.warnings = append(c.warnings, text) }

// dew is saturated vapour.
func dew(s refrigerant.Saturation) loopState {
	return loopState{"saturated vapour", float64(s.DewPressure), float64(s.DewTemp), float64(s.VapourEnthalpy), float64(s.VapourEntropy), float64(s.VapourDensity)}
}

// bubble is saturated liquid.
func bubble(s refrigerant.Saturation) loopState {
	return loopState{"saturated liquid", float64(s.BubblePressure), float64(s.BubbleTemp), float64(s.LiquidEnthalpy), float64(s.LiquidEntropy), float64(s.LiquidDensity)}
}

// at returns the state at p in Pa and T in K.
func (c *loop) at(p, T float64) (loopState, error) {
	x, err := c.f.StateAt(quantity.Pressure(p), quantity.Temperature(T))
	return loopState{string(x.Phase), p, T, float64(x.Enthalpy), float64(x.Entropy), float64(x.Density)}, err
}

// vapour returns the state of a gas line, read in field at the pressure of s.
// A line a little colder than saturation is taken as saturated.
func (c *loop) vapour(field string, s refrigerant.Saturation) (loopState, error) {
	T := c.in.number(field)
	x, err := c.at(float64(s.DewPressure), T)
	var both *refrigerant.TwoPhaseError
	cold := T <= float64(s.DewTemp) || errors.As(err, &both)
	switch {
	case !cold:
		return x, inField(err, field)
	case T < float64(s.DewTemp)-mostSlip:
		return x, &quantity.RangeError{Op: "pressure-enthalpy", Name: field, Value: T, Min: float64(s.DewTemp) - mostSlip, Max: math.Inf(1), Unit: "K"}
	case field == "suction_line":
		c.warn("The suction line reads no warmer than saturated vapour: liquid comes back to the compressor, or the gauge, the clamp or the refrigerant is not what it seems. Point 1 is drawn as saturated vapour; how much liquid is in it cannot be told.")
	default:
		c.warn("The discharge line reads no warmer than saturated vapour: liquid in the compressor, or a wrong reading. Point 2 is drawn as saturated vapour.")
	}
	return dew(s), nil
}

// discharge returns the state behind the compressor, and the one without
// losses: equal if no discharge temperature was read.
func (c *loop) discharge(suction loopState) (real, ideal loopState, err error) {
	ideal, err = c.isentropic(suction)
	if !c.in.has("discharge_temperature") {
		return ideal, ideal, err
	}
	if err != nil { // the reading stands without it
		ideal = suction
	}
	if real, err = c.vapour("discharge_temperature", c.high); err != nil {
		return real, ideal, err
	}
	const rounding = 1.0 // J/kg
	if real.h < ideal.h-rounding {
		c.warn("The discharge line reads colder than a compressor without losses would make it: the clamp reads low or sits too far along the line, or liquid comes back to the compressor.")
	}
	if t := inFahrenheit(real.t); t > hotDischarge {
		c.warn("The discharge line is above 225 °F (107 °C): oil and valves suffer. Look for high compression ratio, low charge or high superheat.")
	}
	return real, ideal, nil
}

// isentropic returns the state at the liquid pressure with the entropy of from:
// liquid and vapour together where the gas is hardly superheated or heavy.
func (c *loop) isentropic(from loopState) (loopState, error) {
	x, err := c.f.StateAtEntropy(c.high.DewPressure, quantity.SpecificEntropy(from.s))
	return stateOf(x), inField(err, "discharge_temperature")
}

// stateOf takes over a state of one phase or two.
func stateOf(x refrigerant.Full) loopState {
	return loopState{string(x.Phase), float64(x.Pressure), float64(x.Temperature), float64(x.Enthalpy), float64(x.Entropy), float64(x.Density)}
}

// liquid returns the state in the liquid line. A line warmer than saturated
// liquid holds flash gas and is taken as saturated liquid.
func (c *loop) liquid() (loopState, error) {
	const field = "liquid_line"
	T := c.in.number(field)
	if T > float64(c.high.DewTemp)+mostSlip {
		lo, _ := c.f.SaturationRange()
		return loopState{}, &quantity.RangeError{Op: "pressure-enthalpy", Name: field, Value: T, Min: float64(lo), Max: float64(c.high.DewTemp) + mostSlip, Unit: "K"}
	}
	if T < float64(c.high.BubbleTemp) {
		x, err := c.at(float64(c.high.BubblePressure), T)
		var both *refrigerant.TwoPhaseError
		if !errors.As(err, &both) {
			return x, inField(err, field)
		}
	}
	c.warn("The liquid line reads no colder than saturated liquid: flash gas in it, or the gauge, the clamp or the refrigerant is not what it seems. Point 3 is drawn as saturated liquid, so the refrigerating effect shown is the most it can be.")
	return bubble(c.high), nil
}

// inlet returns the state behind the metering device, which keeps the enthalpy
// of the liquid, and the share of vapour in it.
func (c *loop) inlet(liquid loopState) (loopState, float64, error) {
	x, err := c.f.StateAtEnthalpy(c.low.BubblePressure, quantity.SpecificEnthalpy(liquid.h))
	if err != nil {
		return loopState{}, 0, inField(err, "liquid_line")
	}
	quality := x.Quality
	if math.IsNaN(quality) { // all liquid yet
		quality = 0
	}
	return stateOf(x), quality, nil
}

// result gathers what is answered.
func (c *loop) result(suction, discharge, ideal, liquid, inlet loopState, quality float64) Values {
	effect, work := suction.h-inlet.h, discharge.h-suction.h
	superheat, subcooling := c.in.number("suction_line")-float64(c.low.DewTemp), float64(c.high.BubbleTemp)-c.in.number("liquid_line")
	one, three, four := suction.values("1", "suction port"), liquid.values("3", "liquid port"), inlet.values("4", "behind the metering device")
	one["superheat"], three["subcooling"], four["quality"] = superheat, subcooling, quality
	two := discharge.values("2", "compressor out")
	if !c.in.has("discharge_temperature") {
		two["at"] = "compressor out, no losses"
	}
	two["superheat"] = discharge.t - float64(c.high.DewTemp)
	out := Values{
		"evaporating_temperature": float64(c.low.DewTemp), "condensing_temperature": float64(c.high.BubbleTemp),
		"superheat": superheat, "subcooling": subcooling, "discharge_superheat": two["superheat"],
		"compression_ratio":    float64(c.high.DewPressure / c.low.DewPressure),
		"refrigerating_effect": effect, "heat_of_compression": work, "heat_of_rejection": discharge.h - liquid.h,
		"flash_gas": quality, "states": []Values{one, two, three, four},
	}
	if work > 0 {
		out["coefficient_of_performance"] = effect / work
	}
	if c.in.has("discharge_temperature") && work > 0 && ideal.h > suction.h {
		out["isentropic_efficiency"] = (ideal.h - suction.h) / work
	}
	if len(c.warnings) > 0 {
		out["warnings"] = c.warnings
	}
	return out
}
