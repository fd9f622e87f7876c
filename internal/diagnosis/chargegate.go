package diagnosis

// JudgeCharge says whether the refrigerant charge may be judged.
//
// The order of the reasons is that of mending them. practice: order and list
// of the prerequisites common to residential charge protocols.
func JudgeCharge(f ChargeFacts, s Settings) ChargeGate {
	limit := max(s.OutdoorLimit, lowestOutdoorLimit)
	g := ChargeGate{OutdoorLimit: limit}
	if f.NoLiquid {
		g.Open, g.NoLiquid = true, true
		return g
	}
	for _, r := range []struct {
		fails  bool
		reason ChargeReason
	}{
		{!f.RefrigerantKnown, ChargeRefrigerantUnknown},
		{!f.CompressorPumping, ChargeNotPumping},
		{!f.Settled, ChargeNotSettled},
		{!f.FilterAndCoilsClean, ChargeDirty},
		{!f.AirflowKnown, ChargeAirflowUnknown},
		{!f.MeteringKnown, ChargeMeteringUnknown},
		{!(f.Outdoor > 0), ChargeOutdoorUnknown},
		{f.Outdoor > 0 && f.Outdoor < limit, ChargeTooCool},
		{f.FixedOrifice && !f.ReturnWetBulbKnown, ChargeWetBulbUnknown},
	} {
		if r.fails {
			g.Reasons = append(g.Reasons, r.reason)
		}
	}
	if f.Outdoor > 0 && f.Outdoor < limit {
		g.ReturnAbove = limit
	}
	g.Open = len(g.Reasons) == 0
	return g
}
