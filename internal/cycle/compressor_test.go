package cycle

import (
	"testing"

	"rung/internal/published"
	"rung/internal/refrigerant"
)

// The scroll against the map it was fitted to, scaled by one factor on flow and
// one on power.
func TestPublishedScrollMap(t *testing.T) {
	fluid, err := refrigerant.Lookup("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	m, err := Calibrate(Rating{Refrigerant: fluid, Metering: TXV, NetCapacity: 3 * wattsPerTon, EER: 3.2})
	if err != nil {
		t.Fatal(err)
	}
	const superheat = 20 * kelvinPerFahrenheit
	kelvin := func(f float64) float64 { return (f + 459.67) * kelvinPerFahrenheit }
	c, f := m.RatingCondition(), Healthy()
	l := m.newLoop(&c, &f)
	rows := published.Read(t, "compressor_map.txt").Rows
	flow, power := make([]float64, len(rows)), make([]float64, len(rows))
	var sizeFlow, sizePower float64
	for i, row := range rows {
		p := l.t.DewPressure(kelvin(row.Number(t, "suction")))
		u := suctionAt(l.t, p, l.t.Sat(p).HVap+l.t.VapourPT(p, superheat))
		pDis := l.t.DewPressure(kelvin(row.Number(t, "discharge")))
		l.at.satC = l.t.Sat(pDis)
		flow[i], power[i], _ = l.compress(&u, pDis)
		sizeFlow += row.Number(t, "flow") / flow[i] / float64(len(rows))
		sizePower += row.Number(t, "power") / power[i] / float64(len(rows))
	}
	for i, row := range rows {
		limit := published.Relative(row.Number(t, "tolerance"))
		row.Check(t, "flow", flow[i]*sizeFlow, limit)
		row.Check(t, "power", power[i]*sizePower, limit)
	}
}

// Property: what the reversing valve leaks only moves heat and gas inside the
// outdoor unit: enthalpy out of it is enthalpy in and the power that is not lost.
func TestLeakingReversingValveKeepsEnergy(t *testing.T) {
	l := orificeLoop(t, "R-410A")
	l.speed = 1
	p := l.t.DewPressure(280)
	u := suctionAt(l.t, p, l.t.Sat(p).HVap+l.t.VapourPT(p, 6))
	pDis := l.t.DewPressure(320)
	l.at.satC = l.t.Sat(pDis)
	tight, _, _ := l.compress(&u, pDis)
	for _, x := range []float64{0.05, 0.2, 0.4} {
		l.exchange = x
		m, W, hDis := l.compress(&u, pDis)
		// 1e-12: rounding.
		if got, want := m*(hDis-u.h), W*(1-shellLoss); !(got > want*(1-1e-12) && got < want*(1+1e-12)) {
			t.Errorf("leak %g: %g W of enthalpy for %g W", x, got, want)
		}
		// Hot gas is thinner, so more is lost than leaks.
		if !(m < tight*(1-x) && l.at.inlet > u.T) {
			t.Errorf("leak %g: flow %.4f of %.4f kg/s, inlet %.1f K after %.1f", x, m, tight, l.at.inlet, u.T)
		}
	}
}
