package visit

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/record"
)

// yearly is one visit to a house whose plant does what a parameter of it says.
type yearly struct {
	day                       string
	outdoor, return_, wet     string // °F; wet empty: not recorded
	param                     string
	value                     float64
	unsettled, withoutOutdoor bool
	repaired                  string
}

// lived puts visits into the past of a house whose readings come from the plant itself.
func (s *shop) lived(list ...yearly) record.SystemID {
	s.t.Helper()
	ctx := s.t.Context()
	house, sys, u := s.house()
	s.ok(s.RecordPlate(ctx, s.by(), u, map[string]string{"refrigerant": "R-410A", "nominal-cooling": "3 ton", "seer": "14", "metering": "txv"}))
	p, x, err := s.loadSystem(ctx, sys)
	s.ok(err)
	machine := must(plant.Build(agree(nameplateOf(x)).given))(s.t)
	solver := must(machine.NewSolver())(s.t)
	var all []past
	for i, y := range list {
		v := record.VisitID(fmt.Sprint("V", i))
		at := map[string]record.AsRead{"outdoor-dry-bulb": {Text: y.outdoor, Unit: "°F"}, "return-dry-bulb": {Text: y.return_, Unit: "°F"}}
		if y.wet != "" {
			at["return-wet-bulb"] = record.AsRead{Text: y.wet, Unit: "°F"}
		}
		here := Here{Property: p.Property, System: x, Visit: visitWith(at)}
		ambient := ambientOf(here)
		d := s.lay(here, English)
		if y.withoutOutdoor {
			delete(at, "outdoor-dry-bulb")
		}
		ps := machine.Healthy()
		if y.param != "" {
			param, known := plant.Lookup(y.param)
			if !known {
				s.t.Fatal(y.param)
			}
			s.ok(ps.Put(param, y.value))
		}
		state := must(solver.Solve(&ps, d.situation.Surroundings, plant.Cool))(s.t)
		all = append(all, past{y.day, record.VisitOpened{Visit: v, System: sys}}, past{y.day, record.SurroundingsRecorded{Visit: v, Values: at}})
		for _, f := range driftings {
			for _, ref := range f.reads {
				_, point, _ := s.checkPoint(ref)
				unit := mustUnit(point.Dim, point.Unit)
				text := strings.Fields(unit.Format(point.Predict(state).Value, ambient, 1))[0]
				all = append(all, past{y.day, record.ReadingTaken{Visit: v, Check: ref.Check, Point: ref.Point, Demand: "cool",
					AsRead: record.AsRead{Text: text, Unit: unit.Symbol}, Unsettled: y.unsettled}})
			}
		}
		if y.repaired != "" {
			all = append(all, past{y.day, record.RepairDone{Visit: v, Repair: y.repaired}})
		}
	}
	s.remember(house, all...)
	return sys
}

// visitWith is a visit in some surroundings.
func visitWith(at map[string]record.AsRead) *ledger.Visit {
	v := &ledger.Visit{Surroundings: map[string]ledger.Surrounding{}}
	for id, x := range at {
		v.Surroundings[id] = ledger.Surrounding{AsRead: x}
	}
	return v
}

// drift returns one of the differences, by its id.
func (s *shop) drift(sys record.SystemID, id string) (Drift, bool) {
	s.t.Helper()
	for _, d := range must(s.Drifts(s.t.Context(), sys))(s.t) {
		if d.ID == id {
			return d, true
		}
	}
	return Drift{}, false
}

// weathers are four summers that are unlike each other.
func weathers(param string, values ...float64) []yearly {
	list := []yearly{
		{day: "2023-07-01", outdoor: "78", return_: "74", wet: "61"}, {day: "2024-07-01", outdoor: "104", return_: "80", wet: "68"},
		{day: "2025-07-01", outdoor: "85", return_: "76", wet: "65"}, {day: "2026-07-01", outdoor: "97", return_: "79", wet: "63"},
	}
	for i, v := range values {
		list[i].param, list[i].value = param, v
	}
	return list
}

const charge = "refrigerant/charge"

