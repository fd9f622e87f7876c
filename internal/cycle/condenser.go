package cycle

import (
	"math"

	"rung/internal/refrigerant"
)

// condensed is what leaves the coil that gives heat.
type condensed struct {
	desuperheat, condense, subcool float64 // shares of the face; they add up to 1
	h                              float64 // J/kg leaving
	T                              float64 // K leaving
	quality                        float64 // leaving; 0 when all is liquid
	Tc                             float64 // K
	TDis                           float64 // K
	rhoDis                         float64 // kg/m³ of the hot gas
	hIn                            float64 // J/kg entering, as used
	inQuality                      float64 // entering the condensing zone
	rhoLiq, rhoVap                 float64
}

// condense follows the refrigerant through three zones of the coil that gives
// heat: the outdoor coil in cooling, the indoor coil in heating.
// Air enters every slice at the same temperature, so a face share f with
// refrigerant at T gives K·f·(T - Ta), K = C·(1 - exp(-1/(C·R))).
//
//	Tc   condensing temperature     Ta  entering air
//	K_v, K_2, K_l  conductances per face of vapour, two-phase, liquid zone
func (l *loop) condense(m, pc, hDis float64, sat *refrigerant.SatRow) condensed {
	s := &l.hot
	flow := root34(m / l.m.m0)
	K := func(r float64) float64 { return s.cap * (1 - math.Exp(-1/(s.cap*(s.air+r/flow)))) }
	Tc := 0.5 * (sat.TDew + sat.TBub)
	drive := softPlus(Tc-s.T, 0.1)
	hfg := sat.HVap - sat.HLiq
	o := condensed{Tc: Tc, rhoLiq: sat.RhoLiq, rhoVap: sat.RhoVap, inQuality: 1, hIn: hDis, TDis: sat.TDew, rhoDis: sat.RhoVap}

	latent := hfg
	if rise := hDis - sat.HVap; rise > 0 {
		rise = math.Min(rise, l.m.maxRise)
		o.TDis, o.rhoDis, _ = l.t.VapourPH(pc, rise)
		if dT := o.TDis - sat.TDew; dT > 1e-6 {
			o.desuperheat = m * rise / dT / K(s.r.vapour) * math.Log1p(dT/drive)
		}
	} else {
		o.inQuality = math.Max(1+rise/hfg, 0.02)
		latent = o.inQuality * hfg
	}
	o.condense = m * latent / (K(s.r.twoPhase) * drive)
	if rest := 1 - o.desuperheat - o.condense; rest > 0 {
		o.subcool = rest
		l.subcool(&o, m, pc, sat.HLiq, sat.TBub, drive, K(s.r.liquid))
		return o
	}
	// The desuperheating zone alone never fills the face in a converged state.
	o.desuperheat = math.Min(o.desuperheat, 0.95)
	needed := o.condense
	o.condense = 1 - o.desuperheat
	o.quality = o.inQuality * (1 - o.condense/needed)
	o.h = sat.HLiq + o.quality*hfg
	o.T = Tc
	return o
}

// maxSubcooling keeps the liquid inside the property tables, K.
const maxSubcooling = 70

// subcool fills in the liquid zone.
func (l *loop) subcool(o *condensed, m, pc, hLiq, TBub, drive, K float64) {
	const probe = 5.0 // K; subcooling at which the liquid's heat capacity is taken
	cp := l.t.LiquidPT(pc, probe) / probe
	sc := math.Min(drive*(1-math.Exp(-K*o.subcool/(m*cp))), maxSubcooling)
	o.h = hLiq - l.t.LiquidPT(pc, sc)
	o.T = TBub - sc
}
