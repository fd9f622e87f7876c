package visit

import (
	"encoding/binary"
	"math"
	"strings"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/tradeunit"
)

// past is an event of an earlier year at a house.
type past struct {
	day   string
	event record.Event
}

// remember puts events of earlier years into the stream of a house.
func (s *shop) remember(house record.PropertyID, list ...past) {
	s.t.Helper()
	for i, x := range list {
		day, err := time.Parse(time.DateOnly, x.day)
		s.ok(err)
		list[i].day = day.Add(time.Duration(i) * time.Second).Format(time.RFC3339)
	}
	s.rememberAt(house, list...)
}

// rememberAt is remember for events with a time of day.
func (s *shop) rememberAt(house record.PropertyID, list ...past) {
	s.t.Helper()
	for i, x := range list {
		day, err := time.Parse(time.RFC3339, x.day)
		s.ok(err)
		e := journal.Envelope{Stream: house.Stream(), Device: "other", Author: "Ben", Time: journal.TimeOf(day)}
		binary.BigEndian.PutUint64(e.ID[8:], uint64(i+1))
		s.ok(s.log.Append(s.t.Context(), []journal.Envelope{record.Encode(e, x.event)}))
	}
}

// read is a visit on a day with one reading of a check.
func read(system record.SystemID, day, check, point, demand, text, unit, outdoor string) []past {
	v := record.VisitID("V" + day)
	return []past{
		{day, record.VisitOpened{Visit: v, System: system}},
		{day, record.SurroundingsRecorded{Visit: v, Values: map[string]record.AsRead{"outdoor-dry-bulb": {Text: outdoor, Unit: "°F"}}}},
		{day, record.ReadingTaken{Visit: v, Check: check, Point: point, Demand: demand, AsRead: record.AsRead{Text: text, Unit: unit}}},
	}
}

// TestForecast: a capacitor that loses 1 µF a year. The clock of these tests
// stands in July 2026, the next season begins on 1 May 2027.
func TestForecast(t *testing.T) {
	capacitor := func(sys record.SystemID, day, text string) []past {
		return read(sys, day, "cap-bench", "herm", "off", text, "µF", "90")
	}
	forecast := func(plate string, list func(record.SystemID) [][]past) Forecast {
		s := newShop(t)
		house, sys, u := s.house()
		if plate != "" {
			s.ok(s.RecordPlate(t.Context(), s.by(), u, map[string]string{"herm-capacitance": plate}))
		}
		var all []past
		for _, x := range list(sys) {
			all = append(all, x...)
		}
		s.remember(house, all...)
		return must(s.Forecast(t.Context(), sys, "cap-bench", "herm"))(t)
	}
	falling := func(sys record.SystemID) [][]past {
		return [][]past{capacitor(sys, "2023-07-01", "45.0"), capacitor(sys, "2024-07-01", "44.1"), capacitor(sys, "2025-07-01", "42.9"), capacitor(sys, "2026-07-01", "42.0")}
	}
	micro := mustSI("1 µF", quantity.DimCapacitance)

	f := forecast("45 µF", falling)
	// By hand: slope −1.02 µF a year, mean 43.5 in the middle of the years, so 41.12 after 2.33 of them.
	if math.Abs(f.Expected/micro-41.12) > 0.02 || f.Readings != 4 || !(f.Low < f.Expected && f.Expected < f.High) || math.Abs(f.Limit/micro-42.3) > 1e-9 {
		t.Errorf("the forecast is %+v", f)
	}
	if f.Odds < 0.7 || f.Odds > 0.95 || !strings.Contains(f.Recommend, "Replace the run capacitor") || f.At.Format(time.DateOnly) != "2027-05-01" {
		t.Errorf("the odds are %v: %q, %q", f.Odds, f.Text, f.Recommend)
	}
	nothingOpen(t, f.Text, f.Recommend)
	if f := forecast("", falling); f.Limit != 0 || f.Recommend != "" || f.Expected == 0 {
		t.Errorf("without a plate: %+v", f)
	}
	if f := forecast("40 µF", falling); f.Odds > 0.1 || f.Recommend != "" {
		t.Errorf("far from its limit: %+v", f)
	}
	for name, list := range map[string]func(record.SystemID) [][]past{
		"two readings": func(sys record.SystemID) [][]past { return falling(sys)[:2] },
		"a new part since": func(sys record.SystemID) [][]past {
			return append(falling(sys), []past{{"2026-07-02", record.RepairDone{Visit: "V2026-07-01", Repair: "replace-run-capacitor"}}})
		},
		"one taken back, one in doubt": func(sys record.SystemID) [][]past {
			x := falling(sys)
			doubted := x[1][2].event.(record.ReadingTaken)
			doubted.Doubt = "loose lead"
			x[1][2].event = doubted
			unsettled := x[2][2].event.(record.ReadingTaken)
			unsettled.Unsettled = true
			x[2][2].event = unsettled
			return x
		},
		"three in a month": func(sys record.SystemID) [][]past {
			return [][]past{capacitor(sys, "2026-06-01", "45.0"), capacitor(sys, "2026-06-15", "44"), capacitor(sys, "2026-07-01", "43")}
		},
	} {
		if f := forecast("45 µF", list); !f.At.IsZero() || f.Text == "" || f.Recommend != "" {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

// TestForecastAlike: amps are held together where the weather was alike, and the
// line knows both a rising one and its limit.
func TestForecastAlike(t *testing.T) {
	s := newShop(t)
	house, sys, u := s.house()
	s.ok(s.RecordPlate(t.Context(), s.by(), u, map[string]string{"rated-load-amps": "14.1 A"}))
	var all []past
	for _, x := range [][3]string{{"2022-07-01", "11.0", "92"}, {"2023-07-01", "12.1", "95"}, {"2024-05-01", "9.0", "70"}, {"2024-07-01", "12.9", "90"}, {"2025-07-01", "14.0", "94"}} {
		all = append(all, read(sys, x[0], "a-common-compressor", "amps", "cool", x[1], "A", x[2])...)
	}
	s.remember(house, all...)
	f := must(s.Forecast(t.Context(), sys, "a-common-compressor", "amps"))(t)
	amps, err := tradeunit.Lookup(quantity.DimCurrent, "A")
	s.ok(err)
	if f.Readings != 4 || amps.Of(f.Expected, standardAir) < 15 || f.Odds < 0.5 || f.Recommend == "" {
		t.Errorf("the forecast is %+v", f)
	}
	if f := must(s.Forecast(t.Context(), sys, "gauge-pressures", "suction"))(t); f != (Forecast{}) {
		t.Errorf("a point that is not followed gives %+v", f)
	}
}
