package cycle

// Doubt is a set of reasons to trust a State less than usual. The state
// stands; whoever shows it shows these with it.
type Doubt uint16

// The reasons.
const (
	// DoubtFlash: under 1.1 K of subcooling at the unit. Real coils show flash and
	// liquid side by side there, and gauges 0 to 1.7 K.
	DoubtFlash Doubt = 1 << iota
	// DoubtFlood: under 2.2 K of superheat at the unit. It means "floods", not a number.
	DoubtFlood
	// DoubtCool: under 18 °C (65 °F) outdoors. Fan-cycling controls are not modelled and
	// charge is not judged there.
	DoubtCool
	// DoubtWeakCompressor: a leak above 0.6, where readings are interpolated.
	DoubtWeakCompressor
	// DoubtOffBalance: the state stands at a limit, not in balance.
	DoubtOffBalance
	// DoubtIce: the coil freezes, so readings drift with time.
	DoubtIce
	// DoubtCold: under 10 °C (50 °F) outdoors, in heating under -8.9 °C (16 °F), or return air outside 13 to 41 °C. The
	// state is balanced, but lies beyond every published table for such a machine;
	// a start in the cold is not modelled.
	DoubtCold
	// DoubtHeating: heating. How much of the charge is in play there depends on a
	// compensator or accumulator that no plate describes, so the charge is weighed in
	// and not judged by these readings.
	DoubtHeating
	// DoubtPlate: the plate asks for a compressor too good or too bad to be true.
	DoubtPlate
)

// Has reports whether every reason of e is in d.
func (d Doubt) Has(e Doubt) bool { return d&e == e }

// Bounds of doubt, K. practice: 2 °F of subcooling, 4 °F of superheat, 65 °F;
// the rest is where this model has been held against other figures.
const (
	leastSubcooling = 1.1
	leastSuperheat  = 2.2
	coolOutdoors    = 291.48
	coldOutdoors    = 283.15
	coldHeating     = 264.26 // just under 17 °F, the lowest rating point of heating
	coldReturn      = 286.15
	hotReturn       = 314.15
)

// doubts returns the reasons against a running state.
func (m *Machine) doubts(c *Condition, f *Fault, s *State) Doubt {
	var d Doubt
	heating := c.Mode == Heating
	cold := coldOutdoors
	if heating {
		cold = coldHeating
	}
	for _, r := range [...]struct {
		why  Doubt
		true bool
	}{
		{DoubtFlash, s.Subcooling < leastSubcooling},
		{DoubtFlood, s.Superheat < leastSuperheat},
		{DoubtCool, !heating && c.Outdoor < coolOutdoors},
		{DoubtHeating, heating},
		{DoubtWeakCompressor, f.CompressorLeak > maxLeak && f.CompressorLeak < notPumping},
		{DoubtCold, float64(c.Outdoor) < cold || c.ReturnDryBulb < coldReturn || c.ReturnDryBulb > hotReturn},
		{DoubtOffBalance, s.Outcome.OffBalance()},
		{DoubtIce, s.Outcome == Icing},
		{DoubtPlate, m.adjust.Doubtful},
	} {
		if r.true {
			d |= r.why
		}
	}
	return d
}