// TestDriftSeesThroughTheWeather: a sound system is as the model in every
// weather, though its readings differ; one that leaks goes away from it, year by year.
func TestDriftSeesThroughTheWeather(t *testing.T) {
	degree := mustSI("1 °F", quantity.DimTempDiff)
	s := newShop(t)
	sys := s.lived(weathers("")...)
	for _, id := range []string{"split", "superheat", "subcooling"} {
		d, known := s.drift(sys, id)
		if !known || len(d.Points) != 4 {
			t.Fatalf("of %s there are %d visits", id, len(d.Points))
		}
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range d.Points {
			low, high = min(low, p.Read), max(high, p.Read)
			// tolerance: a tenth of a degree or of a psi as read, and no more
			if math.Abs(p.over()) > 0.4*degree || !(p.Low < p.Read && p.Read < p.High) || p.Humid {
				t.Errorf("%s of a sound system is %+v", id, p)
			}
		}
		t.Logf("%s reads %.1f to %.1f °F: %s", id, low/degree, high/degree, d.Forecast.Text)
		if id == "split" && high-low < 3*degree {
			t.Errorf("the weathers are alike: %s from %v to %v K", id, low, high)
		}
		if f := d.Forecast; f.At.IsZero() || f.Odds > 0.35 || f.Recommend != "" {
			t.Errorf("%s of a sound system: %+v", id, f)
		}
	}
	s = newShop(t)
	sys = s.lived(weathers(charge, 1, 0.96, 0.92, 0.88)...)
	d, _ := s.drift(sys, "subcooling")
	f := d.Forecast
	if !(f.Expected < -4*degree) || f.Odds < 0.5 || !strings.Contains(f.Recommend, "leak") || !(f.Low < f.Expected && f.Expected < f.High) {
		t.Errorf("of a leak the subcooling is forecast as %+v", f)
	}
	nothingOpen(t, f.Text, f.Recommend)
	t.Log(f.Text, f.Recommend)
	for i := 1; i < len(d.Points); i++ {
		if !(d.Points[i].over() < d.Points[i-1].over()) {
			t.Errorf("the charge falls, and the subcooling is %.2f, then %.2f K over the model", d.Points[i-1].over(), d.Points[i].over())
		}
	}
}

// TestDriftCountsLikeConditions: what was read in the cold, unsettled, without
// the weather, or before a repair of the circuit is left out; a wet bulb not recorded widens the band.
func TestDriftCountsLikeConditions(t *testing.T) {
	s := newShop(t)
	list := weathers("")
	dry := list[0]
	dry.wet, dry.day = "", "2026-07-03"
	cold := yearly{day: "2026-07-04", outdoor: "60", return_: "72", wet: "60"}
	hidden := yearly{day: "2026-07-05", outdoor: "90", return_: "76", wet: "63", withoutOutdoor: true}
	early := yearly{day: "2026-07-06", outdoor: "90", return_: "76", wet: "63", unsettled: true}
	sys := s.lived(append(list, dry, cold, hidden, early)...)
	d, _ := s.drift(sys, "subcooling")
	if len(d.Points) != 5 {
		t.Fatalf("%d visits count", len(d.Points))
	}
	if a, b := d.Points[0], d.Points[4]; a.Humid || !b.Humid || !(b.High-b.Low > a.High-a.Low) {
		t.Errorf("without a wet bulb %+v, with it %+v", b, a)
	}
	s = newShop(t)
	list = weathers(charge, 0.8, 0.8, 1, 1)
	list[1].repaired = "repair-leak"
	sys = s.lived(list...)
	d, _ = s.drift(sys, "subcooling")
	if len(d.Points) != 2 || !d.Forecast.At.IsZero() {
		t.Errorf("after a repair of the circuit %d visits count: %+v", len(d.Points), d.Forecast)
	}
	if few, _ := s.drift(sys, "no-such"); few.ID != "" {
		t.Error("a difference that nobody follows is drawn")
	}
}

// BenchmarkDrifts has a budget of 100 ms: they are worked out for the page of a unit.
func BenchmarkDrifts(b *testing.B) {
	s := newShop(b)
	sys := s.lived(weathers("")...)
	for b.Loop() {
		if _, err := s.Drifts(b.Context(), sys); err != nil {
			b.Fatal(err)
		}
	}
}
