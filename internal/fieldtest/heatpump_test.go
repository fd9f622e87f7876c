package fieldtest

import (
	"math"
	"strconv"
	"testing"

	"rung/internal/plant"
	"rung/internal/system"
)

// The heat pump that is described reads as the one that is solved, at the points
// on which its values stand.
func TestDescribedHeatPumpIsTheSolvedOne(t *testing.T) {
	const iceWater = 273.15 // published: BIPM SI Brochure 9th ed., 2.3.1
	p, err := plant.Build(plant.Nameplate{HeatPump: plant.Yes, HSPF: 2.4, NominalCooling: 10551})
	if err != nil {
		t.Fatal(err)
	}
	at := plant.Surroundings{Outdoor: iceWater - 2, ReturnDryBulb: iceWater + 20, ReturnWetBulb: 286.5, Line: 240}
	c := load(t)
	d, _ := describe(t, "heat-pump", "")
	w := on(t, c, d)
	for _, row := range []struct {
		path, value string
		x           float64
	}{
		{"refrigerant/charge", "charge", 1}, {"refrigerant/charge", "charge", 0.8}, {"refrigerant/charge", "charge", 0.6},
		{"reversing-valve/leak", "valve-leak", 0.1}, {"reversing-valve/leak", "valve-leak", 0.3},
		{"heating-check-valve/leak", "check-leak", 1},
	} {
		ps := p.Healthy()
		if err := ps.Put(plant.MustParam(row.path), row.x); err != nil {
			t.Fatal(err)
		}
		st, err := p.Solve(&ps, at, plant.Heat)
		if err != nil {
			t.Fatal(err)
		}
		shows, err := w.Read(plant.Heat, system.Edit{"set", row.value, strconv.FormatFloat(row.x, 'g', -1, 64)})
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range []struct {
			check, point    string
			want, tolerance float64
		}{
			// tolerance: the last printed digit of the points, and what lags have left to go after ten minutes
			{"gauge-pressures", "suction", float64(st.Cycle.SuctionPressure), 2e3},
			{"gauge-pressures", "liquid", float64(st.Cycle.LiquidPressure), 5e3},
			{"sh-sc", "suction-line", float64(st.Cycle.SuctionLineTemp), 0.7}, // a leak of the valve moves it by 0.6 K: left out
			{"sh-sc", "liquid-line", float64(st.Cycle.LiquidLineTemp), 0.3},
			{"discharge-temp", "pipe", float64(st.Cycle.DischargeTemp), 0.5},
			{"rv-temps", "suction-rise", float64(st.Cycle.CompressorInlet - st.Cycle.SuctionLineTemp), 0.3},
			{"delta-t-air", "supply", float64(st.Supply), 0.3},
		} {
			i := w.Find(q.check, q.point, plant.Heat)
			if i < 0 || !(math.Abs(shows[i].Value-q.want) <= q.tolerance) {
				t.Errorf("%s %g: %s %s reads %v, solved %v", row.value, row.x, q.check, q.point, shows[i].Value, q.want)
			}
		}
	}
}
