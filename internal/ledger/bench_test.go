package ledger

import (
	"encoding/binary"
	"fmt"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/record"
)

// years returns n entries of one house as they come in over the years: every
// visit has sixty, most of them readings.
func years(id record.PropertyID, n int) []journal.Envelope {
	list := make([]journal.Envelope, 0, n)
	visit := record.VisitID("")
	add := func(event record.Event) {
		i := len(list) + 1
		e := journal.Envelope{Stream: id.Stream(), Device: "phone", Author: "Ada", Time: journal.TimeOf(start.Add(time.Duration(i) * time.Minute))}
		copy(e.ID[:8], id)
		binary.BigEndian.PutUint64(e.ID[8:], uint64(i))
		list = append(list, record.Encode(e, event))
	}
	add(record.PropertyAdded{Property: id, Name: "Mill house"})
	add(record.SystemAdded{System: "S", Number: "2", Name: "upstairs", Kind: "split-air-conditioner"})
	add(record.UnitAdded{Unit: "U", System: "S", Kind: "outdoor-unit"})
	for len(list) < n {
		switch i := len(list) % 60; i {
		case 3:
			visit = record.VisitID(fmt.Sprint("V", len(list)))
			add(record.VisitOpened{Visit: visit, System: "S", Words: "stays warm", Complaint: "not-cooling"})
		case 4:
			add(record.NameplateRecorded{Unit: "U", Values: map[string]record.PlateValue{"rated-load-amps": {AsRead: record.AsRead{Text: "14.1", Unit: "A"}}}})
		case 5:
			add(record.SurroundingsRecorded{Visit: visit, Values: map[string]record.AsRead{"outdoor-dry-bulb": {Text: "95", Unit: "°F"}}})
		case 58:
			add(record.RepairDone{Visit: visit, Repair: "replace-run-capacitor", Cause: "herm-cap-open"})
		case 59:
			add(record.VisitClosed{Visit: visit, Outcome: "fixed"})
		default:
			add(record.ReadingTaken{Visit: visit, Check: "cap-bench", Point: "herm", Demand: "off",
				AsRead: record.AsRead{Text: fmt.Sprint(i), Unit: "µF"}, Instrument: "meter 2", Place: "at the unit"})
		}
	}
	return list
}

// Budget: 10 ms for a house of 1,000 entries, which is more than fifteen visits;
// the page of one visit folds one house.
func BenchmarkFoldYears(b *testing.B) {
	for _, n := range []int{100, 1_000, 10_000, 100_000} {
		list := years(house, n)
		b.Run(fmt.Sprint("one house of ", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Fold(house, list)
			}
		})
	}
	const houses = 1_000
	for _, n := range []int{10, 100} {
		var all [][]journal.Envelope
		for h := range houses {
			all = append(all, years(record.PropertyID(fmt.Sprintf("H%07d", h)), n))
		}
		b.Run(fmt.Sprint("thousand houses of ", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for h := range all {
					Fold(record.PropertyID(fmt.Sprintf("H%07d", h)), all[h])
				}
			}
		})
	}
}

// Where the time of a fold goes: reading the payloads.
func BenchmarkDecodeAll(b *testing.B) {
	list := years(house, 10_000)
	for b.Loop() {
		for _, e := range list {
			if _, err := record.Decode(e); err != nil {
				b.Fatal(err)
			}
		}
	}
}
